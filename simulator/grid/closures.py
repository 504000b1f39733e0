"""Faces between open cells that thin boards shut.

A board thinner than a cell leaves its cells open, yet air cannot pass it. The face between two
cells is shut if a board that spans a cell parts their centres, or if boxes cover half of its area.
The first rule alone makes any shell of touching boards airtight: a path from cell centre to cell
centre cannot leave it without crossing a board. A board that holds a cell's centre shuts both of
the faces that it is parallel to. Where the second rule alone would seal some air off, as that about
a bed's leg in one cell with it, the faces there stay open that boxes do not cover altogether.
"""

from dataclasses import dataclass

import numpy as np

from simulator.grid.boxes import PlacedBox
from simulator.grid.cells import sides_of_faces
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.kernels import mark_parted_centres
from simulator.grid.planes import Lattice
from simulator.grid.regions import between_open, connected_air
from simulator.grid.shares import PartBlock

#: A face is shut when boxes between the two centres cover this share of it [-] (choice).
SHUT_SHARE = 0.5

#: A face that seals air off stays shut if this share of it is covered [-] (choice).
TIGHT_SHARE = 0.9

#: Points along each side of a face at which shadows are looked for where they may overlap
#: (choice).
POINTS = 32


def shut_faces(
    solid_blocks: tuple[PartBlock, ...], fill: Fill, lattice: Lattice
) -> tuple[BoolArray, BoolArray, BoolArray]:
    """Return ``closed_x``, ``closed_y``, ``closed_z``, shaped as face velocities."""
    shares = [_covered_share(axis, solid_blocks, lattice) for axis in range(3)]
    parted = [_parted(axis, solid_blocks, lattice) for axis in range(3)]
    shut, tight = (
        [
            between_open(axis, parted[axis] | (shares[axis] >= least * (1.0 - 1e-9)), fill.is_open)
            for axis in range(3)
        ]
        for least in (SHUT_SHARE, TIGHT_SHARE)
    )
    space = connected_air(fill.is_open, (shut[0], shut[1], shut[2]))
    wider = connected_air(fill.is_open, (tight[0], tight[1], tight[2]))
    is_sealed = _is_sealed(space, wider)
    x, y, z = (_without_seals(axis, shut[axis], tight[axis], is_sealed) for axis in range(3))
    return x, y, z


def _is_sealed(space: IntArray, wider: IntArray) -> BoolArray:
    """Return the cells of each space that is not the largest within the wider one around it."""
    is_air = space >= 0
    cells = np.bincount(space[is_air])
    around = np.zeros(cells.size, dtype=np.int64)
    around[space[is_air]] = wider[is_air]
    most = np.zeros(around.max(initial=0) + 1, dtype=np.int64)
    np.maximum.at(most, around, cells)
    is_sealed = np.zeros(space.shape, dtype=np.bool_)
    is_sealed[is_air] = (cells < most[around])[space[is_air]]
    return is_sealed


def _without_seals(axis: int, shut: BoolArray, tight: BoolArray, is_sealed: BoolArray) -> BoolArray:
    """Return the shut faces; of those on sealed cells only the tight ones."""
    low, high, inner = sides_of_faces(axis)
    kept = shut.copy()
    kept[inner] &= tight[inner] | ~(is_sealed[low] | is_sealed[high])
    return kept


def _parted(axis: int, solid_blocks: tuple[PartBlock, ...], lattice: Lattice) -> BoolArray:
    """Return the faces whose neighbours' centres a board parts."""
    shape = list(lattice.shape)
    shape[axis] += 1
    closed = np.zeros(shape, dtype=np.bool_)
    for block in solid_blocks:
        box = block.box
        across = np.abs(box.axes[axis, box.thin_axis]) > 1e-6
        if across and box.is_board(lattice.cell_size):
            faces = block.block.copy()
            faces[axis] = (max(1, faces[axis, 0]), min(lattice.shape[axis], faces[axis, 1] + 1))
            mark_parted_centres(
                box.centre, box.half, box.axes, axis, faces, *lattice.centres, closed
            )
    return closed


def _covered_share(axis: int, blocks: tuple[PartBlock, ...], lattice: Lattice) -> FloatArray:
    """Return which share of each inner face boxes between the two centres cover [-].

    Boxes that stand behind one another cover the same part of a face once. Less than what shuts a
    face is not told exactly.
    """
    shape = list(lattice.shape)
    shape[axis] += 1
    total, largest = np.zeros(shape), np.zeros(shape)
    shadows = [shadow for block in blocks for shadow in _shadows(axis, block, lattice)]
    for shadow in shadows:
        total[shadow.index] += shadow.area
        np.maximum(largest[shadow.index], shadow.area, out=largest[shadow.index])
    area = np.full(shape, np.inf)
    area[sides_of_faces(axis)[2]] = np.delete(lattice.face_areas(axis), 0, axis)
    total /= area
    largest /= area
    in_doubt = np.argwhere((total >= SHUT_SHARE * (1.0 - 1e-9)) & (largest < total - 1e-9))
    if in_doubt.size:
        share = _share_in_shadow(axis, in_doubt, shadows, lattice)
        total[tuple(in_doubt.T)] = np.maximum(share, largest[tuple(in_doubt.T)])
    return total


@dataclass(frozen=True, slots=True)
class _Shadow:
    """What a box covers of the faces in one layer."""

    box: PlacedBox
    index: tuple[slice | int, ...]  # of the faces
    area: FloatArray  # [m²]


def _shadows(axis: int, block: PartBlock, lattice: Lattice) -> list[_Shadow]:
    """Return what a box covers of each layer of faces that it lies at (none for askew boxes)."""
    box = block.box
    if not box.is_aligned and box.prism_axis != axis:
        return []
    first, last = block.block[axis]
    centres = lattice.centres[axis]
    faces = np.arange(max(1, first), min(centres.size, last + 1))
    between = (box.low[axis] < centres[faces] - 1e-9) & (box.high[axis] > centres[faces - 1] + 1e-9)
    area = _section(axis, block)
    index: list[slice | int] = list(block.index)
    found = []
    for face in faces[between]:
        index[axis] = int(face)
        found.append(_Shadow(box, tuple(index), area))
    return found


def _section(axis: int, block: PartBlock) -> FloatArray:
    """Return the area of the box's section normal to ``axis`` in each cell [m²]."""
    lengths = block.box.lengths(axis, *block.block[axis])
    longest = int(np.argmax(lengths))
    section: FloatArray = np.take(block.volume, longest, axis=axis) / lengths[longest]
    return section


def _share_in_shadow(
    axis: int, faces: IntArray, shadows: list[_Shadow], lattice: Lattice
) -> FloatArray:
    """Return which share of each face (F, 3) lies in any shadow, from points on it [-]."""
    number = np.full([size + 1 for size in lattice.shape], -1, dtype=np.int64)
    number[tuple(faces.T)] = np.arange(len(faces))
    across = [other for other in range(3) if other != axis]
    within = (np.arange(POINTS) + 0.5) / POINTS
    points = np.empty((len(faces), POINTS, POINTS, 3))
    for place, other in enumerate(across):
        low, size = lattice.edges[other][faces[:, other]], lattice.sizes[other][faces[:, other]]
        along = low[:, None] + size[:, None] * within
        points[..., other] = along[:, :, None] if place == 0 else along[:, None, :]
    is_dark = np.zeros(points.shape[:3], dtype=np.bool_)
    for shadow in shadows:
        hit = number[shadow.index]
        hit = hit[hit >= 0]
        if hit.size:
            box, seen = shadow.box, points[hit]
            seen[..., axis] = box.centre[axis]
            local = np.abs((seen - box.centre) @ box.axes)
            is_dark[hit] |= np.all(local <= box.half + 1e-9, axis=-1)
    return np.asarray(is_dark.mean(axis=(1, 2)))
