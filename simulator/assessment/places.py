"""The verdict on each hiding place: done, marginal or not done, judged by its slowest member."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.assessment import PlaceVerdict
from simulator.assessment.lethal_dose import (
    ADULT_SLOW,
    COLDER_OFFSET,
    DESIGN_DOSE,
    EGG_SLOW,
    LT99_DOSE,
    accumulate,
)
from simulator.assessment.taken_out import removal_times
from simulator.grid.grid import BoolArray, FloatArray, IntArray, Refuges
from simulator.history import History


@dataclass(frozen=True, slots=True)
class Doses:
    """The fate of every refuge (all of shape (R,)); times in s, nan: never.

    "Done" is the later of two moments: the egg dose reaches 3.5, the temperature reaches 50 °C.
    """

    egg: FloatArray
    adult: FloatArray
    peak: FloatArray  # [°C]
    time_to_50: FloatArray
    time_to_lt99: FloatArray
    time_to_done: FloatArray
    egg_colder: FloatArray  # as above, were every temperature 2 K lower
    time_to_lt99_colder: FloatArray
    time_to_done_colder: FloatArray

    @property
    def is_done(self) -> BoolArray:
        """Whether each refuge was done within the run."""
        return np.isfinite(self.time_to_done)


def doses_of(history: History) -> Doses:
    """Return the doses of every refuge over the whole history, or until its thing was taken out."""
    whole = _doses(history.time, history.refuge_temperature)
    removed = removal_times(history)
    for moment in np.unique(removed[np.isfinite(removed)]).tolist():
        ours, rows = removed == moment, history.time <= moment
        until = _doses(history.time[rows], history.refuge_temperature[rows][:, ours])
        for field in fields(Doses):
            getattr(whole, field.name)[ours] = getattr(until, field.name)
    return whole


def _doses(time: FloatArray, temperature: NDArray[np.float32]) -> Doses:
    thresholds = (LT99_DOSE, DESIGN_DOSE)
    egg = accumulate(time, temperature, EGG_SLOW, thresholds)
    colder = accumulate(time, temperature, EGG_SLOW, thresholds, COLDER_OFFSET)
    adult = accumulate(time, temperature, ADULT_SLOW, thresholds)
    return Doses(
        egg=egg.final,
        adult=adult.final,
        peak=egg.peak,
        time_to_50=egg.time_of_50,
        time_to_lt99=egg.time_to[0],
        time_to_done=np.maximum(egg.time_to[1], egg.time_of_50),
        egg_colder=colder.final,
        time_to_lt99_colder=colder.time_to[0],
        time_to_done_colder=np.maximum(colder.time_to[1], colder.time_of_50),
    )


def last_of(times: FloatArray) -> float:
    """Return the latest of times [s], nan if any is nan or there is none."""
    return float(times.max()) if times.size else float("nan")


def judge_places(
    refuges: Refuges, final_temperature: FloatArray, doses: Doses
) -> tuple[PlaceVerdict, ...]:
    """Return the verdict on each group of refuges, the slowest first.

    Places that are not done come first, those with the least egg dose leading.
    """
    verdicts = [
        _judge(refuges, group, members, final_temperature, doses)
        for group, members in enumerate(_members(refuges.group, len(refuges.groups)))
        if members.size
    ]
    return tuple(sorted(verdicts, key=_slowness))


def _members(group: IntArray, count: int) -> list[IntArray]:
    """Return the refuges of each group."""
    order = np.argsort(group, kind="stable")
    return np.split(order, np.searchsorted(group[order], np.arange(1, count)))


def _judge(
    refuges: Refuges,
    group: int,
    members: IntArray,
    final_temperature: FloatArray,
    doses: Doses,
) -> PlaceVerdict:
    place = refuges.groups[group]
    done = last_of(doses.time_to_done[members])
    done_colder = last_of(doses.time_to_done_colder[members])
    return PlaceVerdict(
        owner=place.owner,
        words=place.words,
        room=place.room,
        state=_state(done, done_colder),
        litres=1000.0 * float(refuges.volume[members].sum()),
        coldest=float(final_temperature[members].min()),
        peak=float(doses.peak[members].min()),
        egg_dose=float(doses.egg[members].min()),
        egg_dose_colder=float(doses.egg_colder[members].min()),
        adult_dose=float(doses.adult[members].min()),
        time_to_lt99=last_of(doses.time_to_lt99[members]),
        time_to_done=done,
        time_to_lt99_colder=last_of(doses.time_to_lt99_colder[members]),
        time_to_done_colder=done_colder,
    )


def _state(done: float, done_colder: float) -> str:
    if np.isnan(done):
        return "not done"
    return "marginal" if np.isnan(done_colder) else "done"


def _slowness(verdict: PlaceVerdict) -> tuple[float, float, float]:
    """Return a key that puts the slowest place first."""
    if np.isnan(verdict.time_to_done):
        return (-np.inf, min(verdict.egg_dose, DESIGN_DOSE), verdict.peak)
    return (-verdict.time_to_done, 0.0, 0.0)
