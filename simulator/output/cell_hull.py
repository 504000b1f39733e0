"""The outer faces of a heap of cells, for drawing where a cold spot is."""

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray


def hull_of_cells(grid: Grid, cells: IntArray) -> tuple[FloatArray, IntArray]:
    """Return points (N, 3) [m] and quadrangles (M, 4), anticlockwise from outside.

    ``cells`` are flat indices; faces between two of them are left out.
    """
    inside = np.zeros(np.add(grid.shape, 2), dtype=bool)
    index = np.unravel_index(np.unique(cells), grid.shape)
    inside[tuple(axis + 1 for axis in index)] = True
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    quads = []
    for axis in range(3):
        across, up = (axis + 1) % 3, (axis + 2) % 3
        for sign in (0, 1):
            is_outer = inside & ~np.roll(inside, 1 - 2 * sign, axis=axis)
            cell = np.argwhere(is_outer) - 1
            quad = np.repeat(cell[:, None, :], 4, axis=1)
            quad[:, :, axis] += sign
            quad[:, 1:3, across] += 1
            quad[:, 2:4, up] += 1
            quads.append(quad if sign else quad[:, ::-1])
    corner = np.concatenate(quads).reshape(-1, 3)
    nodes, number = np.unique(corner, axis=0, return_inverse=True)
    points = np.stack([edge[nodes[:, axis]] for axis, edge in enumerate(edges)], axis=1)
    return points, number.reshape(-1, 4).astype(np.int64)
