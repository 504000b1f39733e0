"""Logs of treatments that never were: a hidden truth is run, its sensors read with errors.

For tests and training. The truth has values of the unknowns that the model does not know, finer
cells, things that nobody told (a pile more, a fan turned away) and a clock that is off.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.history import History
from simulator.studies.following.basis import sensors_of
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import PRIOR_SPREAD, UNKNOWNS

#: How readings err: noise [K], offset of a sensor [K], of the clock [s]; and their interval [s].
NOISE, OFFSET, CLOCK_ERROR, INTERVAL = 0.3, 0.4, 90.0, 300.0


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
    case: Case,
    history: History,
    seed: int,
    errors: Errors | None = None,
    sensors: Sequence[str] | None = None,
) -> SensorLog:
    """Return what the sensors of a run would have logged.

    Parameters
    ----------
    case, history : the hidden truth.
    seed : of the errors.
    sensors : names of those that are logged; None: all of the layout.
    """
    err = errors or Errors()
    lots = np.random.default_rng((seed, 11))
    named = sensors_of(case)
    kept = named if sensors is None else tuple(sensors)
    probes = [probe.owner for probe in case.probes]
    time = np.arange(0.0, float(history.time[-1]) + 1.0, err.interval)
    clock = err.clock * lots.standard_normal()
    columns = []
    for name in named:
        course = history.probe_temperature[:, probes.index(name)]
        true = np.interp(time + clock, history.time, course)
        reading = true + err.offset * lots.standard_normal()
        reading = reading + err.noise * lots.standard_normal(time.size)
        reading[lots.random(time.size) < err.missing] = np.nan
        columns.append(np.round(reading, 1))
    table = np.column_stack([columns[named.index(name)] for name in kept])
    return SensorLog(kept, time, table)


def as_csv(log: SensorLog) -> str:
    """Return a log as the text of a CSV file (elapsed minutes, °C), invented and saying so."""
    names = ",".join(f'"{name} [degC]"' for name in log.sensors)
    lines = ["# Invented readings of a treatment that never was.", f"time [min],{names}"]
    for moment, row in zip(log.time, log.value, strict=True):
        cells = ",".join("" if np.isnan(value) else f"{value:.1f}" for value in row)
        lines.append(f"{moment / 60.0:g},{cells}")
    return "\n".join(lines) + "\n"
