"""The bodies of a room as quadrangles for the viewer: furniture, shell, machines, cold spots."""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simulator.case.dwelling import Doorway, Dwelling, Room, Side, Window
from simulator.case.parts import (
    AirMover,
    AirOutlet,
    Box,
    HeatedJet,
    Part,
    PorousPart,
    Probe,
    SolidPart,
)
from simulator.grid.grid import FloatArray, IntArray
from simulator.output.equipment_drawing import BODY, casing, machines
from simulator.output.furniture_drawing import box_patches
from simulator.output.pen import FAN, HEATER, SENSOR
from simulator.output.shell_drawing import CUT, DOOR, PANE, WALL_EDGE, WALLS, free_spans

UPRIGHT_SIDES = (Side.WEST, Side.EAST, Side.SOUTH, Side.NORTH)

SENSOR_RADIUS = 0.06  # as drawn [m]

#: Places are kept to this [m].
MILLIMETRE = 0.001


@dataclass(slots=True)
class Mesh:
    """Points [m] and quadrangles, and which of them belong to what."""

    points: list[FloatArray] = field(default_factory=list)
    quads: list[IntArray] = field(default_factory=list)
    point_count: int = 0
    quad_count: int = 0

    def add(self, points: FloatArray, quads: IntArray) -> tuple[int, int]:
        """Add a body; return the first of its quadrangles and the first after them."""
        first = self.quad_count
        self.points.append(points)
        self.quads.append(quads + self.point_count)
        self.point_count += len(points)
        self.quad_count += len(quads)
        return first, self.quad_count

    def places(self, origin: FloatArray) -> NDArray[np.int16]:
        """Return all points (N, 3) [mm] from an origin [m]."""
        points = np.concatenate(self.points) if self.points else np.zeros((0, 3))
        return np.rint((points - origin) / MILLIMETRE).astype(np.int16)

    def corners(self) -> NDArray[np.uint32]:
        """Return the corners (M, 4) of all quadrangles, as numbers of points."""
        quads = np.concatenate(self.quads) if self.quads else np.zeros((0, 4), np.int64)
        return quads.astype(np.uint32)


def furniture_of(parts: tuple[Part, ...]) -> list[SolidPart | PorousPart]:
    """Return the boxes that belong to no machine."""
    blowing = machines(parts)
    return [
        part
        for part in parts
        if isinstance(part, SolidPart | PorousPart) and part.owner not in blowing
    ]


def add_box(mesh: Mesh, box: Box) -> tuple[int, int]:
    """Add a box by its eight corners."""
    points, quads = box_patches(box, max(box.size) * 4.0)
    return mesh.add(points, quads)


def shell_bodies(mesh: Mesh, dwelling: Dwelling) -> list[tuple[str, tuple[int, int]]]:
    """Add walls as faces seen from inside only, shut doors and windows; return their colours."""
    is_cut = len(dwelling.rooms) > 1
    found = []
    for room in dwelling.rooms:
        top = room.low[2] + CUT if is_cut else room.high[2]
        for side in UPRIGHT_SIDES:
            for start, end, bottom in free_spans(dwelling, room, side):
                if bottom < top:
                    face = _wall(room, side, (start, end), (bottom, top))
                    found.append((WALLS[side.axis], mesh.add(*face)))
    for window in dwelling.windows:
        found += _window(mesh, dwelling, window, is_cut=is_cut)
    found += [_leaf(mesh, door) for door in dwelling.doorways if not door.is_open]
    return found


def _wall(
    room: Room, side: Side, along: tuple[float, float], height: tuple[float, float]
) -> tuple[FloatArray, IntArray]:
    """Return one quadrangle, anticlockwise as seen from inside the room."""
    at = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
    corners = np.zeros((4, 3))
    corners[:, side.axis] = at
    corners[:, 1 - side.axis] = [along[0], along[1], along[1], along[0]]
    corners[:, 2] = [height[0], height[0], height[1], height[1]]
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[1])
    order = [0, 1, 2, 3] if normal[side.axis] * side.sign < 0.0 else [3, 2, 1, 0]
    return corners, np.array([order])


def _window(
    mesh: Mesh, dwelling: Dwelling, window: Window, *, is_cut: bool
) -> list[tuple[str, tuple[int, int]]]:
    """Add a pane just inside its wall; a window in a floor or ceiling is left out."""
    if window.side.axis == 2:
        return []
    room = next(room for room in dwelling.rooms if room.name == window.room)
    top = min(window.high[2], room.low[2] + CUT - 0.01) if is_cut else window.high[2]
    if top - window.low[2] < 0.03:
        return []
    across = 1 - window.side.axis
    points, quads = _wall(
        room, window.side, (window.low[across], window.high[across]), (window.low[2], top)
    )
    frame = points.copy()
    points[:, window.side.axis] -= 0.012 * window.side.sign
    frame[:, window.side.axis] -= 0.006 * window.side.sign
    middle = frame.mean(axis=0)
    wide = np.sign(frame - middle) * 0.04
    wide[:, window.side.axis] = 0.0
    return [
        (WALL_EDGE, mesh.add(frame + wide, quads)),
        (PANE, mesh.add(points, quads)),
    ]


def _leaf(mesh: Mesh, door: Doorway) -> tuple[str, tuple[int, int]]:
    size = [high - low for low, high in zip(door.low, door.high, strict=True)]
    size[2] = min(size[2], CUT)
    middle = [low + 0.5 * length for low, length in zip(door.low, size, strict=True)]
    box = Box((middle[0], middle[1], middle[2]), (size[0], size[1], size[2]))
    return DOOR, add_box(mesh, box)


def machine_bodies(mesh: Mesh, parts: tuple[Part, ...]) -> list[tuple[str, str, tuple[int, int]]]:
    """Add discs of fans and outlets, casings and exhausts; return owner, colour and quadrangles."""
    blowing = machines(parts)
    found = []
    for part in parts:
        if isinstance(part, AirMover):
            found.append((part.owner, FAN, mesh.add(*_drum(part))))
        elif isinstance(part, HeatedJet):
            found.append((part.owner, HEATER, mesh.add(*_drum(part))))
            if part.intake is not None:
                found.append((part.owner, HEATER, add_box(mesh, casing(part, part.intake))))
        elif isinstance(part, AirOutlet):
            found.append((part.owner, FAN, add_box(mesh, part.box)))
        elif isinstance(part, SolidPart | PorousPart) and part.owner in blowing:
            found.append((part.owner, BODY, add_box(mesh, part.box)))
    return found


def sensor_bodies(mesh: Mesh, probes: tuple[Probe, ...]) -> list[tuple[str, str, tuple[int, int]]]:
    """Add a small ball of eight faces for every sensor; return as ``machine_bodies`` does."""
    east, north, up = SENSOR_RADIUS * np.eye(3)
    found = []
    for probe in probes:
        if probe.limit is None:
            corners = np.array([up, east, north, -east, -north, -up]) + np.asarray(probe.position)
            ring = [1, 2, 3, 4, 1]
            faces = [[0, a, b, b] for a, b in pairwise(ring)] + [
                [5, b, a, a] for a, b in pairwise(ring)
            ]
            found.append((probe.owner, SENSOR, mesh.add(corners, np.array(faces))))
    return found


def _drum(part: AirMover | HeatedJet, sides: int = 16) -> tuple[FloatArray, IntArray]:
    """Return a short cylinder that ends at the outlet, with a cone that shows where air goes."""
    ahead = np.asarray(part.direction) / np.linalg.norm(part.direction)
    across = np.cross(ahead, (0.0, 0.0, 1.0) if abs(ahead[2]) < 0.9 else (1.0, 0.0, 0.0))
    across /= np.linalg.norm(across)
    up = np.cross(across, ahead)
    angle = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)
    ring = np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * up
    radius, centre = 0.5 * part.diameter, np.asarray(part.centre)
    rings = ((0.0, -0.08), (radius, -0.08), (radius, 0.0), (0.35 * radius, 0.0))
    points = [centre + size * ring + shift * ahead for size, shift in rings]
    points.append(centre + 0.0 * ring + 0.9 * part.diameter * ahead)  # the tip of the cone
    here = np.arange(sides)
    ahead_of = (here + 1) % sides
    quads = [
        np.stack([row * sides + here, row * sides + ahead_of, n + ahead_of, n + here], axis=1)
        for row in range(len(points) - 1)
        for n in ((row + 1) * sides,)
    ]
    return np.concatenate(points), np.concatenate(quads)
