"""Room for labels on the plan: each is put where nothing else is written or drawn."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

Point = tuple[float, float]
Rectangle = tuple[float, float, float, float]  # left, top, right, bottom [mm]

#: Rings of places about a point, their distance [mm], and places on each.
RINGS, RING, ANGLES = 40, 0.8, 24

#: Places along each side of a box that a label may lie in.
STEPS = 13


@dataclass(slots=True)
class LabelSpace:
    """What is taken on a drawing.

    ``drawn`` are symbols, ``written`` labels; a label may touch neither. ``lines`` are what it had
    rather not cover: outlines of furniture.
    """

    whole: Rectangle
    drawn: list[Rectangle] = field(default_factory=list)
    written: list[Rectangle] = field(default_factory=list)
    lines: list[Rectangle] = field(default_factory=list)

    def near(self, anchor: Point, width: float, height: float, reach: float = 0.0) -> Point:
        """Return the middle of a label beside a point, as near as may be; it is taken then.

        ``reach`` [mm] is how far its nearest edge is to be from the point at least.
        """
        return self._take(_around(anchor, width, height, reach), width, height, anchor)

    def within(self, box: Rectangle, width: float, height: float) -> Point | None:
        """Return the middle of a label inside a box, or None if it does not fit there freely."""
        left, top, right, bottom = box
        across, down = right - left - width, bottom - top - height
        if across < 0.0 or down < 0.0:
            return None
        middle = (0.5 * (left + right), 0.5 * (top + bottom))
        shares = [
            (i / (STEPS - 1) - 0.5, j / (STEPS - 1) - 0.5)
            for i in range(STEPS)
            for j in range(STEPS)
        ]
        shares.sort(key=lambda share: share[0] ** 2 + share[1] ** 2)
        for i, j in shares:
            place = (middle[0] + i * across, middle[1] + j * down)
            rectangle = about(place, width, height)
            if not self._covered(rectangle) and not self._crosses(rectangle, box):
                self.written.append(rectangle)
                return place
        return None

    def anywhere_in(self, box: Rectangle, width: float, height: float) -> Point:
        """Return the middle of a label inside a box, off the lines if that can be."""
        left, top, right, bottom = box
        steps = 2 * STEPS
        places = [
            (
                left + 0.5 * width + max(right - left - width, 0.0) * i / steps,
                top + 0.5 * height + max(bottom - top - height, 0.0) * j / steps,
            )
            for i in range(steps + 1)
            for j in range(steps + 1)
        ]
        return self._take(places, width, height, (0.5 * (left + right), 0.5 * (top + bottom)))

    def _take(self, places: Iterable[Point], width: float, height: float, anchor: Point) -> Point:
        best, least = anchor, math.inf
        for place in places:
            far = math.dist(place, anchor)
            if 0.02 * far >= least:
                continue
            rectangle = about(place, width, height)
            cost = 0.02 * far + 100.0 * (self._covered(rectangle) + self._outside(rectangle))
            cost += 1.5 * sum(overlap(rectangle, line) for line in self.lines)
            if cost < least:
                best, least = place, cost
        self.written.append(about(best, width, height))
        return best

    def _crosses(self, rectangle: Rectangle, own: Rectangle) -> bool:
        """Return whether a label in the box ``own`` would cross lines that are not the box's."""
        return any(overlap(rectangle, line) > 0.0 for line in self.lines if not _is_edge(line, own))

    def _covered(self, rectangle: Rectangle) -> float:
        return sum(overlap(rectangle, other) for other in (*self.drawn, *self.written))

    def _outside(self, rectangle: Rectangle) -> float:
        left, top, right, bottom = self.whole
        return (
            max(left - rectangle[0], 0.0)
            + max(top - rectangle[1], 0.0)
            + max(rectangle[2] - right, 0.0)
            + max(rectangle[3] - bottom, 0.0)
        )


def about(middle: Point, width: float, height: float) -> Rectangle:
    """Return the rectangle of a size about its middle."""
    x, y = middle
    return (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)


def edges(bounds: Rectangle, width: float = 0.3) -> list[Rectangle]:
    """Return the four sides of a rectangle as thin rectangles [mm]."""
    left, top, right, bottom = bounds
    return [
        (left, top, right, top + width),
        (left, bottom - width, right, bottom),
        (left, top, left + width, bottom),
        (right - width, top, right, bottom),
    ]


def _is_edge(line: Rectangle, box: Rectangle) -> bool:
    return line in edges(box)


def overlap(one: Rectangle, other: Rectangle) -> float:
    """Return the area that two rectangles share [mm²]."""
    width = min(one[2], other[2]) - max(one[0], other[0])
    height = min(one[3], other[3]) - max(one[1], other[1])
    return max(width, 0.0) * max(height, 0.0)


def _around(anchor: Point, width: float, height: float, reach: float) -> Iterator[Point]:
    """Yield places about a point, ring by ring."""
    for ring in range(RINGS):
        for step in range(ANGLES):
            angle = 2.0 * math.pi * step / ANGLES
            far = reach + ring * RING
            yield (
                anchor[0] + (far + 0.5 * width) * math.cos(angle),
                anchor[1] - (far + 0.5 * height) * math.sin(angle),
            )
