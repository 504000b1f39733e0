"""The causes of cold spots in plain words, which claim no more than the figures."""

import math

from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.physics.neutral_states import BRISK, LIGHT
from simulator.studies.causes import Causes, SpotCauses
from simulator.units import System, format_quantity, format_small_length, whole_degrees

TITLE = "Why places lag"

#: What each cause is called where it takes time, and what its neutral state does.
WORDS = {
    "air_speed": ("too little air from the equipment at its surfaces", "brisk air"),
    "heat_store": ("heat stored in it and in what it is in", "thin, light things"),
    "cold_boundary": ("heat lost to cold walls, floors or windows", "no cold wall or floor"),
    "shading": ("things in the way of the air stream", "nothing in the way"),
    "shut_in": ("being shut in, or lying in a pocket of late air", "opened up"),
    "late_air": ("the room's air being late", "hot air from the start"),
}

#: Shares below this are not told one by one [-] (choice: smaller than what cells and coefficients
#: leave open).
LEAST_TOLD = 0.05

#: No single cause is said to free a spot that takes off less than this of all [-] (choice).
MOST_OF_IT = 0.5


def in_words(found: Causes, units: System) -> list[str]:
    """Return the findings as paragraphs: one a spot, then how to read them."""
    if not found.spots:
        return ["No cold or slow place to explain."]
    return [*(spot_in_words(spot) for spot in found.spots), *notes(found, units)]


def spot_in_words(spot: SpotCauses) -> str:
    """Return what one spot lags for."""
    point = spot.point
    place = (
        point.words if point.owner in (point.spot, point.room) else f"{point.owner}, {point.words}"
    )
    words = f"{point.rank}, {point.spot}; slowest at: {place}. Lags {_minutes(spot.lag)}: "
    if not math.isfinite(spot.causes[0].share):
        return words + "none of the six causes takes a minute off it."
    return f"{words}{shares_in_words(spot)}. {_together(spot)}"


def shares_in_words(spot: SpotCauses) -> str:
    """Return the causes that matter with their shares, the largest first."""
    told = [cause for cause in spot.causes if abs(cause.share) >= LEAST_TOLD]
    return ", ".join(f"{_percent(cause.share)} {WORDS[cause.name][0]}" for cause in told)


def row_of(spot: SpotCauses) -> tuple[str, ...]:
    """Return a row of a table: rank, place, lag, shares."""
    shares = shares_in_words(spot) if math.isfinite(spot.causes[0].share) else "none found"
    return str(spot.point.rank), spot.point.spot, _minutes(spot.lag), shares


def _together(spot: SpotCauses) -> str:
    best = max(spot.causes, key=lambda cause: cause.alone)
    words = f"All six made harmless take off {_minutes(spot.explained)}"
    words += f" and leave {_minutes(spot.left)}; " if spot.left >= 1.0 else "; "
    if best.alone < 0.5:
        return words + "none takes off a minute by itself: they work together."
    words += f"the most by itself: {WORDS[best.name][1]}, {_minutes(best.alone)}"
    words += f" (interaction {spot.interaction:+.0f} min)"
    if best.alone < MOST_OF_IT * spot.explained:
        words += "; no single one makes most of the difference"
    return words + "."


def notes(found: Causes, units: System) -> list[str]:
    """Return how the figures are to be read."""
    hours = format_quantity(found.until, "time", units)
    air = format_quantity(found.air_temperature, "temperature", units)
    cells = format_small_length(found.cell_size, units)
    goal = whole_degrees(REQUIRED_PEAK, units)
    brisk, light = format_quantity(BRISK, "speed", units), format_small_length(LIGHT, units)
    return [
        f"How to read it: a lag is the time by which a jump from the start to {goal} would have "
        "to be late to miss as many degree-minutes; nothing lags more than the heat lasts "
        f"({hours}) unless it gets colder than it was. Shares are Shapley values of what six "
        f"neutral states take off the lag, each tried alone and with all others: air at {brisk} or "
        f"more, no more heat store than {light} of the same stuff has, mirrors for cold walls, the "
        "air stream of the emptied room, late air and packed loads opened to the room's air, and "
        f"that air at {air} from the start.",
        f"Found on cells of {cells} by a model of each spot's surroundings: what it does not "
        "change is the rest of the room. What the crew changes during the day is left out. Shares "
        "say what holds heat back in the model; what a move gains is told by trying it.",
    ]


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min"
