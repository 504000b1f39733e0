"""Connected air: which open cells air can pass between, and the main space of each room."""

from dataclasses import replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from simulator.grid.cells import Labels, sides_of_faces, slices
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray, IntArray


def connected_air(is_open: BoolArray, closed: tuple[BoolArray, BoolArray, BoolArray]) -> IntArray:
    """Return the number of the connected space of each open cell (nx, ny, nz); -1 elsewhere."""
    flat = np.arange(is_open.size).reshape(is_open.shape)
    ends = []
    for axis in range(3):
        low, high, inner = sides_of_faces(axis)
        passes = is_open[low] & is_open[high] & ~closed[axis][inner]
        ends.append(np.stack([flat[low][passes], flat[high][passes]]))
    one, two = np.concatenate(ends, axis=1)
    graph = coo_array((np.ones(one.size, np.int8), (one, two)), shape=(flat.size, flat.size))
    _, space = connected_components(graph, directed=False)
    return np.where(is_open, space.reshape(is_open.shape).astype(np.int64), -1)


def block_pockets(
    fill: Fill, closed: tuple[BoolArray, BoolArray, BoolArray], labels: Labels
) -> tuple[Fill, tuple[BoolArray, BoolArray, BoolArray]]:
    """Return cells and closed faces with pockets blocked: sealed spaces with stuff in each cell.

    Boards that fill most of a cell's section seal it off from its neighbours; what is left in it is
    a gap narrower than a cell, such as that under a chair. Faces then look across it as across any
    other gap, and a draught reaches them if it is open at an edge. The main space of a room stays,
    and so does air with loose stuff in it: that of drawers which stand open would else touch no air
    and stay as cold as it was.
    """
    space = connected_air(fill.is_open, closed)
    is_air = space >= 0
    cells = np.bincount(space[is_air], minlength=1)
    with_stuff = np.bincount(space[is_air], fill.stuff[is_air] > 0.0, minlength=cells.size)
    with_loose = np.bincount(space[is_air], fill.porous_extent[is_air] > 0.0, minlength=cells.size)
    is_pocket = (with_stuff == cells) & (with_loose == 0)
    is_pocket[np.unique(space[main_spaces(space, fill.air_volume, labels)])] = False
    is_blocked = is_air & is_pocket[space]
    return _blocked(fill, closed, is_blocked)


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
    return _blocked(fill, closed, is_bare)


def _blocked(
    fill: Fill, closed: tuple[BoolArray, BoolArray, BoolArray], cells: BoolArray
) -> tuple[Fill, tuple[BoolArray, BoolArray, BoolArray]]:
    """Return cells and closed faces with some cells blocked."""
    is_open = fill.is_open & ~cells
    after = replace(
        fill,
        is_open=is_open,
        is_blocked=fill.is_blocked | cells,
        air_volume=np.where(is_open, fill.air_volume, 0.0),
    )
    x, y, z = (between_open(axis, faces, is_open) for axis, faces in enumerate(closed))
    return after, (x, y, z)


def between_open(axis: int, faces: BoolArray, is_open: BoolArray) -> BoolArray:
    """Return which of the faces lie between two open cells."""
    low, high, inner = sides_of_faces(axis)
    kept = np.zeros_like(faces)
    kept[inner] = faces[inner] & is_open[low] & is_open[high]
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
