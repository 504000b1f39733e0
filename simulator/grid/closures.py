"""Faces between open cells that thin boards shut.

A board thinner than a cell leaves its cells open, yet air cannot pass it. The face between two
cells is shut if a board that spans a cell parts their centres, or if boxes cover half of its area.
The first rule alone makes any shell of touching boards airtight: a path from cell centre to cell
centre cannot leave it without crossing a board. A board that holds a cell's centre shuts both of
the faces that it is parallel to.
"""

import numpy as np

from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, FloatArray
from simulator.grid.kernels import mark_parted_centres
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: A face is shut when boxes between the two centres cover this share of it [-].
SHUT_SHARE = 0.5


def shut_faces(
    solid_blocks: tuple[PartBlock, ...], fill: Fill, lattice: Lattice
) -> tuple[BoolArray, BoolArray, BoolArray]:
    """Return ``closed_x``, ``closed_y``, ``closed_z``, shaped as face velocities."""
    x, y, z = (_shut_along(axis, solid_blocks, fill, lattice) for axis in range(3))
    return x, y, z


def _shut_along(
    axis: int, solid_blocks: tuple[PartBlock, ...], fill: Fill, lattice: Lattice
) -> BoolArray:
    shape = list(lattice.shape)
    shape[axis] += 1
    closed = np.zeros(shape, dtype=np.bool_)
    cover = np.zeros(shape)
    for block in solid_blocks:
        box = block.box
        _add_cover(axis, block, lattice, cover)
        across = np.abs(box.axes[axis, box.thin_axis]) > 1e-6
        if across and box.is_board(lattice.cell_size):
            faces = block.block.copy()
            faces[axis] = (max(1, faces[axis, 0]), min(lattice.shape[axis], faces[axis, 1] + 1))
            mark_parted_centres(
                box.centre, box.half, box.axes, axis, faces, *lattice.centres, closed
            )
    inner = [slice(None)] * 3
    inner[axis] = slice(1, -1)
    low, high = [slice(None)] * 3, [slice(None)] * 3
    low[axis], high[axis] = slice(None, -1), slice(1, None)
    is_open = fill.is_open
    area = lattice.face_areas(axis)[tuple(high)]
    closed[tuple(inner)] |= cover[tuple(inner)] >= SHUT_SHARE * (1.0 - 1e-9) * area
    both_open = is_open[tuple(low)] & is_open[tuple(high)]
    closed[tuple(inner)] &= both_open
    return closed


def _add_cover(axis: int, block: PartBlock, lattice: Lattice, cover: FloatArray) -> None:
    """Add the area of each face that a box between the two centres covers (not for askew boxes)."""
    box = block.box
    if not box.is_aligned and box.prism_axis != axis:
        return
    first, last = block.block[axis]
    centres = lattice.centres[axis]
    faces = np.arange(max(1, first), min(centres.size, last + 1))
    between = (box.low[axis] < centres[faces] - 1e-9) & (box.high[axis] > centres[faces - 1] + 1e-9)
    shadow = _shadow(axis, block)
    index = list(block.index)
    for face in faces[between]:
        index[axis] = face
        cover[tuple(index)] += shadow


def _shadow(axis: int, block: PartBlock) -> FloatArray:
    """Return the area of the box's section normal to ``axis`` in each cell [m²]."""
    lengths = block.box.lengths(axis, *block.block[axis])
    longest = int(np.argmax(lengths))
    section: FloatArray = np.take(block.volume, longest, axis=axis) / lengths[longest]
    return section
