"""Air through open windows: driven by the difference of temperatures alone, one window at a time.

Wind is left out, and so is a draught between windows or from floor to floor: each open window lets
air in through its lower and out through its upper half. With wind or several windows open a home
cools faster than told.
"""

from dataclasses import replace

import numpy as np

from simulator.constants import GRAVITY, ZERO_CELSIUS
from simulator.grid.grid import FloatArray, Grid, Leak

#: Discharge coefficient of a sharp-edged opening [-] (common in textbooks on ventilation, from
#: memory: 0.6 to 0.65).
DISCHARGE = 0.6

#: The flow of air is solved anew when that through a window has changed by this share (estimate).
NEW_FLOW = 0.1


def q_single_sided_stack_brown_solvason_1962(
    area: float, height: float, inside: float, outside: float
) -> float:
    """Return the air that passes one large opening each way for two temperatures [m³/s].

    Parameters
    ----------
    area, height : of the opening [m²], [m].
    inside, outside : temperatures of the air on its two sides [°C].

    Notes
    -----
    Q = (Cd A / 3) sqrt(g H dT / T), T the mean absolute temperature. It follows from Bernoulli's
    equation with the neutral plane at mid-height: the speed grows as the root of the height above
    it, sqrt(g z dT / T) sqrt(2), over both halves. Good for a tall opening into one space without
    wind; it takes no account of the frame, nor of the window leaf.

    References
    ----------
    Brown W.G., Solvason K.R. (1962), Natural convection through rectangular openings in partitions,
    Int. J. Heat Mass Transfer 5, 859-868; in this form in textbooks on ventilation. From memory.

    Examples
    --------
    >>> round(q_single_sided_stack_brown_solvason_1962(1.0, 1.0, 30.0, 10.0), 4)
    0.1636
    """
    difference = abs(inside - outside)
    mean = 0.5 * (inside + outside) + ZERO_CELSIUS
    return DISCHARGE * area / 3.0 * float(np.sqrt(GRAVITY * height * difference / mean))


def room_temperatures(grid: Grid, air_temperature: FloatArray) -> FloatArray:
    """Return the mean air temperature of each room and doorway [°C]; the start's where unknown."""
    known = grid.is_open & np.isfinite(air_temperature)
    room = grid.room[known].astype(np.int64)
    count = len(grid.room_names)
    volume = np.bincount(room, grid.air_volume[known], count)
    heat = np.bincount(room, grid.air_volume[known] * air_temperature[known], count)
    start = np.full(count, grid.start_temperature)
    means: FloatArray = np.divide(heat, volume, out=start, where=volume > 0.0)
    return means


def window_flows(grid: Grid, air_temperature: FloatArray) -> FloatArray:
    """Return what passes each open window (W,) [m³/s]; negative: in above and out below."""
    rooms = room_temperatures(grid, air_temperature)
    outside = grid.outdoor_temperature
    flows = []
    for window in grid.windows:
        inside = float(rooms[window.room])
        flow = q_single_sided_stack_brown_solvason_1962(window.area, window.height, inside, outside)
        flows.append(flow if inside >= outside else -flow)
    return np.array(flows, dtype=np.float64)


def with_windows(grid: Grid, flows: FloatArray) -> Grid:
    """Return the grid with the flows through its open windows (W,) [m³/s] among its leaks."""
    leaks = []
    for window, flow in zip(grid.windows, flows.tolist(), strict=True):
        low, high = (window.low, window.high) if flow > 0.0 else (window.high, window.low)
        if flow != 0.0:
            leaks.append(Leak(grid.room_names[window.room], abs(flow), low, high))
    return replace(grid, leaks=(*grid.leaks, *leaks)) if leaks else grid


def windows_have_changed(before: FloatArray, now: FloatArray) -> bool:
    """Tell whether the flow through windows calls for a new flow of air (``NEW_FLOW``)."""
    return bool((np.abs(now - before) > NEW_FLOW * np.abs(now)).any())
