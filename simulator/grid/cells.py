"""Which cells are in which room or open doorway, and which are void."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.case.dwelling import Doorway, Dwelling, Room
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.grid.planes import SAME_PLANE, Lattice, gap_axis

#: A range of cells along each axis, [first, one past the last).
Block = tuple[tuple[int, int], tuple[int, int], tuple[int, int]]

Slices = tuple[slice, ...]


@dataclass(frozen=True, slots=True)
class Labels:
    """The room of each cell, and the block of cells of each room and open doorway."""

    room: NDArray[np.int16]  # index into names; -1 void
    names: tuple[str, ...]  # rooms, then open doorways
    blocks: tuple[Block, ...]
    doorway_axes: tuple[int, ...]  # axis across the partition, one for each open doorway

    @property
    def room_count(self) -> int:
        """Number of rooms, without doorways."""
        return len(self.names) - len(self.doorway_axes)


def label_cells(dwelling: Dwelling, lattice: Lattice) -> Labels:
    """Return the room or open doorway of every cell; a shut doorway stays part of the partition."""
    rooms = {room.name: room for room in dwelling.rooms}
    _refuse_overlap(dwelling.rooms)
    open_doorways = [doorway for doorway in dwelling.doorways if doorway.is_open]
    blocks = [_block_of_room(room, lattice) for room in dwelling.rooms]
    blocks += [_block_of_doorway(doorway, rooms, lattice) for doorway in open_doorways]
    labels = np.full(lattice.shape, -1, dtype=np.int16)
    for index, block in enumerate(blocks):
        labels[slices(block)] = index
    return Labels(
        room=labels,
        names=(*rooms, *(doorway.name for doorway in open_doorways)),
        blocks=tuple(blocks),
        doorway_axes=tuple(gap_axis(doorway, rooms) for doorway in open_doorways),
    )


def slices(block: Block) -> tuple[slice, slice, slice]:
    """Return the index of a block of cells."""
    x, y, z = block
    return (slice(*x), slice(*y), slice(*z))


def _refuse_overlap(rooms: tuple[Room, ...]) -> None:
    for index, one in enumerate(rooms):
        for other in rooms[:index]:
            overlaps = [
                min(one.high[axis], other.high[axis]) - max(one.low[axis], other.low[axis])
                for axis in range(3)
            ]
            if min(overlaps) > SAME_PLANE:
                raise CaseError(f"rooms '{other.name}' and '{one.name}' overlap: move one away")
            if sorted(overlaps)[0] > -SAME_PLANE and sorted(overlaps)[1] > SAME_PLANE:
                raise CaseError(
                    f"rooms '{other.name}' and '{one.name}' touch: leave a gap for the partition"
                )


def _block_of_room(room: Room, lattice: Lattice) -> Block:
    x, y, z = (
        (_nearest(lattice.edges[axis], room.low[axis]), _nearest(lattice.edges[axis], high))
        for axis, high in enumerate(room.high)
    )
    return (x, y, z)


def _block_of_doorway(doorway: Doorway, rooms: dict[str, Room], lattice: Lattice) -> Block:
    across = gap_axis(doorway, rooms)
    one, other = (rooms[name] for name in doorway.rooms)
    ranges = []
    for axis in range(3):
        edges = lattice.edges[axis]
        if axis == across:
            low = min(one.high[axis], other.high[axis])
            high = max(one.low[axis], other.low[axis])
            ranges.append((_nearest(edges, low), _nearest(edges, high)))
        else:
            low = max(one.low[axis], other.low[axis])
            high = min(one.high[axis], other.high[axis])
            _refuse_beyond(doorway, axis, low, high)
            bounds = (_nearest(edges, low), _nearest(edges, high))
            ranges.append(_opening(edges, bounds, doorway.low[axis], doorway.high[axis]))
    x, y, z = ranges
    return (x, y, z)


def _refuse_beyond(doorway: Doorway, axis: int, low: float, high: float) -> None:
    width = min(high, doorway.high[axis]) - max(low, doorway.low[axis])
    if width < 0.5 * (doorway.high[axis] - doorway.low[axis]) or width <= 0.0:
        letter = "xyz"[axis]
        raise CaseError(
            f"doorway '{doorway.name}' at {letter} = {doorway.low[axis]:.2f} to "
            f"{doorway.high[axis]:.2f} m does not open into both rooms: they share "
            f"{letter} = {low:.2f} to {high:.2f} m"
        )


def _opening(
    edges: FloatArray, bounds: tuple[int, int], low: float, high: float
) -> tuple[int, int]:
    """Return the cells of an opening: the nearest width first, then the nearest place."""
    first, last = np.meshgrid(*[np.arange(bounds[0], bounds[1] + 1)] * 2, indexing="ij")
    first, last = first[first < last], last[first < last]
    width_error = np.abs(edges[last] - edges[first] - (high - low))
    place_error = np.abs(edges[last] + edges[first] - (high + low))
    best = np.lexsort((np.round(place_error, 9), np.round(width_error, 9)))[0]
    return int(first[best]), int(last[best])


def _nearest(edges: FloatArray, plane: float) -> int:
    return int(np.argmin(np.abs(edges - plane)))


def sides_of_faces(axis: int) -> tuple[Slices, Slices, Slices]:
    """Return the cells on the low and the high side of inner faces, and those faces."""
    low, high, inner = ([slice(None)] * 3 for _ in range(3))
    low[axis], high[axis], inner[axis] = slice(None, -1), slice(1, None), slice(1, -1)
    return tuple(low), tuple(high), tuple(inner)
