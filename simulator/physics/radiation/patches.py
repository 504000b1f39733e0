"""Patches: surfaces grouped so that radiation between thousands of cell faces stays cheap."""

import numpy as np

from simulator.case.parts import PorousPart
from simulator.grid.grid import FloatArray, Grid, IntArray

#: Narrowest cube of loose stuff that is a patch [m] (choice: the default cell).
_NARROWEST = 0.1


def group_surfaces(grid: Grid, patch_size: float) -> IntArray:
    """Return the patch of every surface row, shape (S,), numbered from 0.

    Flat surfaces of one part, or of one room's side, join if they look the same way in the same
    plane with the same emissivity within a square of ``patch_size`` [m]. Loose stuff joins within
    cubes no wider than a ray's mean free path in it, 4V/A, but at least 0.1 m: wider ones would
    carry heat into a pile faster than rays do (two free paths give the second layer of 0.1 m three
    times its share).
    """
    surfaces = grid.surfaces
    index = np.unravel_index(surfaces.air_cell, grid.shape)
    keys = [surfaces.part, surfaces.axis.astype(np.int64), surfaces.sign.astype(np.int64)]
    room = grid.room.ravel()[surfaces.air_cell].astype(np.int64)
    keys.append(np.where(surfaces.part < 0, room, -1))
    keys.append(np.round(1e4 * surfaces.emissivity).astype(np.int64))
    size = _patch_sizes(grid, patch_size)
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    for axis, (centre, edge) in enumerate(zip(grid.centres, edges, strict=True)):
        bucket = np.floor((centre[index[axis]] - edge[0]) / size).astype(np.int64)
        keys.append(np.where(surfaces.axis == axis, index[axis], bucket))
    _, patch = np.unique(np.stack(keys), axis=1, return_inverse=True)
    numbered: IntArray = patch.ravel().astype(np.int64)
    return numbered


def _patch_sizes(grid: Grid, patch_size: float) -> FloatArray:
    """Return the width of the patch that each surface row joins [m]."""
    sizes = np.full(grid.surfaces.area.size, patch_size)
    for number, part in enumerate(grid.parts):
        if isinstance(part, PorousPart):
            density = 6.0 * (1.0 - part.air_fraction) / part.piece_size
            rows = (grid.surfaces.part == number) & (grid.surfaces.axis < 0)
            sizes[rows] = min(patch_size, max(_NARROWEST, 4.0 / density))
    return sizes
