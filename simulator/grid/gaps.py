"""What lies across a slit: tiles that see no air cell look at other stuff or wall through air."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.bodies import Bodies
from simulator.grid.cells import Labels
from simulator.grid.exposure import Slits
from simulator.grid.faces import BEHIND, TOUCH, own_cells
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: A tile looks at most this many cells far across a slit [-] (choice).
FARTHEST = 1.5


@dataclass(frozen=True, slots=True)
class Gaps:
    """Tiles that face something across less than an air cell (length G)."""

    node: IntArray  # own solid node
    other: IntArray  # solid node on the far side; -1: the wall, or nothing
    cell: IntArray  # flat cell at the wall that it looks at; -1: no wall
    axis: IntArray
    sign: IntArray
    area: FloatArray  # [m²]
    width: FloatArray  # [m]


def look_across(
    slits: Slits,
    solid_blocks: tuple[PartBlock, ...],
    bodies: Bodies,
    lattice: Lattice,
    labels: Labels,
) -> Gaps:
    """Return what each slit looks at: the nearest box along the normal, else the wall."""
    count = slits.cell.size
    width = np.full(count, FARTHEST * lattice.cell_size)
    other = np.full(count, -1, dtype=np.int64)
    for number, block in enumerate(solid_blocks):
        near = _near(slits, block, lattice)
        enter = block.box.distance(slits.centre[near], slits.normal[near])
        nearer = near[(enter > 0.0) & (enter < width[near])]
        width[nearer] = enter[(enter > 0.0) & (enter < width[near])]
        other[nearer] = number
    far = np.full(count, -1, dtype=np.int64)
    for number in np.unique(other[other >= 0]):
        mine, block = np.flatnonzero(other == number), solid_blocks[number]
        point = slits.centre[mine] + (width[mine, None] + BEHIND) * slits.normal[mine]
        cell = own_cells(block, point, lattice)
        far[mine] = bodies.node(np.full(mine.size, block.part, dtype=np.int64), cell)
    wall, distance = _walls(slits, lattice, labels)
    at_wall = (far < 0) & (distance < width)
    return Gaps(
        node=bodies.node(slits.part, slits.cell),
        other=far,
        cell=np.where(at_wall, wall, -1),
        axis=slits.axis,
        sign=slits.sign,
        area=slits.area,
        width=np.maximum(np.where(at_wall, distance, width), TOUCH),
    )


def _near(slits: Slits, block: PartBlock, lattice: Lattice) -> IntArray:
    reach = FARTHEST * lattice.cell_size
    inside = np.all(
        (slits.centre > block.box.low - reach) & (slits.centre < block.box.high + reach), axis=1
    )
    return np.flatnonzero(inside & (slits.part != block.part))


def _walls(slits: Slits, lattice: Lattice, labels: Labels) -> tuple[IntArray, FloatArray]:
    """Return the last room cell along each normal, and the distance to the wall there [m].

    At most one cell further than the own one; -1 and inf where no wall is so near.
    """
    count = slits.cell.size
    index = np.stack(np.unravel_index(slits.cell, lattice.shape), axis=1).reshape(-1, 3)
    rows = np.arange(count)
    wall, distance = np.full(count, -1, dtype=np.int64), np.full(count, np.inf)
    reach = slits.distance.copy()
    for _ in range(2):
        beyond = index.copy()
        beyond[rows, slits.axis] += slits.sign
        inside = np.all((beyond >= 0) & (beyond < np.array(lattice.shape)), axis=1)
        clipped = np.clip(beyond, 0, np.array(lattice.shape) - 1)
        is_wall = ~inside | (labels.room[tuple(clipped.T)] < 0)
        found = is_wall & (wall < 0)
        wall[found] = np.ravel_multi_index(tuple(index[found].T), lattice.shape)
        distance[found] = reach[found]
        index = np.where(is_wall[:, None], index, clipped)
        sizes = np.stack([lattice.sizes[w][index[:, w]] for w in range(3)], axis=1)
        reach = reach + sizes[rows, slits.axis]
    return wall, distance
