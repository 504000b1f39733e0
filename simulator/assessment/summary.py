"""The answer in print, as a crew leader, an estimator or a trainer reads it, and as JSON."""

import dataclasses
import math
import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment, ColdSpot, ObjectPeak, PlaceVerdict
from simulator.assessment.harm_words import harm_lines, stop_line
from simulator.assessment.lethal_dose import COLDER_OFFSET, DESIGN_DOSE
from simulator.assessment.naming import short_name
from simulator.assessment.peaks import margin
from simulator.assessment.power_words import power_lines
from simulator.case.case import Case
from simulator.grid.grid import FloatArray
from simulator.units import System, format_quantity, whole_degrees

_WIDTH = 100  # characters of a printed line
_CLOSE = 2.0  # a limit is "close" within this [K] (estimate: the error of the model)
_MOST_PLACES = 8  # hiding places in the printed table; all are in the JSON
_MOST_FURNITURE = 8
_MOST_HARM = 8  # things over their limit in print, and as many close to it
_JOINED = re.compile(r"(?<=\d) (?=[%°]|K\b|h\b|min\b|litres)")  # a number stays with its unit

#: Arrays over single refuges and over time are left out of the JSON's main part.
_NOT_PLAIN = frozenset({"egg_dose", "time_to_done"})
_CURVES = ("fraction_below_50", "coldest", "mean", "warmest")

CAUTIONS = (
    "Before heating: people and pets out; gas, pressure, flammables, medicines out; fire systems "
    "known and their owner told; circuits and cords sized for the heat; a plan for carbon monoxide "
    "where fuel burns; never unattended. Local codes and licensed practice come first."
)


def summary_lines(
    assessment: Assessment,
    case: Case,
    units: System = "si",
    *,
    more_limits: Sequence[str] = (),
) -> list[str]:
    """Return the printed answer: verdict, cold spots, places, harm, heat balance, limits.

    ``more_limits`` are paragraphs of what studies found, put before the notes.
    """
    return [
        *_wrapped(f"{case.title}: {case.preparation}, {case.layout}"),
        *_wrapped(verdict_line(assessment, case, units)),
        *_stop_lines(assessment),
        *_cold_spot_lines(assessment.cold_spots, units),
        *_place_lines(assessment.places, case, units),
        *_furniture_lines(assessment, units),
        *_harm_lines(assessment, units),
        *_power_lines(assessment, units),
        *_balance_lines(assessment, units),
        "",
        "Limits of this answer",
        *_limit_lines((*more_limits, *assessment.notes)),
        "",
        *_wrapped(CAUTIONS),
    ]


def paragraphs(title: str, words: Iterable[str]) -> list[str]:
    """Return a title and paragraphs under it as lines of print."""
    return [title, *_limit_lines(words)]


def _limit_lines(notes: Iterable[str]) -> list[str]:
    return [line for note in notes for line in _wrapped(note, "- ", "  ")]


def verdict_line(assessment: Assessment, case: Case, units: System = "si") -> str:
    """Return the finishing time with its colder band, or what is missing, in one sentence."""
    if not assessment.is_complete and not assessment.is_all_done:
        return f"CUT OFF: {_not_done_words(assessment, units)}"
    if not assessment.places:
        return "NOTHING TO JUDGE: the case holds no hiding place."
    horizon = format_quantity(case.treatment.horizon, "time", units)
    less = _less(units)
    colder = _time(assessment.finishing_time_colder, units, f"not within {horizon}")
    count = len(assessment.places)
    marginal = sum(place.state == "marginal" for place in assessment.places)
    if assessment.is_all_done:
        done = format_quantity(assessment.finishing_time, "time", units)
        last = f"DONE after {done}: the last of {count} hiding places (if all were {less} colder: "
        also = f" {marginal} of them are marginal." if marginal else ""
        return f"{last}{colder}).{also}"
    return f"NOT DONE within {horizon}: {_not_done_words(assessment, units)}"


def _not_done_words(assessment: Assessment, units: System) -> str:
    count = len(assessment.places)
    cold = sum(place.state == "not done" for place in assessment.places)
    marginal = sum(place.state == "marginal" for place in assessment.places)
    below = float(assessment.fraction_below_50[assessment.end.index])
    also = f" {marginal} more would not be done if {_less(units)} colder." if marginal else ""
    done = whole_degrees(50.0, units)
    return (
        f"{cold} of {count} hiding places miss their dose or 50 °C (122 °F); "
        f"{_share(below)} of the hiding volume is below {done} {assessment.end.words}.{also}"
    )


def _less(units: System) -> str:
    """Return the size of the colder band as text."""
    return format_quantity(-COLDER_OFFSET, "temperature difference", units)


def as_json(assessment: Assessment, case: Case, time: FloatArray) -> dict[str, Any]:
    """Return the assessment as plain JSON: SI and °C, seconds, litres; nan becomes null.

    Parameters
    ----------
    time : of the history, for the curves [s].
    """
    body = {
        field.name: plain(getattr(assessment, field.name))
        for field in dataclasses.fields(assessment)
        if field.name not in _NOT_PLAIN and field.name not in _CURVES
    }
    for spot in body["cold_spots"]:
        spot["refuges"] = len(spot["refuges"])
    curves = {name: plain(getattr(assessment, name)) for name in _CURVES}
    return {
        "case": {"title": case.title, "preparation": case.preparation, "layout": case.layout},
        "units": {"time": "s", "temperature": "degC", "volume": "litre", "length": "m"},
        "horizon": plain(case.treatment.horizon),
        "target_temperature": plain(case.treatment.target_temperature),
        **body,
        "curves": {"time": plain(time), **curves},
    }


def _cold_spot_lines(spots: Sequence[ColdSpot], units: System) -> list[str]:
    if not spots:
        return []
    is_cold = spots[0].kind == "cold"
    title = "Cold spots, the worst first" if is_cold else "Slowest places, the last first"
    last = f"{whole_degrees(50.0, units)} behind air" if is_cold else "done after"
    rows = [
        (
            str(spot.rank),
            _temperature(spot.coldest, units),
            _temperature(spot.mean, units),
            f"{spot.litres:.2g}" if spot.litres < 10 else f"{spot.litres:.0f}",
            _dose(spot.egg_dose),
            _time(spot.lag if is_cold else spot.time_to_done, units, "never"),
            spot.words,
        )
        for spot in spots
    ]
    head = ("#", "coldest", "mean", "litres", "egg dose", last, "where")
    done = whole_degrees(50.0, units)
    return ["", f"{title} (done is egg dose {DESIGN_DOSE} and {done})", *_table(head, rows)]


def _place_lines(places: Sequence[PlaceVerdict], case: Case, units: System) -> list[str]:
    if not places:
        return []
    rows = [
        (
            place.state,
            _time(place.time_to_lt99, units, "-"),
            _time(place.time_to_done, units, "-"),
            _time(place.time_to_lt99_colder, units, "-"),
            _time(place.time_to_done_colder, units, "-"),
            _place_words(place, case),
        )
        for place in places[:_MOST_PLACES]
    ]
    less = _less(units)
    head = ("state", "dose 1", "done", f"dose 1, -{less}", f"done, -{less}", "hiding place")
    more = len(places) - len(rows)
    rest = [f"  and {more} more, all faster (--json lists every one)"] if more > 0 else []
    return ["", "Hiding places, the slowest first", *_table(head, rows), *rest]


def _place_words(place: PlaceVerdict, case: Case) -> str:
    """Return the words of a hiding place with its thing, and its room where there are several."""
    words = short_name(place.owner, place.words, case.furniture_words)
    return words if len(case.dwelling.rooms) == 1 else f"{words}, {place.room}"


def _furniture_lines(assessment: Assessment, units: System) -> list[str]:
    coldest = assessment.coldest_by_furniture[:_MOST_FURNITURE]
    if not coldest:
        return []
    listed = ", ".join(f"{owner} {_temperature(value, units)}" for owner, value, _ in coldest)
    return ["", *_wrapped(f"Coldest point {assessment.end.words}: {listed}")]


def _stop_lines(assessment: Assessment) -> list[str]:
    line = stop_line(assessment.harm)
    return _wrapped(line) if line else []


def _harm_lines(assessment: Assessment, units: System) -> list[str]:
    """Return verdicts with something to do, limits nearly passed, or the one that came nearest."""
    told = harm_lines(assessment.harm, units, _MOST_HARM)
    close = [peak for peak in assessment.peaks if 0.0 <= margin(peak) < _CLOSE]
    told += [f"close: {_peak(peak, units)}" for peak in close[:_MOST_HARM]]
    if len(close) > _MOST_HARM:
        told.append(f"close: {len(close) - _MOST_HARM} more (--json lists every one)")
    if not told:
        limited = [peak for peak in assessment.peaks if peak.limit is not None]
        nearest = f"; nearest: {_peak(limited[0], units)}" if limited else ""
        told.append(f"no known limit was reached{nearest}")
    return ["", "Harm to things", *(line for text in told for line in _wrapped(text, "- ", "  "))]


def _power_lines(assessment: Assessment, units: System) -> list[str]:
    told = power_lines(assessment.power, units)
    lines = [line for text in told for line in _wrapped(text, "- ", "  ")]
    return ["", "Power", *lines] if lines else []


def _balance_lines(assessment: Assessment, units: System) -> list[str]:
    hottest = _temperature(assessment.air_maximum, units)
    balance = f"Heat balance closes to {assessment.heat_imbalance:.1e} of the heat put in"
    return ["", f"{balance}; hottest air {hottest}."]


def _peak(peak: ObjectPeak, units: System) -> str:
    limit = "no limit known" if peak.limit is None else f"limit {_temperature(peak.limit, units)}"
    basis = textwrap.shorten(peak.basis, 70, placeholder=" …")
    return f"{peak.owner}, {peak.name}: {_temperature(peak.peak, units)}, {limit} ({basis})"


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Return aligned columns, the last one left-aligned and wrapped under itself."""
    lines = [head, *rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head) - 1)]
    printed = []
    for line in lines:
        start = "  " + "  ".join(
            cell.rjust(width) for cell, width in zip(line[:-1], widths, strict=True)
        )
        printed.extend(_wrapped(line[-1], f"{start}  ", " " * (len(start) + 2)))
    return printed


def _wrapped(text: str, first: str = "", later: str = "") -> list[str]:
    lines = textwrap.wrap(
        _JOINED.sub("\N{NO-BREAK SPACE}", text),
        max(_WIDTH, len(first) + 30),
        initial_indent=first,
        subsequent_indent=later,
        break_on_hyphens=False,
    )
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _temperature(value: float, units: System) -> str:
    return format_quantity(value, "temperature", units)


def _time(value: float, units: System, never: str) -> str:
    return never if math.isnan(value) else format_quantity(value, "time", units)


def _dose(value: float) -> str:
    return f"{value:.2f}" if value < 10.0 else ">10"


def _share(value: float) -> str:
    return "under 0.1 %" if 0.0 < value < 0.001 else f"{100.0 * value:.1f} %"


def plain(value: Any) -> Any:
    """Return a value as JSON knows it: records as tables, arrays as lists, nan and inf as null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
