"""How a storey of the dwelling lies on paper: scale, place, outlines seen from above."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.case.overlap import corners
from simulator.case.parts import Box, PorousPart, SolidPart, Vector
from simulator.output.sheet.label_space import Point, Rectangle
from simulator.units import System

#: Scales of plans that rulers have, by system of units, the largest first.
SCALES: dict[System, tuple[int, ...]] = {
    "si": (20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 500, 1000),
    "us": (24, 32, 48, 64, 96, 128, 192, 240, 480, 960),
}

#: Largest size of the dwelling on paper [mm], and what is left about it for walls and lengths.
MOST_WIDTH, MOST_HEIGHT, MARGIN = 166.0, 132.0, 9.0

#: Thickness that outer walls are drawn with [m]; the case knows the layers, not the drawing.
WALL = 0.10

#: A thing whose underside is above this height over the floor hangs overhead [m].
OVERHEAD = 1.8

#: Parts whose outlines show how a piece stands: where a bed's head is, a mattress on its edge.
TELLING = ("mattress", "headboard", "pillow")

#: A thing lower than this lies on the floor: a rug [m].
FLAT = 0.06


@dataclass(frozen=True, slots=True)
class Outline:
    """A piece of furniture from above: corners on paper [mm], whether it hangs or lies flat.

    ``inner`` are the corners of parts that show how it stands.
    """

    name: str
    points: tuple[Point, ...]
    hangs: bool
    is_flat: bool
    inner: tuple[tuple[Point, ...], ...] = ()

    @property
    def bounds(self) -> Rectangle:
        """The rectangle around it."""
        x, y = zip(*self.points, strict=True)
        return (min(x), min(y), max(x), max(y))


@dataclass(frozen=True, slots=True)
class PlanView:
    """A storey on paper: ``ratio`` of 1:50 is 50; ``origin`` [m] falls on ``corner`` [mm]."""

    rooms: tuple[Room, ...]
    ratio: int
    origin: Point
    corner: Point
    size: Point  # of the drawing, margins included [mm]

    @property
    def margin_top(self) -> float:
        """Where the north end of the rooms lies on paper [mm]."""
        return self.size[1] - self.corner[1]

    def at(self, x: float, y: float) -> Point:
        """Return where a point of the dwelling [m] lies on paper [mm]."""
        return (
            self.corner[0] + self.length(x - self.origin[0]),
            self.corner[1] - self.length(y - self.origin[1]),
        )

    def length(self, metres: float) -> float:
        """Return a length on paper [mm]."""
        return 1000.0 * metres / self.ratio

    def box(self, low: Sequence[float], high: Sequence[float]) -> Rectangle:
        """Return the rectangle on paper between two corners [m]."""
        left, bottom = self.at(low[0], low[1])
        right, top = self.at(high[0], high[1])
        return (left, top, right, bottom)

    def holds(self, point: Sequence[float]) -> bool:
        """Return whether a point [m] belongs to this storey."""
        bottom = min(room.low[2] for room in self.rooms)
        return bottom - WALL <= point[2] <= max(room.high[2] for room in self.rooms) + WALL


def storeys(case: Case) -> tuple[tuple[Room, ...], ...]:
    """Return the rooms by the height of their floor, the lowest first.

    Rooms whose floors differ by less than half a room's height are drawn as one storey.
    """
    found: list[list[Room]] = []
    for room in sorted(case.dwelling.rooms, key=lambda room: room.low[2]):
        if found and room.low[2] < found[-1][0].low[2] + 0.5 * found[-1][0].size[2]:
            found[-1].append(room)
        else:
            found.append([room])
    return tuple(tuple(rooms) for rooms in found)


def fitted(rooms: tuple[Room, ...], units: System) -> PlanView:
    """Return the view at the largest scale in which the rooms fit on the page."""
    low = [min(room.low[axis] for room in rooms) for axis in (0, 1)]
    high = [max(room.high[axis] for room in rooms) for axis in (0, 1)]
    width, depth = (1000.0 * (b - a) for a, b in zip(low, high, strict=True))
    ratio = SCALES[units][-1]
    for scale in SCALES[units]:
        if width / scale <= MOST_WIDTH and depth / scale <= MOST_HEIGHT:
            ratio = scale
            break
    size = (width / ratio + 2 * MARGIN, depth / ratio + 2 * MARGIN)
    return PlanView(rooms, ratio, (low[0], low[1]), (MARGIN, size[1] - MARGIN), size)


def outlines(case: Case, view: PlanView) -> tuple[Outline, ...]:
    """Return the furniture of a storey from above, the lowest first."""
    boxes: dict[str, list[Box]] = {}
    telling: dict[str, list[Box]] = {}
    for part in case.parts:
        if isinstance(part, SolidPart | PorousPart) and part.owner in case.furniture_words:
            boxes.setdefault(part.owner, []).append(part.box)
            if any(word in part.name for word in TELLING):
                telling.setdefault(part.owner, []).append(part.box)
    found = []
    for name, of_it in boxes.items():
        points = [point for box in of_it for point in corners(box)]
        heights = [point[2] for point in points]
        middle = (points[0][0], points[0][1], 0.5 * (min(heights) + max(heights)))
        if not view.holds(middle):
            continue
        floor = min(room.low[2] for room in view.rooms)
        shape = _shape(points, view)
        inner = tuple(_shape(corners(box), view) for box in telling.get(name, []))
        outline = Outline(
            name, shape, min(heights) - floor > OVERHEAD, max(heights) - floor < FLAT, inner
        )
        found.append((max(heights), outline))
    return tuple(outline for _, outline in sorted(found, key=lambda pair: pair[0]))


def _shape(points: Sequence[Vector], view: PlanView) -> tuple[Point, ...]:
    return tuple(view.at(x, y) for x, y in hull([(p[0], p[1]) for p in points]))


def hull(points: Sequence[Point]) -> list[Point]:
    """Return the corners of the convex hull of points, in order (Andrew 1979)."""
    ordered = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    if len(ordered) < 3:
        return ordered

    def half(along: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for point in along:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return [*half(ordered), *half(ordered[::-1])]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def turned(point: Point, direction: Point, along: float, across: float) -> Point:
    """Return a point ``along`` a direction on paper and ``across`` to its left [mm]."""
    size = math.hypot(*direction) or 1.0
    x, y = direction[0] / size, direction[1] / size
    return (point[0] + along * x + across * y, point[1] + along * y - across * x)
