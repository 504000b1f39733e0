"""Logs of treatments that never were: a hidden truth is run, its sensors read with errors.

For tests and training. The truth has values of the unknowns that the model does not know, finer
cells, things that nobody told (a pile more, a fan turned away) and a clock that is off.
"""

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from simulator.case.case import Case
from simulator.case.parts import AirMover, Part
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.studies.following.basis_runs import course_at
from simulator.studies.following.courses import sensors_of
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import PRIOR_SPREAD, UNKNOWNS

#: How readings err: noise [K], offset of a sensor [K], of the clock [s]; and their interval [s].
NOISE, OFFSET, CLOCK_ERROR, INTERVAL = 0.3, 0.4, 90.0, 300.0


#: Cells of an invented truth over those of the model that is to follow it [-].
HIDDEN_CELLS = 0.75

#: The most by which a hidden fan is turned away to either side [deg].
TURNED = 30.0


@dataclass(frozen=True, slots=True)
class Errors:
    """How the log of a twin errs."""

    noise: float = NOISE
    offset: float = OFFSET
    clock: float = CLOCK_ERROR
    interval: float = INTERVAL
    missing: float = 0.02  # share of readings that are lost


def hidden_values(seed: int) -> dict[str, float]:
    """Return values of the unknowns as a home may have them, within their ranges."""
    lots = np.random.default_rng((seed, 7))
    points = np.clip(PRIOR_SPREAD * lots.standard_normal(len(UNKNOWNS)), -1.0, 1.0)
    shares = (0.5 * (points + 1.0)).tolist()
    return {thing.name: thing.at(share) for thing, share in zip(UNKNOWNS, shares, strict=True)}


def log_of(
    time: FloatArray,
    temperature: Mapping[str, FloatArray],
    seed: int,
    errors: Errors | None = None,
) -> SensorLog:
    """Return what sensors would have logged.

    Parameters
    ----------
    time : of the truth, shape (T,) [s].
    temperature : true one at each sensor that is logged, shape (T,) [°C].
    seed : of the errors; those of a sensor do not depend on which others are logged.
    """
    err = errors or Errors()
    lots = np.random.default_rng((seed, 11))
    moments = np.arange(0.0, float(time[-1]) + 1.0, err.interval)
    clock = err.clock * lots.standard_normal()
    columns = []
    for name, course in temperature.items():
        own = np.random.default_rng((seed, 13, zlib.crc32(name.encode())))
        reading = np.interp(moments + clock, time, course) + err.offset * own.standard_normal()
        reading = reading + err.noise * own.standard_normal(moments.size)
        reading[own.random(moments.size) < err.missing] = np.nan
        columns.append(np.round(reading, 1))
    return SensorLog(tuple(temperature), moments, np.column_stack(columns))


def invented_log(case: Case, seed: int, cell_size: float) -> SensorLog:
    """Return the log of a treatment that never was, for training.

    The hidden truth has values of the unknowns drawn by lot, fans turned away from where they
    were meant to blow, and the cells that ``cell_size`` [m] says, which should not be the model's.

    Raises
    ------
    CaseError
        If the case has no sensor.
    """
    names = sensors_of(case)
    if not names:
        raise CaseError("the layout has no sensor; add [[layout.equipment]] of kind 'sensor'")
    hidden = with_fans_turned(case, np.random.default_rng((seed, 5)))
    course = course_at(hidden, hidden_values(seed), cell_size)
    courses = {name: course.temperature[:, n].astype(np.float64) for n, name in enumerate(names)}
    return log_of(course.time, courses, seed)


def with_fans_turned(case: Case, lots: np.random.Generator) -> Case:
    """Return the case with every fan turned by up to ``TURNED`` to either side, all day long."""
    angles: dict[str, float] = {}

    def turned(part: Part) -> Part:
        if not isinstance(part, AirMover):
            return part
        if part.owner not in angles:
            angles[part.owner] = math.radians(TURNED * lots.uniform(-1.0, 1.0))
        x, y, z = part.direction
        c, s = math.cos(angles[part.owner]), math.sin(angles[part.owner])
        return replace(part, direction=(c * x - s * y, s * x + c * y, z))

    def whole(one: Case) -> Case:
        parts = tuple(turned(part) for part in one.parts)
        changes = tuple(replace(change, case=whole(change.case)) for change in one.changes)
        return replace(one, parts=parts, changes=changes)

    return whole(case)


def as_csv(log: SensorLog) -> str:
    """Return a log as the text of a CSV file (elapsed minutes, °C), invented and saying so."""
    names = ",".join(f'"{name} [degC]"' for name in log.sensors)
    lines = ["# Invented readings of a treatment that never was.", f"time [min],{names}"]
    for moment, row in zip(log.time, log.value, strict=True):
        cells = ",".join("" if np.isnan(value) else f"{value:.1f}" for value in row)
        lines.append(f"{moment / 60.0:g},{cells}")
    return "\n".join(lines) + "\n"
