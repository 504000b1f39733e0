"""Places for labels in a picture, so that none covers another."""

from dataclasses import dataclass

import numpy as np

Rectangle = tuple[float, float, float, float]  # left, top, right, bottom [pixels]


@dataclass(frozen=True, slots=True)
class Label:
    """A text of ``width`` and ``height`` that belongs to the point ``anchor`` [pixels].

    ``reach`` is how far its middle must be from the anchor at least: zero for a badge that sits on
    it. ``is_shy`` says that it gives way to what must stay in sight.
    """

    anchor: tuple[float, float]
    width: float
    height: float
    reach: float = 0.0
    is_shy: bool = False


def place_labels(
    labels: list[Label], size: tuple[int, int], obstacles: tuple[Rectangle, ...] = ()
) -> list[tuple[float, float]]:
    """Return the middle of each label [pixels]; earlier labels have the first choice.

    ``obstacles`` are what shy labels leave in sight.

    Rings of candidate places around the anchor are tried outwards; the first one that is free and
    inside the picture is taken, or the one with the least overlap if none is.
    """
    taken: list[Rectangle] = []
    middles = []
    for label in labels:
        avoided = [*taken, *obstacles] if label.is_shy else taken
        costs = [(_cost(label, middle, avoided, size), middle) for middle in _candidates(label)]
        middle = min(costs, key=lambda pair: pair[0])[1]
        middles.append(middle)
        taken.append(_rectangle(label, middle))
    return middles


def _candidates(label: Label) -> list[tuple[float, float]]:
    x, y = label.anchor
    places = [(x, y)] if label.reach == 0.0 else []
    step = 0.5 * label.height + 4.0
    for ring in range(1, 7):
        across = label.reach + ring * step
        for angle in np.radians([-90, 90, 0, 180, -45, -135, 45, 135]):
            sideways = 0.5 * label.width if label.reach > 0.0 else 0.0
            places.append(
                (
                    x + (across + sideways) * float(np.cos(angle)),
                    y + across * float(np.sin(angle)),
                )
            )
    return places


def _rectangle(label: Label, middle: tuple[float, float]) -> Rectangle:
    x, y = middle
    return (
        x - 0.5 * label.width,
        y - 0.5 * label.height,
        x + 0.5 * label.width,
        y + 0.5 * label.height,
    )


def _cost(
    label: Label, middle: tuple[float, float], taken: list[Rectangle], size: tuple[int, int]
) -> float:
    box = _rectangle(label, middle)
    outside = (
        max(0.0, -box[0])
        + max(0.0, -box[1])
        + max(0.0, box[2] - size[0])
        + max(0.0, box[3] - size[1])
    )
    covered = sum(_overlap(box, other) for other in taken)
    away = float(np.hypot(middle[0] - label.anchor[0], middle[1] - label.anchor[1]))
    return 100.0 * outside + 10.0 * covered + 0.01 * away


def _overlap(one: Rectangle, other: Rectangle) -> float:
    width = min(one[2], other[2]) - max(one[0], other[0])
    height = min(one[3], other[3]) - max(one[1], other[1])
    return max(0.0, width) * max(0.0, height)
