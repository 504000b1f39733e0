"""Which air each exposed face of solid stuff gives its heat to."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.faces import Tiles, dominant_axis
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice


@dataclass(frozen=True, slots=True)
class Exposure:
    """Tiles that face air, with the cell of that air (length E), and those that face stuff."""

    tiles: Tiles
    air_cell: IntArray
    axis: IntArray  # 0 x, 1 y, 2 z: dominant axis of the normal
    sign: IntArray
    #: (cell, cell beyond, area): tiles that look across less than a cell at other stuff
    facing: tuple[IntArray, IntArray, FloatArray]


def expose(tiles: Tiles, fill: Fill, lattice: Lattice) -> Exposure:
    """Return the air cell of each tile that sees air.

    A tile belongs to its own cell if that is open, else to the next cell along its normal. The
    broad face of a board looks away from the board: if its own cell's centre lies behind it, it
    belongs to the next cell (for an askew face: along its second axis, or both) whose centre lies
    before it. A tile that sees no open cell is dropped; it then is part of a contact.
    """
    axis, sign = dominant_axis(tiles.normal)
    second = np.abs(tiles.normal)
    np.put_along_axis(second, axis[:, None], -1.0, axis=1)
    other = np.argmax(second, axis=1)
    component = np.take_along_axis(tiles.normal, other[:, None], axis=1)[:, 0]
    is_askew = np.abs(component) > 1e-9
    step = np.zeros((tiles.area.size, 3), dtype=np.int64)
    np.put_along_axis(step, axis[:, None], sign[:, None], axis=1)
    aside = np.zeros_like(step)
    aside_step = np.where(is_askew, np.where(component < 0.0, -1, 1), 0)
    np.put_along_axis(aside, other[:, None], aside_step[:, None], axis=1)

    own = np.stack(np.unravel_index(tiles.cell, lattice.shape), axis=1).reshape(-1, 3)
    places = np.stack([own, own + step, own + aside, own + step + aside], axis=1)
    cell, is_open, is_before = _look(places, tiles, fill, lattice)
    best = np.where(is_open[:, 0], 0, _first(is_open))
    ahead = is_open & is_before
    best = np.where(tiles.is_broad & ahead.any(axis=1), _first(ahead), best)
    rows = np.arange(tiles.area.size)
    found = is_open.any(axis=1)
    air_cell = cell[rows, best]
    return Exposure(
        tiles=tiles.where(found),
        air_cell=air_cell[found],
        axis=axis[found],
        sign=sign[found],
        facing=(tiles.cell[~found], cell[~found, 1], tiles.area[~found]),
    )


def _look(
    places: IntArray, tiles: Tiles, fill: Fill, lattice: Lattice
) -> tuple[IntArray, BoolArray, BoolArray]:
    """Return flat cell (-1 beyond the lattice), openness, and whether its centre is before the tile."""
    shape = np.array(lattice.shape)
    inside = np.all((places >= 0) & (places < shape), axis=2)
    safe = np.clip(places, 0, shape - 1)
    index = tuple(np.moveaxis(safe, 2, 0))
    cell = np.where(inside, np.ravel_multi_index(index, lattice.shape), -1)
    is_open = inside & fill.is_open[index]
    centre = np.stack([lattice.centres[w][safe[..., w]] for w in range(3)], axis=2)
    offset = centre - tiles.centre[:, None, :]
    is_before = np.einsum("nkw,nw->nk", offset, tiles.normal) > 0.0
    return cell, is_open, is_before


def _first(flags: BoolArray) -> IntArray:
    return np.argmax(flags, axis=1)
