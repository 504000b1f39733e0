"""What a result says, as the page shows it: verdict, cold spots, curves, and the field in bytes."""

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from simulator.assessment import summary
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment, ColdSpot, PlaceVerdict
from simulator.assessment.harm_words import harm_lines, stop_line
from simulator.assessment.power_words import power_lines
from simulator.output.field_file import Result, read_result
from simulator.output.restored import restored
from simulator.output.viewer.pack import pack
from simulator.studies import comparison, comparison_words, grid_error
from simulator.units import System, format_quantity, format_small_length
from simulator.workspace.folder import Folder
from simulator.workspace.plan import drawing, laid_out
from simulator.workspace.runs import RESULT_ENDING

#: Rows of tables and points of curves that are sent.
_MOST_PLACES, _MOST_HARM, _MOST_POINTS = 60, 30, 400


@dataclass(frozen=True, slots=True)
class Judged:
    """A result and what it means."""

    result: Result
    assessment: Assessment


def judged(path: Path) -> Judged:
    """Return a result file, read and judged; the last few are kept."""
    return _judged(path, path.stat().st_mtime_ns if path.exists() else 0)


@functools.lru_cache(maxsize=4)
def _judged(path: Path, _: int) -> Judged:
    result = read_result(path)
    return Judged(result, assess(result.case, result.grid, result.history))


def results_in(folder: Folder) -> list[dict[str, Any]]:
    """Return what every whole result of a folder is, the newest first."""
    found = []
    for name in folder.files(f"*{RESULT_ENDING}"):
        path = folder.path(name)
        try:
            with h5py.File(path, "r") as file:
                facts = dict(file["roomsoak"].attrs)
                title = str(file.attrs["title"])
        except (OSError, KeyError):
            continue
        if facts.get("is_finished"):
            found.append(
                {
                    "name": name,
                    "title": title,
                    "case": str(facts["main"]),
                    "cell_size": float(facts["cell_size"]),
                    "written": path.stat().st_mtime,
                }
            )
    return sorted(found, key=lambda row: -float(row["written"]))


def answer(path: Path, units: System) -> dict[str, Any]:
    """Return a result as plain JSON, with numbers as text in the units of the page."""
    known = judged(path)
    result, assessment = known.result, known.assessment
    case, history = result.case, result.history
    layout = laid_out(dict(case.sources), result.main, case.dwelling)
    return {
        "title": case.title,
        "preparation": case.preparation,
        "layout": case.layout,
        "case": result.main,
        "cell_size": result.cell_size,
        "cells_in_words": format_small_length(result.cell_size, units),
        "verdict": summary.verdict_line(assessment, case, units),
        "is_all_done": assessment.is_all_done,
        "stop": stop_line(assessment.harm) or "",
        "cold_spots": [_spot(spot, units) for spot in assessment.cold_spots],
        "cold_litres": sum(spot.litres for spot in assessment.cold_spots if spot.kind == "cold"),
        "places": [_place(place, units) for place in assessment.places[:_MOST_PLACES]],
        "place_count": len(assessment.places),
        "not_done": sum(place.state != "done" for place in assessment.places),
        "harm": list(harm_lines(assessment.harm, units, _MOST_HARM)),
        "power": list(power_lines(assessment.power, units)),
        "notes": [*_grid_error(result, units), *assessment.notes],
        "cautions": summary.CAUTIONS,
        "finishing_time": summary.plain(assessment.finishing_time),
        "below_50": float(assessment.fraction_below_50[assessment.end.index]),
        "horizon": case.treatment.horizon,
        "curves": _curves(assessment, history.time),
        "plan": drawing(case, layout),
    }


@functools.lru_cache(maxsize=4)
def _packed(path: Path, _: int) -> bytes:
    known = judged(path)
    return pack(known.result.case, known.result.grid, known.result.history, known.assessment)


def room_bytes(path: Path) -> bytes:
    """Return a result packed for the viewer in the browser; slices are drawn from it too."""
    return _packed(path, path.stat().st_mtime_ns)


def side_by_side(paths: Sequence[Path], units: System) -> dict[str, Any]:
    """Return the figures of results side by side, and what their differences can tell."""
    answers = []
    for letter, path in zip(comparison_words.letters(len(paths)), paths, strict=True):
        one = judged(path)
        result = one.result
        answers.append(
            comparison.answer_of(
                f"{letter}, {result.case.title}",
                result.case,
                result.cell_size,
                result.grid,
                result.history,
                one.assessment,
                result.findings,
            )
        )
    found = comparison.compare(answers)
    return {
        "moment": format_quantity(found.moment, "time", units),
        "table": comparison_words.table(found, units),
        "summary": comparison_words.summary(found, units),
    }


def _spot(spot: ColdSpot, units: System) -> dict[str, Any]:
    return {
        "rank": spot.rank,
        "kind": spot.kind,
        "words": spot.words,
        "room": spot.room,
        "litres": spot.litres,
        "coldest": format_quantity(spot.coldest, "temperature", units),
        "mean": format_quantity(spot.mean, "temperature", units),
        "egg_dose": spot.egg_dose,
        "lag": _time(spot.lag, units),
        "done": _time(spot.time_to_done, units),
        "centre": spot.centre,
        "low": spot.low,
        "high": spot.high,
    }


def _place(place: PlaceVerdict, units: System) -> dict[str, Any]:
    return {
        "words": place.words,
        "owner": place.owner,
        "room": place.room,
        "state": place.state,
        "coldest": format_quantity(place.coldest, "temperature", units),
        "done": _time(place.time_to_done, units),
    }


def _time(value: float, units: System) -> str:
    return "never" if np.isnan(value) else format_quantity(value, "time", units)


def _grid_error(result: Result, units: System) -> Sequence[str]:
    found = result.findings.get(grid_error.NAME)
    if found is None:
        return (
            "The error of the cells is not estimated for this run; ask for a coarse and a fine run "
            "together.",
        )
    if found.get("half_within") is None or found.get("most_within") is None:
        return ()
    return (grid_error.in_words(restored(grid_error.GridError, found), units),)


def _curves(assessment: Assessment, time: NDArray[np.float64]) -> dict[str, Any]:
    """Return the curves of the run, thinned to what a page can show."""
    kept = np.unique(np.linspace(0, time.size - 1, min(time.size, _MOST_POINTS)).astype(int))
    return {
        "time": summary.plain(time[kept]),
        "coldest": summary.plain(assessment.coldest[kept]),
        "mean": summary.plain(assessment.mean[kept]),
        "warmest": summary.plain(assessment.warmest[kept]),
        "below_50": summary.plain(assessment.fraction_below_50[kept]),
    }
