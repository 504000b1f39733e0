"""What a log can teach: the few physical numbers of a home that nobody measured beforehand."""

from simulator.studies.uncertain import Uncertain

#: The spread that is believed before any reading, over half of a range [-]: two standard
#: deviations reach its ends and beyond them nothing is tried.
PRIOR_SPREAD = 0.5

#: Numbers that are varied in the runs of a basis. A log may teach more than the band of an answer
#: supposes, so ranges are at least as wide as there.
UNKNOWNS: tuple[Uncertain, ...] = (
    Uncertain(
        "leakage", "air leaking in and out", 0.4, 2.5, 1.0, True,
        "estimate: leakage is hardly ever measured; dwellings differ tenfold",
    ),
    Uncertain(
        "clutter", "how much loose stuff there is", 0.6, 1.4, 1.0, False,
        "estimate: how well a packing is judged by eye",
    ),
    Uncertain(
        "convection", "how fast surfaces take heat from moving air", 0.6, 1.4, 1.0, False,
        "spread between published coefficients of one surface, and what fans out of place do to it",
    ),
    Uncertain(
        "heater", "output of the heaters", 0.7, 1.15, 0.925, False,
        "estimate: voltage at the end of long cords, limits that cut in, plates that round up",
    ),
    Uncertain(
        "start", "temperature at the start", -3.0, 3.0, 0.0, False,
        "estimate: homes are not even",
    ),
    Uncertain(
        "outdoors", "temperature outdoors", -5.0, 5.0, 0.0, False,
        "estimate: the weather of the day and the sun on a wall",
    ),
)  # fmt: skip

#: How far the error of the cells is corrected: from nothing (-1) over once (0) to twice (+1).
GRID = "error of the cells"

#: The clock of the log against the moment of heat on.
CLOCK = "clock of the log"

#: One unit of the clock's error [s] (estimate: how well that moment is noted).
CLOCK_UNIT = 120.0


def values_at(point: "list[float] | tuple[float, ...]") -> dict[str, float]:
    """Return the physical values at a point whose coordinates run from -1 to +1."""
    return {
        thing.name: thing.at(0.5 * (coordinate + 1.0))
        for thing, coordinate in zip(UNKNOWNS, point, strict=True)
    }
