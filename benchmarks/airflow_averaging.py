"""How near is a short average of the flow to a long one, and what does it cost?

The flow of two fans never settles, so every answer is an average over some time. For layouts with
two fans at random places in one furnished room this prints the machine, the threads and, for each
way to average, how far the mean speed near surfaces is from an average over 240 s: of the same run
from its 20th second on, and of the 240 s that follow the short average and share nothing with it.
Two long averages differ from each other too; that is printed as the floor of what can be asked.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_averaging.py [fine]``
(1 minute; with ``fine`` also rooms of 114 thousand cells: 8 minutes)
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
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.solve_airflow import solve_airflow

LONG = 240.0  # [s] of the average that the others are measured by
DISCARD = 20.0  # [s]
PROLONGED = 80.0  # [s] longest average of the way that prolongs itself


@dataclass(frozen=True)
class Way:
    """A way to average: its name, its seconds, and how long it may be prolonged."""

    name: str
    average: float
    longest: float = 0.0


WAYS = (
    Way("20 + 40 s", 40.0),
    Way("20 + 40 s, prolonged to 80 s at most", 40.0, PROLONGED),
    Way("20 + 100 s", 100.0),
)


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


def timed(grid: Grid, way: Way, start: Airflow | None = None) -> tuple[Airflow, float]:
    """Return the flow and its CPU time [s]."""
    settings = replace(ROOM_AIR, longest_average=way.longest, threads=1)
    discard = DISCARD if start is None else 0.0
    begin = time.process_time()
    airflow = solve_airflow(
        grid, start=start, discard=discard, average=way.average, settings=settings
    )
    return airflow, time.process_time() - begin


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
        f" Spearman {spearman(speeds, longs):.3f}"
    )


def report(cell: float, count: int) -> None:
    """Print the figures of one cell size."""
    grids = [furnished_room(cell, fans=fans) for fans in layouts(count)]
    print(f"{grids[0].is_open.size} cells of {cell:g} m, {count} layouts")
    same, later, cost = [], [], []
    for grid in grids:
        long, seconds = timed(grid, Way("long", LONG))
        after, _ = timed(grid, Way("after", LONG), start=long)
        same.append(long.near_surface_speed)
        later.append(after.near_surface_speed)
        cost.append(seconds)
    print(f"  20 + {LONG:.0f} s: CPU {np.mean(cost):.2f} s")
    print("    " + compare(f"against the next {LONG:.0f} s", same, later))
    for way in WAYS:
        runs = [timed(grid, way) for grid in grids]
        speeds = [airflow.near_surface_speed for airflow, _ in runs]
        seconds = [each for _, each in runs]
        times = [airflow.flow_time for airflow, _ in runs]
        print(
            f"  {way.name}: CPU {np.mean(seconds):.2f} s, at most {max(seconds):.2f} s;"
            f" averaged {np.mean(times):.0f} s"
        )
        print("    " + compare(f"against {LONG:.0f} s of the same run", speeds, same))
        print("    " + compare(f"against the {LONG:.0f} s after those", speeds, later), flush=True)


def main() -> None:
    """Print the machine and all figures."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    solve_airflow(furnished_room(0.2, fans=layouts(1)[0]), discard=2.0, average=2.0)  # compile
    report(0.15, 12)
    if "fine" in sys.argv[1:]:
        report(0.075, 10)


if __name__ == "__main__":
    main()
