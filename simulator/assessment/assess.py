"""JUDGE: what a run means, from its history to verdicts, cold spots, peaks and limits in words."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.assessment.cold_spots import find_cold_spots
from simulator.assessment.end_of_heat import end_of_heat
from simulator.assessment.harm import find_harm
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.assessment.notes import limits_in_words
from simulator.assessment.peaks import find_peaks, part_peaks
from simulator.assessment.places import doses_of, judge_places, last_of
from simulator.assessment.power import power_of_run
from simulator.case.case import Case
from simulator.case.parts import Vector
from simulator.grid.grid import FloatArray, Grid, Refuges
from simulator.history import History

#: Cold spots that are listed; the others are counted in the notes (our choice: one sheet).
MOST_LISTED = 12


def assess(case: Case, grid: Grid, history: History) -> Assessment:
    """Return the verdict on a run.

    A place is *done* when its egg dose reaches 3.5 and its temperature 50 °C, *marginal* if that
    would fail at 2 K less, else *not done*. The finishing time is when the last place is done.

    Parameters
    ----------
    case, grid, history : the run; ``history.refuge_temperature`` has one column for each of
        ``grid.refuges``, ``history.probe_temperature`` one for each of ``case.probes``.
    """
    doses = doses_of(history)
    end = end_of_heat(case, history.time)
    final = history.refuge_temperature[end.index].astype(np.float64)
    spots = find_cold_spots(case, grid, history, doses)
    share, mean = _below_and_mean(history.refuge_temperature, grid.refuges.volume)
    return Assessment(
        finishing_time=last_of(doses.time_to_done),
        finishing_time_colder=last_of(doses.time_to_done_colder),
        is_all_done=bool(doses.is_done.all()),
        places=judge_places(grid.refuges, final, doses),
        cold_spots=spots[:MOST_LISTED],
        coldest_by_furniture=_coldest_by_furniture(case, grid.refuges, final),
        peaks=find_peaks(case, grid, history),
        air_maximum=float(history.air_maximum.max()),
        fraction_below_50=share,
        coldest=_extreme(history.refuge_temperature, np.min),
        warmest=_extreme(history.refuge_temperature, np.max),
        mean=mean,
        egg_dose=doses.egg,
        time_to_done=doses.time_to_done,
        heat_imbalance=float(np.abs(history.ledger.imbalance).max()),
        notes=_notes(case, grid, history, spots),
        is_complete=history.is_complete,
        harm=find_harm(case, history, grid, part_peaks(grid, history)),
        power=power_of_run(case, grid, history),
        end=end,
    )


def _below_and_mean(
    temperature: NDArray[np.float32], volume: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return against time the share of volume below 50 °C and the volume's mean, shapes (T,)."""
    whole = float(volume.sum())
    share = np.full(temperature.shape[0], np.nan)
    mean = np.full(temperature.shape[0], np.nan)
    if whole > 0.0:
        for row, now in enumerate(temperature):
            share[row] = volume[now < REQUIRED_PEAK].sum() / whole
            mean[row] = now @ volume / whole
    return share, mean


def _extreme(temperature: NDArray[np.float32], of: Callable[..., Any]) -> FloatArray:
    """Return the lowest or highest refuge temperature against time, shape (T,) [°C]."""
    if temperature.shape[1] == 0:
        return np.full(temperature.shape[0], np.nan)
    return np.asarray(of(temperature, axis=1), dtype=np.float64)


def _coldest_by_furniture(
    case: Case, refuges: Refuges, final: FloatArray
) -> tuple[tuple[str, float, Vector], ...]:
    """Return owner, temperature and position of each piece's coldest refuge, the coldest first."""
    owners = [group.owner for group in refuges.groups]
    coldest: dict[str, int] = {}
    for index in np.argsort(final, kind="stable"):
        owner = owners[refuges.group[index]]
        if owner in case.furniture_words:
            coldest.setdefault(owner, int(index))
    return tuple(
        (owner, float(final[index]), _point(refuges.position[index]))
        for owner, index in coldest.items()
    )


def _point(position: FloatArray) -> Vector:
    x, y, z = (float(value) for value in position)
    return (x, y, z)


def _notes(
    case: Case, grid: Grid, history: History, spots: tuple[ColdSpot, ...]
) -> tuple[str, ...]:
    return limits_in_words(
        history, case.treatment.horizon, grid.refuges.index.size, spots[MOST_LISTED:]
    )
