"""Doorways, windows and wall sockets: where they lie, and whether they can."""

from collections.abc import Mapping, Sequence

from simulator.case.documents import Spot, choices
from simulator.case.dwelling import (
    Construction,
    Doorway,
    Envelope,
    Room,
    Side,
    WallSocket,
    Window,
)
from simulator.case.dwelling_file import DoorwayRecord, SocketRecord, WindowRecord
from simulator.case.partitions import (
    ROUND_OFF,
    THICKEST_PARTITION,
    THINNEST_PARTITION,
    Gap,
    gap_between,
)
from simulator.case.parts import Vector
from simulator.units import to_the_millimetre

#: The walls of a room by the names that files use.
WALLS = {"west": Side.WEST, "east": Side.EAST, "south": Side.SOUTH, "north": Side.NORTH}


def build_doorways(
    records: Sequence[DoorwayRecord], rooms: Sequence[Room], spot: Spot
) -> tuple[Doorway, ...]:
    """Return the doorways that can be; the others are noted."""
    doorways: list[Doorway] = []
    for index, record in enumerate(records):
        here = spot.at("doorway", index)
        first = _room(record.between[0], rooms, here.at("between", 0))
        second = _room(record.between[1], rooms, here.at("between", 1))
        if first is None or second is None:
            continue
        gap = gap_between(first, second)
        refusal = _no_doorway(first, second, gap)
        if gap is None or refusal:
            here.at("between").refuse(refusal)
            continue
        low, high = _doorway_box(record, first, gap)
        if _report_outside((low, high), (gap.low, gap.high), first, gap.side.axis, here):
            continue
        doorway = Doorway(record.name, record.between, low, high, record.open)
        for other in doorways:
            if _boxes_overlap(low, high, other.low, other.high):
                here.at("along").refuse(f"overlaps doorway '{other.name}'; move one")
        doorways.append(doorway)
    return tuple(doorways)


def _no_doorway(first: Room, second: Room, gap: Gap | None) -> str:
    """Return why there can be no doorway between two rooms, or nothing."""
    names = f"'{first.name}' and '{second.name}'"
    limits = f"{100 * THINNEST_PARTITION:.0f} to {100 * THICKEST_PARTITION:.0f} cm"
    if first is second:
        return f"both are room '{first.name}'; a doorway joins two different rooms"
    if gap is None:
        return f"rooms {names} do not face each other; a doorway needs a common wall of {limits}"
    if gap.side.axis == 2:
        return f"rooms {names} lie above each other; a doorway needs a common wall of {limits}"
    if not gap.is_partition:
        return (
            f"rooms {names} are {100 * gap.thickness:.1f} cm apart; "
            f"a doorway needs a common wall of {limits}"
        )
    return ""


def _doorway_box(record: DoorwayRecord, room: Room, gap: Gap) -> tuple[Vector, Vector]:
    """Return the low and high corners of a doorway, through the whole wall [m]."""
    axis = gap.side.axis
    low, high = list(gap.low), list(gap.high)
    run = 1 - axis
    low[run] = room.low[run] + record.along
    high[run] = low[run] + record.width
    low[2] = room.low[2] + record.sill
    high[2] = low[2] + record.height
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def build_windows(
    records: Sequence[WindowRecord],
    rooms: Sequence[Room],
    known: Mapping[str, Construction],
    spot: Spot,
) -> tuple[Window, ...]:
    """Return the windows that can be; the others are noted. ``known`` are all constructions."""
    windows: list[Window] = []
    for index, record in enumerate(records):
        here = spot.at("window", index)
        room = _room(record.room, rooms, here.at("room"))
        construction = known.get(record.construction)
        if construction is None:
            end = choices(record.construction, known, "known")
            message = f"unknown name '{record.construction}'; {end}"
            here.at("construction").refuse(message)
        if room is None or construction is None:
            continue
        side = WALLS[record.side]
        low, high = opening_in_wall(
            room, side, record.along, record.sill, record.width, record.height
        )
        if _report_outside((low, high), (room.low, room.high), room, side.axis, here):
            continue
        envelope = Envelope(construction, room.envelope[side].behind)
        opening = _share_open(record, here)
        window = Window(record.name, room.name, side, low, high, envelope, opening)
        _check_window(window, room, rooms, windows, here)
        windows.append(window)
    return tuple(windows)


def _share_open(record: WindowRecord, spot: Spot) -> float:
    """Return the share of a window that is open; one wider than the window is noted."""
    size, is_width = record.open
    if not is_width:
        return size
    if size > record.width + ROUND_OFF:
        spot.at("open").refuse(
            f"{to_the_millimetre(size)} m is wider than the window; "
            f"it must be at most {to_the_millimetre(record.width)} m"
        )
    return size / record.width


def opening_in_wall(
    room: Room, side: Side, along: float, sill: float, width: float, height: float
) -> tuple[Vector, Vector]:
    """Return opposite corners of an opening, in the plane of the wall's inner face [m]."""
    run = 1 - side.axis
    plane = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
    low = [plane, plane, room.low[2] + sill]
    low[run] = room.low[run] + along
    high = list(low)
    high[run] += width
    high[2] += height
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _check_window(
    window: Window,
    room: Room,
    rooms: Sequence[Room],
    windows: Sequence[Window],
    spot: Spot,
) -> None:
    """Note a window that overlaps another or looks into a partition."""
    side = window.side
    for other in windows:
        same_wall = other.room == window.room and other.side is side
        if same_wall and _rectangles_overlap(
            window.low, window.high, other.low, other.high, side.axis
        ):
            spot.at("along").refuse(f"overlaps window '{other.name}'; move one")
    for neighbour in rooms:
        gap = None if neighbour is room else gap_between(room, neighbour)
        if gap is None or gap.side is not side or not gap.is_partition:
            continue
        if _rectangles_overlap(window.low, window.high, gap.low, gap.high, side.axis):
            spot.at("side").refuse(
                f"lies in the partition to room '{neighbour.name}'; "
                "a window needs a wall with no room behind it",
            )


def build_sockets(
    records: Sequence[SocketRecord], rooms: Sequence[Room], spot: Spot
) -> tuple[WallSocket, ...]:
    """Return the wall sockets that can be; the others are noted."""
    sockets = []
    for index, record in enumerate(records):
        here = spot.at("socket", index)
        room = _room(record.room, rooms, here.at("room"))
        if room is None:
            continue
        side = WALLS[record.side]
        plane = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
        point = [plane, plane, room.low[2] + record.height]
        point[1 - side.axis] = room.low[1 - side.axis] + record.along
        position = (point[0], point[1], point[2])
        if record.along > room.size[1 - side.axis]:
            here.at("along").refuse(_beyond(record.along, room.size[1 - side.axis]))
        elif record.height > room.size[2]:
            here.at("height").refuse(_beyond(record.height, room.size[2]))
        else:
            sockets.append(WallSocket(room.name, side, position))
    return tuple(sockets)


def _beyond(value: float, length: float) -> str:
    return (
        f"{to_the_millimetre(value)} m lies beyond the wall; "
        f"it must lie within 0 to {to_the_millimetre(length)} m"
    )


def _room(name: str, rooms: Sequence[Room], spot: Spot) -> Room | None:
    """Return the room of this name, or None after noting that there is none."""
    known = {room.name: room for room in rooms}
    if name not in known:
        spot.refuse(f"unknown room '{name}'; {choices(name, known, 'rooms')}")
    return known.get(name)


def _report_outside(
    opening: tuple[Vector, Vector], wall: tuple[Vector, Vector], room: Room, axis: int, spot: Spot
) -> bool:
    """Note an opening that sticks out of its wall and return whether it does.

    Both are (low, high) corners [m]; ``axis`` is the wall's normal. Messages count from the room's
    south or west end and its floor, as the file does.
    """
    refused = False
    for run, keys, what in (
        (1 - axis, ("along", "width"), "along the wall"),
        (2, ("sill", "height"), "above the floor"),
    ):
        start, end = (corner[run] - room.low[run] for corner in opening)
        first, last = (corner[run] - room.low[run] for corner in wall)
        key = keys[1] if end - start > last - first + ROUND_OFF else keys[0]
        if start < first - ROUND_OFF or end > last + ROUND_OFF:
            spot.at(key).refuse(
                f"reaches from {to_the_millimetre(start)} to {to_the_millimetre(end)} m {what}; "
                f"it must lie within {to_the_millimetre(first)} to {to_the_millimetre(last)} m"
            )
            refused = True
    return refused


def _boxes_overlap(low: Vector, high: Vector, other_low: Vector, other_high: Vector) -> bool:
    return all(
        min(high[i], other_high[i]) - max(low[i], other_low[i]) > ROUND_OFF for i in range(3)
    )


def _rectangles_overlap(
    low: Vector, high: Vector, other_low: Vector, other_high: Vector, axis: int
) -> bool:
    """Return whether two rectangles in one plane overlap; ``axis`` is its normal."""
    return all(
        min(high[i], other_high[i]) - max(low[i], other_low[i]) > ROUND_OFF
        for i in range(3)
        if i != axis
    )
