"""What a search over layouts makes small: each objective is one function of an ``Assessment``.

A new objective is one function that returns one number, the smaller the better, and one row in
``OBJECTIVES``. It must be finite for any run, also for one in which places are never done, and tell
two such runs apart: a search starts among layouts that all leave something cold.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from simulator.assessment.assessment import Assessment, PlaceVerdict
from simulator.assessment.lethal_dose import DESIGN_DOSE, EGG_SLOW, REQUIRED_PEAK
from simulator.case.hazards import Verdict
from simulator.errors import CaseError
from simulator.units import System, format_quantity

#: A place that never is done counts as done after the run, by half of the longest penalty where it
#: misses its dose by this [K], and by no more than all of it however cold it stays: one that no
#: layout can reach is not to drown all others (choice).
HALF_PENALTY_AT = 5.0

#: The longest penalty over the run [-] (choice).
LONGEST_PENALTY = 1.0

#: By how much more than its peak misses 50 °C a place can be short [K] (choice: a dose of nothing
#: and one of next to nothing are about as bad).
MOST_BEYOND_PEAK = 5.0

#: Power of the mean that ``soft_finishing_time`` is [-]: 1 would be the mean of all places,
#: infinity the last one (choice: what is done after 6 h counts four times what is after 3 h).
SOFTNESS = 2.0


@dataclass(frozen=True, slots=True)
class Objective:
    """A number to be made small.

    Attributes
    ----------
    name : by which it is asked for.
    words : what it is.
    quantity : kind of number for ``units``; "" is a plain number in ``unit``.
    unit : of a plain number.
    of : its value for a run.
    tie, least_tie : two layouts whose values differ by less than this share [-], or by less than
        this, cannot be told apart by averages of the flow.
    """

    name: str
    words: str
    quantity: str
    unit: str
    of: Callable[[Assessment], float]
    tie: float
    least_tie: float

    def width(self, value: float) -> float:
        """Return the width of a tie about a value."""
        return max(self.tie * abs(value), self.least_tie)

    def say(self, value: float, units: System = "si") -> str:
        """Return a value in words."""
        if self.quantity:
            return format_quantity(value, self.quantity, units)
        return f"{value:.4g} {self.unit}"


def missing_warmth(dose: float, peak: float) -> float:
    """Return by about how much a place misses its verdict [K]; 0: done.

    Parameters
    ----------
    dose : egg dose at the end of the run [-].
    peak : highest temperature [°C].

    Notes
    -----
    The greater of what the peak lacks of 50 °C and of what would make up for the dose: tenfold for
    each z of the egg curve, at most ``MOST_BEYOND_PEAK`` more than the former.

    Examples
    --------
    A tenth of the dose at a peak of 51 °C is z short:

    >>> round(missing_warmth(0.35, 51.0), 2), missing_warmth(9.0, 52.0), missing_warmth(0.0, 40.0)
    (3.9, 0.0, 15.0)
    """
    below = max(REQUIRED_PEAK - peak, 0.0)
    most = below + MOST_BEYOND_PEAK
    if dose >= DESIGN_DOSE:
        return below
    by_dose = EGG_SLOW.z * math.log10(DESIGN_DOSE / dose) if dose > 0.0 else most
    return max(below, min(by_dose, most))


def time_with_penalty(place: PlaceVerdict, duration: float) -> float:
    """Return when a place is done; if it never is, the run and a penalty for what it lacks [s]."""
    if math.isfinite(place.time_to_done):
        return place.time_to_done
    return late_time(place.egg_dose, place.peak, duration)


def late_time(dose: float, peak: float, duration: float) -> float:
    """Return the time that counts for what is not done in a run of a ``duration`` [s]."""
    missing = missing_warmth(dose, peak)
    return duration * (1.0 + LONGEST_PENALTY * missing / (missing + HALF_PENALTY_AT))


def soft_finishing_time(assessment: Assessment) -> float:
    """Return the power mean of the times of all hiding places, the slowest counting most [s].

    The finishing time itself is that of one place, and does not see what a fan does for all others:
    no guide for a step of a search.
    """
    times = np.array([time_with_penalty(p, assessment.duration) for p in assessment.places])
    if not times.size:
        return 0.0
    longest = max(float(times.max()), 1.0)
    mean = float(np.mean((times / longest) ** SOFTNESS))
    return longest * math.pow(mean, 1.0 / SOFTNESS)


def last_place(assessment: Assessment) -> float:
    """Return when the last hiding place is done, with a penalty if it never is [s]."""
    times = [time_with_penalty(place, assessment.duration) for place in assessment.places]
    return max(times, default=0.0)


def litre_hours_cold(assessment: Assessment) -> float:
    """Return how long which volume of hiding places stays without its dose [l h]."""
    times = np.where(
        np.isfinite(assessment.time_to_done), assessment.time_to_done, assessment.duration
    )
    return float(assessment.litres @ times) / 3600.0


def harm(assessment: Assessment) -> float:
    """Return by how much limits are passed, added up over things and the air [K]."""
    passed = (
        max(verdict.peak - verdict.limit, 0.0)
        for verdict in assessment.harm
        if verdict.limit is not None
        and verdict.verdict != Verdict.STOP.value
        and math.isfinite(verdict.peak)
    )
    return float(sum(passed))


#: The first is what a search uses unless asked otherwise. Ties: two starts of nine random layouts
#: of three fans in a furnished bedroom differed by 0.1 % in ``finish`` and ``cold`` by looks, by
#: 0.3 % by whole runs, where the layouts differed by 6 and 4 %; those of four fans that blow across
#: each other by 1 to 2 %. That goes with averages of the speed near surfaces that are good
#: to 3 % in the mean and 10 % in the slowest tenth (``benchmarks/placement.py ranks``).
OBJECTIVES: tuple[Objective, ...] = (
    Objective(
        "finish",
        "time until the hiding places have their dose, the slowest counting most",
        "time",
        "",
        soft_finishing_time,
        0.01,
        60.0,
    ),
    Objective(
        "last",
        "time until the last hiding place has its dose",
        "time",
        "",
        last_place,
        0.03,
        60.0,
    ),
    Objective(
        "cold",
        "litre-hours of hiding places without their dose",
        "",
        "l h",
        litre_hours_cold,
        0.01,
        0.1,
    ),
    Objective(
        "harm", "kelvins above the limits of things and of the air", "", "K", harm, 0.10, 0.5
    ),
)


def objective_named(name: str) -> Objective:
    """Return an objective by its name.

    Raises
    ------
    CaseError
        If there is none of this name.
    """
    for objective in OBJECTIVES:
        if objective.name == name:
            return objective
    names = ", ".join(objective.name for objective in OBJECTIVES)
    raise CaseError(f"unknown objective '{name}'; objectives: {names}")


def worst(objective: Objective, assessments: Iterable[Assessment]) -> float:
    """Return the value of a layout over several states of the dwelling: that of the worst."""
    return max(objective.of(assessment) for assessment in assessments)
