"""Wall columns: a row for each patch of envelope, window, partition or doorway reveal."""

from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Behind, Construction, Dwelling, Envelope, Layer, Room, Side
from simulator.errors import CaseError
from simulator.grid.cells import Labels
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.sides import Beyond, Patches, find_patches

#: Patches below this are no patch [m²].
LEAST_PATCH = 1e-9

INSIDE_PARTITION = Behind("the inside of the partition", None, 0.0)


@dataclass(frozen=True, slots=True)
class WallRows:
    """Rows of columns without what lies on them (length C)."""

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
    covered_by: IntArray  # part that lies broad on all of the row; -1: none


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
        covered_by=equal(-1),
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
