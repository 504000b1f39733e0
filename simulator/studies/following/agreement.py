"""Whether a sensor agrees with the corrected model, and what it suggests where it does not."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import BoolArray, FloatArray
from simulator.studies.following.sensor_log import SensorLog

#: A fall: a jump towards the air between two readings, of 5 K and of half of the way there or more;
#: afterwards the sensor is 3 K or more off where the others let it be expected, and twice as near
#: to the air (choices: slower things do not jump).
LEAST_JUMP, SHARE_OF_WAY, OFF = 5.0, 0.5, 3.0

#: Readings farther apart than this show no jump [s]: much may have happened between them.
LONGEST_STEP = 900.0

#: Beyond this many times its error a sensor disagrees.
DISAGREES = 3.0

#: What a sensor reads of late is the middle of its readings in the last half hour [s].
OF_LATE = 1800.0


@dataclass(frozen=True, slots=True)
class SensorCheck:
    """How a sensor agrees with the corrected model."""

    name: str
    readings: int
    rms: float  # of what is left [K]
    pace: float  # of the thing it is in, over the model's [-]
    last_reading: float  # [°C]; nan: none
    words: str  # what it suggests, empty: it agrees
    is_trusted: bool  # False: its later readings are left out


def jumps(
    log: SensorLog, trusted: BoolArray, in_things: Sequence[int], air: FloatArray
) -> dict[int, float]:
    """Return the columns of sensors whose readings jump towards the air, and since when [s].

    Parameters
    ----------
    trusted : which readings count, shape (T, S).
    in_things : columns of sensors that are in a thing; one in the air cannot fall out.
    air : mean temperature of the air, shape (T,) [°C].
    """
    found: dict[int, float] = {}
    for column in in_things:
        rows = np.flatnonzero(trusted[:, column])
        if rows.size < 4:
            continue
        reading = log.value[rows, column]
        step, gap = np.diff(reading), air[rows][:-1] - reading[:-1]
        hit = (step >= np.maximum(LEAST_JUMP, SHARE_OF_WAY * gap)) & (gap > 0.0)
        hit &= np.diff(log.time[rows]) <= LONGEST_STEP
        if hit.any():
            found[column] = float(log.time[rows[1:][np.where(hit, step, 0.0).argmax()]])
    return found


def has_fallen(
    log: SensorLog, column: int, since: float, expected: FloatArray, air: FloatArray
) -> bool:
    """Return whether a sensor that jumped is with the air since then, and not where expected.

    Parameters
    ----------
    since : when it jumped [s].
    expected : what it should read by all readings but its own since then, shape (T,) [°C].
    """
    after = (log.time >= since) & np.isfinite(log.value[:, column])
    to_air = float(np.median(np.abs(log.value[after, column] - air[after])))
    to_model = float(np.median(np.abs(log.value[after, column] - expected[after])))
    return to_model >= OFF and to_air < 0.5 * to_model


def suggestion(time: FloatArray, left: FloatArray, error: float, pace: float, usual: float) -> str:
    """Return what a sensor suggests, or nothing where it agrees.

    Parameters
    ----------
    time, left : of its readings [s] and what the model leaves of them [K].
    error : one standard deviation of a reading with the model's own [K].
    pace : of its thing, natural logarithm.
    usual : spread of paces, natural logarithm.
    """
    if not left.size:
        return "has no reading"
    off = float(np.median(left[time >= time[-1] - OF_LATE]))
    if abs(off) > DISAGREES * error:
        side = "colder" if off < 0.0 else "warmer"
        return (
            f"reads {abs(off):.1f} K {side} than all else explains: look where it is, whether "
            "something shields it or blows on it, and whether it reads right"
        )
    if pace > 2.0 * usual:
        return "warms slower than the model has it: more in it, or less air at it, than known"
    if pace < -2.0 * usual:
        return "warms faster than the model has it: less in it, or more air at it, than known"
    return ""


def fell(since: float) -> str:
    """Return what is told of a sensor that fell out of its thing at a time [s]."""
    return (
        f"jumped to the air's temperature after {since / 3600.0:.1f} h: it may have fallen out of "
        "its place; its later readings are left out; put it back"
    )


def rms(left: FloatArray) -> float:
    """Return the root of the mean square [K], nan of nothing."""
    return float(np.sqrt(np.mean(left**2))) if left.size else math.nan
