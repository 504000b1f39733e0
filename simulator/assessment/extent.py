"""Boxes with faces along the axes: where a region, a piece of furniture or a room lies."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.case.parts import Box, PorousPart, SolidPart, Vector
from simulator.grid.grid import FloatArray


@dataclass(frozen=True, slots=True)
class Extent:
    """The box between two corners [m]."""

    low: Vector
    high: Vector

    @property
    def centre(self) -> Vector:
        """The middle of the box [m]."""
        x, y, z = (0.5 * (self.low[axis] + self.high[axis]) for axis in range(3))
        return (x, y, z)

    def length(self, axis: int) -> float:
        """Return the extent along an axis [m]."""
        return self.high[axis] - self.low[axis]

    def share_of(self, whole: "Extent", axis: int) -> float:
        """Return how much of ``whole`` this box spans along an axis, 0 to 1 [-]."""
        common = min(self.high[axis], whole.high[axis]) - max(self.low[axis], whole.low[axis])
        return max(0.0, common) / max(whole.length(axis), 1e-9)

    def position_in(self, whole: "Extent", axis: int) -> float:
        """Return where this box's centre lies in ``whole`` along an axis, 0 low to 1 high [-]."""
        return (self.centre[axis] - whole.low[axis]) / max(whole.length(axis), 1e-9)


def extent_of_points(points: FloatArray) -> Extent:
    """Return the smallest extent that holds points, shape (n, 3) [m]."""
    return Extent(_vector(points.min(axis=0)), _vector(points.max(axis=0)))


def extent_of_box(box: Box) -> Extent:
    """Return the smallest extent that holds a turned and tilted box.

    The box is tilted about its own x axis first and then turned about the vertical, so its half
    extent along each axis of the room is |R| (size / 2) with R = R_z(turn) R_x(tilt).
    """
    turn, tilt = np.radians(box.turn), np.radians(box.tilt)
    c, s, ct, st = np.cos(turn), np.sin(turn), np.cos(tilt), np.sin(tilt)
    rotation = np.array([[c, -s * ct, s * st], [s, c * ct, -c * st], [0.0, st, ct]])
    half = np.abs(rotation) @ (0.5 * np.array(box.size))
    centre = np.array(box.centre)
    return Extent(_vector(centre - half), _vector(centre + half))


def union(extents: Iterable[Extent]) -> Extent:
    """Return the smallest extent that holds all of several (at least one)."""
    corners = np.array([(extent.low, extent.high) for extent in extents])
    return Extent(_vector(corners[:, 0].min(axis=0)), _vector(corners[:, 1].max(axis=0)))


def extents_of_owners(case: Case) -> dict[str, Extent]:
    """Return for each owner of solid or porous parts the extent of all of them."""
    boxes: dict[str, list[Extent]] = {}
    for part in case.parts:
        if isinstance(part, SolidPart | PorousPart):
            boxes.setdefault(part.owner, []).append(extent_of_box(part.box))
    return {owner: union(extents) for owner, extents in boxes.items()}


def _vector(values: FloatArray) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)
