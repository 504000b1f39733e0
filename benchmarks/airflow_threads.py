"""What does a second thread gain in the airflow, and how much could it gain at most?

One solver steps on one thread and on two (each half of the room its own, see ``halves``), and as a
bound two whole solvers that share nothing step at once, one on each thread: work that is divided
perfectly. The three take turns, so that what else the machine does meets all of them; the least
time of each counts, and beside it stands the best ratio of any single round. Before that the same
bound for a triad over arrays that fit the cache and over arrays that do not: the memory that both
threads share. A machine whose cores are busy with other work shows no gain: the load is printed.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_threads.py`` (2 minutes)
"""

import os
import platform
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

import numpy as np
from air_rooms import fan, furnished_room

from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.halves import Halves
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.staggered import stagger

FANS = (fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)), fan((4.2, 2.6, 0.8), (-1.0, -0.2, 0.0)))
ROUNDS = 25
#: Seconds that each work of a round takes, about.
WORK = 0.25

Work = Callable[[], None]


def nothing() -> None:
    """No one watches."""


def elapsed(work: Work) -> float:
    """Return the wall time of some work [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def at_once(pool: ThreadPoolExecutor, works: Sequence[Work]) -> Work:
    """Return work that does all the works, a thread each."""

    def run() -> None:
        for running in [pool.submit(work) for work in works]:
            running.result()

    return run


def in_turns(works: Sequence[Work]) -> np.ndarray:
    """Return the wall times of the works in every round [s]."""
    return np.array([[elapsed(work) for work in works] for _ in range(ROUNDS)])


def triads(cells: int, passes: int) -> Work:
    """Return work of some passes ``a = 3 c + d`` over its own arrays."""
    rng = np.random.default_rng(0)
    a, c, d = np.zeros(cells), rng.random(cells), rng.random(cells)

    def run() -> None:
        for _ in range(passes):
            np.multiply(c, 3.0, out=a)
            np.add(a, d, out=a)

    return run


def steps(cell: float, threads: int, count: int, stack: ExitStack) -> Work:
    """Return work of some steps of its own solver in developed flow."""
    grid = furnished_room(cell, fans=FANS)
    still, mesh = np.zeros(grid.shape), stagger(grid)
    halves = stack.enter_context(Halves(mesh.layout, threads))
    stepper = FlowStepper(grid, mesh, still, still, ROOM_AIR, nothing, halves)
    for _ in range(20):
        stepper.step(nothing)

    def run() -> None:
        for _ in range(count):
            stepper.step(nothing)

    return run


def report_triads(name: str, cells: int, passes: int, pool: ThreadPoolExecutor) -> None:
    """Print what two threads reach on triads."""
    pair = [triads(cells, passes) for _ in range(2)]
    one, two = in_turns([pair[0], at_once(pool, pair)]).min(axis=0)
    print(f"triad over {name}: two at once on two threads {2.0 * one / two:.2f} times the rate")


def report_steps(cell: float, pool: ThreadPoolExecutor) -> None:
    """Print what two threads reach on one solver and on two."""
    cells = furnished_room(cell, fans=()).is_open.size
    count = max(round(WORK / (100e-9 * cells)), 1)
    with ExitStack() as stack:
        one, two, other = (steps(cell, threads, count, stack) for threads in (1, 2, 1))
        times = in_turns([one, two, at_once(pool, [one, other])]) / count
    one_time, two_time, pair_time = times.min(axis=0)
    ratios = times[:, 0] / times[:, 1]
    print(
        f"{cells:7d} cells: one thread {one_time * 1e3:6.2f} ms a step, two {two_time * 1e3:6.2f}:"
        f" {one_time / two_time:.2f} times as fast (best round {ratios.max():.2f},"
        f" median {np.median(ratios):.2f});"
        f" bound by two that share nothing: {2.0 * one_time / pair_time:.2f}"
    )


def main() -> None:
    """Print the machine and all figures."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(
        f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads},"
        f" load of the last minute {os.getloadavg()[0]:.1f}"
    )
    with ThreadPoolExecutor(2) as pool:
        report_triads("20 thousand numbers", 20_000, 5_000, pool)
        report_triads("20 million numbers", 20_000_000, 1, pool)
        for cell in (0.1, 0.075, 0.05):
            report_steps(cell, pool)
    print(f"load of the last minute {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
