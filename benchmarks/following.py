"""Twin experiments: how well a log of a hidden truth foretells when its places are done.

The hidden truth has finer cells, a pile that nobody told, a fan elsewhere and turned away, values
of the unknowns that the model does not know, and sensors that err (``following_room``,
``twin.Errors``). Its runs are kept in a file, a line each, and are made only once; so is the basis.

Asked is at half of the true finishing time: how far off is the finishing time that is foretold, and
how often do bands of nine tenths hold the truth?

    python benchmarks/following.py --first 200 --seeds 300 --folder following_twins

Seeds below 100 have set the numbers of ``departures.py``; seeds 100 to 199 have shown that the last
place needs more than one sensor, and which. Figures are told of seeds from 200 on.
"""

import argparse
from pathlib import Path
from typing import Any

import numpy as np
from following_room import described
from following_truths import FINER, MODEL, truth, truth_key

from simulator.case.load import load_texts
from simulator.cli.follow_basis import basis_for
from simulator.grid.place_key import place_key
from simulator.studies.following.basis import Basis
from simulator.studies.following.basis_runs import BasisPlan
from simulator.studies.following.calibrate import Calibration, calibrate
from simulator.studies.following.forecast import Band, Forecast, forecast
from simulator.studies.following.twin import log_of
from simulator.studies.trial_log import TrialLog

#: Sensors that a crew would have put in; "under the bale" is the place that is mostly the last.
USUAL = ("air", "bale, core", "under the boxes", "pile, core", "under the bale")
#: With three more at the sides of that place, where ``following_sensors.py`` puts the first three.
MORE = (*USUAL, "under the bale, north", "under the bale, west", "under the bale, east")
TWO = ("air", "pile, core")


def kept_truths(folder: Path, seeds: range, *, make: bool) -> list[dict[str, Any]]:
    """Return the truths, those that are missing made now."""
    log = TrialLog(folder / "truths.jsonl")
    for seed in seeds if make else ():
        if log.known(truth_key(seed)) is None:
            log.keep(truth_key(seed), truth(seed))
    found = [log.known(truth_key(seed)) for seed in seeds]
    log.close()
    return [dict(one) for one in found if one is not None]


def followed(
    basis: Basis, one: dict[str, Any], sensors: tuple[str, ...], share: float
) -> tuple[Calibration, Forecast]:
    """Return what is foretold at a share of the true finishing time."""
    courses = {name: np.array(one["sensors"][name]) for name in sensors}
    time = one["step"] * np.arange(next(iter(courses.values())).size)
    finish = one["finishing"] or float(time[-1])
    log = log_of(time, courses, one["seed"]).until(share * finish)
    found = calibrate(basis, log)
    return found, forecast(basis, found, log)


def holds(band: Band, true: float | None) -> bool:
    """Return whether a band holds the truth; nan is later than all."""
    late = np.inf if true is None else true
    low, high = (np.inf if np.isnan(x) else x for x in (band.low, band.high))
    return bool(low <= late <= high)


def summary(
    basis: Basis, truths: list[dict[str, Any]], sensors: tuple[str, ...], share: float
) -> dict[str, Any]:
    """Return the figures over all truths."""
    errors, within, finish, place, last, named = [], [], [], [], [], []
    for one in truths:
        calibration, found = followed(basis, one, sensors, share)
        true = {tuple(row[:3]): row[3] for row in one["places"]}
        expected = max(
            (np.inf if true[key] is None else true[key])
            for p in basis.places
            if (key := place_key(p)) in true
        )
        told = None if np.isinf(expected) else expected
        finish.append(holds(found.finishing, told))
        if told is None:
            within.append(bool(np.isnan(found.finishing.middle)))
        else:
            error = found.finishing.middle / told - 1.0
            errors.append(error)
            within.append(bool(abs(error) <= 0.1))
        for row in found.places:
            key = place_key(row)
            if key in true:
                place.append((key, holds(row.done, true[key]), row.done.middle, true[key]))
        named.append(bool(calibration.null_directions))
        last.append(found.places[0].owner == one["places"][0][0])
    return {
        "truths": len(truths),
        "within_10_percent": float(np.mean(within)),
        "median_error": float(np.nanmedian(np.abs(errors))),
        "bias": float(np.nanmedian(errors)),
        "finish_covered": float(np.mean(finish)),
        "places_covered": float(np.mean([row[1] for row in place])),
        "last_named": float(np.mean(last)),
        "null_directions": float(np.mean(named)),
        "by_place": {
            " · ".join(key): [
                float(np.mean([row[1] for row in place if row[0] == key])),
                float(
                    np.nanmedian(
                        [row[2] / row[3] - 1.0 for row in place if row[0] == key and row[3]]
                    )
                ),
            ]
            for key in dict.fromkeys(row[0] for row in place)
        },
    }


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=300, help="end of the seeds")
    parser.add_argument("--first", type=int, default=200, help="seed to begin with")
    parser.add_argument("--folder", type=Path, default=Path("following_twins"))
    parser.add_argument("--share", type=float, default=0.5, help="of the finishing time")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--no-runs", action="store_true", help="only what is kept")
    asked = parser.parse_args()
    asked.folder.mkdir(exist_ok=True)
    plan = BasisPlan(load_texts({"room": described()}, "room"), MODEL, FINER)
    basis = basis_for(plan, asked.folder / "basis.npz", asked.workers, "si", quiet=False)
    seeds = range(asked.first, asked.seeds)
    truths = kept_truths(asked.folder, seeds, make=not asked.no_runs)
    print(f"basis: errs {basis.error.mean():.2f} K as a rule, {basis.worst:.1f} K at most")
    sets = {
        "five sensors": USUAL,
        "eight sensors, four of them in the last place": MORE,
        "four sensors, none in the last place": USUAL[:-1],
        "two sensors": TWO,
    }
    for name, sensors in sets.items():
        figures = summary(basis, truths, sensors, asked.share)
        print(f"\n{name}: {', '.join(sensors)}")
        for key, value in figures.items():
            if key != "by_place":
                print(f"  {key:20s} {value:.3f}")
        for key, (covered, off) in figures["by_place"].items():
            print(f"    {key:50s} covered {covered:.2f}, off {off:+.3f}")
    found, _ = followed(basis, truths[0], TWO, asked.share)
    print("\ntwo sensors, null directions:")
    for words in found.null_directions:
        print(f"  {words}")


if __name__ == "__main__":
    main()
