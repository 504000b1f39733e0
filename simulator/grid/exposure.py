"""Which air each exposed face of solid stuff gives its heat to."""

import itertools
from dataclasses import dataclass

import numpy as np

from simulator.grid.faces import Tiles, dominant_axis
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice

#: Steps to every cell around a cell, and to itself.
AROUND = np.array(list(itertools.product((-1, 0, 1), repeat=3)))


@dataclass(frozen=True, slots=True)
class Exposure:
    """Tiles that face air, with the cell of that air (length E), and those that face stuff."""

    tiles: Tiles
    air_cell: IntArray
    axis: IntArray  # 0 x, 1 y, 2 z: dominant axis of the normal
    sign: IntArray
    #: (cell, cell beyond, area): tiles that look across less than a cell at other stuff
    facing: tuple[IntArray, IntArray, FloatArray]


def expose(
    tiles: Tiles, fill: Fill, closed: tuple[BoolArray, BoolArray, BoolArray], lattice: Lattice
) -> Exposure:
    """Return the air cell of each tile that sees air.

    In this order:

    1. the broad face of a board, and the edge of a board where boards shut its own cell off, look
       away from the board: to their own cell if its centre lies before them, else to the next cell
       along their normal (if askew: along its second axis, or both) whose centre does;
    2. other faces give to their own cell if it is open, else to the next cell in the same order;
    3. a face with no open cell there gives to the nearest open one around it that lies before it:
       a ledge beside a blocked cell;
    4. a face in a slit without any open cell near is dropped: it is part of a contact.
    """
    axis, sign = dominant_axis(tiles.normal)
    own = np.stack(np.unravel_index(tiles.cell, lattice.shape), axis=1).reshape(-1, 3)
    step, aside = _steps(tiles.normal, axis, sign)
    places = np.stack([own, own + step, own + aside, own + step + aside], axis=1)
    cell, is_open, distance = _look(places, tiles, fill, lattice)
    parted = np.stack([_is_shut(own, step, closed), _is_shut(own, aside, closed)], axis=1)
    parted = np.column_stack([np.ones(axis.size, np.bool_), parted, parted.any(axis=1)])
    ahead = is_open & (distance > 0.0) & (parted | tiles.is_broad[:, None])
    best = np.where(ahead.any(axis=1), np.argmax(ahead, axis=1), np.argmax(is_open, axis=1))
    air_cell = np.where(is_open.any(axis=1), cell[np.arange(best.size), best], -1)
    lost = np.flatnonzero(air_cell < 0)
    air_cell[lost] = _nearest_around(own[lost], tiles, lost, fill, lattice)
    found = air_cell >= 0
    return Exposure(
        tiles=tiles.where(found),
        air_cell=air_cell[found],
        axis=axis[found],
        sign=sign[found],
        facing=(tiles.cell[~found], cell[~found, 1], tiles.area[~found]),
    )


def _steps(normal: FloatArray, axis: IntArray, sign: IntArray) -> tuple[IntArray, IntArray]:
    """Return the step to the next cell along the normal's first axis, and along its second."""
    others = np.abs(normal)
    np.put_along_axis(others, axis[:, None], -1.0, axis=1)
    second = np.argmax(others, axis=1)
    component = np.take_along_axis(normal, second[:, None], axis=1)[:, 0]
    step, aside = np.zeros((2, *normal.shape), dtype=np.int64)
    np.put_along_axis(step, axis[:, None], sign[:, None], axis=1)
    direction = np.where(np.abs(component) > 1e-9, np.where(component < 0.0, -1, 1), 0)
    np.put_along_axis(aside, second[:, None], direction[:, None], axis=1)
    return step, aside


def _is_shut(
    own: IntArray, step: IntArray, closed: tuple[BoolArray, BoolArray, BoolArray]
) -> BoolArray:
    """Return whether a board shuts the face between each cell and the next along ``step``."""
    shut = np.zeros(len(own), dtype=np.bool_)
    for axis in range(3):
        row = np.flatnonzero(step[:, axis])
        face = own[row].copy()
        face[:, axis] += step[row, axis] > 0
        shut[row] = closed[axis][tuple(face.T)]
    return shut


def _look(
    places: IntArray, tiles: Tiles, fill: Fill, lattice: Lattice
) -> tuple[IntArray, BoolArray, FloatArray]:
    """Return flat cell (-1 beyond the lattice), openness, and how far its centre is before it."""
    shape = np.array(lattice.shape)
    inside = np.all((places >= 0) & (places < shape), axis=2)
    index = tuple(np.moveaxis(np.clip(places, 0, shape - 1), 2, 0))
    cell = np.where(inside, np.ravel_multi_index(index, lattice.shape), -1)
    offset = _centres(index, lattice) - tiles.centre[:, None, :]
    distance = np.einsum("nkw,nw->nk", offset, tiles.normal)
    return cell, inside & fill.is_open[index], distance


def _nearest_around(
    own: IntArray, tiles: Tiles, rows: IntArray, fill: Fill, lattice: Lattice
) -> IntArray:
    """Return the open cell around ``own`` nearest to each tile and before it, or -1."""
    chosen = tiles.where(rows)
    places = own[:, None, :] + AROUND
    cell, is_open, distance = _look(places, chosen, fill, lattice)
    index = tuple(np.moveaxis(np.clip(places, 0, np.array(lattice.shape) - 1), 2, 0))
    square = np.sum((_centres(index, lattice) - chosen.centre[:, None, :]) ** 2, axis=2)
    square = np.where(is_open & (distance > 0.0), square, np.inf)
    nearest = np.argmin(np.round(square, 9), axis=1)
    row = np.arange(rows.size)
    return np.where(np.isfinite(square[row, nearest]), cell[row, nearest], -1)


def _centres(index: tuple[IntArray, ...], lattice: Lattice) -> FloatArray:
    return np.stack([lattice.centres[w][index[w]] for w in range(3)], axis=-1)
