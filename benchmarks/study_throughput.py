"""Throughput of studies: runs a core-hour, one and two workers, overheads, ten thousand dwellings.

    python benchmarks/study_throughput.py [studios] [rules]

Prints the machine's threads, the processor and wall times of the same studios on one and on two
processes, what a batch costs beside its runs (spawn, Dask), and the projected cost of ten thousand
dwellings on 64 workers. Shared machines distort wall times; processor times bear it better.
"""

import os
import sys
import time
from collections.abc import Iterator
from dataclasses import replace

from simulator.studies.campaign import executors
from simulator.studies.campaign.job import COST, Job, Row
from simulator.studies.campaign.plan import DwellingsRecord, PlanFile, batches, jobs_of

WORKERS, DWELLINGS, RULES = 64, 10_000, 6


def main() -> None:
    """Measure and print."""
    studios = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    rules = ("corners", "beds", "heater", "ring", "pairs", "low")[
        : int(sys.argv[2]) if len(sys.argv) > 2 else 3
    ]
    plan = PlanFile(
        title="throughput",
        cell="0.15 m",
        method="coarse",
        dwellings=DwellingsRecord(count=studios, kinds=("studio",)),
        rules=rules,
    )
    jobs = jobs_of(plan)
    print(f"{os.cpu_count()} threads, load {os.getloadavg()[0]:.1f}; {len(jobs)} runs of studios")
    warm_up(jobs)
    one = measured("1 process", executors.run_in_processes(batches(jobs), 1))
    two = measured("2 processes", executors.run_in_processes(batches(jobs), 2))
    print(f"scaling from 1 to 2 processes: {one.wall / two.wall:.2f} (wall), ", end="")
    print(f"processor time a run {two.processor / one.processor:.2f} times that on one")
    overhead = cluster_overhead(jobs)
    runs = DWELLINGS * RULES
    hours = runs * one.processor / 3600.0
    print(f"{3600.0 / one.processor:.0f} runs a core-hour (studios)")
    waste = DWELLINGS * overhead / 3600.0
    print(
        f"{DWELLINGS} studios x {RULES} rules on {WORKERS} workers: {hours:.0f} core-hours, "
        f"{(hours + waste) / WORKERS:.1f} h; the scheduler hands out {DWELLINGS} batches at "
        f"{1000 * overhead:.1f} ms each, {waste:.2f} h if one after another"
    )


class Measured:
    """Wall time and processor time a run [s]."""

    def __init__(self, wall: float, processor: float) -> None:
        self.wall, self.processor = wall, processor


def measured(name: str, rows: Iterator[list[Row]]) -> Measured:
    """Run and print what it took."""
    start = time.perf_counter()
    done = [row for few in rows for row in few]
    wall = time.perf_counter() - start
    processor = sum(row[COST] for row in done) / len(done)
    print(f"{name}: {wall:.1f} s for {len(done)} runs, {processor:.2f} s of processor time a run")
    return Measured(wall, processor)


def warm_up(jobs: tuple[Job, ...]) -> None:
    """Compile what is compiled, so that it is not counted."""
    for _ in executors.run_here([jobs[:1]]):
        pass


def cluster_overhead(jobs: tuple[Job, ...], count: int = 200) -> float:
    """Return what a batch costs on a cluster beside its runs [s]: of jobs that fail at once."""
    from distributed import LocalCluster

    broken = [
        [replace(jobs[0], rule="", seed=None, texts=(("x.toml", f"# {n}"),))] for n in range(count)
    ]
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        address = cluster.scheduler_address
        list(executors.run_on_cluster(broken[:2], address))
        start = time.perf_counter()
        list(executors.run_on_cluster(broken, address))
        wall = (time.perf_counter() - start) / count
    print(f"a batch on a cluster of two local workers: {1000 * wall:.1f} ms beside its runs")
    return wall


if __name__ == "__main__":
    main()
