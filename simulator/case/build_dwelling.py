"""From the dwelling file to the dwelling: names become objects, and what cannot be is refused."""

from collections.abc import Mapping
from itertools import combinations
from typing import TypeVar

from simulator.case.constructions import CONSTRUCTIONS, layer
from simulator.case.documents import Spot, choices
from simulator.case.dwelling import (
    Behind,
    Construction,
    Dwelling,
    Envelope,
    Layer,
    Leakage,
    Room,
    Side,
)
from simulator.case.dwelling_file import DwellingFile, RoomRecord, SideRecord
from simulator.case.locate import KeyPath
from simulator.case.materials import MATERIALS, Material
from simulator.case.openings import build_doorways, build_sockets, build_windows
from simulator.case.partitions import (
    THICKEST_PARTITION,
    THINNEST_PARTITION,
    gap_between,
    partition_share,
    rooms_overlap,
)
from simulator.errors import CaseError

#: Rse, outer surface resistance [m² K/W] (ISO 6946, read at second hand).
OUTER_SURFACE_RESISTANCE = 0.04

#: Smallest and largest inner size of a room [m] (estimate: a cupboard to a hall).
SMALLEST_ROOM, LARGEST_ROOM = 0.3, 60.0

#: A side covered by partitions to this share has no outside left [-] (round-off apart, all of it).
_ALL = 1.0 - 1e-6

_WALLS = (Side.WEST, Side.EAST, Side.SOUTH, Side.NORTH)

Thing = TypeVar("Thing")


def build_dwelling(file: DwellingFile, spot: Spot) -> Dwelling | None:
    """Return the dwelling of a file, or None after noting what cannot be.

    Parameters
    ----------
    file : the file as read.
    spot : where it was written; it takes what is wrong.
    """
    before = spot.problems.count
    known = _constructions(file, spot)
    behind = _behinds(file, spot)
    partition = _find(known, file.partition, spot.at("partition"))
    rooms = _rooms(file, known, behind, spot)
    if spot.problems.count > before or partition is None:
        return None
    _check_rooms(rooms, spot)
    if spot.problems.count > before:
        return None
    doorways = build_doorways(file.doorway, rooms, spot)
    windows = build_windows(file.window, rooms, known, spot)
    sockets = build_sockets(file.socket, rooms, spot)
    if spot.problems.count > before:
        return None
    return Dwelling(
        name=file.name,
        rooms=rooms,
        partition=partition,
        doorways=doorways,
        windows=windows,
        sockets=sockets,
        leakage=_leakage(file.leakage.rate, rooms),
        start_temperature=file.start,
        outdoor_temperature=file.outdoors.temperature,
    )


def _find(known: Mapping[str, Thing], name: str, spot: Spot) -> Thing | None:
    """Return the thing of this name, or None after noting that there is none."""
    if name not in known:
        spot.refuse(f"unknown name '{name}'; {choices(name, known, 'known')}")
    return known.get(name)


def _constructions(file: DwellingFile, spot: Spot) -> Mapping[str, Construction]:
    """Return ready and own constructions by name."""
    materials = _materials(file, spot)
    known = dict(CONSTRUCTIONS)
    for index, record in enumerate(file.construction):
        here = spot.at("construction", index)
        if record.name in known:
            here.at("name").refuse(_taken(record.name, "construction"))
        layers: list[Layer] = []
        for number, row in enumerate(record.layers):
            try:
                layers.append(layer(row.material, row.thickness, materials))
            except CaseError as error:
                here.at("layers", number, "material").refuse(str(error))
        known[record.name] = Construction(record.name, tuple(layers))
    return known


def _materials(file: DwellingFile, spot: Spot) -> Mapping[str, Material]:
    """Return ready and own materials by name."""
    known = dict(MATERIALS)
    for index, record in enumerate(file.material):
        if record.name in known:
            spot.at("material", index, "name").refuse(_taken(record.name, "material"))
        known[record.name] = Material(**record.model_dump())
    return known


def _taken(name: str, what: str) -> str:
    return f"there is already a {what} named '{name}'; choose another name"


def _behinds(file: DwellingFile, spot: Spot) -> Mapping[str, Behind]:
    """Return what can lie behind a side, by name."""
    known = {
        "outdoors": Behind("outdoors", file.outdoors.temperature, OUTER_SURFACE_RESISTANCE),
        "ground": Behind("ground", file.outdoors.ground, 0.0),
        "mirror": Behind("mirror", None, 0.0),
    }
    for index, record in enumerate(file.behind):
        if record.name in known:
            spot.at("behind", index, "name").refuse(_taken(record.name, "[[behind]]"))
        known[record.name] = Behind(record.name, record.temperature, record.resistance)
    return known


def _rooms(
    file: DwellingFile,
    known: Mapping[str, Construction],
    behind: Mapping[str, Behind],
    spot: Spot,
) -> tuple[Room, ...]:
    """Return the rooms; those with an unknown name in them are noted and left out."""
    rooms = []
    for index, record in enumerate(file.room):
        envelope = {}
        for side in Side:
            found = _side_record(file, record, side)
            if found is None:
                spot.at("room", index).refuse(_no_side(record, side))
                continue
            key, row = found
            here = spot.at(*key) if key[0] == "shell" else spot.at("room", index, *key)
            construction = _find(known, row.construction, here.at("construction"))
            beyond = _find(behind, row.behind, here.at("behind"))
            if construction is not None and beyond is not None:
                envelope[side] = Envelope(construction, beyond)
        low = (record.at[0], record.at[1], record.elevation)
        rooms.append(Room(record.name, low, record.size, envelope))
    return tuple(rooms)


def _side_record(
    file: DwellingFile, room: RoomRecord, side: Side
) -> tuple[KeyPath, SideRecord] | None:
    """Return what was said about a side, nearest first: the side, the room's walls, the shell."""
    name = side.name.lower()
    group = "walls" if side in _WALLS else name
    own: SideRecord | None = getattr(room, name)
    room_wide: SideRecord | None = getattr(room, group)
    shell_wide: SideRecord | None = getattr(file.shell, group)
    if own is not None:
        return (name,), own
    if room_wide is not None:
        return (group,), room_wide
    return None if shell_wide is None else (("shell", group), shell_wide)


def _no_side(room: RoomRecord, side: Side) -> str:
    name = side.name.lower()
    group = "walls" if side in _WALLS else name
    return (
        f"nothing is said about the {name} side of room '{room.name}'; give '{group}' here or in"
        ' [shell], such as { construction = "frame_wall", behind = "outdoors" }'
    )


def _check_rooms(rooms: tuple[Room, ...], spot: Spot) -> None:
    """Note rooms of impossible size, that overlap, or that are too near to each other."""
    for index, room in enumerate(rooms):
        for axis, length in enumerate(room.size):
            if not SMALLEST_ROOM <= length <= LARGEST_ROOM:
                spot.at("room", index, "size", axis).refuse(
                    f"a room of {length:.4g} m; allowed: {SMALLEST_ROOM:g} to {LARGEST_ROOM:g} m",
                )
    for (_, first), (index, second) in combinations(enumerate(rooms), 2):
        message = _conflict(first, second)
        if message:
            spot.at("room", index, "at").refuse(message)


def _conflict(first: Room, second: Room) -> str:
    """Return why two rooms cannot stand as they do, or nothing."""
    if rooms_overlap(first, second):
        return (
            f"room '{second.name}' overlaps room '{first.name}'; "
            "rooms are inner boxes with a wall between them"
        )
    gap = gap_between(first, second)
    if gap is None or gap.is_partition or gap.thickness > THICKEST_PARTITION:
        return ""
    return (
        f"room '{second.name}' is {max(0.0, 100 * gap.thickness):.1f} cm from room"
        f" '{first.name}'; the partition between them must be {100 * THINNEST_PARTITION:.0f} to"
        f" {100 * THICKEST_PARTITION:.0f} cm thick"
    )


def _leakage(rate: float, rooms: tuple[Room, ...]) -> tuple[Leakage, ...]:
    """Return the leak of every room that has an outside; inner rooms have none (EN 12831: e = 0).

    ``rate`` is the air change of such a room [1/s].
    """
    leaks = []
    for room in rooms:
        sides = tuple(
            side
            for side in Side
            if room.envelope[side].behind.name == "outdoors"
            and partition_share(room, rooms, side) < _ALL
        )
        flow = rate * room.size[0] * room.size[1] * room.size[2]
        if sides and flow > 0.0:
            leaks.append(Leakage(room.name, flow, sides))
    return tuple(leaks)
