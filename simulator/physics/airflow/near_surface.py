"""The layer of air next to surfaces: its speed, and how sure that speed is."""

import numpy as np

from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.physics.airflow.wall_distance import box_distance, wall_distance


def near_surface_cells(grid: Grid, depth: float) -> BoolArray:
    """Return which open cells have their centre within ``depth`` [m] of a surface.

    Surfaces are solid cells, boards, and the cells that hold a partly filling or porous part.
    """
    is_near = wall_distance(grid) <= depth * (1.0 + 1e-9)
    surfaces, solids = grid.surfaces, grid.solids
    of_solid = surfaces.solid >= 0
    own = surfaces.air_cell[of_solid]
    own = own[solids.cell[surfaces.solid[of_solid]] == own]
    if own.size:
        is_filled = np.zeros(grid.is_open.size, dtype=np.bool_)
        is_filled[own] = True
        is_near |= box_distance(grid, is_filled.reshape(grid.shape)) <= depth * (1.0 + 1e-9)
    return is_near & grid.is_open


def mean_and_scatter(
    first: FloatArray, second: FloatArray, volume: FloatArray
) -> tuple[float, float, float]:
    """Return the mean of two halves of an average over cells, and how far the halves differ.

    Parameters
    ----------
    first, second : speed of the near-surface cells in each half [m/s].
    volume : of these cells [m³].

    Returns
    -------
    Mean [m/s]; difference of the halves' means over it [-]; rms difference of cells over it [-].
    """
    whole = volume.sum()
    a, b = (volume @ first) / whole, (volume @ second) / whole
    mean = 0.5 * (a + b)
    if mean == 0.0:
        return 0.0, 0.0, 0.0
    rms = np.sqrt(volume @ (first - second) ** 2 / whole)
    return float(mean), float(abs(a - b) / mean), float(rms / mean)
