"""Which faces let air pass, and which cells they join into one body of air."""

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from simulator.grid.grid import BoolArray, Grid, IntArray

FaceMasks = tuple[BoolArray, BoolArray, BoolArray]


def open_faces(grid: Grid) -> FaceMasks:
    """Return which faces normal to x, y, z are open: air on both sides and no board on the face.

    Parameters
    ----------
    grid : the grid.

    Returns
    -------
    Three arrays of shapes (nx+1, ny, nz), (nx, ny+1, nz), (nx, ny, nz+1).
    """
    masks = []
    boards = (grid.closed_x, grid.closed_y, grid.closed_z)
    for axis, board in enumerate(boards):
        air = np.moveaxis(grid.is_open, axis, 0)
        faces = np.zeros((air.shape[0] + 1, *air.shape[1:]), dtype=np.bool_)
        faces[1:-1] = air[1:] & air[:-1]
        masks.append(np.moveaxis(faces, 0, axis) & ~board)
    return masks[0], masks[1], masks[2]


def bodies_of_air(grid: Grid) -> IntArray:
    """Return a number for each flat cell: equal where air can pass between them, -1 without air."""
    flat = np.arange(grid.is_open.size).reshape(grid.shape)
    low, high = [], []
    for axis, faces in enumerate(open_faces(grid)):
        inner = np.moveaxis(faces, axis, 0)[1:-1]
        along = np.moveaxis(flat, axis, 0)
        low.append(along[:-1][inner])
        high.append(along[1:][inner])
    rows, columns = np.concatenate(low), np.concatenate(high)
    links = coo_array((np.ones(rows.size), (rows, columns)), shape=(flat.size, flat.size))
    labels: IntArray = connected_components(links, directed=False)[1].astype(np.int64)
    labels[~grid.is_open.ravel()] = -1
    return labels
