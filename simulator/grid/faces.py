"""Faces of solid boxes, cut into tiles: what each tile looks at and in which cell it lies.

A tile never straddles a cell plane that its face can be cut by, nor the edge of a box in the same
frame that touches the face, so areas are exact there. Where a face lies askew to the cell planes
(the top of a turned bed) or to a box that touches it, it is cut finely and each tile is counted by
its centre: totals stay exact, shares between neighbouring cells are good to about a percent.
"""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from simulator.grid.bodies import join_end_slices
from simulator.grid.boxes import PlacedBox, same_frame
from simulator.grid.cells import Labels
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: Faces nearer than this touch [m] (choice: less than any gap that air would move in).
TOUCH = 1e-3

#: Own cell of a tile: the cell this deep behind the face [m], less than SNAP on purpose.
BEHIND = 1e-5

#: Fine tiles in a cell's length [-].
FINE = 8


class Sight(IntEnum):
    """What a tile looks at."""

    AIR = 0
    SOLID = 1  # another box touches it
    WALL = 2  # it lies on the envelope


@dataclass(frozen=True, slots=True)
class Tiles:
    """Pieces of box faces, one a face, own cell, sight and cell beyond (length T)."""

    part: IntArray  # index into the case's parts
    sight: NDArray[np.int8]
    cell: IntArray  # flat index of the cell that holds the stuff behind the tile
    beyond: IntArray  # Sight.SOLID: flat index of the cell that holds the other stuff; else -1
    touched: IntArray  # Sight.SOLID: index of the other part; else -1
    area: FloatArray  # [m²]
    centre: FloatArray  # (T, 3) [m]
    normal: FloatArray  # (T, 3) outward
    depth: FloatArray  # [m]
    length: FloatArray  # [m]

    def where(self, chosen: BoolArray | IntArray) -> "Tiles":
        """Return the chosen rows."""
        return Tiles(*(getattr(self, name)[chosen] for name in self.__slots__))


def cut_faces(blocks: tuple[PartBlock, ...], lattice: Lattice, labels: Labels) -> Tiles:
    """Return the tiles of every face of the solid parts' ``blocks``."""
    touching = _neighbours(blocks)
    pieces = [
        _cut_face(block, [blocks[other] for other in touching[index]], own, sign, lattice, labels)
        for index, block in enumerate(blocks)
        for own in range(3)
        for sign in (-1, 1)
    ]
    if not pieces:
        return _no_tiles()
    return Tiles(
        *(np.concatenate([getattr(piece, name) for piece in pieces]) for name in Tiles.__slots__)
    )


def dominant_axis(normal: FloatArray) -> tuple[IntArray, IntArray]:
    """Return the grid axis nearest to each normal (n, 3), and its sign."""
    axis = np.argmax(np.round(np.abs(normal), 9), axis=1)
    component = np.take_along_axis(normal, axis[:, None], axis=1)[:, 0]
    return axis, np.where(component < 0.0, -1, 1)


def _no_tiles() -> Tiles:
    ints, floats, points = np.zeros(0, np.int64), np.zeros(0), np.zeros((0, 3))
    sight = np.zeros(0, np.int8)
    return Tiles(ints, sight, ints, ints, ints, floats, points, points, floats, floats)


def _neighbours(blocks: tuple[PartBlock, ...]) -> list[IntArray]:
    low = np.array([block.box.low for block in blocks]).reshape(-1, 3)
    high = np.array([block.box.high for block in blocks]).reshape(-1, 3)
    near = np.all(low[:, None] <= high[None] + TOUCH, axis=2)
    near &= near.T
    np.fill_diagonal(near, False)
    return [np.flatnonzero(row) for row in near]


@dataclass(frozen=True, slots=True)
class _Face:
    """A rectangle in space: ``origin`` its middle, ``normal`` outward, ``axes`` unit vectors."""

    origin: FloatArray
    normal: FloatArray
    axes: tuple[FloatArray, FloatArray]
    half: tuple[float, float]


def _cut_face(
    block: PartBlock,
    others: list[PartBlock],
    own: int,
    sign: int,
    lattice: Lattice,
    labels: Labels,
) -> Tiles:
    box = block.box
    u, v = (axis for axis in range(3) if axis != own)
    normal = sign * box.axes[:, own]
    face = _Face(
        origin=box.centre + box.half[own] * normal,
        normal=normal,
        axes=(box.axes[:, u], box.axes[:, v]),
        half=(float(box.half[u]), float(box.half[v])),
    )
    covers = [other for other in others if _reaches(face, other.box)]
    area, centre = _tile(face, box, [other.box for other in covers], lattice.cell_size)
    probe = centre + TOUCH * normal
    sight = np.where(_room_at(probe, lattice, labels) < 0, Sight.WALL, Sight.AIR)
    cell = own_cells(block, centre - BEHIND * normal, lattice)
    beyond, touched = np.full((2, cell.size), -1, dtype=np.int64)
    for other in covers:
        is_new = (sight != Sight.SOLID) & _is_within(probe, other.box)
        sight[is_new] = Sight.SOLID
        beyond[is_new] = _cells_beyond(centre[is_new], normal, other, lattice)
        touched[is_new] = other.part
    depth = _depth(block, face, own, cell, lattice)
    count = cell.size
    tiles = Tiles(
        part=np.full(count, block.part, dtype=np.int64),
        sight=sight.astype(np.int8),
        cell=cell,
        beyond=beyond,
        touched=touched,
        area=area,
        centre=centre,
        normal=np.tile(normal, (count, 1)),
        depth=depth,
        length=np.full(count, _characteristic_length(face)),
    )
    # Around a box that stands on the face, tiles of one cell may see different air: keep them.
    return tiles if covers else _merge(tiles)


def _reaches(face: _Face, box: PlacedBox) -> bool:
    """Return whether a box has any part of itself TOUCH in front of the face."""
    offset = box.centre - face.origin
    distance = float(offset @ face.normal) - TOUCH
    if abs(distance) > float(np.abs(face.normal @ box.axes) @ box.half) + 1e-9:
        return False
    return all(
        abs(float(offset @ axis)) < half + float(np.abs(axis @ box.axes) @ box.half)
        for axis, half in zip(face.axes, face.half, strict=True)
    )


def _tile(
    face: _Face, box: PlacedBox, covers: list[PlacedBox], cell_size: float
) -> tuple[FloatArray, FloatArray]:
    """Return the area (T,) and centre (T, 3) of the face's tiles."""
    cuts: list[list[FloatArray]] = [[], []]
    _cut_by_cells(face, box, cuts, cell_size)
    for cover in covers:
        for side in range(2):
            middle = float((cover.centre - face.origin) @ face.axes[side])
            reach = float(np.abs(face.axes[side] @ cover.axes) @ cover.half)
            if same_frame(box, cover):
                cuts[side].append(np.array([middle - reach, middle + reach]))
            else:
                cuts[side].append(_finely(middle, reach, cell_size))
    u, du = _intervals(cuts[0], face.half[0])
    v, dv = _intervals(cuts[1], face.half[1])
    grid_u, grid_v = (values.ravel() for values in np.meshgrid(u, v, indexing="ij"))
    centre = face.origin + grid_u[:, None] * face.axes[0] + grid_v[:, None] * face.axes[1]
    return np.outer(du, dv).ravel(), centre


def _cut_by_cells(
    face: _Face, box: PlacedBox, cuts: list[list[FloatArray]], cell_size: float
) -> None:
    for axis in range(3):
        slopes = [float(direction[axis]) for direction in face.axes]
        varies = [abs(slope) > 1e-12 for slope in slopes]
        if all(varies):
            for side in range(2):
                cuts[side].append(_finely(0.0, face.half[side], cell_size))
        elif any(varies):
            side = varies.index(True)
            cuts[side].append((box.edges[axis] - face.origin[axis]) / slopes[side])


def _finely(middle: float, reach: float, cell_size: float) -> FloatArray:
    count = max(1, int(np.ceil(2.0 * reach * FINE / cell_size)))
    return middle + np.linspace(-reach, reach, count + 1)


def _intervals(cuts: list[FloatArray], half: float) -> tuple[FloatArray, FloatArray]:
    """Return middles and lengths of the pieces of [-half, half] between the cuts."""
    inner = np.sort(np.concatenate([np.zeros(0), *cuts]))
    tiny = 1e-9 * max(half, 1.0)
    inner = inner[(inner > -half + tiny) & (inner < half - tiny)]
    edges = np.concatenate([[-half], inner, [half]])
    lengths = np.diff(edges)
    keep = lengths > 0.0
    return (0.5 * (edges[1:] + edges[:-1]))[keep], lengths[keep]


def _cells_of(
    points: FloatArray, edges: tuple[FloatArray, FloatArray, FloatArray]
) -> tuple[IntArray, IntArray, IntArray]:
    """Return the cell of each point along each axis; beyond the lattice: -1 or n."""
    x, y, z = (np.searchsorted(edges[axis], points[:, axis], side="right") - 1 for axis in range(3))
    return x, y, z


def _room_at(points: FloatArray, lattice: Lattice, labels: Labels) -> IntArray:
    cells = _cells_of(points, lattice.edges)
    inside = np.all([(c >= 0) & (c < n) for c, n in zip(cells, lattice.shape, strict=True)], axis=0)
    room = np.full(len(points), -1, dtype=np.int64)
    room[inside] = labels.room[tuple(c[inside] for c in cells)]
    return room


def _is_within(points: FloatArray, box: PlacedBox) -> BoolArray:
    local = (points - box.centre) @ box.axes
    return np.asarray(np.all(np.abs(local) <= box.half + 1e-9, axis=1))


def own_cells(block: PartBlock, points: FloatArray, lattice: Lattice) -> IntArray:
    """Return the flat cell of each point, or the part's nearest cell if it has no stuff there."""
    shape = block.volume.shape
    cells = [
        np.clip(cell - first, 0, n - 1)
        for cell, first, n in zip(
            _cells_of(points, block.box.edges), block.block[:, 0], shape, strict=True
        )
    ]
    lacks = np.flatnonzero(block.volume[tuple(cells)] <= 0.0)
    if lacks.size:
        held = np.stack(np.nonzero(block.volume > 0.0))
        places = block.centroid[:, held[0], held[1], held[2]].T
        for row in lacks:
            nearest = held[:, np.argmin(np.sum((places - points[row]) ** 2, axis=1))]
            for axis in range(3):
                cells[axis][row] = nearest[axis]
    found = [cell + first for cell, first in zip(cells, block.block[:, 0], strict=True)]
    return np.asarray(np.ravel_multi_index(found, lattice.shape), dtype=np.int64)


def _cells_beyond(
    centre: FloatArray, normal: FloatArray, other: PartBlock, lattice: Lattice
) -> IntArray:
    """Return the cell of the other box's stuff nearest to each tile centre."""
    box = other.box
    local = (centre + BEHIND * normal - box.centre) @ box.axes
    reach = np.maximum(box.half - BEHIND, 0.5 * box.half)
    points = np.clip(local, -reach, reach) @ box.axes.T + box.centre
    return own_cells(other, points, lattice)


def _merge(tiles: Tiles) -> Tiles:
    """Return one row for each own cell and sight of a face that nothing touches."""
    key = tiles.cell * len(Sight) + tiles.sight
    _, first, row = np.unique(key, return_index=True, return_inverse=True)
    if first.size == key.size:
        return tiles
    count = first.size
    area: FloatArray = np.asarray(np.bincount(row, tiles.area, count), dtype=np.float64)
    middle = [np.bincount(row, tiles.area * tiles.centre[:, w], count) / area for w in range(3)]
    merged = tiles.where(first)
    return replace(merged, area=area, centre=np.stack(middle, axis=1))


def _depth(block: PartBlock, face: _Face, own: int, cell: IntArray, lattice: Lattice) -> FloatArray:
    axis = int(dominant_axis(face.normal[None])[0][0])
    along = np.unravel_index(cell, lattice.shape)[axis]
    box = block.box
    if box.is_aligned:
        first, last = block.block[axis]
        lengths = box.lengths(axis, first, last)
        slices = join_end_slices(lengths, lattice.cell_size)
        return np.asarray(np.bincount(slices, lengths)[slices[along - first]])
    return np.asarray(np.minimum(2.0 * box.half[own], lattice.sizes[axis][along]))


def _characteristic_length(face: _Face) -> float:
    """Return the height of an upright face, or area over perimeter of a level one [m]."""
    if dominant_axis(face.normal[None])[0][0] == 2:
        u, v = face.half
        return 4.0 * u * v / (4.0 * (u + v))
    return 2.0 * sum(
        half * abs(float(axis[2])) for half, axis in zip(face.half, face.axes, strict=True)
    )
