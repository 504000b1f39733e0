"""JUDGE: what a run means, from its history to verdicts, cold spots, peaks and limits in words."""

from collections.abc import Callable
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.assessment.cold_spots import find_cold_spots
from simulator.assessment.end_of_heat import end_of_heat
from simulator.assessment.harm import find_harm
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.assessment.notes import limits_in_words
from simulator.assessment.peaks import find_peaks, part_peaks
from simulator.assessment.places import Doses, doses_of, judge_places, last_of
from simulator.assessment.power import power_of_run
from simulator.assessment.taken_out import notes_on_changes, seen_temperature, stays
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
    doses, here = doses_of(history), stays(history)
    seen = seen_temperature(history)
    end = end_of_heat(case, history.time)
    final = history.refuge_temperature[end.index].astype(np.float64)
    spots = find_cold_spots(case, grid, history, doses)
    share, mean = _below_and_mean(seen, grid.refuges.volume)
    return Assessment(
        finishing_time=last_of(doses.time_to_done[here]),
        finishing_time_colder=last_of(doses.time_to_done_colder[here]),
        is_all_done=bool(doses.is_done[here].all()),
        places=judge_places(grid.refuges, final, doses),
        cold_spots=spots[:MOST_LISTED],
        coldest_by_furniture=_coldest_by_furniture(case, grid.refuges, final),
        peaks=find_peaks(case, grid, history),
        air_maximum=float(history.air_maximum.max()),
        fraction_below_50=share,
        coldest=_extreme(seen, np.nanmin),
        warmest=_extreme(seen, np.nanmax),
        mean=mean,
        egg_dose=doses.egg,
        time_to_done=doses.time_to_done,
        heat_imbalance=history.ledger.largest_imbalance,
        notes=_notes(case, grid, history, spots, doses),
        duration=float(history.time[-1]),
        litres=np.where(here, 1000.0 * grid.refuges.volume, 0.0),
        is_complete=history.is_complete,
        harm=find_harm(case, history, grid, part_peaks(grid, history)),
        power=power_of_run(case, grid, history),
        end=end,
    )


def _below_and_mean(temperature: FloatArray, volume: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return against time the share of volume below 50 °C and the volume's mean, shapes (T,).

    ``temperature`` (T, R) is nan where a refuge is no longer in the dwelling.
    """
    share = np.full(temperature.shape[0], np.nan)
    mean = np.full(temperature.shape[0], np.nan)
    for row, now in enumerate(temperature):
        here = np.isfinite(now)
        whole = float(volume[here].sum())
        if whole > 0.0:
            share[row] = volume[now < REQUIRED_PEAK].sum() / whole
            mean[row] = now[here] @ volume[here] / whole
    return share, mean


def _extreme(temperature: FloatArray, of: Callable[..., Any]) -> FloatArray:
    """Return the lowest or highest refuge temperature against time, shape (T,) [°C]."""
    if not np.isfinite(temperature).any(axis=1).all():
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
    case: Case, grid: Grid, history: History, spots: tuple[ColdSpot, ...], doses: Doses
) -> tuple[str, ...]:
    limits = limits_in_words(
        history, case.treatment.horizon, grid.refuges.index.size, spots[MOST_LISTED:]
    )
    return (*notes_on_changes(case, grid.refuges, history, doses.is_done), *limits)
