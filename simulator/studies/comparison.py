"""Two or more answers side by side: the same figures at the same moment, and what they can tell.

A difference counts only where it is larger than the bands of both answers together. Bands are those
of the cells, from companion runs; what else the model does not know (coefficients, leaks, gaps) is
much the same on both sides and is not in them.
"""

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.assessment.naming import short_name
from simulator.assessment.taken_out import seen_temperature
from simulator.case.case import Case
from simulator.errors import ResultError
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.place_key import PlaceKey, place_key
from simulator.history import History, nearest_index
from simulator.studies import band, grid_error
from simulator.units import format_quantity

#: Hiding places whose verdict changed that are named; the others are counted.
MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class Ensemble:
    """What an ensemble of runs found (``studies/band.py``): when eight of ten are all done [s].

    ``late`` is inf where fewer than nine of ten are done within the run, ``early`` where fewer than
    one of ten is.
    """

    early: float
    late: float
    done_in: int
    samples: int
    has_grid_error: bool


#: Name of the figure of the litres that are compared like with like: a share also changes with what
#: is carried in and out.
COMMON_LITRES = "volume below 50 °C, in the places that all of them have"


@dataclass(frozen=True, slots=True)
class Answer:
    """One side of a comparison. T times of its history.

    ``places`` are hiding places by owner, words and room, and ``cold_litres`` the volume of each
    below 50 °C against time; ``bands`` half widths by the name of the figure, in its unit.
    """

    label: str
    case: Case
    cell_size: float  # [m]
    time: FloatArray  # (T,) [s]
    assessment: Assessment
    places: tuple[PlaceKey, ...]  # G of them
    cold_litres: FloatArray  # (T, G) [l]
    bands: Mapping[str, float]
    ensemble: Ensemble | None = None

    @property
    def not_done(self) -> int:
        """How many hiding places are not done when the run ends."""
        return sum(place.state == "not done" for place in self.assessment.places)


class Reading(Enum):
    """What a difference of a figure can tell."""

    LOWER = "lower"
    HIGHER = "higher"
    TIE = "tie"
    UNKNOWN = "unknown"  # the error of the cells is not known


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of all answers; nan where there is none.

    ``quantity`` is a kind of number for ``units``, or "share", "litres", "count" or "kWh".
    ``bands`` are half widths, nan where not known; ``readings`` tell of every answer but the first
    how it stands to the first (empty: the figure is not ranked).
    """

    name: str
    quantity: str
    values: tuple[float, ...]
    bands: tuple[float, ...] = ()
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Changed:
    """Hiding places in words, done on one side even if all were 2 K colder, not on the other."""

    done_only_here: tuple[str, ...]
    done_only_first: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What ``compare`` returns; ``changed`` has an entry for every answer but the first.

    ``common`` are the hiding places in which litres compare like with like.
    """

    answers: tuple[Answer, ...]
    moment: float  # [s], at which temperatures and shares are told
    figures: tuple[Figure, ...]
    harm: tuple[Mapping[str, int], ...]  # how many verdicts of each kind
    changed: tuple[Changed, ...]
    common: frozenset[PlaceKey]

    @property
    def has_same_places(self) -> bool:
        """Whether all answers have the same hiding places, so that their shares compare."""
        return all(set(one.places) == self.common for one in self.answers)


def answer_of(
    label: str,
    case: Case,
    cell_size: float,
    grid: Grid,
    history: History,
    assessment: Assessment,
    findings: Mapping[str, Any],
) -> Answer:
    """Return one side of a comparison; ``findings`` are those of the result file."""
    found = findings.get(grid_error.NAME) or {}
    bands = {
        figure["name"]: figure["band"]
        for figure in found.get("figures", ())
        if figure["band"] is not None
    }
    places = tuple(place_key(group) for group in grid.refuges.groups)
    cold = _cold_litres(grid, history)
    several = _ensemble(findings.get(band.NAME))
    return Answer(label, case, cell_size, history.time, assessment, places, cold, bands, several)


def distinct_labels(titles: Sequence[str], details: Sequence[Sequence[str]]) -> list[str]:
    """Return what answers are called: their titles, where alike with what tells them apart.

    Parameters
    ----------
    details : lists of what could tell them apart; the first that does is taken, else the last.
    """
    labels = list(titles)
    for detail in details:
        if len(set(labels)) == len(labels):
            break
        labels = [f"{title} ({more})" for title, more in zip(titles, detail, strict=True)]
    return labels


def _ensemble(found: Mapping[str, Any] | None) -> Ensemble | None:
    if found is None:
        return None
    early, late = (found["finishing"][name] for name in ("p10", "p90"))
    return Ensemble(
        early=math.inf if early is None else early,
        late=math.inf if late is None else late,
        done_in=found["done_in"],
        samples=found["samples"],
        has_grid_error=found["has_grid_error"],
    )


def _cold_litres(grid: Grid, history: History) -> FloatArray:
    """Return the volume below 50 °C of each hiding place against time (T, G) [l]."""
    order = np.argsort(grid.refuges.group, kind="stable")
    begins = np.searchsorted(grid.refuges.group[order], np.arange(len(grid.refuges.groups)))
    is_cold = seen_temperature(history)[:, order] < REQUIRED_PEAK
    litres = 1000.0 * is_cold * grid.refuges.volume[order]
    if not litres.size:
        return np.zeros((history.time.size, 0))
    cold: FloatArray = np.add.reduceat(litres, begins, axis=1)
    return cold


def cold_litres_in(answer: Answer, places: Set[PlaceKey]) -> FloatArray:
    """Return the volume below 50 °C of those of the places that an answer has, in time (T,) [l]."""
    counted = [number for number, place in enumerate(answer.places) if place in places]
    litres: FloatArray = answer.cold_litres[:, counted].sum(axis=1)
    return litres


def compare(
    answers: Sequence[Answer],
    moment: float | None = None,
    common: frozenset[PlaceKey] | None = None,
) -> Comparison:
    """Return the answers side by side.

    Parameters
    ----------
    answers : at least two; differences are taken from the first.
    moment : at which temperatures and shares are told [s]; None: when the first heat ends.
    common : hiding places in which litres are compared; None: those that all answers have.

    Raises
    ------
    ResultError
        If a run is over before ``moment``.
    """
    ends = [float(one.time[one.assessment.end.index]) for one in answers]
    told = min(ends) if moment is None else moment
    for one in answers:
        if told > one.time[-1] + 1.0:
            over, wished = (format_quantity(t, "time") for t in (float(one.time[-1]), told))
            raise ResultError(f"{one.label}: its run is over after {over}; not shown at {wished}")
    if common is None:
        common = frozenset(answers[0].places).intersection(*(one.places for one in answers[1:]))
    return Comparison(
        answers=tuple(answers),
        moment=told,
        figures=_figures(answers, told, common),
        harm=tuple(_harm(one.assessment) for one in answers),
        changed=tuple(_changed(answers[0], other) for other in answers[1:]),
        common=common,
    )


def index_at(answer: Answer, moment: float) -> int:
    """Return which time of an answer is nearest to a moment [s]."""
    return nearest_index(answer.time, moment)


def _figures(answers: Sequence[Answer], moment: float, common: Set[PlaceKey]) -> tuple[Figure, ...]:
    at = [index_at(one, moment) for one in answers]
    judged = [one.assessment for one in answers]
    is_end = [
        i == one.assessment.end.index % one.time.size for i, one in zip(at, answers, strict=True)
    ]

    def told(curve: str) -> list[float]:
        return [float(getattr(a, curve)[i]) for a, i in zip(judged, at, strict=True)]

    def bands(name: str, *, always: bool = False) -> list[float]:
        """Bands are known of the end of the heat only."""
        return [
            one.bands.get(name, math.nan) if always or here else math.nan
            for one, here in zip(answers, is_end, strict=True)
        ]

    finish = [a.finishing_time for a in judged]
    horizons = [one.case.treatment.horizon for one in answers]
    finish_bands = bands("all done", always=True)
    return (
        Figure(
            "all done",
            "time",
            tuple(finish),
            tuple(finish_bands),
            tuple(
                by_ensembles(
                    read_finish(
                        (finish[0], finish[n]),
                        (finish_bands[0], finish_bands[n]),
                        (horizons[0], horizons[n]),
                    ),
                    answers[0].ensemble,
                    answers[n].ensemble,
                )
                for n in range(1, len(answers))
            ),
        ),
        Figure("all done, 2 K colder", "time", tuple(a.finishing_time_colder for a in judged)),
        _ranked(
            "volume below 50 °C", "share", told("fraction_below_50"), bands("volume below 50 °C")
        ),
        Figure(
            "volume below 50 °C, litres",
            "litres",
            tuple(float(one.cold_litres[i].sum()) for one, i in zip(answers, at, strict=True)),
        ),
        Figure(
            COMMON_LITRES,
            "litres",
            tuple(
                float(cold_litres_in(one, common)[i]) for one, i in zip(answers, at, strict=True)
            ),
        ),
        Figure("coldest hiding place", "temperature", tuple(told("coldest"))),
        _ranked(
            "mean of hiding places", "temperature", told("mean"), bands("mean of hiding places")
        ),
        Figure(
            "hiding places not done",
            "count",
            tuple(float(one.not_done) for one in answers),
        ),
        Figure(
            "hiding places",
            "count",
            tuple(float(len(a.places)) for a in judged),
        ),
        Figure("hottest air", "temperature", tuple(a.air_maximum for a in judged)),
        Figure(
            "energy of the whole run",
            "kWh",
            tuple(
                sum(use.electricity + use.heat for use in a.power.energy) / 3.6e6 for a in judged
            ),
        ),
    )


def _ranked(name: str, quantity: str, values: Sequence[float], bands: Sequence[float]) -> Figure:
    readings = tuple(
        read(values[0], value, bands[0], band)
        for value, band in zip(values[1:], bands[1:], strict=True)
    )
    return Figure(name, quantity, tuple(values), tuple(bands), readings)


def read(first: float, other: float, first_band: float, other_band: float) -> Reading:
    """Return how a figure stands to the first one's: a tie unless the bands leave no doubt.

    >>> read(10.0, 8.0, 0.5, 0.5), read(10.0, 9.5, 0.5, 0.5), read(1.0, 2.0, 0.1, float("nan"))
    (<Reading.LOWER: 'lower'>, <Reading.TIE: 'tie'>, <Reading.UNKNOWN: 'unknown'>)
    """
    if first == other:
        return Reading.TIE
    both = first_band + other_band
    if not math.isfinite(both):
        return Reading.UNKNOWN
    if abs(other - first) <= both:
        return Reading.TIE
    return Reading.LOWER if other < first else Reading.HIGHER


def read_finish(
    finish: tuple[float, float], bands: tuple[float, float], horizons: tuple[float, float]
) -> Reading:
    """Return how a finishing time [s] stands to the first one's; nan: not within the horizon.

    Where only one finishes it is told as earlier if its band ends before the other's horizon; two
    that do not finish tie: nothing is known of what comes after.
    """
    (first, other), (first_band, other_band) = finish, bands
    if math.isnan(first) and math.isnan(other):
        return Reading.TIE
    if math.isfinite(first) and math.isfinite(other):
        return read(first, other, first_band, other_band)
    done, band, horizon = (
        (other, other_band, horizons[0]) if math.isnan(first) else (first, first_band, horizons[1])
    )
    if not math.isfinite(band):
        return Reading.UNKNOWN
    if done + band > horizon:
        return Reading.TIE
    return Reading.LOWER if math.isnan(first) else Reading.HIGHER


def by_ensembles(reading: Reading, first: Ensemble | None, other: Ensemble | None) -> Reading:
    """Return a reading of finishing times, corrected by ensembles where both answers have one.

    Ensembles vary more than the cells, also what is alike on both sides: times are told apart only
    where eight of ten runs of one are done before eight of ten of the other.
    """
    if first is None or other is None:
        return reading
    if other.early <= first.late and first.early <= other.late:
        return Reading.TIE
    if reading is Reading.UNKNOWN and first.has_grid_error and other.has_grid_error:
        return Reading.LOWER if other.late < first.early else Reading.HIGHER
    return reading


def _harm(assessment: Assessment) -> Mapping[str, int]:
    kinds = ("stop", "ask", "warn")
    return {kind: sum(row.verdict == kind for row in assessment.harm) for kind in kinds}


def _changed(first: Answer, other: Answer) -> Changed:
    """Return the hiding places that both have and of which one is done and the other is not.

    "Marginal" counts as neither: 2 K would change it.
    """
    states = [
        {(place.owner, place.words): place.state for place in one.assessment.places}
        for one in (first, other)
    ]
    both = [key for key in states[0] if key in states[1]]

    def only(here: int) -> tuple[str, ...]:
        there = 1 - here
        return tuple(
            short_name(owner, words, first.case.furniture_words)
            for owner, words in both
            if states[here][owner, words] == "done" and states[there][owner, words] == "not done"
        )

    return Changed(done_only_here=only(1), done_only_first=only(0))
