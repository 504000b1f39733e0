"""Where each machine and sensor goes, in distances that a tape measures, and where it points."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from simulator.case.case import Case
from simulator.case.dwelling import Dwelling, Room, Side
from simulator.case.parts import AirMover, HeatedJet, Vector
from simulator.output.sheet.marks import Mark
from simulator.units import System, format_quantity, kilowatts

#: Within this of an axis of the compass a machine points along it [deg].
ON_AXIS = 0.5

#: Within this of a doorway's sides an axis passes through it [m]: rounding of lengths.
SLACK = 0.005


@dataclass(frozen=True, slots=True)
class Placing:
    """One row of the table: all of it text, in the units of the sheet."""

    tag: str
    name: str
    room: str
    from_west: str
    from_south: str
    height: str
    points: str


def placings(marks: Sequence[Mark], case: Case, units: System) -> tuple[Placing, ...]:
    """Return a row for each piece of equipment."""
    return tuple(placing(mark, case, units) for mark in marks)


def machines(marks: Sequence[Mark], case: Case, units: System) -> tuple[tuple[str, str], ...]:
    """Return marks and what they are, machines that are alike together: ("F1, F2", "fan, …")."""
    tags = {mark.name: mark.tag for mark in marks}
    alike: dict[str, list[str]] = {}
    for mark in marks:
        words = _machine(mark, case, tags, units)
        if words:
            alike.setdefault(words, []).append(mark.tag)
    return tuple((_run(names), words) for words, names in alike.items())


def _run(tags: Sequence[str]) -> str:
    """Return marks with runs of numbers drawn together: "F1 to F4, F7"."""
    runs: list[list[str]] = []
    for tag in tags:
        last = runs[-1][-1] if runs else ""
        follows = last[:1] == tag[:1] and int(tag[1:]) == int(last[1:]) + 1
        if follows:
            runs[-1].append(tag)
        else:
            runs.append([tag])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def placing(mark: Mark, case: Case, units: System) -> Placing:
    """Return the row of one piece."""
    outlet = mark.outlet
    if outlet is not None:
        low, high = _ends(outlet.box.centre, outlet.box.size)
        west, south = (_span(low, high, mark.room, axis, units) for axis in (0, 1))
        height = _span(low, high, mark.room, 2, units)
    else:
        x, y, z = _point(mark)
        west, south, height = (
            _length(value - mark.room.low[axis], units) for axis, value in enumerate((x, y, z))
        )
    return Placing(
        tag=mark.tag,
        name=mark.name,
        room=mark.room.name,
        from_west=west,
        from_south=south,
        height=height,
        points="" if mark.blower is None else aim(mark.blower, mark.room, case.dwelling, units),
    )


def from_walls(
    point: Vector, dwelling: Dwelling, room_name: str, units: System
) -> tuple[str, str, str]:
    """Return how far a point is from the west wall, the south wall and the floor of its room."""
    room = next((room for room in dwelling.rooms if room.name == room_name), None)
    room = room or _room_at(point, dwelling)
    x, y, z = (_length(max(p - low, 0.0), units) for p, low in zip(point, room.low, strict=True))
    return x, y, z


def aim(blower: AirMover | HeatedJet, room: Room, dwelling: Dwelling, units: System) -> str:
    """Return where a machine points: by compass, tilt, and where its axis meets a wall."""
    told = [heading(blower.direction)]
    tilt = math.degrees(math.asin(max(-1.0, min(1.0, blower.direction[2]))))
    if abs(tilt) > ON_AXIS:
        told.append(f"tilted {abs(tilt):.0f}° {'up' if tilt > 0.0 else 'down'}")
    meets = _meets(blower.centre, blower.direction, room, dwelling, units)
    return ", ".join([*told, meets] if meets else told)


def heading(direction: Vector) -> str:
    """Return a level direction by compass: "west", "30° north of east"."""
    east, north = direction[0], direction[1]
    if math.hypot(east, north) < 1e-6:
        return "straight up" if direction[2] > 0.0 else "straight down"
    names = ("east", "north", "west", "south")
    turn = math.degrees(math.atan2(north, east)) % 360.0
    quarter = round(turn / 90.0) % 4
    off = (turn - 90.0 * quarter + 180.0) % 360.0 - 180.0
    if abs(off) < ON_AXIS:
        return names[quarter]
    beside = names[(quarter + (1 if off > 0.0 else -1)) % 4]
    if abs(abs(off) - 45.0) < ON_AXIS:
        first, second = sorted((names[quarter], beside), key=("north south east west").index)
        return f"{first}-{second}"
    return f"{abs(off):.0f}° {beside} of {names[quarter]}"


def _meets(centre: Vector, direction: Vector, room: Room, dwelling: Dwelling, units: System) -> str:
    """Return where the axis of a machine leaves its room."""
    reach, side = math.inf, None
    for candidate in Side:
        along = direction[candidate.axis] * candidate.sign
        plane = room.high[candidate.axis] if candidate.sign > 0 else room.low[candidate.axis]
        if along > 1e-9:
            far = candidate.sign * (plane - centre[candidate.axis]) / along
            if 0.0 <= far < reach:
                reach, side = far, candidate
    if side is None:
        return ""
    hit = [c + reach * d for c, d in zip(centre, direction, strict=True)]
    for door in dwelling.doorways:
        if door.is_open and room.name in door.rooms and _is_in(hit, door.low, door.high, side):
            return f"through the {door.name}"
    west, south, up = (
        _length(max(p - low, 0.0), units) for p, low in zip(hit, room.low, strict=True)
    )
    name = side.name.lower()
    if side.axis == 2:
        return f"axis meets the {name} {west} from west wall, {south} from south wall"
    wall = f"{south} from south wall" if side.axis == 0 else f"{west} from west wall"
    is_level = abs(direction[2]) < math.sin(math.radians(ON_AXIS))
    return f"axis meets the {name} wall {wall}" + ("" if is_level else f", {up} up")


def _is_in(point: Sequence[float], low: Vector, high: Vector, side: Side) -> bool:
    return (
        side.axis < 2
        and all(
            low[axis] - SLACK <= point[axis] <= high[axis] + SLACK
            for axis in range(3)
            if axis != side.axis
        )
        and min(abs(point[side.axis] - plane[side.axis]) for plane in (low, high)) <= SLACK
    )


def _point(mark: Mark) -> Vector:
    """Return what the distances lead to: the middle of a machine, the point of a sensor."""
    if mark.probe is not None:
        return mark.probe.position
    blower = mark.blower
    assert blower is not None
    x, y = getattr(mark.entry, "at", blower.centre[:2])
    return (mark.room.low[0] + x, mark.room.low[1] + y, blower.centre[2])


def _room_at(point: Vector, dwelling: Dwelling) -> Room:
    """Return the room that a point lies in, or the nearest to it."""

    def outside(room: Room) -> float:
        return sum(
            max(low - p, p - high, 0.0)
            for p, low, high in zip(point, room.low, room.high, strict=True)
        )

    return min(dwelling.rooms, key=outside)


def _ends(centre: Vector, size: Vector) -> tuple[list[float], list[float]]:
    low = [c - 0.5 * s for c, s in zip(centre, size, strict=True)]
    return low, [c + 0.5 * s for c, s in zip(centre, size, strict=True)]


def _span(low: list[float], high: list[float], room: Room, axis: int, units: System) -> str:
    """Return from where to where an opening reaches, or which wall it is in."""
    start, end = low[axis] - room.low[axis], high[axis] - room.low[axis]
    if axis < 2 and abs(start) < SLACK:
        return f"in {('west', 'south')[axis]} wall"
    if axis < 2 and abs(end - room.size[axis]) < SLACK:
        return f"in {('east', 'north')[axis]} wall"
    return f"{_length(max(start, 0.0), units)} to {_length(end, units)}"


def _length(value: float, units: System) -> str:
    """Return a distance as a tape reads it: metres to the centimetre, or feet and inches."""
    return format_quantity(value, "length", units) if units == "us" else f"{value:.2f} m"


def _machine(mark: Mark, case: Case, tags: dict[str, str], units: System) -> str:
    """Return what the machine must be, so that another one is not taken for it."""
    words = mark.pieces.words
    blower, outlet, probe = mark.blower, mark.outlet, mark.probe
    if isinstance(blower, AirMover):
        size, flow, draw = _size(blower, units), _flow(blower, units), f"{blower.power:.0f} W"
        return f"{words}, {size}, {flow} free delivery, {draw}"
    if isinstance(blower, HeatedJet):
        limit = format_quantity(blower.outlet_limit, "temperature", units)
        source = "" if blower.intake is not None else " of outdoor air"
        return (
            f"{words}, {kilowatts(blower.power)}, {_flow(blower, units)}{source}, outlet "
            f"{_size(blower, units)}, at most {limit}; obeys {_obeys(blower, case, tags)}"
        )
    if outlet is not None:
        return f"{words}, open {format_quantity(outlet.area, 'area', units)}"
    told = []
    if probe is not None and probe.is_thermostat:
        told.append("thermostat of the heaters that name no other")
    if probe is not None and probe.guards_air_limit:
        told.append("no heater heats while it reads the air limit")
    return "; ".join(told)


def _obeys(blower: HeatedJet, case: Case, tags: dict[str, str]) -> str:
    """Return what a heater's thermostat reads."""
    if blower.sensor:
        return tags.get(blower.sensor, blower.sensor)
    for probe in case.probes:
        if probe.is_thermostat:
            return tags.get(probe.owner, probe.owner)
    return "its own intake" if blower.intake is not None else "the mean of the air"


def _size(blower: AirMover | HeatedJet, units: System) -> str:
    return format_quantity(blower.diameter, "length", units).replace(".0 cm", " cm")


def _flow(blower: AirMover | HeatedJet, units: System) -> str:
    return format_quantity(blower.flow, "flow", units)
