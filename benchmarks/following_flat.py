"""The two-bedroom flat followed by twelve sensors for six hours: time of a calibration, its error.

The reduced model is made first, on all cores and run by run into a file (an hour or so on two
cores; it goes on where it was stopped). Then a calibration and a forecast are timed, and the
reduced model is held against a full run at the calibrated values.

    python benchmarks/following_flat.py --folder following_flat
"""

import argparse
import time
from pathlib import Path

import numpy as np

from simulator.assessment.lethal_dose import DESIGN_DOSE, EGG_SLOW, accumulate
from simulator.case.case import Case
from simulator.case.load import load, load_texts
from simulator.case.variants import main_of
from simulator.cli.follow_basis import basis_for
from simulator.studies.following.basis import Basis
from simulator.studies.following.basis_runs import BasisPlan, course_at
from simulator.studies.following.calibrate import calibrate
from simulator.studies.following.courses import sensors_of
from simulator.studies.following.fit import COORDINATES, GRID_AT
from simulator.studies.following.following import Following
from simulator.studies.following.forecast import forecast
from simulator.studies.following.full_check import full_check
from simulator.studies.following.twin import invented_log
from simulator.studies.following.unknowns import values_at

FLAT = Path(__file__).parents[1] / "geometries" / "two_bedroom_flat_as_found.toml"

#: Six sensors more than the flat's layout has: room and point [m].
MORE = {
    "toys": ("living room", (1.60, 2.90, 0.15)),
    "under the dresser": ("bedroom 1", (2.20, 3.17, 0.02)),
    "wardrobe": ("bedroom 1", (0.31, 1.50, 0.80)),
    "bed 2": ("bedroom 2", (3.00, 2.20, 0.30)),
    "laundry": ("bedroom 2", (1.55, 1.90, 0.15)),
    "kitchen air": ("kitchen", (1.50, 1.50, 1.20)),
}


def flat_texts() -> tuple[dict[str, str], str]:
    """Return the texts of the flat with twelve sensors, and the name of the main one."""
    case = load(FLAT)
    texts, main = dict(case.sources), main_of(case)
    layout = next(name for name in texts if name.endswith("a_heater_a_room.toml"))
    for name, (room, at) in MORE.items():
        point = ", ".join(f'"{x} m"' for x in at)
        texts[layout] += (
            f'\n[[equipment]]\nkind = "sensor"\nname = "sensor, {name}"\nroom = "{room}"\n'
            f"at = [{point}]\n"
        )
    return texts, main


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--folder", type=Path, default=Path("following_flat"))
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--finer", type=float, default=0.10, help="cells of the finer run [m]")
    parser.add_argument("--checks", type=int, default=2, help="more full runs to compare with")
    parser.add_argument("--workers", type=int, default=None)
    asked = parser.parse_args()
    asked.folder.mkdir(exist_ok=True)
    case = load_texts(*flat_texts())
    plan = BasisPlan(case, 0.20, asked.finer, asked.runs)
    basis = basis_for(plan, asked.folder / "flat.npz", asked.workers, "si", quiet=False)
    print(f"{len(sensors_of(case))} sensors, {len(basis.places)} places, {basis.runs} runs")
    print(
        f"the reduced model misses runs left out by {basis.error.mean():.2f} K as a rule, "
        f"{basis.worst:.1f} K at most"
    )
    log = invented_log(case, 1, 0.16).until(6.0 * 3600.0)
    wall, cpu = time.perf_counter(), time.process_time()
    found = calibrate(basis, log)
    middle = time.process_time()
    told = forecast(basis, found, log)
    print(
        f"calibration {middle - cpu:.1f} s, forecast {time.process_time() - middle:.1f} s of one "
        f"core; together {time.perf_counter() - wall:.1f} s by the clock"
    )
    whole = Following(basis, log, case.treatment.heat_ends, found, told)
    for line in (*whole.lines(), *full_check(whole, case, basis)):
        print(line)
    paces = found.centre[COORDINATES : COORDINATES + len(found.spots)]
    print(f"largest departure: pace {np.exp(np.abs(paces).max()):.2f}")
    print("full runs at points that the log left possible, the reduced model less these:")
    for number, sample in enumerate(found.draw(asked.checks, seed=2)):
        print(f"  {number + 1}: {missed(case, basis, sample[:GRID_AT].tolist())}")


def missed(case: Case, basis: Basis, point: list[float]) -> str:
    """Return in words by how much the reduced model misses a full run at a point."""
    full = course_at(case, values_at(point), basis.cell_size).temperature.astype(np.float64)
    model = basis.temperatures(point)
    places = slice(len(basis.sensors), -1)
    done = []
    for table in (model[:, places], full[:, places]):
        result = accumulate(basis.time, table, EGG_SLOW, (DESIGN_DOSE,))
        done.append(np.maximum(result.time_to[0], result.time_of_50))
    both = np.isfinite(done[0]) & np.isfinite(done[1])
    off = np.abs(done[0][both] / done[1][both] - 1.0)
    apart = int((np.isfinite(done[0]) != np.isfinite(done[1])).sum())
    return (
        f"{np.sqrt(((model - full) ** 2).mean()):.2f} K root mean square, "
        f"{np.abs(model - full).max():.1f} K at most; time to done of {both.sum()} places: "
        f"{100 * np.median(off):.1f} % off in the middle, {100 * np.quantile(off, 0.9):.1f} % in "
        f"nine of ten; {apart} places are done in one alone"
    )


if __name__ == "__main__":
    main()
