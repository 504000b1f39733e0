"""The compiled loop of the lethal dose: rows are times, columns are hiding places."""

import math

import numpy as np
from numpy.typing import NDArray

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import FloatArray


@per_face
def _exponential_dose(rate: float, exponent: float, duration: float) -> float:
    """Return the dose of a piece whose rate grows from ``rate`` to ``rate``·exp(exponent)."""
    if abs(exponent) < 1e-7:
        return rate * duration * (1.0 + 0.5 * exponent)
    return rate * duration * math.expm1(exponent) / exponent


@per_face
def _time_within(rate: float, exponent: float, duration: float, missing: float) -> float:
    """Return when the dose ``missing`` is reached in such a piece, counted from its start."""
    if rate <= 0.0:
        return duration
    growth = exponent * missing / (rate * duration)
    if abs(growth) < 1e-7:
        return min(duration, missing / rate * (1.0 - 0.5 * growth))
    if growth <= -1.0:
        return duration
    return min(duration, duration * math.log1p(growth) / exponent)


@per_face
def _crossing(start: float, end: float, level: float) -> float:
    """Return the share of a straight line from ``start`` to ``end`` that lies before ``level``."""
    if start == end or (start < level) == (end < level):
        return 1.0
    return min(1.0, max(0.0, (level - start) / (end - start)))


@cell_loop
def march_dose(
    time: FloatArray,
    temperature: NDArray[np.float32] | FloatArray,
    offset: float,
    reference_rate: float,
    reference_temperature: float,
    slope: float,
    floor: float,
    cap: float,
    thresholds: FloatArray,
    level: float,
    dose: FloatArray,
    time_to: FloatArray,
    peak: FloatArray,
    time_of_level: FloatArray,
) -> None:
    """Add the dose of the given times to ``dose`` and note first times and peaks (all in place).

    ``slope`` is ln(10)/z [1/K]; ``time_to`` and ``time_of_level`` hold nan until reached. A segment
    is cut where it crosses floor and cap; each piece has a zero, constant or exponential rate.
    """
    for row in range(time.size - 1):
        step = time[row + 1] - time[row]
        for place in range(dose.size):
            start = float(temperature[row, place]) + offset
            end = float(temperature[row + 1, place]) + offset
            if end > peak[place]:
                peak[place] = end
            if math.isnan(time_of_level[place]) and end >= level:
                time_of_level[place] = time[row] + step * _crossing(start, end, level)
            if max(start, end) < floor or step <= 0.0:
                continue
            first = _crossing(start, end, floor)
            second = _crossing(start, end, cap)
            cuts = (0.0, min(first, second), max(first, second), 1.0)
            for piece in range(3):
                share = cuts[piece + 1] - cuts[piece]
                if share <= 0.0:
                    continue
                warm = start + (end - start) * cuts[piece]
                late = start + (end - start) * cuts[piece + 1]
                middle = 0.5 * (warm + late)
                if middle < floor:
                    continue
                warm = min(max(warm, floor), cap)
                late = min(max(late, floor), cap)
                duration = share * step
                rate = reference_rate * math.exp(slope * (warm - reference_temperature))
                exponent = slope * (late - warm)
                gain = _exponential_dose(rate, exponent, duration)
                before = dose[place]
                for index in range(thresholds.size):
                    if np.isnan(time_to[index, place]) and before + gain >= thresholds[index]:
                        time_to[index, place] = (
                            time[row]
                            + cuts[piece] * step
                            + _time_within(rate, exponent, duration, thresholds[index] - before)
                        )
                dose[place] = before + gain
