"""Room for labels on the plan: each is put where nothing else is written or drawn."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simulator.grid.grid import FloatArray

Point = tuple[float, float]
Rectangle = tuple[float, float, float, float]  # left, top, right, bottom [mm]

#: Rings of places about a point, their distance [mm], and places on each.
RINGS, RING, ANGLES = 40, 0.8, 24

#: Places along each side of a piece of furniture, and of a room, that a label may lie in.
STEPS_OF_PIECE, STEPS_OF_ROOM = 13, 40

#: What is worse by how much: to cover something [1/mm²], to lie beyond the edge [1/mm], to cross a
#: line [1/mm²], to be far away [1/mm] (our choice: a label that covers anything is of no use).
COVERS, BEYOND, CROSSES, FAR = 100.0, 100.0, 1.5, 0.02


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
        angle = 2.0 * np.pi * np.arange(ANGLES) / ANGLES
        far = reach + RING * np.arange(RINGS)[:, None]
        x = anchor[0] + (far + 0.5 * width) * np.cos(angle)
        y = anchor[1] - (far + 0.5 * height) * np.sin(angle)
        return self._take(np.stack([x.ravel(), y.ravel()], axis=1), width, height, anchor)

    def within(self, box: Rectangle, width: float, height: float) -> Point | None:
        """Return the middle of a label inside a piece, or None if there is no free room for it.

        It may cross no lines but the edges of the piece itself.
        """
        places = _inside(box, width, height, STEPS_OF_PIECE)
        own = edges(box)
        lines = [line for line in self.lines if line not in own]
        hit = covered(places, width, height, [*self.drawn, *self.written, *lines])
        free = places[hit <= 0.0]
        return self._take(free, width, height, _middle(box)) if len(free) else None

    def anywhere_in(
        self, box: Rectangle, width: float, height: float, *, is_forced: bool = False
    ) -> Point | None:
        """Return the middle of a label inside a room, off the lines if that can be.

        None if it would cover something there, unless ``is_forced``.
        """
        places = _inside(box, width, height, STEPS_OF_ROOM)
        if is_forced and not len(places):
            places = np.array([_middle(box)])
        if not is_forced:
            places = places[covered(places, width, height, [*self.drawn, *self.written]) <= 0.0]
        return self._take(places, width, height, _middle(box)) if len(places) else None

    def _take(self, places: FloatArray, width: float, height: float, anchor: Point) -> Point:
        """Return the best of some places; the label is written there."""
        left, top, right, bottom = self.whole
        x, y = places.T
        beyond = (
            np.maximum(left + 0.5 * width - x, 0.0)
            + np.maximum(x + 0.5 * width - right, 0.0)
            + np.maximum(top + 0.5 * height - y, 0.0)
            + np.maximum(y + 0.5 * height - bottom, 0.0)
        )
        cost = (
            COVERS * covered(places, width, height, [*self.drawn, *self.written])
            + BEYOND * beyond
            + CROSSES * covered(places, width, height, self.lines)
            + FAR * np.hypot(x - anchor[0], y - anchor[1])
        )
        best = int(np.argmin(cost))
        place = (float(x[best]), float(y[best]))
        self.written.append(about(place, width, height))
        return place


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


def covered(
    places: FloatArray, width: float, height: float, taken: Sequence[Rectangle]
) -> FloatArray:
    """Return what labels about places (N, 2) would cover of what is taken, shape (N,) [mm²]."""
    if not len(taken):
        return np.zeros(len(places))
    left, top, right, bottom = np.array(taken).T
    x, y = places[:, :1], places[:, 1:]
    across = np.minimum(x + 0.5 * width, right) - np.maximum(x - 0.5 * width, left)
    down = np.minimum(y + 0.5 * height, bottom) - np.maximum(y - 0.5 * height, top)
    area: FloatArray = (np.maximum(across, 0.0) * np.maximum(down, 0.0)).sum(axis=1)
    return area


def _inside(box: Rectangle, width: float, height: float, steps: int) -> FloatArray:
    """Return places (N, 2) of a label inside a box; none if it is too large for it."""
    left, top, right, bottom = box
    if right - left < width or bottom - top < height:
        return np.zeros((0, 2))
    x = np.linspace(left + 0.5 * width, right - 0.5 * width, steps)
    y = np.linspace(top + 0.5 * height, bottom - 0.5 * height, steps)
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def _middle(box: Rectangle) -> Point:
    return (0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3]))
