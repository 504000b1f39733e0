"""What a series of a lesson shows, in sentences that claim no more than its numbers."""

import math
from collections.abc import Iterable, Sequence

from simulator.studies.comparison import COMMON_LITRES, Comparison
from simulator.studies.comparison_words import FIELD_STUDY, SHARED, litres_text, not_done_text
from simulator.studies.lesson_plan import Series
from simulator.units import System, format_quantity, format_small_length, whole_degrees


def common_litres(found: Comparison) -> tuple[float, ...]:
    """Return the litres below 50 °C of each state in the hiding places that all states have."""
    return next(figure.values for figure in found.figures if figure.name == COMMON_LITRES)


def sentences(series: Series, found: Comparison, units: System) -> list[str]:
    """Return what a series shows, then what limits it.

    Shares of the hiding volume are not told: they fall when hiding places that warm easily are
    brought in, though nothing gets warmer.

    Parameters
    ----------
    found : the comparison of the series' states, in their order.
    """
    fifty = whole_degrees(50.0, units)
    when = format_quantity(found.moment, "time", units)
    what = f"Below {fifty} after {when}, in the hiding places that all these states have"
    teller = {"preparation": _preparation, "clutter": _clutter, "fans": _fans}[series.name]
    lines = teller(series, found, what) + _limits(series, found, units)
    return [*lines, *(f"Left out: {reason}" for reason in series.left_out)]


def extremes(series: Series, found: Comparison) -> tuple[int, int]:
    """Return which state with fans leaves the fewest and which the most litres below 50 °C."""
    litres = common_litres(found)
    with_fans = [n for n, state in enumerate(series.states) if state.name != "no fans"]
    if not with_fans:
        return 0, 0
    return min(with_fans, key=lambda n: litres[n]), max(with_fans, key=lambda n: litres[n])


def _preparation(series: Series, found: Comparison, what: str) -> list[str]:
    litres = common_litres(found)
    whole = [n for n, state in enumerate(series.states) if not state.is_step]
    steps = [n for n, state in enumerate(series.states) if state.is_step]
    lines = [f"{what}: {_listed(series, litres, whole)}.", _not_done(series, found, whole)]
    if steps:
        in_order = sorted(steps, key=lambda n: litres[n])
        lines.append(f"Each step alone: {_listed(series, litres, in_order)}.")
    return lines


def _clutter(series: Series, found: Comparison, what: str) -> list[str]:
    numbers = range(len(series.states))
    meant = "; ".join(f"{state.name}: {state.words}" for state in series.states)
    return [
        f"{what}: {_listed(series, common_litres(found), numbers)}.",
        _not_done(series, found, numbers),
        f"{meant[0].upper()}{meant[1:]}.",
        FIELD_STUDY,
    ]


def _fans(series: Series, found: Comparison, what: str) -> list[str]:
    litres = common_litres(found)
    least, most = extremes(series, found)
    without = [n for n, state in enumerate(series.states) if state.name == "no fans"]
    lines = [f"{what}: {_listed(series, litres, range(len(litres)))}."]
    lines += [_not_done(series, found, sorted({*without, least, most}))]
    if least != most:
        names = [series.states[n].name for n in (least, most)]
        lines.append(
            f"Of the ways to set fans that were tried, '{names[0]}' leaves the least "
            f"({litres_text(litres[least])}) and '{names[1]}' the most "
            f"({litres_text(litres[most])}), with as many fans; other ways were not tried."
        )
    return lines


def _listed(series: Series, litres: Sequence[float], numbers: Iterable[int]) -> str:
    return "; ".join(f"{series.states[n].name} {litres_text(litres[n])}" for n in numbers)


def _not_done(series: Series, found: Comparison, numbers: Iterable[int]) -> str:
    listed = "; ".join(
        f"{series.states[n].name} {not_done_text(found.answers[n])}" for n in numbers
    )
    return f"Hiding places not done when the run ends: {listed}."


def _limits(series: Series, found: Comparison, units: System) -> list[str]:
    sizes = {one.cell_size for one in found.answers}
    size = " and ".join(format_small_length(one, units) for one in sorted(sizes))
    bands = next(figure.bands for figure in found.figures if figure.bands)
    if all(math.isfinite(band) for band in bands):
        return [SHARED]
    return [
        f"These runs have cells of {size} and no companion runs: the error of the cells is not "
        "known, so states whose figures lie close together cannot be told apart."
    ]
