"""How near is a short average of the flow to a long one, and what does it cost?

The flow of two fans never settles, so every answer is an average over some time. For layouts with
two fans at random places in one furnished room this prints the machine, the threads and, for each
way to average, how far the mean speed near surfaces is from three long averages: over 240 s of the
same run from its 20th second on; over the 240 s that follow and share nothing with it; over all
these 480 s with the default steps (not on the finer cells). How far the two halves of those 480 s
are from each other is printed too, as the floor of what can be asked.

``SCREENING`` and ``FIRST_LOOK`` stand in ``simulator.physics.airflow.settings``.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_averaging.py [fine]``
(2 minutes; with ``fine`` also rooms of 114 thousand cells: 7 minutes)
"""

import os
import platform
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from air_rooms import fan, furnished_room

from simulator.case.parts import AirMover
from simulator.grid.grid import Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.settings import (
    FIRST_LOOK,
    ROOM_AIR,
    SCREENING,
    AirflowSettings,
    FlowPlan,
)
from simulator.physics.airflow.solve_airflow import solve_airflow

LONG = 240.0  # [s] of each of the two averages that the others are measured by
DISCARD = 20.0  # [s] before them
ASKED = 0.05  # share within which an average is asked to be

#: Ways to average, by name.
WAYS: dict[str, FlowPlan] = {
    "default steps, 20 + 40 s": FlowPlan(20.0, 40.0, ROOM_AIR),
    "default steps, prolonged to 80 s at most": FlowPlan(
        20.0, 40.0, replace(ROOM_AIR, longest_average=80.0)
    ),
    "default steps, 20 + 100 s": FlowPlan(20.0, 100.0, ROOM_AIR),
    "FIRST_LOOK": FIRST_LOOK,
    "SCREENING": SCREENING,
}

#: The ways for finer cells.
FINE_WAYS = {name: WAYS[name] for name in ("FIRST_LOOK", "SCREENING")}


@dataclass(frozen=True)
class Long:
    """Near-surface speeds of each layout, averaged long [m/s]."""

    same: list[float]  # 240 s from the 20th second on
    after: list[float]  # the next 240 s
    cost: float  # CPU time of the first, mean [s]

    @property
    def whole(self) -> list[float]:
        """Over all 480 s."""
        return [0.5 * (a + b) for a, b in zip(self.same, self.after, strict=True)]


def layouts(count: int) -> list[tuple[AirMover, ...]]:
    """Return layouts of two fans each, none of them inside a block of the room."""
    rng = np.random.default_rng(11)
    grid = furnished_room(0.1, fans=())
    found: list[tuple[AirMover, ...]] = []
    while len(found) < count:
        pair = []
        for _ in range(2):
            x, y, z = rng.uniform((0.4, 0.4, 0.35), (4.6, 3.6, 1.2))
            turn, tilt = rng.uniform(0.0, 2.0 * np.pi), rng.uniform(-0.2, 0.35)
            level = np.cos(tilt)
            towards = (
                float(np.cos(turn) * level),
                float(np.sin(turn) * level),
                float(np.sin(tilt)),
            )
            flow = float(rng.uniform(0.7, 1.4))
            pair.append(fan((float(x), float(y), float(z)), towards, flow=flow))
        if not any(grid.is_blocked[tuple(int(c / 0.1) for c in one.centre)] for one in pair):
            found.append(tuple(pair))
    return found


def timed(grid: Grid, plan: FlowPlan, start: Airflow | None = None) -> tuple[Airflow, float]:
    """Return the flow and its CPU time [s]."""
    settings = replace(plan.settings, threads=1)
    begin = time.process_time()
    airflow = solve_airflow(
        grid, start=start, discard=plan.discard, average=plan.average, settings=settings
    )
    return airflow, time.process_time() - begin


def long_averages(grids: Sequence[Grid], settings: AirflowSettings) -> Long:
    """Average long, twice in a row."""
    same, after, cost = [], [], []
    for grid in grids:
        first, seconds = timed(grid, FlowPlan(DISCARD, LONG, settings))
        second, _ = timed(grid, FlowPlan(0.0, LONG, settings), start=first)
        same.append(first.near_surface_speed)
        after.append(second.near_surface_speed)
        cost.append(seconds)
    return Long(same, after, float(np.mean(cost)))


def ranks(values: Sequence[float]) -> np.ndarray:
    """Return the rank of each value."""
    return np.argsort(np.argsort(values)).astype(np.float64)


def spearman(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the rank correlation."""
    return float(np.corrcoef(ranks(a), ranks(b))[0, 1])


def compare(name: str, speeds: Sequence[float], longs: Sequence[float]) -> str:
    """Return how far the speeds are from those of a long average, in words."""
    error = np.abs(np.array(speeds) / np.array(longs) - 1.0)
    return (
        f"{name}: worst {100.0 * error.max():.1f} %, mean {100.0 * error.mean():.1f} %,"
        f" {int((error <= ASKED).sum())} of {error.size} within {100.0 * ASKED:.0f} %,"
        f" Spearman {spearman(speeds, longs):.3f}"
    )


def report(cell: float, count: int, ways: dict[str, FlowPlan], steps: Sequence[float]) -> None:
    """Print the figures of one cell size; ``steps`` [s/m] are those of the long averages."""
    grids = [furnished_room(cell, fans=fans) for fans in layouts(count)]
    print(f"{grids[0].is_open.size} cells of {cell:g} m, {count} layouts")
    longs: dict[float, Long] = {}
    for step in steps:
        longs[step] = long_averages(grids, replace(ROOM_AIR, step_per_cell=step))
        print(f"  steps of {step:g} s/m, 20 + {LONG:.0f} s: CPU {longs[step].cost:.2f} s")
        print(
            "    " + compare(f"against the next {LONG:.0f} s", longs[step].same, longs[step].after),
            flush=True,
        )
    for name, plan in ways.items():
        runs = [timed(grid, plan) for grid in grids]
        speeds = [airflow.near_surface_speed for airflow, _ in runs]
        seconds = [each for _, each in runs]
        times = [airflow.flow_time for airflow, _ in runs]
        print(
            f"  {name}: CPU {np.mean(seconds):.2f} s, at most {max(seconds):.2f} s;"
            f" {plan.discard:.0f} s discarded, {np.mean(times):.0f} s averaged"
        )
        own = longs[plan.settings.step_per_cell]
        print("    " + compare(f"against {LONG:.0f} s of the same run", speeds, own.same))
        print("    " + compare(f"against the {LONG:.0f} s after those", speeds, own.after))
        if default := longs.get(ROOM_AIR.step_per_cell):
            words = f"against {2 * LONG:.0f} s by default steps"
            print("    " + compare(words, speeds, default.whole), flush=True)


def main() -> None:
    """Print the machine and all figures."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    solve_airflow(furnished_room(0.2, fans=layouts(1)[0]), discard=2.0, average=2.0)  # compile
    long_step = SCREENING.settings.step_per_cell
    report(0.15, 16, WAYS, (ROOM_AIR.step_per_cell, long_step))
    if "fine" in sys.argv[1:]:
        report(0.075, 6, FINE_WAYS, (long_step,))


if __name__ == "__main__":
    main()
