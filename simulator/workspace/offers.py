"""What can be made from a result to be taken away, and the one scale of colours."""

import importlib.util
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simulator.output import pen
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.units import System
from simulator.workspace.refusals import NotThere

#: What is offered -> the module that makes it, the function of it, and how its file ends. A
#: function takes the result file, the file to write, the units, and ``force`` to replace it.
_MAKERS: Mapping[str, tuple[str, str, str]] = {
    "job sheet": ("simulator.output.sheet.write_sheet", "write_sheet", "_sheet.html"),
}

_SHADES = 256


def offered() -> list[str]:
    """Return what this version can make."""
    return [what for what, (module, _, _) in _MAKERS.items() if _is_there(module)]


def make(what: str, result: Path, units: System) -> Path:
    """Write what is offered beside a result and return its path."""
    if what not in offered():
        raise NotThere(f"'{what[:40]}' is not offered")
    module, function, ending = _MAKERS[what]
    target = result.with_name(f"{result.stem}{ending}")
    getattr(importlib.import_module(module), function)(result, target, units, force=True)
    return target


def scale(units: System) -> dict[str, Any]:
    """Return the scale of temperatures and the colours of equipment that all pictures share."""
    low, high = FIXED_SCALE.low, FIXED_SCALE.high
    shades = [low + (high - low) * number / (_SHADES - 1) for number in range(_SHADES)]
    return {
        "low": low,
        "high": high,
        "shades": FIXED_SCALE.colours(shades).tolist(),
        "unknown": FIXED_SCALE.unknown,
        "ticks": FIXED_SCALE.ticks(units),
        "marks": list(zip(FIXED_SCALE.marks, FIXED_SCALE.mark_words(units), strict=True)),
        "fan": pen.FAN,
        "heater": pen.HEATER,
        "sensor": pen.SENSOR,
        "spot": pen.SPOT,
        "spot_edge": pen.SPOT_EDGE,
    }


def _is_there(module: str) -> bool:
    try:
        return importlib.util.find_spec(module) is not None
    except ModuleNotFoundError:
        return False
