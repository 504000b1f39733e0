"""How hiding places fare on cells of 0.20, 0.10 and 0.05 m: what the size of the cells changes.

    python benchmarks/heat_grid_study.py CASE [CELL ...] [--hours H] [--keep FOLDER]

Prints, for each pair of cell sizes, how far hiding places (each piece's group of refuges, by name)
lie apart: the lowest temperature at the end, and the time until the slowest member reaches 50 °C.
Places that exist on both grids are compared; cold ones, within 10 K of the coldest on the finest
grid or never at 50 °C, are also told by name. The aim at 0.10 m against 0.05 m is 1.5 K and 10 %.
"""

import argparse
import json
import resource
import sys
import time
from pathlib import Path

import numpy as np

from simulator.case.load import load
from simulator.simulation import Run, simulate

AIM_KELVIN, AIM_SHARE = 1.5, 0.10
Place = tuple[float, float]  # lowest temperature at the end [°C], time to 50 °C [h] (inf: never)


def places(run: Run) -> dict[str, Place]:
    """Return what became of each hiding place: of its coldest and of its slowest member."""
    refuges, history = run.grid.refuges, run.history
    hot = history.refuge_temperature >= 50.0
    first = np.where(hot.any(axis=0), history.time[hot.argmax(axis=0)] / 3600.0, np.inf)
    found = {}
    for number, group in enumerate(refuges.groups):
        members = refuges.group == number
        if members.any():
            final = history.refuge_temperature[-1, members]
            found[f"{group.owner}, {group.words}"] = (
                float(final.min()),
                float(first[members].max()),
            )
    return found


def compare(coarse: dict[str, Place], fine: dict[str, Place]) -> None:
    """Print how far the places of two grids lie apart."""
    both = sorted(set(coarse) & set(fine), key=lambda name: fine[name][0])
    kelvin = np.array([coarse[name][0] - fine[name][0] for name in both])
    done = [n for n in both if np.isfinite(coarse[n][1]) and np.isfinite(fine[n][1])]
    share = np.array([coarse[n][1] / fine[n][1] - 1.0 for n in done])
    disagree = [n for n in both if np.isfinite(coarse[n][1]) != np.isfinite(fine[n][1])]
    print(f"  {len(both)} places on both; rms {rms(kelvin):.2f} K, mean {kelvin.mean():+.2f} K, ")
    print(f"  within {AIM_KELVIN} K: {np.mean(np.abs(kelvin) <= AIM_KELVIN):.0%}")
    if share.size:
        print(
            f"  times to 50 °C of {len(done)}: median {np.median(share):+.1%}, "
            f"rms {rms(share):.1%}, "
            f"within {AIM_SHARE:.0%}: {np.mean(np.abs(share) <= AIM_SHARE):.0%}"
        )
    print(f"  reach 50 °C on one grid only: {len(disagree)}")
    for name in both[:12]:
        (a, ta), (b, tb) = coarse[name], fine[name]
        print(f"    {a:6.1f} {b:6.1f} °C {a - b:+5.1f} K  {ta:5.2f} {tb:5.2f} h  {name}")
    for name in sorted(both, key=lambda n: -abs(coarse[n][0] - fine[n][0]))[:6]:
        (a, ta), (b, tb) = coarse[name], fine[name]
        print(f"  most apart {a - b:+5.1f} K ({a:.1f}, {b:.1f})  {ta:5.2f} {tb:5.2f} h  {name}")


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2)))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("case", type=Path)
    parser.add_argument("cells", nargs="*", type=float, default=[0.20, 0.10, 0.05])
    parser.add_argument("--hours", type=float, default=None)
    parser.add_argument("--keep", type=Path, help="folder for the places of each run, as JSON")
    chosen = parser.parse_args()
    overrides = {"treatment.horizon": f"{chosen.hours} h"} if chosen.hours else {}
    results = {}
    for cell in chosen.cells:
        began = time.process_time()
        run = simulate(load(chosen.case, overrides=overrides), cell)
        results[cell] = places(run)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
        print(
            f"{chosen.case.stem}, {cell:.2f} m: {run.grid.is_open.size:,} cells, "
            f"{time.process_time() - began:.0f} s CPU, {memory:.2f} GiB; air "
            f"{run.history.air_mean[-1]:.1f} °C, near-surface speed "
            f"{run.history.epochs[-1].near_surface_speed:.3f} m/s",
            flush=True,
        )
        if chosen.keep:
            kept = chosen.keep / f"{chosen.case.stem}_{cell:.2f}.json"
            kept.write_text(json.dumps(results[cell]))
    for coarse, fine in zip(chosen.cells, chosen.cells[1:], strict=False):
        print(f"{coarse:.2f} m against {fine:.2f} m")
        compare(results[coarse], results[fine])
    sys.stdout.flush()


if __name__ == "__main__":
    main()
