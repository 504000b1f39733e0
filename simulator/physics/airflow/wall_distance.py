"""The distance from every cell's centre to the nearest solid: exact, on any rectilinear grid."""

import numpy as np

from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.physics.airflow.kernels import nearest_along
from simulator.physics.airflow.open_faces import open_faces


def wall_distance(grid: Grid) -> FloatArray:
    """Return the distance from each cell's centre to the nearest closed face [m], zero in solids.

    Closed faces are those between air and solid, those on the grid's outside and boards.
    """
    squared = np.full(grid.shape, np.inf)
    for axis, is_open in enumerate(open_faces(grid)):
        beside_air = _beside(grid.is_open, axis)
        np.minimum(squared, _to_faces(grid, ~is_open & beside_air, axis), out=squared)
    squared[~grid.is_open] = 0.0
    return np.asarray(np.sqrt(squared))


def box_distance(grid: Grid, is_target: BoolArray) -> FloatArray:
    """Return the distance from each cell's centre to the nearest box of a marked cell [m]."""
    squared = np.where(is_target, 0.0, np.inf)
    for axis in range(3):
        squared = _spread(grid, squared, axis)
    return np.sqrt(squared)


def _beside(is_air: BoolArray, axis: int) -> BoolArray:
    """Which faces normal to ``axis`` have air on one side at least."""
    along = np.moveaxis(is_air, axis, 0)
    faces = np.zeros((along.shape[0] + 1, *along.shape[1:]), dtype=np.bool_)
    faces[:-1] |= along
    faces[1:] |= along
    return np.moveaxis(faces, 0, axis)


def _to_faces(grid: Grid, is_closed: BoolArray, axis: int) -> FloatArray:
    """Squared distance to the nearest marked face normal to ``axis``: exact for the face's area."""
    seeds = np.where(is_closed, 0.0, np.inf)
    planes = (grid.x_edges, grid.y_edges, grid.z_edges)[axis]
    squared = _along(seeds, grid.centres[axis], planes, np.zeros_like(planes), axis)
    for other in range(3):
        if other != axis:
            squared = _spread(grid, squared, other)
    return squared


def _spread(grid: Grid, squared: FloatArray, axis: int) -> FloatArray:
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)[axis]
    centres = grid.centres[axis]
    return _along(squared, centres, centres, 0.5 * np.diff(edges), axis)


def _along(
    squared: FloatArray, points: FloatArray, targets: FloatArray, halves: FloatArray, axis: int
) -> FloatArray:
    """Least squared distance from points to intervals (targets ± halves) along one axis."""
    lines = np.ascontiguousarray(np.moveaxis(squared, axis, -1))
    out = np.full((*lines.shape[:-1], points.size), np.inf)
    rows = out.reshape(-1, points.size)
    nearest_along(lines.reshape(-1, targets.size), points, targets, halves, rows)
    return np.ascontiguousarray(np.moveaxis(out, -1, axis))
