"""Where a few sensors catch the last cold places, whatever is not known exactly on the day.

A crew that reads its sensors ends the heat when all of them say done. What it then regrets is how
much longer the last place of all would have taken. Over an ensemble of runs, in which all that is
uncertain is varied at once, sensors are added one by one where they lessen the mean regret most:
what the sensors see is the latest of their places, a submodular gain, for which that is near the
best (Nemhauser, Wolsey & Fisher 1978, Math. Programming 14:265, from memory).

The coldest spot of a pile is on the side that the fans do not reach, and a fan that is turned a
little moves it to another: with ``turned`` the ensemble has that too, and with ``apart`` the place
that decides gets a sensor on each such side.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.parts import Vector
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid, IntArray, RefugeKind
from simulator.studies.evaluate import Failed, Workers, laid_before, or_failed
from simulator.studies.following.twin import with_fans_turned
from simulator.studies.objectives import late_time
from simulator.studies.rungs import LOOK, Rung
from simulator.studies.uncertain import (
    latin_hypercube,
    uncertain_things,
    varied_case,
    varied_settings,
)

#: The highest place that a crew reaches without a ladder [m] (common practice, no source).
REACH = 2.0

#: Runs of the ensemble (choice: places are told apart by their order, not by rare events).
SAMPLES = 24


@dataclass(frozen=True, slots=True)
class SensorPlace:
    """One sensor: the hiding place, a point in it [m], and the mean regret from here on [s]."""

    owner: str
    words: str
    room: str
    position: Vector
    regret: float
    last_in: int  # runs in which nothing is later than its place


@dataclass(frozen=True, slots=True)
class SensorPlan:
    """What ``place_sensors`` returns; ``blind`` is the regret of a crew with none in a place [s].

    A crew without any is taken to end the heat when half of the places are done.
    """

    sensors: tuple[SensorPlace, ...]
    blind: float
    runs: int


@dataclass(frozen=True, slots=True)
class _Ask:
    sources: Mapping[str, str]
    main: str
    rung: Rung
    values: Mapping[str, float]
    turn: int | None  # lot by which fans are turned; None: they are not


def place_sensors(
    case: Case,
    count: int,
    workers: Workers,
    *,
    samples: int = SAMPLES,
    seed: int = 0,
    rung: Rung = LOOK,
    apart: float = math.inf,
    turned: bool = False,
) -> SensorPlan:
    """Return where so many sensors go, the most telling first.

    Parameters
    ----------
    apart : of two sensors in one place [m]; inf: no place gets two.
    turned : whether fans are turned away by lot in every run, as they are by feet and cords.

    Raises
    ------
    CaseError
        If no run could be made, or no hiding place is within reach.
    """
    things = uncertain_things(rung.cell_size, with_grid=False)
    table = latin_hypercube(things, samples, seed)
    names = [thing.name for thing in things]
    asked = [
        _Ask(
            case.sources,
            main_of(case),
            rung,
            dict(zip(names, row.tolist(), strict=True)),
            seed * samples + number if turned else None,
        )
        for number, row in enumerate(table)
    ]
    found = {n: one for n, one in workers.each(_run, asked) if not isinstance(one, Failed)}
    if not found:
        raise CaseError("no run of the ensemble could be made: no sensor can be placed")
    times = np.array([found[n] for n in sorted(found)])
    grid = laid_before(case, rung.cell_size).grid(case)
    reached = within_reach(case, grid)
    if not reached.size:
        raise CaseError(f"no hiding place lies within {REACH:g} m of the floor")
    refuges = grid.refuges
    chosen, regrets = choose(times, reached, refuges.group, count, refuges.position, apart)
    last = times.max(axis=1)
    return SensorPlan(
        sensors=tuple(
            _sensor(grid, refuge, regret, int(np.sum(times[:, refuge] >= last - 1.0)))
            for refuge, regret in zip(chosen, regrets, strict=True)
        ),
        blind=float(np.mean(last - np.median(times, axis=1))),
        runs=len(found),
    )


def choose(
    times: FloatArray,
    candidates: IntArray,
    group: IntArray,
    count: int,
    position: FloatArray,
    apart: float = math.inf,
) -> tuple[list[int], list[float]]:
    """Return the refuges that sensors go to and the mean regret after each [s].

    Parameters
    ----------
    times : when each refuge is done in each run (M, R) [s].
    candidates : refuges that can be reached.
    group : of each refuge (R,).
    position : of each refuge (R, 3) [m].
    apart : of two sensors in one group [m]; inf: no group gets two.
    """
    last = times.max(axis=1)
    seen = np.full(times.shape[0], -math.inf)
    chosen: list[int] = []
    regrets: list[float] = []
    left = candidates
    for _ in range(count):
        if not left.size:
            break
        stop = np.maximum(seen[:, None], times[:, left])
        regret = (last[:, None] - stop).mean(axis=0).round(3)
        # of equals the one that is latest by itself
        best = int(np.lexsort((left, -times[:, left].mean(axis=0), regret))[0])
        refuge = int(left[best])
        chosen.append(refuge)
        regrets.append(float(regret[best]))
        seen = stop[:, best]
        away = np.linalg.norm(position[left] - position[refuge], axis=1)
        left = left[(group[left] != group[refuge]) | ((away >= apart) & (left != refuge))]
    return chosen, regrets


def within_reach(case: Case, grid: Grid) -> IntArray:
    """Return the refuges that a crew can put a sensor in: not above ``REACH``, nor behind walls."""
    floors = {room.name: room.low[2] for room in case.dwelling.rooms}
    refuges = grid.refuges
    floor = np.array([floors.get(group.room, 0.0) for group in refuges.groups])
    height = refuges.position[:, 2] - floor[refuges.group]
    is_open = (refuges.kind != RefugeKind.CAVITY) & (height <= REACH)
    return np.flatnonzero(is_open)


def _run(ask: _Ask) -> FloatArray | Failed:
    """Return the times of a run of the ensemble, or why it could not be made."""
    return or_failed(lambda: _times_to_done(ask))


def _times_to_done(ask: _Ask) -> FloatArray:
    """Return when each refuge is done in a run of the ensemble, with a penalty if never (R,)."""
    case = load_texts(ask.sources, ask.main)
    if ask.turn is not None:
        case = with_fans_turned(case, np.random.default_rng((ask.turn, 5)))
    case = varied_case(case, ask.values)
    settings = varied_settings(ask.rung.settings, ask.values)
    run = simulation.simulate(case, ask.rung.cell_size, settings=settings)
    found = assess(case, run.grid, run.history)
    return np.array(
        [
            time if math.isfinite(time) else late_time(dose, REQUIRED_PEAK, found.duration)
            for time, dose in zip(found.time_to_done.tolist(), found.egg_dose.tolist(), strict=True)
        ]
    )


def _sensor(grid: Grid, refuge: int, regret: float, last_in: int) -> SensorPlace:
    group = grid.refuges.groups[int(grid.refuges.group[refuge])]
    x, y, z = (float(value) for value in grid.refuges.position[refuge])
    return SensorPlace(group.owner, group.words, group.room, (x, y, z), regret, last_in)
