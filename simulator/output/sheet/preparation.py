"""What the answer takes as done before the heat: the state of the home that the run began with."""

from collections.abc import Mapping
from typing import Any

from simulator.case.as_written import preparation_of
from simulator.case.case import Case
from simulator.errors import CaseError
from simulator.output.sheet.plan_shell import format_length
from simulator.units import System, parse_quantity


def taken_as_done(case: Case, units: System) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return what the preparation has done to the home, and which doors and windows are open.

    Each row holds the names of the pieces that one thing is done to, and what that is.
    """
    done = preparation_of(case)
    rows: dict[str, list[str]] = {}
    if done.removed:
        rows["taken out"] = list(done.removed)
    for name, changes in (done.changed or {}).items():
        words = ", ".join(_change(key, value, units) for key, value in changes.items())
        rows.setdefault(words, []).append(name)
    if done.added:
        rows["brought in"] = list(done.added)
    rows.update(openings(case))
    return tuple((tuple(names), words) for words, names in rows.items())


def openings(case: Case) -> dict[str, list[str]]:
    """Return which doors between rooms and which windows are open, and which are shut."""
    doors = case.dwelling.doorways
    ajar = [
        f"{window.name} ({100.0 * window.opening:.0f} % of its area)"
        for window in case.dwelling.windows
        if window.opening > 0.0
    ]
    shut = [window.name for window in case.dwelling.windows if window.opening <= 0.0]
    lists = {
        "open": [*(door.name for door in doors if door.is_open), *ajar],
        "shut": [*(door.name for door in doors if not door.is_open), *shut],
    }
    return {words: names for words, names in lists.items() if names}


def _change(key: str, value: Any, units: System) -> str:
    """Return one key of a piece with its value as a crew would say it."""
    if key == "at" and isinstance(value, list) and len(value) == 2:
        west, south = (_length(part, units) for part in value)
        return f"its middle {west} from west wall, {south} from south wall"
    words = key.replace("_", " ")
    told = _value(value, units)
    if key.endswith("_are"):
        return f"{words} {told}"
    if isinstance(value, bool):
        return words if value else f"not {words}"
    if isinstance(value, int | float):
        return f"{words}: {told}"
    return f"{words} {told}"


def _value(value: Any, units: System) -> str:
    if isinstance(value, str):
        return value.replace("_", " ")
    if isinstance(value, list):
        return " x ".join(_value(part, units) for part in value)
    if isinstance(value, Mapping):
        return ", ".join(_change(key, part, units) for key, part in value.items())
    if isinstance(value, float) and 0.0 <= value <= 1.0:
        return f"{100.0 * value:.0f} %"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _length(value: Any, units: System) -> str:
    """Return a written length in the units of the sheet; what is no length stays as written."""
    try:
        return format_length(parse_quantity(value, "length"), units)
    except CaseError:
        return str(value)
