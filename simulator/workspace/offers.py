"""What is taken away from the desk, and the one scale of colours."""

from pathlib import Path
from typing import Any

from simulator.output import pen
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.units import System

_SHADES = 256


def job_sheet(result: Path, units: System) -> Path:
    """Write the job sheet of a result beside it and return its path."""
    from simulator.output.sheet.write_sheet import write_sheet

    return write_sheet(result, result.with_name(f"{result.stem}_sheet.html"), units, force=True)


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
