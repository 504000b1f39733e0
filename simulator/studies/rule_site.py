"""What a placement rule sees of a room: its floor, what stands in it, where its heat comes from."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.case.overlap import corners
from simulator.case.parts import HeatedJet, PorousPart, SolidPart
from simulator.studies.free_floor import FreeFloor, Spot, free_floor, radius_of_fan, reach

#: How far the middle of a fan that serves a piece stands from the piece [m] (estimate).
STAND_BACK = 0.60

#: Kinds that people rest on, by their words: where the bugs are first (common practice).
RESTING = ("bed", "water bed", "sofa", "armchair")


@dataclass(frozen=True, slots=True)
class Thing:
    """A piece of furniture on the floor: corners of its shadow from the room's corner [m]."""

    name: str
    words: str
    low: Spot
    high: Spot
    height: float

    @property
    def middle(self) -> Spot:
        """The middle of its shadow [m]."""
        return (0.5 * (self.low[0] + self.high[0]), 0.5 * (self.low[1] + self.high[1]))

    @property
    def volume(self) -> float:
        """Volume of the box around it [m³]."""
        return (self.high[0] - self.low[0]) * (self.high[1] - self.low[1]) * self.height

    def sides(self, away: float) -> tuple[Spot, ...]:
        """Return the spots before the middles of its four sides, so far off [m]."""
        x, y = self.middle
        return (
            (self.low[0] - away, y),
            (self.high[0] + away, y),
            (x, self.low[1] - away),
            (x, self.high[1] + away),
        )


@dataclass(frozen=True, slots=True)
class Site:
    """One room as a rule sees it. Spots are from its south-west floor corner [m].

    Attributes
    ----------
    room : the room.
    floor : what of it is free; fans already set count as obstacles.
    things : furniture on the floor, those that people rest on first, then by volume.
    heaters : outlets of heaters in the room.
    doors : middles of open doorways.
    diameter : of the fans to be set.
    """

    room: Room
    floor: FreeFloor
    things: tuple[Thing, ...]
    heaters: tuple[Spot, ...]
    doors: tuple[Spot, ...]
    diameter: float

    @property
    def size(self) -> Spot:
        """Length and width of the floor [m]."""
        return (self.room.size[0], self.room.size[1])

    @property
    def middle(self) -> Spot:
        """The middle of the floor [m]."""
        return (0.5 * self.size[0], 0.5 * self.size[1])

    @property
    def source_of_heat(self) -> Spot:
        """Where heat comes in: the room's first heater, else its first door, else its middle."""
        return (*self.heaters, *self.doors, self.middle)[0]

    def nearest(self, wished: Spot) -> Spot | None:
        """Return where a fan can stand nearest to a wished spot, or None: nowhere."""
        return self.floor.nearest(wished, reach(self.diameter))

    def with_fan(self, at: Spot) -> "Site":
        """Return the site once a fan stands at a spot."""
        return replace(self, floor=self.floor.without(at, radius_of_fan(self.diameter)))

    def before(self, thing: Thing, nth: int = 0) -> Spot | None:
        """Return the spot before the most open side of a thing, or before the nth most open one.

        A side is the more open the less a fan has to move to find room before it; of equally open
        ones the one nearer to the middle of the room comes first.
        """
        found = []
        for wished in thing.sides(STAND_BACK):
            at = self.nearest(wished)
            if at is not None:
                moved = round(math.dist(at, wished), 2)
                found.append((moved, round(math.dist(at, self.middle), 3), at))
        found.sort()
        return found[nth % len(found)][2] if found else None


def site_of(case: Case, room_name: str, diameter: float) -> Site:
    """Return what a rule sees of a room of a case without fans."""
    room = next(room for room in case.dwelling.rooms if room.name == room_name)
    heaters = [
        _spot(room, part.centre)
        for part in case.parts
        if isinstance(part, HeatedJet) and _is_in(room, part.centre)
    ]
    doors = [
        _spot(room, [0.5 * (a + b) for a, b in zip(door.low, door.high, strict=True)])
        for door in case.dwelling.doorways
        if door.is_open and room.name in door.rooms
    ]
    floor = free_floor(case, room_name)
    return Site(room, floor, _things(case, room), tuple(heaters), tuple(doors), diameter)


def _spot(room: Room, point: Sequence[float]) -> Spot:
    return (point[0] - room.low[0], point[1] - room.low[1])


def _is_in(room: Room, point: Sequence[float]) -> bool:
    return all(room.low[i] <= point[i] <= room.high[i] for i in range(3))


def _things(case: Case, room: Room) -> tuple[Thing, ...]:
    """Return the furniture of a room that stands on the floor and is more than a rug or a lamp."""
    points: dict[str, list[Sequence[float]]] = {}
    for part in case.parts:
        if isinstance(part, SolidPart | PorousPart) and _is_in(room, part.box.centre):
            points.setdefault(part.owner, []).extend(corners(part.box))
    found = []
    for owner, ends in points.items():
        low, high = ([of(end[i] for end in ends) for i in range(3)] for of in (min, max))
        if low[2] - room.low[2] > 0.5 or high[2] - low[2] < 0.3:
            continue
        words = case.furniture_words.get(owner, "")
        found.append(Thing(owner, words, _spot(room, low), _spot(room, high), high[2] - low[2]))
    return tuple(sorted(found, key=_urgency))


def _urgency(thing: Thing) -> tuple[int, float, str]:
    rank = RESTING.index(thing.words) if thing.words in RESTING else len(RESTING)
    return (rank, -thing.volume, thing.name)
