"""Wall columns: a row for each patch of envelope, window, partition or doorway reveal."""

from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Behind, Construction, Dwelling, Envelope, Layer, Room, Side
from simulator.errors import CaseError
from simulator.grid.cells import Labels
from simulator.grid.contacts import bulk_conductivity, gap_resistance, half_thickness
from simulator.grid.exposure import Slits
from simulator.grid.faces import Tiles, dominant_axis
from simulator.grid.fill import Fill
from simulator.grid.grid import BoolArray, Columns, FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.sides import Beyond, Patches, find_patches

#: Patches below this are no patch [m²].
LEAST_PATCH = 1e-9

INSIDE_PARTITION = Behind("the inside of the partition", None, 0.0)


@dataclass(frozen=True, slots=True)
class WallRows:
    """Rows of columns before contacts are known (length C)."""

    cell: IntArray
    axis: IntArray
    sign: IntArray
    area: FloatArray  # [m²]
    patch_area: FloatArray  # of the whole cell face [m²]
    construction: IntArray
    temperature: FloatArray  # [°C]
    resistance: FloatArray  # [m² K/W]
    across: IntArray  # flat cell of the other room across a partition; -1
    length: FloatArray  # [m]
    room: IntArray  # index into Labels.names
    is_outdoors: BoolArray  # outdoors is behind it
    is_window: BoolArray


@dataclass(frozen=True, slots=True)
class WallContact:
    """How each row (length C) meets air and stuff."""

    uncovered: FloatArray  # area that faces air [m²]; zero at blocked cells
    columns: Columns


def lay_walls(
    dwelling: Dwelling, lattice: Lattice, labels: Labels
) -> tuple[WallRows, tuple[Construction, ...]]:
    """Return a row for each patch of every room side and doorway reveal, and the constructions."""
    constructions: dict[Construction, int] = {}
    pieces: list[WallRows] = []
    for index, room in enumerate(dwelling.rooms):
        for side in Side:
            patches = find_patches(labels.blocks[index], side, lattice, labels)
            pieces += _room_side(dwelling, room, index, patches, lattice, constructions)
    for number, across in enumerate(labels.doorway_axes):
        index = labels.room_count + number
        for side in Side:
            if side.axis != across:
                patches = find_patches(labels.blocks[index], side, lattice, labels)
                everywhere = np.ones(patches.cell.size, dtype=np.bool_)
                pieces.append(
                    _rows(
                        patches, everywhere, patches.area, _reveal(dwelling), index, constructions
                    )
                )
    rows = WallRows(
        *(np.concatenate([getattr(piece, name) for piece in pieces]) for name in WallRows.__slots__)
    )
    return rows, tuple(constructions)


def _room_side(
    dwelling: Dwelling,
    room: Room,
    index: int,
    patches: Patches,
    lattice: Lattice,
    constructions: dict[Construction, int],
) -> list[WallRows]:
    """Return the rows of one side of a room: wall, partitions, ends of partitions, windows."""
    windows = [w for w in dwelling.windows if w.room == room.name and w.side is patches.side]
    rest = patches.area.copy()
    pieces = []
    for window in windows:
        glazed = patches.overlap(window, lattice)
        if np.any((glazed > LEAST_PATCH) & (patches.beyond != Beyond.OUTER)):
            raise CaseError(
                f"window '{window.name}' of room '{room.name}' lies on a partition to another "
                "room; windows belong in outer sides"
            )
        rest -= glazed
        pieces.append(
            _rows(
                patches, glazed > LEAST_PATCH, glazed, window.envelope, index, constructions, True
            )
        )
    if np.any(rest < -1e-6 * patches.area):
        raise CaseError(f"windows of room '{room.name}' overlap: set them side by side")
    envelopes = {
        Beyond.OUTER: room.envelope[patches.side],
        Beyond.ROOM: Envelope(dwelling.partition, INSIDE_PARTITION),
        Beyond.PARTITION: _half_partition(dwelling),
    }
    walls = [
        _rows(
            patches, (patches.beyond == kind) & (rest > LEAST_PATCH), rest, envelope, index,
            constructions,
        )
        for kind, envelope in envelopes.items()
    ]  # fmt: skip
    return walls + pieces


def _rows(
    patches: Patches,
    chosen: BoolArray,
    area: FloatArray,
    envelope: Envelope,
    room: int,
    constructions: dict[Construction, int],
    is_window: bool = False,
) -> WallRows:
    """Return rows for the chosen patches, all with one envelope."""
    count = int(np.count_nonzero(chosen))
    behind = envelope.behind
    construction = -1
    if count:
        construction = constructions.setdefault(envelope.construction, len(constructions))

    def same(value: float) -> FloatArray:
        return np.full(count, value)

    def equal(value: int) -> IntArray:
        return np.full(count, value, dtype=np.int64)

    return WallRows(
        cell=patches.cell[chosen],
        axis=equal(patches.side.axis),
        sign=equal(patches.side.sign),
        area=area[chosen],
        patch_area=patches.area[chosen],
        construction=equal(construction),
        temperature=same(np.nan if behind.temperature is None else behind.temperature),
        resistance=same(behind.resistance),
        across=patches.across[chosen],
        length=same(patches.length),
        room=equal(room),
        is_outdoors=np.full(count, "outdoor" in behind.name.lower()),
        is_window=np.full(count, is_window),
    )


def _half_partition(dwelling: Dwelling) -> Envelope:
    """Return the partition's layers up to its middle, adiabatic there."""
    left = 0.5 * sum(layer.thickness for layer in dwelling.partition.layers)
    layers = []
    for layer in dwelling.partition.layers:
        if left > 1e-9:
            layers.append(Layer(layer.material, min(layer.thickness, left)))
        left -= layer.thickness
    construction = Construction(f"half of {dwelling.partition.name}", tuple(layers))
    return Envelope(construction, INSIDE_PARTITION)


def _reveal(dwelling: Dwelling) -> Envelope:
    """Return the jamb, head or sill of a doorway: the partition's first layer, adiabatic."""
    partition = dwelling.partition
    construction = Construction(f"reveal of {partition.name}", partition.layers[:1])
    return Envelope(construction, INSIDE_PARTITION)


def meet_contents(
    rows: WallRows, on_walls: Tiles, slits: Slits, fill: Fill, lattice: Lattice
) -> WallContact:
    """Return the columns with the solids that lie on them, and what is left to the air.

    A face within a millimetre of the wall conducts through its own half thickness. A face across a
    slit from the wall conducts through the slit's air, and so does all that is left of a patch
    behind a blocked cell, which has no air to face.
    """
    index = np.unravel_index(rows.cell, lattice.shape)
    node, size = fill.node[index], _along(rows.axis, index, lattice)
    touch, slit, width = _covered(rows, on_walls, slits, lattice)
    share = np.where(node >= 0, rows.area / rows.patch_area, 0.0)
    contact_area = share * touch
    left = rows.area - contact_area
    is_blocked = fill.is_blocked[index]
    gap_area = np.where(is_blocked, left, np.minimum(share * slit, left))
    free = size * np.maximum(0.0, 1.0 - fill.extent[index] / lattice.volumes[index])
    gap = gap_resistance(np.where(slit > LEAST_PATCH, width, free))

    k = np.where(node >= 0, bulk_conductivity(fill)[index], 1.0)
    conductance = contact_area * k / _distance(touch, fill.extent[index], size)
    behind = _distance(slit, fill.extent[index], size) / k
    conductance += np.where(node >= 0, gap_area / (gap + behind), 0.0)
    joined = np.flatnonzero(conductance > 0.0)
    return WallContact(
        uncovered=np.where(fill.is_open[index], left - gap_area, 0.0),
        columns=Columns(
            cell=rows.cell,
            axis=rows.axis.astype(np.int8),
            sign=rows.sign.astype(np.int8),
            area=rows.area,
            construction=rows.construction,
            temperature=rows.temperature,
            resistance=rows.resistance,
            partner=_partners(rows),
            contact_column=joined.astype(np.int64),
            contact_solid=node[joined],
            contact_conductance=conductance[joined],
        ),
    )


def _covered(
    rows: WallRows, on_walls: Tiles, slits: Slits, lattice: Lattice
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return, for each row's patch, the area touched, the area across a slit, the slit's width."""
    touched, across, reach = np.zeros((3, 6, int(np.prod(lattice.shape))))
    slot = _slot(*dominant_axis(on_walls.normal))
    np.add.at(touched, (slot, on_walls.cell), on_walls.area)
    slot = _slot(slits.axis, slits.sign)
    np.add.at(across, (slot, slits.cell), slits.area)
    np.add.at(reach, (slot, slits.cell), slits.area * slits.distance)
    patch = (_slot(rows.axis, rows.sign), rows.cell)
    touch = np.minimum(touched[patch], rows.patch_area)
    slit = np.minimum(across[patch], rows.patch_area - touch)
    return touch, slit, reach[patch] / np.maximum(across[patch], LEAST_PATCH)


def _distance(area: FloatArray, extent: FloatArray, size: FloatArray) -> FloatArray:
    """Return the distance to the middle of the stuff, with a floor for rows without any [m]."""
    return np.maximum(half_thickness(extent, area, size), 1e-9)


def _along(axis: IntArray, index: tuple[IntArray, ...], lattice: Lattice) -> FloatArray:
    """Return the size of each cell along its row's axis [m]."""
    sizes = np.stack([lattice.sizes[w][index[w]] for w in range(3)])
    return np.asarray(sizes[axis, np.arange(axis.size)])


def _slot(axis: IntArray, sign: IntArray) -> IntArray:
    return 2 * axis.astype(np.int64) + (sign > 0)


def _partners(rows: WallRows) -> IntArray:
    """Return the row on the other face of the partition, or -1."""
    partner = np.full(rows.cell.size, -1, dtype=np.int64)
    shared = np.flatnonzero(rows.across >= 0)
    row_of = {
        (int(rows.cell[row]), int(rows.axis[row]), int(rows.sign[row])): int(row) for row in shared
    }
    for row in shared:
        key = (int(rows.across[row]), int(rows.axis[row]), -int(rows.sign[row]))
        partner[row] = row_of[key]
    return partner
