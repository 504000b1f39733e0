"""Do boxes overlap, do they stand in a room: exact tests for turned and tilted boxes."""

import math
from itertools import product

from simulator.case.parts import Box, Vector

_Axes = tuple[Vector, Vector, Vector]


def box_axes(box: Box) -> _Axes:
    """Return the unit vectors of the box's axes: tilted about its x axis, then turned about z."""
    a, b = math.radians(box.turn), math.radians(box.tilt)
    sin_turn, cos_turn = _rounded(math.sin(a)), _rounded(math.cos(a))
    sin_tilt, cos_tilt = _rounded(math.sin(b)), _rounded(math.cos(b))
    return (
        (cos_turn, sin_turn, 0.0),
        (-sin_turn * cos_tilt, cos_turn * cos_tilt, sin_tilt),
        (sin_turn * sin_tilt, -cos_turn * sin_tilt, cos_tilt),
    )


def _rounded(value: float) -> float:
    """Return a sine or cosine with the round-off of right angles taken away."""
    return round(value, 15)


def corners(box: Box) -> list[Vector]:
    """Return the eight corners of a box in dwelling coordinates [m]."""
    axes = box_axes(box)
    points = []
    for signs in product((-0.5, 0.5), repeat=3):
        offsets = [sign * length for sign, length in zip(signs, box.size, strict=True)]
        x, y, z = (
            box.centre[i]
            + sum(offset * axis[i] for offset, axis in zip(offsets, axes, strict=True))
            for i in range(3)
        )
        points.append((x, y, z))
    return points


def overlap_depth(first: Box, second: Box) -> float:
    """Return how far one box would have to move to leave the other [m]; negative if they are apart.

    Notes
    -----
    Separating axes: two boxes are apart if and only if their shadows are apart on one of the three
    axes of either or one of the nine cross products (Gottschalk, Lin & Manocha 1996, from memory).
    """
    first_axes, second_axes = box_axes(first), box_axes(second)
    candidates = [*first_axes, *second_axes]
    candidates += [_cross(a, b) for a in first_axes for b in second_axes]
    between = _minus(second.centre, first.centre)
    depth = math.inf
    for axis in candidates:
        length = math.sqrt(_dot(axis, axis))
        if length < 1e-9:
            continue
        reach = _reach(first, first_axes, axis) + _reach(second, second_axes, axis)
        depth = min(depth, (reach - abs(_dot(between, axis))) / length)
    return depth


def may_overlap(first: Box, second: Box) -> bool:
    """Return False if two boxes are so far apart that their spheres do not meet; it is quick."""
    return math.dist(first.centre, second.centre) < 0.5 * (
        math.hypot(*first.size) + math.hypot(*second.size)
    )


def contains(box: Box, point: Vector) -> bool:
    """Return whether a point lies strictly inside a box."""
    offset = _minus(point, box.centre)
    return all(
        abs(_dot(offset, axis)) < 0.5 * length
        for axis, length in zip(box_axes(box), box.size, strict=True)
    )


def _reach(box: Box, axes: _Axes, axis: Vector) -> float:
    """Return half the length of the box's shadow on an axis (times the axis' length)."""
    return sum(0.5 * size * abs(_dot(own, axis)) for size, own in zip(box.size, axes, strict=True))


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vector, b: Vector) -> Vector:
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])
