"""Draughts: room air that reaches into gaps of a cell's width or less, under and behind furniture.

Cells do not resolve such gaps. In one narrower than a cell, faces see no air cell, and the floor or
wall across looks at them through still air. In one that is a single cell wide there is an air cell,
but hardly any flow is found in it. Yet air enters where a gap opens. From the middle of the gap
before each such face, and from each such cell, a way out is looked for, straight along the gap,
past all boxes, to a point that sees the centre of a *wide* cell of the room's main air: one with
another air cell beside it along every axis. A gap without a way out is shut in: closed
furniture stays closed, for boards that touch leave no way.

How much air moves, and what heat it gives, is ``physics/heat/draughts.py``.
"""

from dataclasses import dataclass

import numpy as np

from simulator.grid.bodies import Bodies
from simulator.grid.cells import sides_of_faces
from simulator.grid.columns import WallRows
from simulator.grid.contacts import half_thickness
from simulator.grid.exposure import Slits
from simulator.grid.fill import Fill
from simulator.grid.gaps import Gaps
from simulator.grid.grid import BoolArray, Draughts, FloatArray, IntArray, Touched
from simulator.grid.kernels import find_ways_out
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: Ways that are tried: eight directions in the plane of the gap.
_TURNS = np.radians(np.arange(0.0, 360.0, 45.0))
DIRECTIONS = np.stack([np.cos(_TURNS), np.sin(_TURNS)], axis=1)

#: Longest way out [m] (choice: half of the longest furniture).
FARTHEST = 1.5

#: Ways start this far before a wall [m] (choice: gaps narrower than twice this get no draught).
OFF_WALL = 0.004

#: Points along each side of a wall patch from which ways are looked for (choice).
POINTS = 3

#: Faces with less area get no draught [m²].
LEAST_AREA = 1e-6

#: Starts in one compiled call, which then takes less than 0.1 s.
_STARTS_A_CALL = 1_000


@dataclass(frozen=True, slots=True)
class _Ways:
    """The way out from each start (n): flat cell of the main air, or -1."""

    cell: IntArray
    length: FloatArray
    rise: FloatArray


def find_draughts(
    slits: Slits,
    gaps: Gaps,
    rows: WallRows,
    covered: FloatArray,
    main: BoolArray,
    closed: tuple[BoolArray, BoolArray, BoolArray],
    fill: Fill,
    solid_blocks: tuple[PartBlock, ...],
    bodies: Bodies,
    lattice: Lattice,
) -> Draughts:
    """Return the faces in narrow gaps that room air reaches.

    Parameters
    ----------
    slits, gaps : the tiles that look across less than a cell, and what they look at.
    rows, covered : the wall patches, and how much of each looks at stuff across a gap [m²].
    main : cells of the main space of their room.
    closed : faces that boards shut, as face velocities.
    """
    passes = [_has_neighbour(axis, fill.is_open, closed[axis]) for axis in range(3)]
    boxes = _Boxes(solid_blocks, lattice, main & np.logical_and.reduce(passes))
    behind = _behind(slits, gaps, bodies)
    across = _mean_across(gaps, behind, main.size)
    return _joined(
        _of_solids(boxes, slits, gaps, behind),
        _of_walls(boxes, rows, covered, across, lattice),
        *(_of_air(boxes, main & ~passes[axis], axis, fill, lattice) for axis in range(3)),
    )


def _has_neighbour(axis: int, is_open: BoolArray, closed: BoolArray) -> BoolArray:
    """Return which cells air can leave along an axis, at least to one side."""
    low, high, inner = sides_of_faces(axis)
    passes = is_open[low] & is_open[high] & ~closed[inner]
    found = np.zeros_like(is_open)
    found[low] |= passes
    found[high] |= passes
    return found


def _behind(slits: Slits, gaps: Gaps, bodies: Bodies) -> FloatArray:
    """Return the resistance from each tile to its node [m² K/W]."""
    way = half_thickness(bodies.extent[gaps.node], slits.area, bodies.span[gaps.node, slits.axis])
    resistance: FloatArray = way / bodies.bulk_conductivity[gaps.node]
    return resistance


def _mean_across(gaps: Gaps, behind: FloatArray, cells: int) -> FloatArray:
    """Return the mean resistance behind the tiles that look at each wall cell; nan: none does."""
    at_wall = gaps.cell >= 0
    cell, area = gaps.cell[at_wall], gaps.area[at_wall]
    total = np.bincount(cell, area, cells)
    with np.errstate(invalid="ignore"):
        mean: FloatArray = np.bincount(cell, area * behind[at_wall], cells) / total
    return mean


class _Boxes:
    """All boxes of solid stuff, and the ways past them."""

    def __init__(
        self, solid_blocks: tuple[PartBlock, ...], lattice: Lattice, wide: BoolArray
    ) -> None:
        self._placed = boxes = [block.box for block in solid_blocks]
        self._centre, self._half, self._low, self._high = (
            np.array([getattr(box, name) for box in boxes]).reshape(-1, 3)
            for name in ("centre", "half", "low", "high")
        )
        self._axes = np.array([box.axes for box in boxes]).reshape(-1, 3, 3)
        self._lattice, self._wide = lattice, wide

    def ways_out(self, starts: FloatArray, axis: IntArray) -> _Ways:
        """Return the way out along the gap from each start (n, 3)."""
        count = len(starts)
        ways = _Ways(np.full(count, -1, dtype=np.int64), np.zeros(count), np.zeros(count))
        for first in range(0, count, _STARTS_A_CALL):
            rows = slice(first, first + _STARTS_A_CALL)
            find_ways_out(
                np.ascontiguousarray(starts[rows]),
                axis[rows].astype(np.int64),
                DIRECTIONS,
                FARTHEST,
                0.5 * self._lattice.cell_size,
                self._wide,
                self._lattice.edges[0],
                self._lattice.edges[1],
                self._lattice.edges[2],
                self._centre,
                self._half,
                self._axes,
                self._low,
                self._high,
                ways.cell[rows],
                ways.length[rows],
                ways.rise[rows],
            )
        return ways

    def free_before(self, starts: FloatArray, axis: IntArray, sign: IntArray) -> FloatArray:
        """Return how far each start is from the box before it along an axis, or ``FARTHEST``."""
        free = np.full(len(starts), FARTHEST)
        step = np.zeros((len(starts), 3))
        step[np.arange(len(starts)), axis] = sign
        for box in self._placed:
            enter = box.distance(starts, step)
            free = np.where(enter > 0.0, np.minimum(free, enter), free)
        return free


def _of_solids(boxes: _Boxes, slits: Slits, gaps: Gaps, behind: FloatArray) -> Draughts:
    """Return the tiles of solids in gaps that have a way out."""
    middle = slits.centre + 0.5 * gaps.width[:, None] * slits.normal
    ways = boxes.ways_out(middle, slits.axis)
    kept = np.flatnonzero((ways.cell >= 0) & (slits.area > LEAST_AREA))
    return Draughts(
        kind=np.full(kept.size, Touched.SOLID, dtype=np.int8),
        index=gaps.node[kept],
        air_cell=ways.cell[kept],
        area=slits.area[kept],
        behind=behind[kept],
        opposite=np.full(kept.size, np.nan),
        width=gaps.width[kept],
        length=ways.length[kept],
        rise=ways.rise[kept],
    )


def _of_walls(
    boxes: _Boxes, rows: WallRows, covered: FloatArray, across: FloatArray, lattice: Lattice
) -> Draughts:
    """Return the wall patches across gaps, as much of each as has a way out."""
    row = np.flatnonzero(covered > LEAST_AREA)
    starts, axis, inward = _points(rows, row, lattice)
    ways = boxes.ways_out(starts, axis)
    width = boxes.free_before(starts, axis, inward) + OFF_WALL
    found = ways.cell.reshape(row.size, POINTS**2) >= 0
    under = (width < FARTHEST).reshape(found.shape) & found
    patch, point = np.nonzero(under)
    first = np.full(row.size, -1, dtype=np.int64)  # a point of each patch to speak for it
    first[patch[::-1]] = point[::-1]
    kept = np.flatnonzero(first >= 0)
    chosen = kept * POINTS**2 + first[kept]
    share = found[kept].mean(axis=1)
    return Draughts(
        kind=np.full(kept.size, Touched.COLUMN, dtype=np.int8),
        index=row[kept],
        air_cell=ways.cell[chosen],
        area=share * covered[row[kept]],
        behind=np.zeros(kept.size),
        opposite=across[rows.cell[row[kept]]],
        width=width[chosen],
        length=ways.length[chosen],
        rise=ways.rise[chosen],
    )


def _of_air(boxes: _Boxes, narrow: BoolArray, axis: int, fill: Fill, lattice: Lattice) -> Draughts:
    """Return the cells that fill a gap along an axis and have a way out of it."""
    cell = np.flatnonzero(narrow)
    index = np.unravel_index(cell, narrow.shape)
    middle = np.stack([lattice.centres[w][index[w]] for w in range(3)], axis=1).reshape(-1, 3)
    ways = boxes.ways_out(middle, np.full(cell.size, axis, dtype=np.int64))
    kept = np.flatnonzero(ways.cell >= 0)
    section = (lattice.volumes[index] / lattice.sizes[axis][index[axis]])[kept]
    return Draughts(
        kind=np.full(kept.size, Touched.AIR, dtype=np.int8),
        index=cell[kept],
        air_cell=ways.cell[kept],
        area=2.0 * section,
        behind=np.zeros(kept.size),
        opposite=np.full(kept.size, np.nan),
        width=fill.air_volume[index][kept] / section,
        length=ways.length[kept],
        rise=ways.rise[kept],
    )


def _points(
    rows: WallRows, row: IntArray, lattice: Lattice
) -> tuple[FloatArray, IntArray, IntArray]:
    """Return points before some patches, ``POINTS`` squared for each, their axis, and inwards."""
    index = np.stack(np.unravel_index(rows.cell[row], lattice.shape), axis=1).reshape(-1, 3)
    axis, sign = rows.axis[row].astype(np.int64), rows.sign[row].astype(np.int64)
    low = np.stack([lattice.edges[w][index[:, w]] for w in range(3)], axis=1)
    high = np.stack([lattice.edges[w][index[:, w] + 1] for w in range(3)], axis=1)
    shares = (np.arange(POINTS) + 0.5) / POINTS
    one, two = (part.ravel() for part in np.meshgrid(shares, shares, indexing="ij"))
    points = np.empty((row.size, POINTS**2, 3))
    every = np.arange(row.size)
    for shift, share in ((1, one), (2, two)):
        w = (axis + shift) % 3
        start, end = low[every, w], high[every, w]
        points[every, :, w] = start[:, None] + share[None, :] * (end - start)[:, None]
    wall = np.where(sign > 0, high[every, axis], low[every, axis])
    points[every, :, axis] = (wall - sign * OFF_WALL)[:, None]
    times = POINTS**2
    return points.reshape(-1, 3), np.repeat(axis, times), np.repeat(-sign, times)


def _joined(*pieces: Draughts) -> Draughts:
    return Draughts(
        *(np.concatenate([getattr(piece, name) for piece in pieces]) for name in Draughts.__slots__)
    )
