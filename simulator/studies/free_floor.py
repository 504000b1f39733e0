"""Where on the floor a fan or a heater may stand: clear of walls, furniture, doorways and others.

A piece of equipment is taken as an upright cylinder: it may be turned on its spot. ``free_floor``
measures, on a raster of a room's floor, how far the nearest obstacle is; a piece may stand where
that is at least its ``reach``. So ``free_floor(case, "bedroom").nearest((0.0, 0.0), reach(0.50))``
is as near to the south-west corner as a fan of 0.50 m can stand, and ``in_words`` says for a crew
where that is: "0.40 m from the west wall, 0.40 m from the south wall".
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.case.dwelling import Doorway, Room
from simulator.case.equipment.fan import CAGE_DEPTH
from simulator.case.overlap import corners
from simulator.case.parts import AirMover, Box, HeatedJet, HeatSource, PorousPart, SolidPart
from simulator.grid.grid import FloatArray

#: Distance of the raster's points [m] (choice: a tape measure on the day is no better).
RASTER = 0.05
#: Air left around a piece [m] (common practice, no source: a hand's breadth, for cords and cages).
CLEARANCE = 0.06
#: How far in front of an open doorway nothing stands [m] (common practice, no source: the way in
#: and out stays free).
DOOR_ZONE = 0.70
#: What ends below this one can stand on [m]: rugs.
STANDABLE = 0.05
#: What begins above this leaves room for equipment and for the one who sets it up [m] (estimate).
HEAD_ROOM = 1.90
#: Space that a standing heater takes in front of its outlet [m]: nothing stands right in the jet
#: (common practice, no source).
JET_ZONE = 0.50

#: Place on a room's floor, from its south-west corner [m].
Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class FreeFloor:
    """The floor of one room. X, Y points of its raster.

    Attributes
    ----------
    room : the room.
    x, y : lines of the raster, from the room's south-west corner, shapes (X,) and (Y,) [m].
    gap : distance to the nearest wall, obstacle or doorway zone, shape (X, Y) [m]; 0 inside one.
    """

    room: Room
    x: FloatArray
    y: FloatArray
    gap: FloatArray

    def spots(self, needed: float) -> FloatArray:
        """Return every point of the raster with this much floor around it [m], shape (n, 2)."""
        i, j = np.nonzero(self.gap >= needed - 1e-9)
        return np.column_stack([self.x[i], self.y[j]])

    def nearest(self, wished: Spot, needed: float) -> Spot | None:
        """Return the spot nearest to a wished one with this much floor around it, or None."""
        free = self.spots(needed)
        if free.size == 0:
            return None
        away = np.hypot(free[:, 0] - wished[0], free[:, 1] - wished[1])
        best = free[int(np.argmin(away.round(6)))]
        return (round(float(best[0]), 3), round(float(best[1]), 3))

    def without(self, at: Spot, radius: float) -> "FreeFloor":
        """Return the floor once a piece of this radius [m] stands at a spot."""
        x, y = np.meshgrid(self.x, self.y, indexing="ij")
        apart = np.maximum(np.hypot(x - at[0], y - at[1]) - radius, 0.0)
        return FreeFloor(self.room, self.x, self.y, np.minimum(self.gap, apart))


def reach(diameter: float, clearance: float = CLEARANCE) -> float:
    """Return how much floor a fan needs around its middle, whichever way it is turned [m]."""
    return radius_of_fan(diameter) + clearance


def radius_of_fan(diameter: float) -> float:
    """Return the radius of the cylinder in which a fan can be turned [m]."""
    return math.hypot(0.5 * diameter, 0.5 * CAGE_DEPTH)


def free_floor(case: Case, room_name: str, *, ignore: Iterable[str] = ()) -> FreeFloor:
    """Return the free floor of a room as its furniture and equipment stand.

    Parameters
    ----------
    case : with or without equipment; what is in it keeps its place.
    room_name : of the room.
    ignore : names of pieces to leave out, such as a fan that is to be moved.

    Raises
    ------
    KeyError
        If there is no such room.
    """
    rooms = {room.name: room for room in case.dwelling.rooms}
    room = rooms[room_name]
    left_out = set(ignore)
    x, y = (_lines(room.size[axis]) for axis in (0, 1))
    gap = np.minimum(_to_ends(x, room.size[0])[:, None], _to_ends(y, room.size[1])[None, :])
    for box in _obstacles(case, room, left_out):
        gap = np.minimum(gap, _distance(box, room, x, y))
    return FreeFloor(room, x, y, gap)


def _to_the_centimetre(length: float) -> str:
    return f"{length:.2f} m"


def in_words(room: Room, at: Spot, told: Callable[[float], str] = _to_the_centimetre) -> str:
    """Return where a spot lies, measured from the nearer wall each way.

    ``told`` puts a distance [m] in words.
    """
    words = []
    for axis, (low, high) in enumerate((("west", "east"), ("south", "north"))):
        length = room.size[axis]
        wall, far = (low, at[axis]) if at[axis] <= 0.5 * length else (high, length - at[axis])
        words.append(f"{told(far)} from the {wall} wall")
    return ", ".join(words)


def _lines(length: float) -> FloatArray:
    """Return the raster along one axis; whole multiples from the room's low corner."""
    return np.round(np.arange(RASTER, length - 1e-9, RASTER), 3)


def _to_ends(line: FloatArray, length: float) -> FloatArray:
    return np.minimum(line, length - line)


def _obstacles(case: Case, room: Room, left_out: set[str]) -> Iterator[Box]:
    """Yield boxes that nothing may stand in: furniture, equipment, the ways through doors."""
    stuff: dict[str, list[Box]] = {}
    for part in case.parts:
        if part.owner in left_out:
            continue
        if isinstance(part, SolidPart | PorousPart | HeatSource):
            stuff.setdefault(part.owner, []).append(part.box)
        elif isinstance(part, AirMover):
            yield _about(part.centre[0], part.centre[1], part.direction, part.diameter, CAGE_DEPTH)
        elif isinstance(part, HeatedJet):
            yield from _heater(part)
    for boxes in stuff.values():
        hull = hull_of(boxes)
        low, high = (hull.centre[2] + half * hull.size[2] - room.low[2] for half in (-0.5, 0.5))
        if high > STANDABLE and low < HEAD_ROOM:
            yield hull
    for doorway in case.dwelling.doorways:
        if room.name in doorway.rooms:
            yield _way(doorway)


def hull_of(boxes: Sequence[Box]) -> Box:
    """Return the smallest upright box about several, turned as the first of them is.

    It is what a piece of furniture claims for itself, such as the inside of a closet, and more
    where its doors stand open: nothing belongs between those either.
    """
    turn = math.radians(boxes[0].turn)
    ahead, left = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    points = [point for box in boxes for point in corners(box)]
    spans = []
    for axis in (ahead, left):
        along = [axis[0] * point[0] + axis[1] * point[1] for point in points]
        spans.append((min(along), max(along)))
    heights = [point[2] for point in points]
    spans.append((min(heights), max(heights)))
    u, v, z = (0.5 * (low + high) for low, high in spans)
    length, width, height = (high - low for low, high in spans)
    x, y = (u * ahead[i] + v * left[i] for i in (0, 1))
    return Box((x, y, z), (length, width, height), boxes[0].turn)


def _about(x: float, y: float, direction: Sequence[float], width: float, depth: float) -> Box:
    """Return the footprint of a disc's cage: ``depth`` along its aim, ``width`` across."""
    turn = math.degrees(math.atan2(direction[1], direction[0]))
    return Box((x, y, 0.5), (depth, width, 1.0), turn)


def _heater(jet: HeatedJet) -> Iterator[Box]:
    """Yield a heater's body with its intake, and the air right before its outlet."""
    turn = math.degrees(math.atan2(jet.direction[1], jet.direction[0]))
    ahead = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    back = JET_ZONE
    if jet.intake is not None:
        yield jet.intake
        middle = jet.intake.centre
        back = math.hypot(jet.centre[0] - middle[0], jet.centre[1] - middle[1])
    length = back + JET_ZONE
    x, y = (jet.centre[i] + 0.5 * (JET_ZONE - back) * ahead[i] for i in (0, 1))
    width = max(jet.diameter, 0.0 if jet.intake is None else jet.intake.size[1])
    yield Box((x, y, 0.5), (length, width, 1.0), turn)


def _way(doorway: Doorway) -> Box:
    """Return the way through a doorway, into both rooms."""
    size = [doorway.high[axis] - doorway.low[axis] for axis in (0, 1)]
    size[0 if size[0] < size[1] else 1] += 2.0 * DOOR_ZONE
    x, y = (0.5 * (doorway.low[axis] + doorway.high[axis]) for axis in (0, 1))
    return Box((x, y, 1.0), (size[0], size[1], 2.0))


def _distance(box: Box, room: Room, x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the distance from each point of the raster to an upright box's shadow [m]."""
    turn = math.radians(box.turn)
    dx = (x - (box.centre[0] - room.low[0]))[:, None]
    dy = (y - (box.centre[1] - room.low[1]))[None, :]
    u = np.abs(math.cos(turn) * dx + math.sin(turn) * dy) - 0.5 * box.size[0]
    v = np.abs(math.cos(turn) * dy - math.sin(turn) * dx) - 0.5 * box.size[1]
    outside: FloatArray = np.hypot(np.maximum(u, 0.0), np.maximum(v, 0.0))
    return outside
