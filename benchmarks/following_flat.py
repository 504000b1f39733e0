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

from simulator.case.load import load, load_texts
from simulator.case.variants import main_of
from simulator.cli.follow_basis import basis_for
from simulator.studies.following.calibrate import calibrate
from simulator.studies.following.courses import sensors_of
from simulator.studies.following.following import Following
from simulator.studies.following.forecast import forecast
from simulator.studies.following.full_check import full_check
from simulator.studies.following.twin import invented_log

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
    parser.add_argument("--workers", type=int, default=None)
    asked = parser.parse_args()
    asked.folder.mkdir(exist_ok=True)
    case = load_texts(*flat_texts())
    basis = basis_for(
        case, asked.folder / "flat.npz", 0.20, asked.runs, asked.workers, "si", quiet=False
    )
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
    print(f"largest departure: pace {np.exp(np.abs(found.centre[8:]).max()):.2f}")


if __name__ == "__main__":
    main()
