"""Where the camera stands, and where a point of the dwelling then falls in the picture."""

from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Dwelling, Room, Side
from simulator.case.parts import Part, PorousPart, SolidPart, Vector
from simulator.grid.grid import FloatArray

#: Vertical opening of the lens [deg]; small, so that boxes look like boxes.
LENS = 24.0


@dataclass(frozen=True, slots=True)
class Viewpoint:
    """A camera that looks from ``position`` to ``focus`` [m], upright, onto ``size`` pixels."""

    position: Vector
    focus: Vector
    size: tuple[int, int]

    def project(self, points: FloatArray) -> FloatArray:
        """Return pixels (N, 2) of points (N, 3) [m], from the picture's upper left corner."""
        right, up, ahead = self._axes()
        offset = np.atleast_2d(points) - np.asarray(self.position)
        depth = offset @ ahead
        scale = 0.5 * self.size[1] / np.tan(np.radians(0.5 * LENS))
        x = 0.5 * self.size[0] + scale * (offset @ right) / depth
        y = 0.5 * self.size[1] - scale * (offset @ up) / depth
        return np.stack([x, y], axis=1)

    def sees_inside(self, room: Room, side: Side) -> bool:
        """Return whether the camera is on the room's side of this wall (else the wall hides it)."""
        face = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
        return side.sign * (face - self.position[side.axis]) > 0.0

    def _axes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        ahead = np.asarray(self.focus) - np.asarray(self.position)
        ahead /= np.linalg.norm(ahead)
        right = np.cross(ahead, (0.0, 0.0, 1.0))
        right /= np.linalg.norm(right)
        return right, np.cross(right, ahead), ahead


def choose_viewpoint(
    dwelling: Dwelling, parts: tuple[Part, ...], size: tuple[int, int], margin: float = 0.04
) -> Viewpoint:
    """Return a view in which tall furniture stands at the back and the whole dwelling fits.

    One room is seen from a corner; several rooms from higher up, almost as a plan.
    """
    corners = _corners(dwelling, has_walls=len(dwelling.rooms) == 1)
    elevation = 36.0 if len(dwelling.rooms) == 1 else 58.0
    azimuth = _clearest_azimuth(dwelling, parts)
    focus = 0.5 * (corners.min(axis=0) + corners.max(axis=0))
    direction = np.array(
        [
            np.cos(np.radians(elevation)) * np.cos(np.radians(azimuth)),
            np.cos(np.radians(elevation)) * np.sin(np.radians(azimuth)),
            np.sin(np.radians(elevation)),
        ]
    )
    distance = 4.0 * float(np.linalg.norm(np.ptp(corners, axis=0)))
    for _ in range(12):
        view = Viewpoint(_vector(focus + distance * direction), _vector(focus), size)
        pixels = view.project(corners)
        low, high = pixels.min(axis=0), pixels.max(axis=0)
        fill = float(np.max((high - low) / np.asarray(size))) / (1.0 - 2.0 * margin)
        right, up, _ = view._axes()
        metres = 2.0 * distance * np.tan(np.radians(0.5 * LENS)) / size[1]
        shift = 0.5 * (low + high) - 0.5 * np.asarray(size)
        focus = focus + metres * (shift[0] * right - shift[1] * up)
        distance *= fill
    return Viewpoint(_vector(focus + distance * direction), _vector(focus), size)


def _corners(dwelling: Dwelling, *, has_walls: bool) -> FloatArray:
    """Return the points (N, 3) [m] that must be in the picture."""
    rows = []
    for room in dwelling.rooms:
        top = room.high[2] if has_walls else room.low[2] + 1.0
        rows += [
            (x, y, z)
            for x in (room.low[0] - 0.12, room.high[0] + 0.12)
            for y in (room.low[1] - 0.12, room.high[1] + 0.12)
            for z in (room.low[2] - 0.05, top)
        ]
    return np.array(rows)


def _clearest_azimuth(dwelling: Dwelling, parts: tuple[Part, ...]) -> float:
    """Return the direction of the camera [deg from east] with the least tall stuff before it."""
    low = np.min([room.low for room in dwelling.rooms], axis=0)
    high = np.max([room.high for room in dwelling.rooms], axis=0)
    middle = 0.5 * (low + high)
    extent = high - low
    # Look along the short way, so that the long walls are at the back and the picture is wide.
    lean = 58.0 if len(dwelling.rooms) == 1 else 72.0
    from_x = lean if extent[0] >= extent[1] else 90.0 - lean
    stuff = [part.box for part in parts if isinstance(part, SolidPart | PorousPart)]
    best, least = 0.0, np.inf
    for azimuth in (-from_x, from_x - 180.0, 180.0 - from_x, from_x):
        toward = np.array([np.cos(np.radians(azimuth)), np.sin(np.radians(azimuth))])
        hidden = sum(
            box.volume * (box.centre[2] + 0.5 * box.size[2]) * _dot(box.centre, middle, toward)
            for box in stuff
        )
        if hidden < least - 1e-9:
            best, least = azimuth, hidden
    return best


def _dot(point: Vector, middle: FloatArray, toward: FloatArray) -> float:
    return float((np.asarray(point[:2]) - middle[:2]) @ toward)


def _vector(values: FloatArray) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))
