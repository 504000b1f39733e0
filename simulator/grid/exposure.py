"""Which air each exposed face of solid stuff gives its heat to."""

import itertools
from dataclasses import dataclass

import numpy as np

from simulator.grid.faces import TOUCH, Tiles, dominant_axis
from simulator.grid.fill import Fill
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.kernels import find_first_seen
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: Steps to every cell around a cell, and to itself.
AROUND = np.array(list(itertools.product((-1, 0, 1), repeat=3)))

#: A line of sight starts this far before a face, and boards are thinner by as much [m]: it must not
#: be cut by the face that it starts from, nor by one that it grazes.
GRAZE = 1e-6

#: Tiles looked at in one compiled call, which then takes less than 0.1 s.
ROWS_A_CALL = 20_000


@dataclass(frozen=True, slots=True)
class Slits:
    """Tiles that look at stuff or wall across less than a cell: no air cell lies between."""

    part: IntArray  # index into the case's parts
    cell: IntArray  # own cell, flat
    centre: FloatArray  # (n, 3) [m]
    normal: FloatArray  # (n, 3) outward
    axis: IntArray
    sign: IntArray
    area: FloatArray  # [m²]
    distance: FloatArray  # from the tile to the own cell's face along the normal [m]


@dataclass(frozen=True, slots=True)
class Exposure:
    """Tiles that face air, with the cell of that air (length E), and those that face a slit."""

    tiles: Tiles
    air_cell: IntArray
    axis: IntArray  # 0 x, 1 y, 2 z: dominant axis of the normal
    sign: IntArray
    slits: Slits


def expose(
    tiles: Tiles, solid_blocks: tuple[PartBlock, ...], fill: Fill, lattice: Lattice
) -> Exposure:
    """Return the air cell of each tile that sees air.

    A tile gives its heat to its own cell, else to the next one along its normal (if askew: along
    its second axis, or both), else to the nearest around: the first that is open and whose centre
    it sees past all boards. So a board warms the air on either side from that side, whichever of
    them its cell's centre is on. A tile that sees no centre faces a slit; that is a contact.
    """
    axis, sign = dominant_axis(tiles.normal)
    own = np.stack(np.unravel_index(tiles.cell, lattice.shape), axis=1).reshape(-1, 3)
    step, aside = _steps(tiles.normal, axis, sign)
    boards = _Boards(solid_blocks, lattice)
    places = np.stack([own, own + step, own + aside, own + step + aside], axis=1)
    air_cell = boards.first_seen(places, tiles, fill, lattice)
    lost = np.flatnonzero(air_cell < 0)
    around = tiles.where(lost)
    air_cell[lost] = boards.first_seen(
        _by_distance(own[lost], around, lattice), around, fill, lattice
    )
    found = air_cell >= 0
    return Exposure(
        tiles=tiles.where(found),
        air_cell=air_cell[found],
        axis=axis[found],
        sign=sign[found],
        slits=_slits(tiles.where(~found), own[~found], axis[~found], sign[~found], lattice),
    )


class _Boards:
    """The boards that can hide air from a tile, and which of them are near each solid part."""

    def __init__(self, solid_blocks: tuple[PartBlock, ...], lattice: Lattice) -> None:
        boxes = [block.box for block in solid_blocks]
        parts = [block.part for block in solid_blocks]
        self._body = np.full(max(parts, default=-1) + 1, -1, dtype=np.int64)
        self._body[parts] = np.arange(len(parts))
        self._centre = np.array([box.centre for box in boxes]).reshape(-1, 3)
        self._half = np.array([box.half for box in boxes]).reshape(-1, 3) - GRAZE
        self._axes = np.array([box.axes for box in boxes]).reshape(-1, 3, 3)
        low = np.array([box.low for box in boxes]).reshape(-1, 3)
        high = np.array([box.high for box in boxes]).reshape(-1, 3)
        reach = 2.0 * max(float(sizes.max()) for sizes in lattice.sizes)
        near = np.all(low[None] <= high[:, None] + reach, axis=2)
        near &= np.all(high[None] >= low[:, None] - reach, axis=2)
        near &= np.array([box.is_board(lattice.cell_size) for box in boxes], dtype=np.bool_)
        self._near = np.nonzero(near)[1].astype(np.int64)
        self._near_start = np.concatenate([[0], np.cumsum(near.sum(axis=1))]).astype(np.int64)

    def first_seen(self, places: IntArray, tiles: Tiles, fill: Fill, lattice: Lattice) -> IntArray:
        """Return the flat cell of the first place (of n, m, 3) that is open and seen, or -1."""
        inside = np.all((places >= 0) & (places < np.array(lattice.shape)), axis=2)
        index = _inside(places, lattice)
        targets = _centres(index, lattice)
        starts = tiles.centre + GRAZE * tiles.normal
        is_candidate = inside & fill.is_open[index]
        seen = np.empty(len(places), dtype=np.int64)
        for first in range(0, len(places), ROWS_A_CALL):
            rows = slice(first, first + ROWS_A_CALL)
            find_first_seen(
                starts[rows],
                targets[rows],
                is_candidate[rows],
                self._body[tiles.part[rows]],
                self._near_start,
                self._near,
                self._centre,
                self._half,
                self._axes,
                seen[rows],
            )
        cell = np.ravel_multi_index(index, lattice.shape)
        chosen = cell[np.arange(seen.size), np.maximum(seen, 0)]
        return np.where(seen >= 0, chosen, -1)


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


def _by_distance(own: IntArray, tiles: Tiles, lattice: Lattice) -> IntArray:
    """Return the cells around each own cell that lie before the tile, nearest first (n, 27, 3)."""
    places = own[:, None, :] + AROUND
    offset = _centres(_inside(places, lattice), lattice) - tiles.centre[:, None, :]
    square = np.round(np.sum(offset**2, axis=2), 9)
    is_before = np.einsum("nkw,nw->nk", offset, tiles.normal) > 0.0
    order = np.argsort(np.where(is_before, square, np.inf), axis=1, kind="stable")
    sorted_places = np.take_along_axis(places, order[:, :, None], axis=1)
    kept = np.take_along_axis(is_before, order, axis=1)
    return np.where(kept[:, :, None], sorted_places, -1)


def _slits(tiles: Tiles, own: IntArray, axis: IntArray, sign: IntArray, lattice: Lattice) -> Slits:
    distance = np.empty(len(own))
    for w in range(3):
        along = np.flatnonzero(axis == w)
        plane = lattice.edges[w][own[along, w] + (sign[along] > 0)]
        distance[along] = sign[along] * (plane - tiles.centre[along, w])
    return Slits(
        part=tiles.part,
        cell=tiles.cell,
        centre=tiles.centre,
        normal=tiles.normal,
        axis=axis,
        sign=sign,
        area=tiles.area,
        distance=np.maximum(distance, TOUCH),
    )


def _inside(places: IntArray, lattice: Lattice) -> tuple[IntArray, ...]:
    return tuple(np.moveaxis(np.clip(places, 0, np.array(lattice.shape) - 1), -1, 0))


def _centres(index: tuple[IntArray, ...], lattice: Lattice) -> FloatArray:
    return np.stack([lattice.centres[w][index[w]] for w in range(3)], axis=-1)
