"""The floor of a room while it is furnished: what is taken, what stays free, what still fits."""

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

#: Depth of the way through a door that stays free [m], and how far beyond its jambs.
DOOR_DEPTH, DOOR_SIDE = 0.90, 0.05
#: Places tried along each wall, and in the open, before a piece is left out.
TRIES_ALONG, TRIES_OPEN = 6, 40
#: Least distance between pieces [m].
BETWEEN = 0.02

#: Turn of a piece whose back is at a wall [deg].
TURNS = {"north": 0, "west": 90, "south": 180, "east": 270}


class Rect(NamedTuple):
    """A rectangle on the floor, from the room's south-west corner [m]."""

    west: float
    south: float
    east: float
    north: float

    def meets(self, other: "Rect", margin: float = 0.0) -> bool:
        """Return whether two rectangles overlap, or are nearer than a margin."""
        return (
            self.west < other.east + margin
            and other.west < self.east + margin
            and self.south < other.north + margin
            and other.south < self.north + margin
        )


@dataclass(frozen=True, slots=True)
class Shape:
    """What a piece needs of the floor, in its own frame: back to the north, front to the south [m].

    Attributes
    ----------
    width, depth : of the piece; its origin is their middle.
    front, behind : solid beyond its depth: chairs, a bed that is pulled off its wall.
    opens : floor before that which doors or drawers take once they are open.
    zone : floor before that which stays free; ways and zones of several pieces may cross.
    gap : to the wall behind it.
    """

    width: float
    depth: float
    front: float = 0.0
    behind: float = 0.0
    opens: float = 0.0
    zone: float = 0.0
    gap: float = 0.02


@dataclass(frozen=True, slots=True)
class Place:
    """Where a piece stands: its middle [m] and its turn [deg]."""

    at: tuple[float, float]
    turn: int

    def ahead(self, distance: float) -> tuple[float, float]:
        """Return the spot so far before its middle [m]."""
        x, y = _turned(0.0, -distance, self.turn)
        return (round(self.at[0] + x, 3), round(self.at[1] + y, 3))


@dataclass(slots=True)
class FloorSpace:
    """The floor of a room.

    Attributes
    ----------
    size : length and width [m].
    taken : floor on which pieces stand.
    opened : floor over which their doors and drawers open.
    ways : floor before the doors of the room.
    kept : floor before pieces that stays free.
    """

    size: tuple[float, float]
    taken: list[Rect] = field(default_factory=list)
    opened: list[Rect] = field(default_factory=list)
    ways: list[Rect] = field(default_factory=list)
    kept: list[Rect] = field(default_factory=list)

    def keep_door(self, side: str, along: float, width: float) -> None:
        """Keep the way through a door free."""
        self.ways.append(self._at_wall(side, along - DOOR_SIDE, width + 2 * DOOR_SIDE, DOOR_DEPTH))

    def take_at_wall(self, side: str, along: float, width: float, depth: float) -> bool:
        """Take a strip along a wall, such as a curtain's, if it is free."""
        rect = self._at_wall(side, along, width, depth)
        if not self._is_free(rect):
            return False
        self.taken.append(rect)
        return True

    def put_at_wall(
        self, shape: Shape, lots: np.random.Generator, walls: tuple[str, ...] = ()
    ) -> Place | None:
        """Return where a piece was put with its back to a wall, or None if it fits nowhere.

        Of each wall the corners are tried first: that is where furniture goes.
        """
        sides = list(walls or TURNS)
        for index in lots.permutation(len(sides)):
            side = sides[index]
            run = self.size[0 if side in ("south", "north") else 1]
            half, last = 0.5 * shape.width + BETWEEN, run - 0.5 * shape.width - BETWEEN
            if last < half:
                continue
            ends = [half, last] if lots.random() < 0.5 else [last, half]
            for along in [*ends, *lots.uniform(half, last, TRIES_ALONG)]:
                place = self.try_at(shape, self._against(side, along, shape), TURNS[side])
                if place is not None:
                    return place
        return None

    def put_anywhere(self, shape: Shape, lots: np.random.Generator) -> Place | None:
        """Return where a piece was put in the open, or None if no place was found."""
        for _ in range(TRIES_OPEN):
            x, y = lots.uniform(0.0, self.size)
            place = self.try_at(shape, (x, y), int(lots.integers(2)) * 90)
            if place is not None:
                return place
        return None

    def try_at(self, shape: Shape, at: tuple[float, float], turn: int) -> Place | None:
        """Return the place and take the floor, or None if the piece does not fit there."""
        at = (round(float(at[0]), 3), round(float(at[1]), 3))
        solid = self._rect(
            at,
            turn,
            -0.5 * shape.depth - shape.front,
            0.5 * shape.depth + shape.behind,
            shape.width,
        )
        edge = -0.5 * shape.depth - shape.front
        opens = self._rect(at, turn, edge - shape.opens, edge, shape.width)
        zone = self._rect(at, turn, edge - shape.zone, edge, shape.width)
        if not self._is_free(solid):
            return None
        if shape.opens and not self._may_open(opens):
            return None
        if shape.zone and not self._may_be_kept(zone):
            return None
        self.taken.append(solid)
        self.opened += [opens] if shape.opens else []
        self.kept += [zone] if shape.zone else []
        return Place(at, turn)

    def _is_free(self, rect: Rect) -> bool:
        free = [*self.opened, *self.ways, *self.kept]
        return (
            self._is_inside(rect)
            and not any(rect.meets(other, BETWEEN) for other in self.taken)
            and not any(rect.meets(other) for other in free)
        )

    def _may_open(self, rect: Rect) -> bool:
        others = [*self.taken, *self.opened, *self.ways]
        return self._is_inside(rect) and not any(rect.meets(other) for other in others)

    def _may_be_kept(self, rect: Rect) -> bool:
        return self._is_inside(rect) and not any(rect.meets(other) for other in self.taken)

    def _is_inside(self, rect: Rect) -> bool:
        east, north = self.size
        return rect.west >= 0.0 and rect.south >= 0.0 and rect.east <= east and rect.north <= north

    def _against(self, side: str, along: float, shape: Shape) -> tuple[float, float]:
        """Return the middle of a piece whose back is at a wall."""
        away = 0.5 * shape.depth + shape.gap + shape.behind
        return {
            "south": (along, away),
            "north": (along, self.size[1] - away),
            "west": (away, along),
            "east": (self.size[0] - away, along),
        }[side]

    def _at_wall(self, side: str, along: float, width: float, depth: float) -> Rect:
        east, north = self.size
        return {
            "south": Rect(along, 0.0, along + width, depth),
            "north": Rect(along, north - depth, along + width, north),
            "west": Rect(0.0, along, depth, along + width),
            "east": Rect(east - depth, along, east, along + width),
        }[side]

    @staticmethod
    def _rect(at: tuple[float, float], turn: int, front: float, back: float, width: float) -> Rect:
        """Return the floor of a strip of a piece's frame, from its front to its back."""
        corners = [_turned(x, y, turn) for x in (-0.5 * width, 0.5 * width) for y in (front, back)]
        xs, ys = [at[0] + x for x, _ in corners], [at[1] + y for _, y in corners]
        return Rect(min(xs), min(ys), max(xs), max(ys))


def _turned(x: float, y: float, turn: int) -> tuple[float, float]:
    """Return a point turned anticlockwise by quarter turns."""
    return {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}[turn % 360]
