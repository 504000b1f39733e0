"""How much could a second thread gain in the airflow, at most?

Two whole solvers that share nothing step at once, one on each thread: work that is divided
perfectly. Their rate over that of one alone bounds what any division of one solver's loops can
reach on this machine, whatever the colouring of its sweeps. Beside it the same for a triad over
arrays that fit the cache and over arrays that do not: the memory that both threads share.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_threads.py`` (1 minute)
"""

import os
import platform
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from air_rooms import fan, furnished_room

from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.staggered import stagger

FANS = (fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)), fan((4.2, 2.6, 0.8), (-1.0, -0.2, 0.0)))
REPEATS = 5


def nothing() -> None:
    """No one watches."""


def elapsed(works: Sequence[Callable[[], None]]) -> float:
    """Return the least wall time of running the works at once, a thread each [s]."""
    times = []
    with ThreadPoolExecutor(len(works)) as pool:
        for _ in range(REPEATS):
            start = time.perf_counter()
            for running in [pool.submit(work) for work in works]:
                running.result()
            times.append(time.perf_counter() - start)
    return min(times)


def triads(cells: int, passes: int) -> Callable[[], None]:
    """Return work of some passes ``a = 3 c + d`` over its own arrays."""
    rng = np.random.default_rng(0)
    a, c, d = np.zeros(cells), rng.random(cells), rng.random(cells)

    def run() -> None:
        for _ in range(passes):
            np.multiply(c, 3.0, out=a)
            np.add(a, d, out=a)

    return run


def steps(cell: float, count: int) -> Callable[[], None]:
    """Return work of some steps of its own solver in developed flow."""
    grid = furnished_room(cell, fans=FANS)
    still = np.zeros(grid.shape)
    stepper = FlowStepper(grid, stagger(grid), still, still, ROOM_AIR, nothing)

    def run() -> None:
        for _ in range(count):
            stepper.step(nothing)

    run()
    return run


def report(name: str, pair: Sequence[Callable[[], None]]) -> None:
    """Print what two threads reach on a pair of works."""
    one, two = elapsed(pair[:1]), elapsed(pair)
    print(f"{name}: alone {one:.3f} s, two at once {two:.3f} s: rate {2.0 * one / two:.2f} times")


def main() -> None:
    """Print the machine and all figures."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    report("triad over 20 thousand numbers", [triads(20_000, 20_000) for _ in range(2)])
    report("triad over 20 million numbers", [triads(20_000_000, 8) for _ in range(2)])
    for cell, count in ((0.2, 400), (0.1, 60), (0.05, 8)):
        cells = round(48.0 / cell**3)
        report(f"steps of {cells} cells", [steps(cell, count) for _ in range(2)])


if __name__ == "__main__":
    main()
