"""Connected air: which open cells air can pass between, and the main space of each room."""

from dataclasses import replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from simulator.grid.cells import Labels, slices
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray, IntArray


def connected_air(is_open: BoolArray, closed: tuple[BoolArray, BoolArray, BoolArray]) -> IntArray:
    """Return the number of the connected space of each open cell (nx, ny, nz); -1 elsewhere."""
    flat = np.arange(is_open.size).reshape(is_open.shape)
    ends = []
    for axis in range(3):
        low, high, inner = ([slice(None)] * 3 for _ in range(3))
        low[axis], high[axis], inner[axis] = slice(None, -1), slice(1, None), slice(1, -1)
        passes = is_open[tuple(low)] & is_open[tuple(high)] & ~closed[axis][tuple(inner)]
        ends.append(np.stack([flat[tuple(low)][passes], flat[tuple(high)][passes]]))
    one, two = np.concatenate(ends, axis=1)
    graph = coo_array((np.ones(one.size, np.int8), (one, two)), shape=(flat.size, flat.size))
    _, space = connected_components(graph, directed=False)
    return np.where(is_open, space.reshape(is_open.shape).astype(np.int64), -1)


def block_bare_spaces(
    fill: Fill, closed: tuple[BoolArray, BoolArray, BoolArray], touched: IntArray
) -> tuple[Fill, tuple[BoolArray, BoolArray, BoolArray]]:
    """Return cells and closed faces with each sealed space blocked that no surface gives heat to.

    A board that holds the centres of a row of cells shuts both sides of the row, and its faces warm
    the air beyond. What is left in the row would be air without any contact. ``touched`` are the
    air cells of all surfaces.
    """
    space = connected_air(fill.is_open, closed)
    is_served = np.zeros(fill.is_open.size, dtype=np.bool_)
    is_served[space.reshape(-1)[touched]] = True
    is_bare = fill.is_open & ~is_served[space] & (fill.stuff > 0.0)
    is_open = fill.is_open & ~is_bare
    after = replace(
        fill,
        is_open=is_open,
        is_blocked=fill.is_blocked | is_bare,
        air_volume=np.where(is_open, fill.air_volume, 0.0),
    )
    x, y, z = (_between_open(axis, faces, is_open) for axis, faces in enumerate(closed))
    return after, (x, y, z)


def _between_open(axis: int, faces: BoolArray, is_open: BoolArray) -> BoolArray:
    kept = np.zeros_like(faces)
    low, high, inner = ([slice(None)] * 3 for _ in range(3))
    low[axis], high[axis], inner[axis] = slice(None, -1), slice(1, None), slice(1, -1)
    kept[tuple(inner)] = faces[tuple(inner)] & is_open[tuple(low)] & is_open[tuple(high)]
    return kept


def main_spaces(space: IntArray, air_volume: FloatArray, labels: Labels) -> BoolArray:
    """Return which cells belong to the largest connected space of their room or doorway."""
    is_main = np.zeros(space.shape, dtype=np.bool_)
    for block in labels.blocks:
        inside = slices(block)
        local = space[inside]
        is_air = local >= 0
        if is_air.any():
            volume = np.bincount(local[is_air], air_volume[inside][is_air])
            is_main[inside] = local == int(np.argmax(volume))
    return is_main
