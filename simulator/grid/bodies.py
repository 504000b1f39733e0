"""Solid nodes: one for each piece of a part in a cell, so that a board never mixes with its load.

Each part has nodes of its own. A rug, a blanket or a drawer front is thus a layer with its own heat
store and resistance at any cell size, and what lies behind it starts at its face. Where a cell
plane cuts a thin slice off the end of a part, the slice belongs to the node beside it: moving a
piece by a centimetre then leaves no sliver whose neighbour would have no sub-voxel skins.
"""

from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.boxes import PlacedBox
from simulator.grid.cells import sides_of_faces
from simulator.grid.fill import solid_share
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: A part's first or last slice joins its neighbour if it is thinner than this share of a cell ...
LEAST_SLICE = 0.5

#: ... and both together are at most this many cells thick (choice: skins reach 3/8 into a node).
THICKEST_SLICE = 1.5

#: A part at most so many cells thick is a layer: what it touches gets skins as if exposed (choice:
#: thicker ones are resolved by the cells).
LAYER = 0.75


@dataclass(frozen=True, slots=True)
class Bodies:
    """The solid nodes in ascending order of cell, then of part (length N)."""

    part: IntArray  # index into the case's parts
    cell: IntArray  # flat index of the cell that holds most of it
    volume: FloatArray  # of the stuff [m³]
    extent: FloatArray  # of the part's box, loose stuff with its air [m³]
    mass: FloatArray  # [kg]
    heat_capacity: FloatArray  # [J/K]
    conductivity: FloatArray  # of the stuff [W/(m K)]
    bulk_conductivity: FloatArray  # of the box: loose stuff conducts by its solid share [W/(m K)]
    span: FloatArray  # (N, 3) reach of the node along each axis [m]
    is_layer: BoolArray  # (N, 3) the whole part is thin along the axis
    # one row for each part and cell, in ascending order of ``share_key``
    share_key: IntArray  # part x cells + flat cell
    share_node: IntArray
    share_volume: FloatArray  # [m³]
    cells: int

    def node(self, part: IntArray, cell: IntArray) -> IntArray:
        """Return the node of each part in each flat cell; the part must have stuff there."""
        return self.share_node[np.searchsorted(self.share_key, part * self.cells + cell)]

    @property
    def share_part(self) -> IntArray:
        """Part of each share."""
        return self.share_key // self.cells

    @property
    def share_cell(self) -> IntArray:
        """Flat cell of each share."""
        return self.share_key % self.cells

    def main_node(self) -> IntArray:
        """Return the node that fills most of each flat cell; -1 where no stuff is."""
        node = np.full(self.cells, -1, dtype=np.int64)
        order = np.argsort(self.share_volume, kind="stable")
        node[self.share_cell[order]] = self.share_node[order]
        return node


def find_bodies(parts: tuple[Part, ...], blocks: tuple[PartBlock, ...], lattice: Lattice) -> Bodies:
    """Return the solid nodes of all parts; their sums are those of the parts to round-off."""
    cells = int(np.prod(lattice.shape))
    pieces = [_pieces_of(parts[block.part], block, lattice) for block in blocks]
    node_rows = np.concatenate([np.zeros((2, 0), np.int64), *(p.nodes for p in pieces)], axis=1)
    order = np.lexsort((node_rows[0], node_rows[1]))
    rank = np.empty(order.size, dtype=np.int64)
    rank[order] = np.arange(order.size)
    first = np.cumsum([0, *(p.nodes.shape[1] for p in pieces)])
    share_node = [rank[p.share_node + start] for p, start in zip(pieces, first[:-1], strict=True)]
    key = np.concatenate([np.zeros(0, np.int64), *(p.key for p in pieces)])
    by_key = np.argsort(key)
    extent = np.concatenate([np.zeros(0), *(p.extent for p in pieces)])[order]
    part = node_rows[0][order]
    table = np.array([_stuff(p) for p in parts]).reshape(-1, 4)[part]
    share, density, storage, conductivity = table.T
    volume = share * extent
    return Bodies(
        part=part,
        cell=node_rows[1][order],
        volume=volume,
        extent=extent,
        mass=volume * density,
        heat_capacity=volume * storage,
        conductivity=conductivity,
        bulk_conductivity=share * conductivity,
        span=np.concatenate([np.zeros((0, 3)), *(p.span for p in pieces)])[order],
        is_layer=_layers(blocks, len(parts), lattice)[part],
        share_key=key[by_key],
        share_node=np.concatenate([np.zeros(0, np.int64), *share_node])[by_key],
        share_volume=np.concatenate([np.zeros(0), *(p.volume for p in pieces)])[by_key],
        cells=cells,
    )


def _layers(blocks: tuple[PartBlock, ...], parts: int, lattice: Lattice) -> BoolArray:
    """Return which parts (parts, 3) are layers along which axes: by their nearest own axis."""
    is_layer = np.zeros((parts, 3), dtype=np.bool_)
    for block in blocks:
        own = np.argmax(np.round(np.abs(block.box.axes), 9), axis=1)
        is_layer[block.part] = 2.0 * block.box.half[own] <= LAYER * lattice.cell_size
    return is_layer


def _stuff(part: Part) -> tuple[float, float, float, float]:
    if not isinstance(part, SolidPart | PorousPart):
        return 0.0, 0.0, 0.0, 0.0
    stuff = part.material
    return (
        solid_share(part),
        stuff.density,
        stuff.volumetric_heat_capacity,
        stuff.conductivity,
    )


@dataclass(frozen=True, slots=True)
class _Pieces:
    """The nodes and shares of one part, numbered from zero."""

    nodes: IntArray  # (2, n) part and main cell
    extent: FloatArray  # (n,)
    span: FloatArray  # (n, 3)
    key: IntArray  # (m,)
    share_node: IntArray
    volume: FloatArray


def _pieces_of(part: Part, block: PartBlock, lattice: Lattice) -> _Pieces:
    held = block.volume > 0.0
    local = np.nonzero(held)
    volume = block.volume[local]
    place = [at + first for at, first in zip(local, block.block[:, 0], strict=True)]
    cell = np.ravel_multi_index(place, lattice.shape).astype(np.int64)
    slices = [_slices(part, block, axis, lattice) for axis in range(3)]
    counts = [int(groups[-1]) + 1 for groups, _ in slices]
    into = _join_slivers(part, block, lattice.cell_size)
    source = np.unravel_index(into[held], held.shape)
    of = [groups[at] for (groups, _), at in zip(slices, source, strict=True)]
    found, node = np.unique(np.ravel_multi_index(of, counts), return_inverse=True)
    node = node.reshape(-1)
    extent: FloatArray = np.asarray(np.bincount(node, volume, found.size), dtype=np.float64)
    # the cell with most of it: the last one written
    main = np.zeros(found.size, dtype=np.int64)
    order = np.argsort(volume, kind="stable")
    main[node[order]] = cell[order]
    index = np.unravel_index(found, counts)
    span = np.stack([lengths[at] for (_, lengths), at in zip(slices, index, strict=True)], axis=1)
    return _Pieces(
        nodes=np.stack([np.full(found.size, block.part, dtype=np.int64), main]),
        extent=extent,
        span=span.reshape(-1, 3),
        key=block.part * int(np.prod(lattice.shape)) + cell,
        share_node=node.astype(np.int64),
        volume=volume,
    )


def _join_slivers(part: Part, block: PartBlock, cell_size: float) -> IntArray:
    """Return the cell of the block whose node each cell of it belongs to (a, b, c), local flat.

    Each its own, but the corners that cells cut off a turned part belong to the neighbour that they
    share the largest section with: what stands behind a sliver has no skins. Layers need no
    neighbour, for heat passes through each piece of them by itself; and of parts that are turned
    and tilted the sections are too rough to tell the neighbour by.
    """
    volume = block.volume
    own = np.arange(volume.size, dtype=np.int64).reshape(volume.shape)
    is_layer = 2.0 * block.box.half.min() <= LAYER * cell_size
    is_cut_askew = not block.box.is_aligned and block.box.prism_axis >= 0
    if not is_cut_askew or is_layer or isinstance(part, PorousPart):
        return own
    is_sliver = volume < LEAST_SLICE * volume.max()
    target, best = own.copy(), np.zeros(volume.shape)
    for axis, section in enumerate(block.sections):
        if block.box.prism_axis == axis:
            continue
        low, high, _ = sides_of_faces(axis)
        for here, there in ((low, high), (high, low)):
            joins = is_sliver[here] & ~is_sliver[there] & (section > best[here])
            target[here] = np.where(joins, own[there], target[here])
            best[here] = np.where(joins, section, best[here])
    return target


def _slices(
    part: Part, block: PartBlock, axis: int, lattice: Lattice
) -> tuple[IntArray, FloatArray]:
    """Return the slice of each layer of cells along an axis, and how long each slice is [m]."""
    first, last = block.block[axis]
    if not lies_along(block.box, axis):
        return np.arange(last - first), lattice.sizes[axis][first:last]
    lengths = block.box.lengths(axis, first, last)
    if isinstance(part, PorousPart):
        return np.arange(last - first), lengths
    groups = join_end_slices(lengths, lattice.cell_size)
    return groups, np.asarray(np.bincount(groups, lengths), dtype=np.float64)


def lies_along(box: PlacedBox, axis: int) -> bool:
    """Return whether two faces of a box are normal to an axis."""
    return box.is_aligned or box.prism_axis == axis


def join_end_slices(lengths: FloatArray, cell_size: float) -> IntArray:
    """Return a number for each slice, the same for an end slice that joins its neighbour.

    Examples
    --------
    >>> join_end_slices(np.array([0.02, 0.1, 0.1, 0.06]), 0.1).tolist()
    [0, 0, 1, 2]
    """
    number = np.arange(lengths.size)
    ends = (0, -1) if lengths[0] <= lengths[-1] else (-1, 0)
    for end in ends:
        groups, at = np.unique(number), number[end]
        if groups.size == 1:
            break
        beside = groups[1] if end == 0 else groups[-2]
        own = lengths[number == at].sum()
        both = own + lengths[number == beside].sum()
        if own < LEAST_SLICE * cell_size and both <= THICKEST_SLICE * cell_size:
            number = np.where(number == at, beside, number)
    _, joined = np.unique(number, return_inverse=True)
    return joined.reshape(-1).astype(np.int64)
