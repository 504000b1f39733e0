"""The few figures of a run that a search keeps: small enough to write one line for each."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from simulator.assessment.assessment import Assessment
from simulator.studies.objectives import OBJECTIVES, time_with_penalty


@dataclass(frozen=True, slots=True)
class PlaceTime:
    """When a hiding place is done, with the penalty of one that never is [s]."""

    owner: str
    words: str
    room: str
    time: float


@dataclass(frozen=True, slots=True)
class Figures:
    """What is kept of a run.

    Attributes
    ----------
    values : of every objective, by name.
    finishing_time : [s]; nan: not within the run.
    duration : of the run [s].
    places, places_left : how many hiding places there are, and how many are not done.
    litres_left : volume that is not done [l].
    mean : of the hiding places when the heat ends [°C].
    air_maximum : [°C].
    times : of the hiding places, the slowest first; kept where they are asked for.
    """

    values: Mapping[str, float]
    finishing_time: float
    duration: float
    places: int
    places_left: int
    litres_left: float
    mean: float
    air_maximum: float
    times: tuple[PlaceTime, ...] = ()


def figures_of(assessment: Assessment, *, with_places: bool) -> Figures:
    """Return the figures of a run, with the time of every place if asked for."""
    undone = [place for place in assessment.places if place.state == "not done"]
    times = [
        PlaceTime(
            place.owner, place.words, place.room, time_with_penalty(place, assessment.duration)
        )
        for place in assessment.places
    ]
    times.sort(key=lambda place: -place.time)
    is_left = ~(assessment.time_to_done >= 0.0)
    return Figures(
        values={objective.name: objective.of(assessment) for objective in OBJECTIVES},
        finishing_time=assessment.finishing_time,
        duration=assessment.duration,
        places=len(assessment.places),
        places_left=len(undone),
        litres_left=float(assessment.litres[is_left].sum()),
        mean=float(assessment.mean[assessment.end.index]),
        air_maximum=assessment.air_maximum,
        times=tuple(times) if with_places else (),
    )


def as_record(figures: Figures) -> dict[str, Any]:
    """Return figures as plain JSON; a finishing time that is never reached is null."""
    record = asdict(figures)
    if math.isnan(figures.finishing_time):
        record["finishing_time"] = None
    record["times"] = [[p.owner, p.words, p.room, p.time] for p in figures.times]
    return record


def from_record(record: Mapping[str, Any]) -> Figures:
    """Return the figures that ``as_record`` wrote."""
    known = dict(record)
    if known["finishing_time"] is None:
        known["finishing_time"] = math.nan
    known["times"] = tuple(PlaceTime(*place) for place in known["times"])
    return Figures(**known)


def mean_value(runs: Sequence[float]) -> float:
    """Return the mean of repeated runs' values, infinite if there is none."""
    return sum(runs) / len(runs) if runs else math.inf
