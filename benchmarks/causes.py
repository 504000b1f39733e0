"""How good are the causes of lags, found from a spot's surroundings, and what do they cost?

For the three mixed rooms of ``tests/causes_rooms.py``: the six shares from the surroundings of a
place beside those of all 64 whole re-runs, with the largest difference of any share and of any lag,
and the ratio of CPU times. For the rooms with one known cause: its share. For a shipped dwelling:
CPU time of the two runs and of each cold spot, as a ratio to one plain run.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/causes.py [CASE]`` (3 minutes)
"""

import os
import platform
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from causes_rooms import CELL, KNOWN, MIXED, Known

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.case.load import load
from simulator.grid.grid import FloatArray
from simulator.physics.neutral_states import Cause
from simulator.run_settings import QUICK
from simulator.studies.causes import shares_of
from simulator.studies.neutral_runs import Study, by_reruns, by_surroundings, local_task, study

NAMES = [str(cause.name).lower() for cause in Cause]


def place_of(made: Study, known: Known) -> int:
    """Return the slowest hiding place of the group that is asked about."""
    names = [(group.owner, group.words) for group in made.grid.refuges.groups]
    group = names.index((known.owner, known.words))
    return made.slowest(np.flatnonzero(made.grid.refuges.group == group))


def row(words: str, shares: FloatArray) -> str:
    """Return a line of shares [%]."""
    return f"{words:<34}" + "".join(f"{100.0 * share:>15.1f}" for share in shares)


def mixed_rooms() -> None:
    """Print the shares of both ways."""
    print(f"{'shares [%]':<34}" + "".join(f"{name:>15}" for name in NAMES))
    for name, make in MIXED.items():
        known = make()
        made = study(known.case, CELL)
        place = place_of(made, known)
        begun = time.process_time()
        fast = by_surroundings(local_task(made, place))
        between = time.process_time()
        whole = by_reruns(made, place)
        ended = time.process_time()
        one, other = shares_of(fast), shares_of(whole)
        print(row(f"{name}, surroundings", one))
        print(row(f"{'':<{len(name)}}  64 re-runs", other))
        print(
            f"{'':<34}largest difference of a share {np.abs(one - other).max():.3f}, of a lag "
            f"{np.abs(fast - whole).max() / 60.0:.1f} of {whole[0] / 60.0:.0f} min; re-runs take "
            f"{(ended - between) / (between - begun):.0f} times the CPU time"
        )


def known_rooms() -> None:
    """Print the share of the cause that each room is made to show."""
    for name, make in KNOWN.items():
        known = make()
        made = study(known.case, CELL)
        lags = by_surroundings(local_task(made, place_of(made, known)))
        print(row(f"known: {name}", shares_of(lags)))


def shipped(path: Path) -> None:
    """Print what the causes of all cold spots of a dwelling cost."""
    case = load(path)
    simulation.simulate(replace(case, changes=()), 0.2, settings=QUICK)  # compiles
    begun = time.process_time()
    run = simulation.simulate(case, 0.2, settings=QUICK)
    plain = time.process_time() - begun
    begun = time.process_time()
    made = study(case, 0.2)
    runs = time.process_time() - begun
    print(f"{path.name}: one run {plain:.1f} s CPU; the runs of the study {runs / plain:.1f} times")
    spots = assess(case, run.grid, run.history).cold_spots
    total = 0.0
    for spot in spots:
        begun = time.process_time()
        lags = by_surroundings(local_task(made, made.slowest(spot.refuges)))
        spent = time.process_time() - begun
        total += spent
        print(row(f"{spot.rank:>2} {spot.words[:22]:<22} {spent / plain:5.1f} x", shares_of(lags)))
    print(
        f"all {len(spots)} spots {total / plain:.1f} times one run, {total + runs:.0f} s CPU in all"
    )


if __name__ == "__main__":
    print(f"{platform.platform()}, {os.cpu_count()} cores; CPU times of one process")
    mixed_rooms()
    known_rooms()
    shipped(Path(sys.argv[1] if len(sys.argv) > 1 else "geometries/bedroom_as_found.toml"))
