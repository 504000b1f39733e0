"""The sides of rooms and doorways, patch by patch: what lies behind each cell face."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from simulator.case.dwelling import Side, Window
from simulator.grid.cells import Block, Labels
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice

#: Rooms further apart than this have no common partition [m] (choice: a chimney breast is thinner,
#: a room that the case leaves out is not).
THICKEST_PARTITION = 0.6


class Beyond(IntEnum):
    """What lies behind a cell face at the edge of a room."""

    AIR = 0  # an open doorway: no wall
    ROOM = 1  # another room, across a partition
    PARTITION = 2  # the inside of a partition: a doorway's edge, or the end of another partition
    OUTER = 3  # whatever the case says is behind this side


@dataclass(frozen=True, slots=True)
class Patches:
    """The cell faces of one side of a room or doorway that are wall (length P)."""

    side: Side
    index: tuple[IntArray, IntArray, IntArray]  # of the cell at the face
    cell: IntArray  # the same, flat
    beyond: NDArray[np.int64]  # Beyond
    across: IntArray  # flat cell of the other room; -1
    area: FloatArray  # [m²]
    length: float  # height of an upright side, area over perimeter of a level one [m]

    def overlap(self, window: Window, lattice: Lattice) -> FloatArray:
        """Return the area of each patch that a window covers [m²]."""
        covered = np.ones(self.area.size)
        for axis in range(3):
            if axis != self.side.axis:
                bounds = sorted((window.low[axis], window.high[axis]))
                low = np.maximum(lattice.edges[axis][self.index[axis]], bounds[0])
                high = np.minimum(lattice.edges[axis][self.index[axis] + 1], bounds[1])
                covered *= np.maximum(high - low, 0.0)
        return covered


def find_patches(block: Block, side: Side, lattice: Lattice, labels: Labels) -> Patches:
    """Return the wall patches of one side of a block of cells, in ascending flat order."""
    axis = side.axis
    ranges = [np.arange(first, last) for first, last in block]
    ranges[axis] = ranges[axis][-1:] if side.sign > 0 else ranges[axis][:1]
    mesh = [cells.ravel() for cells in np.meshgrid(*ranges, indexing="ij")]
    lateral = [other for other in range(3) if other != axis]
    beyond, across = _look_beyond(mesh, side, lattice, labels)
    shape = (ranges[lateral[0]].size, ranges[lateral[1]].size)
    edges = [lattice.edges[w][block[w][0] : block[w][1] + 1] for w in lateral]
    inner = _within_partitions(beyond.reshape(shape), edges)
    beyond = np.where((beyond == Beyond.OUTER) & inner.ravel(), Beyond.PARTITION, beyond)
    is_wall = beyond != Beyond.AIR
    x, y, z = (cells[is_wall] for cells in mesh)
    return Patches(
        side=side,
        index=(x, y, z),
        cell=np.ravel_multi_index((x, y, z), lattice.shape).astype(np.int64),
        beyond=beyond[is_wall],
        across=across[is_wall],
        area=lattice.face_areas(axis)[x, y, z],
        length=_characteristic_length(side, block, lattice),
    )


def _look_beyond(
    mesh: list[IntArray], side: Side, lattice: Lattice, labels: Labels
) -> tuple[IntArray, IntArray]:
    """Return what each cell face looks at through at most one partition, and the cell seen."""
    axis, count = side.axis, lattice.shape[side.axis]
    beyond = np.full(mesh[0].size, Beyond.OUTER, dtype=np.int64)
    across = np.full(mesh[0].size, -1, dtype=np.int64)
    position = int(mesh[axis][0]) + side.sign
    depth = 0.0
    while 0 <= position < count and depth <= THICKEST_PARTITION:
        place = list(mesh)
        place[axis] = np.full_like(mesh[axis], position)
        room = labels.room[tuple(place)]
        is_new = (beyond == Beyond.OUTER) & (room >= 0)
        is_doorway = room >= labels.room_count
        if depth == 0.0:
            beyond[is_new] = Beyond.AIR
        else:
            beyond[is_new] = np.where(is_doorway, Beyond.PARTITION, Beyond.ROOM)[is_new]
        seen = is_new & (beyond == Beyond.ROOM)
        across[seen] = np.ravel_multi_index(tuple(place), lattice.shape)[seen]
        depth += float(lattice.sizes[axis][position])
        position += side.sign
    return beyond, across


def _within_partitions(beyond: IntArray, edges: list[FloatArray]) -> BoolArray:
    """Return which patches have partition on both sides, at most a partition's thickness apart.

    They face the end of a partition that runs away from the wall, not the outdoors.
    """
    is_inner = beyond != Beyond.OUTER
    between = np.zeros(beyond.shape, dtype=np.bool_)
    for direction in range(2):
        shape = (-1, 1) if direction == 0 else (1, -1)
        low, high = edges[direction][:-1].reshape(shape), edges[direction][1:].reshape(shape)
        before = np.maximum.accumulate(np.where(is_inner, high, -np.inf), axis=direction)
        after = np.flip(
            np.minimum.accumulate(np.flip(np.where(is_inner, low, np.inf), direction), direction),
            direction,
        )
        between |= after - before <= THICKEST_PARTITION
    return between


def _characteristic_length(side: Side, block: Block, lattice: Lattice) -> float:
    sizes = [float(lattice.edges[w][block[w][1]] - lattice.edges[w][block[w][0]]) for w in range(3)]
    if side.axis == 2:
        return sizes[0] * sizes[1] / (2.0 * (sizes[0] + sizes[1]))
    return sizes[2]
