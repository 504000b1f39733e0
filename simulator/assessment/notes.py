"""The limits of an answer in plain words, so that no figure is taken for more than it is."""

from collections.abc import Sequence

from simulator.assessment.assessment import ColdSpot
from simulator.history import EpochRecord, History
from simulator.units import format_quantity

#: What holds for every run. Sources: see ``lethal_dose`` for doses; the spread of convection
#: formulas is an estimate from comparing published correlations with each other.
ALWAYS = (
    "A place counts as done at an egg dose of 3.5 and 50 °C (122 °F). Dose 1 is the time that "
    "kills 99 % of eggs in the slowest published data (Kells & Goblirsch 2011): one in a hundred "
    "may still live there.",
    "Those data cover eggs from 45 to 48 °C (113 to 118 °F); above that the curve is extrapolated, "
    "laboratories differ by more than a factor of 14, and for very slow warming it may be "
    "optimistic.",
    "Formulas for heat passing from moving air to surfaces differ by about 30 % either way. The "
    "figures at 2 K less (4 °F) show what one such error can do: it divides a dose by about 3.3.",
    "Bugs move from warmth above 30-35 °C (86-95 °F) into cool gaps behind walls and along pipes, "
    "which the model holds only in part.",
    "This is a model. Sensors in the cold spots during the treatment and an inspection afterwards "
    "decide.",
)

#: A fan that gives less than this of its free thrust is told of (estimate).
THROTTLED = 0.9


def limits_in_words(
    history: History, horizon: float, refuges: int, unlisted: Sequence[ColdSpot]
) -> tuple[str, ...]:
    """Return the notes of one run, those of this run before those of every run.

    Parameters
    ----------
    horizon : planned length of the run [s].
    refuges : how many were judged.
    unlisted : cold spots that the list leaves out.
    """
    notes = []
    if not history.is_complete:
        reached = format_quantity(float(history.time[-1]), "time")
        planned = format_quantity(horizon, "time")
        notes.append(
            f"The run was cut off at {reached} of {planned}: "
            "what is called not done here may only be not done yet."
        )
    if refuges == 0:
        notes.append("This case holds no place where bugs could hide: there was nothing to judge.")
    if unlisted:
        litres = format_litres(sum(spot.litres for spot in unlisted))
        notes.append(
            f"{len(unlisted)} more {unlisted[0].kind} spots, {litres} together, not listed."
        )
    scatter = max((epoch.scatter for epoch in history.epochs), default=0.0)
    if scatter > 0.0:
        notes.append(
            "The air never settles: the two halves of the averaged flow differ by "
            f"{100.0 * scatter:.0f} % in the speed near surfaces."
        )
    notes += _notes_on_flow(history.epochs)
    return (*notes, *ALWAYS)


def _notes_on_flow(epochs: Sequence[EpochRecord]) -> list[str]:
    """What the cells do to the speed of the air, and what stands in the way of fans."""
    notes = []
    low = min((epoch.speed_bias_low for epoch in epochs), default=0.0)
    high = max((epoch.speed_bias_high for epoch in epochs), default=0.0)
    if low < 0.0 or high > 0.0:
        notes.append(
            "In two studies of three layouts the speed near surfaces on such cells was "
            f"{_range_in_words(low, high)} against cells of 0.05 m (2 in)."
        )
    thrust = min((epoch.least_thrust for epoch in epochs), default=1.0)
    if thrust < THROTTLED:
        notes.append(
            "Something close before or behind a fan holds its air back: the worst placed one gives "
            f"{100.0 * thrust:.0f} % of its free thrust. Give fans free space."
        )
    return notes


def _range_in_words(low: float, high: float) -> str:
    """Return a range of relative differences in words: '3 % low to 8 % high'."""
    if high <= 0.0:
        return f"{100.0 * abs(high):.0f} to {100.0 * abs(low):.0f} % low"
    if low >= 0.0:
        return f"{100.0 * low:.0f} to {100.0 * high:.0f} % high"
    return f"{-100.0 * low:.0f} % low to {100.0 * high:.0f} % high"


def format_litres(litres: float) -> str:
    """Return litres as text, to two digits below ten."""
    return f"{litres:.2g} litres" if litres < 10.0 else f"{litres:.0f} litres"
