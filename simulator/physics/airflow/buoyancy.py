"""The push of warm and cold air, at frozen temperatures."""

import numpy as np

from simulator.constants import AIR_EXPANSION, GRAVITY
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.open_faces import bodies_of_air

#: Differences below this [K] are round-off of level air.
NEGLIGIBLE = 1e-9


def buoyancy(grid: Grid, air_temperature: FloatArray) -> FloatArray:
    """Return the upward acceleration of each open cell's air [m/s²] (Boussinesq), zero elsewhere.

    g beta (T - T_level), T_level the mean over the open cells of the same height in the same body
    of air: what depends on height alone is balanced by pressure and moves nothing.

    Parameters
    ----------
    air_temperature : [i, j, k] [°C]; only open cells count.
    """
    levels = grid.shape[2]
    bodies = bodies_of_air(grid)
    is_air = bodies >= 0
    height = np.broadcast_to(np.arange(levels), grid.shape).ravel()
    group = (bodies * levels + height)[is_air]
    temperature = np.asarray(air_temperature, dtype=np.float64).ravel()[is_air]
    count = np.maximum(np.bincount(group), 1)
    mean = np.bincount(group, temperature) / count
    excess = temperature - mean[group]
    excess[np.abs(excess) < NEGLIGIBLE] = 0.0
    push = np.zeros(grid.is_open.size)
    push[is_air] = GRAVITY * AIR_EXPANSION * excess
    return push.reshape(grid.shape)
