"""Furniture and equipment set into the rooms, and refused where they cannot stand."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from simulator.case.documents import Spot, choices
from simulator.case.dwelling import Dwelling, Room, Side
from simulator.case.equipment.exhaust import Exhaust
from simulator.case.equipment.placement import Equipment
from simulator.case.equipment.sensor import Sensor
from simulator.case.furniture.placement import Furniture
from simulator.case.overlap import contains, corners, may_overlap, overlap_depth
from simulator.case.partitions import THICKEST_PARTITION, gap_between
from simulator.case.parts import AirMover, Box, HeatedJet, PorousPart, SolidPart, Vector
from simulator.case.pieces import Pieces
from simulator.errors import CaseError
from simulator.units import length_in_both

#: How far a piece may reach into another or into a wall before it counts [m]: rounding of lengths
#: that people measure, 5 mm.
SLACK = 0.005


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece where it stands: what it compiled to, and where it was written."""

    entry: Furniture | Equipment
    room: Room
    pieces: Pieces
    spot: Spot


def place(
    entries: Sequence[tuple[Furniture | Equipment, Spot]], dwelling: Dwelling
) -> tuple[Placed, ...]:
    """Return the pieces that can be compiled; the others are noted."""
    rooms = {room.name: room for room in dwelling.rooms}
    placed = []
    for entry, spot in entries:
        room = rooms.get(entry.room)
        if room is None:
            end = choices(entry.room, rooms, "rooms")
            spot.at("room").refuse(f"unknown room '{entry.room}'; {end}")
            continue
        try:
            pieces = entry.compile(room)
        except (ValueError, CaseError) as error:
            spot.refuse(" ".join(str(error).split()))
            continue
        placed.append(Placed(entry, room, pieces, spot))
    return tuple(placed)


def check_places(placed: Sequence[Placed], dwelling: Dwelling) -> None:
    """Note pieces that stick out of their room, stand in each other, or blow from within a wall.

    One fault a piece: what already stands wrong is not also compared with its neighbours.
    """
    refused: list[Placed] = []
    for piece in placed:
        before = piece.spot.problems.count
        if isinstance(piece.entry, Furniture):
            _check_in_room(piece)
        else:
            _check_in_air(piece, dwelling)
            _check_in_free_air(piece, placed)
        if piece.spot.problems.count > before:
            refused.append(piece)
    standing = [piece for piece in placed if piece not in refused]
    for first, second in combinations(standing, 2):
        _check_apart(first, second)
    _check_thermostats(placed)
    for piece in placed:
        if isinstance(piece.entry, Exhaust):
            _check_exhaust(piece, piece.entry, dwelling)


def _check_in_room(piece: Placed) -> None:
    """Note furniture that sticks out of its room, once, by its worst side."""
    boxes = [*piece.pieces.footprint, *_stuff(piece.pieces)]
    points = [point for box in boxes for point in corners(box)]
    points += [probe.position for probe in piece.pieces.probes]
    _report_worst(piece, points)


def _report_worst(piece: Placed, points: Sequence[Vector]) -> None:
    reach, side = _worst(piece.room, points)
    if reach > SLACK:
        size = " x ".join(f"{round(length, 3):g}" for length in piece.room.size)
        piece.spot.at("at").refuse(
            f"sticks {length_in_both(reach)} out of room '{piece.room.name}' through its"
            f" {side.name.lower()} side; it must lie within the room, {size} m"
        )


def _worst(room: Room, points: Sequence[Vector]) -> tuple[float, Side]:
    """Return how far points reach out of a room at most [m] (negative: inside), and where."""
    reaches = {}
    for side in Side:
        axis = side.axis
        along = [point[axis] for point in points]
        if side.sign > 0:
            reaches[side] = max(along, default=-math.inf) - room.high[axis]
        else:
            reaches[side] = room.low[axis] - min(along, default=math.inf)
    side = max(reaches, key=lambda candidate: reaches[candidate])
    return reaches[side], side


def _stuff(pieces: Pieces) -> list[Box]:
    return [part.box for part in pieces.parts if isinstance(part, SolidPart | PorousPart)]


def _check_in_air(piece: Placed, dwelling: Dwelling) -> None:
    """Note equipment in a wall or outside: its body, its discs and its sensors need a room.

    An open doorway counts as room, for a fan that stands in it.
    """
    points = [point for box in _stuff(piece.pieces) for point in corners(box)]
    points += [point for disc in _discs(piece.pieces) for point in _rim(disc)]
    points += [probe.position for probe in piece.pieces.probes]
    outside = [point for point in points if not _in_doorway(point, dwelling)]
    if not outside:
        return
    reach, side = _worst(piece.room, outside)
    if reach > SLACK:
        name = side.name.lower()
        where = f"into its {name}" + (" wall" if side.axis < 2 else "")
        if reach > THICKEST_PARTITION:
            where = f"beyond its {name} side"
        piece.spot.at("at").refuse(
            f"{piece.pieces.words} '{piece.entry.name}' reaches {length_in_both(reach)} out of room"
            f" '{piece.room.name}', {where}; it must lie within the room or an open doorway"
        )


def _in_doorway(point: Vector, dwelling: Dwelling) -> bool:
    return any(
        door.is_open
        and all(door.low[i] - SLACK <= point[i] <= door.high[i] + SLACK for i in range(3))
        for door in dwelling.doorways
    )


def _discs(pieces: Pieces) -> Iterator[AirMover | HeatedJet]:
    return (part for part in pieces.parts if isinstance(part, AirMover | HeatedJet))


def _rim(disc: AirMover | HeatedJet) -> list[Vector]:
    """Return the disc's centre and the outermost points of its rim along each axis [m]."""
    points = [disc.centre]
    for axis in range(3):
        along = disc.direction[axis]
        across = math.sqrt(max(0.0, 1.0 - along**2))
        if across < 1e-9:
            continue
        offset = [-disc.direction[i] * along / across for i in range(3)]
        offset[axis] = across
        for sign in (-0.5, 0.5):
            x, y, z = (disc.centre[i] + sign * disc.diameter * offset[i] for i in range(3))
            points.append((x, y, z))
    return points


def _check_in_free_air(piece: Placed, placed: Sequence[Placed]) -> None:
    """Note a fan or an outlet whose middle lies within something solid."""
    for disc in _discs(piece.pieces):
        for other in placed:
            solids = [part for part in other.pieces.parts if isinstance(part, SolidPart)]
            hit = next((part for part in solids if contains(part.box, disc.centre)), None)
            if hit is not None and other is not piece:
                piece.spot.at("at").refuse(
                    f"{piece.pieces.words} '{piece.entry.name}' is inside {other.pieces.words}"
                    f" '{other.entry.name}' ({hit.name}); it must blow from free air"
                )


def _check_exhaust(piece: Placed, exhaust: Exhaust, dwelling: Dwelling) -> None:
    """Note an exhaust that reaches beyond its wall, or into another room."""
    low, high = exhaust.opening(piece.room)
    axis = exhaust.wall.axis
    for key, run in (("along", 1 - axis), ("sill", 2)):
        reach = high[run] - piece.room.high[run]
        if reach > SLACK:
            piece.spot.at(key).refuse(
                f"the opening reaches {length_in_both(reach)} beyond its wall, "
                f"which is {length_in_both(piece.room.size[run])}; move it or make it smaller"
            )
            return
    for other in dwelling.rooms:
        gap = None if other is piece.room else gap_between(piece.room, other)
        if gap is None or gap.side is not exhaust.wall or not gap.is_partition:
            continue
        if all(min(high[i], gap.high[i]) > max(low[i], gap.low[i]) for i in (1 - axis, 2)):
            piece.spot.at("side").refuse(
                f"lies in the partition to room '{other.name}'; an exhaust leads outdoors"
            )


def _check_thermostats(placed: Sequence[Placed]) -> None:
    """Note a second thermostat for all heaters, and sensors that heaters name but do not exist."""
    holders = [p for p in placed if any(probe.is_thermostat for probe in p.pieces.probes)]
    for piece in holders[1:]:
        piece.spot.at("thermostat").refuse(
            f"'{holders[0].entry.name}' is already the thermostat; only one sensor can be; "
            "a heater may name its own"
        )
    known = [piece.entry.name for piece in placed if isinstance(piece.entry, Sensor)]
    for piece in placed:
        for part in piece.pieces.parts:
            if isinstance(part, HeatedJet) and part.sensor and part.sensor not in known:
                end = choices(part.sensor, known, "sensors")
                piece.spot.at("sensor").refuse(f"unknown sensor '{part.sensor}'; {end}")


def _check_apart(first: Placed, second: Placed) -> None:
    """Note two pieces that claim the same space."""
    if first.entry.may_overlap or second.entry.may_overlap:
        return
    depth = max(
        (
            overlap_depth(a, b)
            for a in first.pieces.footprint
            for b in second.pieces.footprint
            if may_overlap(a, b)
        ),
        default=-math.inf,
    )
    if depth > SLACK:
        second.spot.at("at").refuse(
            f"{second.pieces.words} '{second.entry.name}' overlaps {first.pieces.words}"
            f" '{first.entry.name}' by {length_in_both(depth)}; pieces must stand apart"
        )
