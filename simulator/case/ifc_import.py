"""Building models (IFC) as plain boxes: the one place that knows the optional ``ifcopenshell``.

Rooms are the boxes around the model's spaces, doors and windows the boxes around theirs, furniture
the box along its own axes. A building that stands askew is turned so that its walls run along x
and y. All lengths in metres: IFC files state their unit.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from simulator.case.mesh_import import FloatArray, IntArray
from simulator.errors import CaseError, RoomsoakError

#: A space that fills less of the box around it is told as no box [-] (choice).
BOX_SHARE = 0.98


@dataclass(frozen=True, slots=True)
class ModelBox:
    """A box around a thing of the model.

    Attributes
    ----------
    name : as a crew would call it, unique among its like.
    centre : [m].
    size : along its own axes [m].
    turn : anticlockwise from above [deg].
    fills : share of the box that the thing itself fills [-]; nan: not known.
    """

    name: str
    centre: tuple[float, float, float]
    size: tuple[float, float, float]
    turn: float = 0.0
    fills: float = math.nan

    def low(self, axis: int) -> float:
        """Return the lowest coordinate of a box that is not turned [m]."""
        return self.centre[axis] - 0.5 * self.size[axis]

    def high(self, axis: int) -> float:
        """Return the highest coordinate of a box that is not turned [m]."""
        return self.centre[axis] + 0.5 * self.size[axis]


@dataclass(frozen=True, slots=True)
class BuildingModel:
    """What is read of a building model."""

    name: str
    spaces: tuple[ModelBox, ...]
    doors: tuple[ModelBox, ...]
    windows: tuple[ModelBox, ...]
    inner_walls: tuple[ModelBox, ...]  # said not to be external
    furniture: tuple[ModelBox, ...]
    turned: float  # how far the building was turned to stand straight [deg]


def read_building(path: Path) -> BuildingModel:
    """Return the boxes of a building model.

    Raises
    ------
    RoomsoakError
        ``ifcopenshell`` is not installed.
    CaseError
        One line: no IFC file, damaged, or without spaces.
    """
    try:
        with path.open("rb") as file:
            head = file.read(20)
    except OSError as error:
        raise CaseError(f"{path}: cannot be read ({error.strerror})") from None
    if not head.lstrip(b"\xef\xbb\xbf \r\n").startswith(b"ISO-10303-21"):
        raise CaseError(f"{path}: not an IFC file; it must begin with ISO-10303-21")
    try:
        import ifcopenshell
        import ifcopenshell.geom
    except ImportError:
        raise RoomsoakError(
            "IFC files are read by the package ifcopenshell; install it with "
            "pip install 'roomsoak[ifc]'"
        ) from None
    try:
        model: Any = ifcopenshell.open(str(path))
        shapes = _Shapes(model, ifcopenshell.geom)
        spaces = shapes.of("IfcSpace")
    except (OSError, RuntimeError, ValueError, AttributeError, ifcopenshell.Error) as error:
        reason = " ".join(str(error).split())[:120]
        raise CaseError(f"{path}: cannot be read as IFC ({reason}); is it damaged?") from None
    if not spaces:
        raise CaseError(
            f"{path}: it has no spaces (IfcSpace) with a shape; export the model with its rooms"
        )
    angle = _askew([points for _, points, _ in spaces])
    box = _boxes(angle)
    return BuildingModel(
        name=_building_name(model) or path.stem,
        spaces=box(spaces, False),
        doors=box(shapes.of("IfcDoor"), False),
        windows=box(shapes.of("IfcWindow"), False),
        inner_walls=box([wall for wall in shapes.of("IfcWall") if _is_inner(wall[0])], False),
        furniture=box(shapes.of("IfcFurnishingElement"), True),
        turned=math.degrees(angle),
    )


_Shape = tuple[Any, FloatArray, IntArray]  # the thing, its points (n, 3), its triangles (m, 3)


class _Shapes:
    """Makes the shapes of a model's things in world coordinates [m]."""

    def __init__(self, model: Any, geom: Any) -> None:
        self._model, self._geom = model, geom
        self._settings = geom.settings()
        self._settings.set("use-world-coords", True)

    def of(self, kind: str) -> list[_Shape]:
        """Return the things of a kind that have a shape."""
        found = []
        for thing in self._model.by_type(kind):
            if thing.Representation is None:
                continue
            try:
                shape = self._geom.create_shape(self._settings, thing)
            except RuntimeError:
                continue
            points = np.array(shape.geometry.verts, dtype=np.float64).reshape(-1, 3)
            faces = np.array(shape.geometry.faces, dtype=np.int64).reshape(-1, 3)
            if len(points):
                found.append((thing, points, faces))
        return found


def _askew(clouds: list[FloatArray]) -> float:
    """Return how far walls stand from the axes [rad], by the least area of the rooms' boxes."""

    def area(angle: float) -> float:
        return sum(
            float(np.prod(np.ptp(points[:, :2] @ _turning(-angle), axis=0))) for points in clouds
        )

    angles = np.radians(np.arange(-45.0, 45.0, 0.5))
    best = float(min(angles, key=area))
    fine = best + np.radians(np.linspace(-0.5, 0.5, 201))
    best = float(min(fine, key=area))
    return 0.0 if abs(best) < math.radians(0.01) else best


def _turning(angle: float) -> FloatArray:
    """Return the matrix that turns rows of points (n, 2) anticlockwise by an angle [rad]."""
    cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([[cosine, sine], [-sine, cosine]])


def _boxes(angle: float) -> Callable[[list[_Shape], bool], tuple[ModelBox, ...]]:
    """Return what makes boxes of shapes, in a building turned back by an angle [rad]."""

    def boxes(shapes: list[_Shape], along_own_axes: bool) -> tuple[ModelBox, ...]:
        names: set[str] = set()
        found = []
        for thing, points, faces in shapes:
            own = _own_angle(thing) - angle if along_own_axes else 0.0
            straight = points.copy()
            straight[:, :2] = points[:, :2] @ _turning(-angle - own)
            low, high = straight.min(axis=0), straight.max(axis=0)
            middle = 0.5 * (low + high)
            middle[:2] = middle[:2] @ _turning(own)
            x, y, z = (float(value) for value in np.round(middle, 6))
            a, b, c = (float(value) for value in np.round(high - low, 6))
            volume = _volume(straight, faces)
            name = _free(_name(thing), names)
            turn = round(math.degrees(own), 3) % 360.0
            found.append(ModelBox(name, (x, y, z), (a, b, c), turn, volume / (a * b * c)))
        return tuple(found)

    return boxes


def _volume(points: FloatArray, faces: IntArray) -> float:
    one, two, three = np.moveaxis((points - points.mean(axis=0))[faces], 1, 0)
    return abs(float(np.einsum("ij,ij->", one, np.cross(two, three)))) / 6.0


def _own_angle(thing: Any) -> float:
    """Return how far the x axis of a thing's placement is turned [rad]."""
    import ifcopenshell.util.placement

    matrix = ifcopenshell.util.placement.get_local_placement(thing.ObjectPlacement)
    return math.atan2(float(matrix[1][0]), float(matrix[0][0]))


def _is_inner(wall: Any) -> bool:
    import ifcopenshell.util.element

    common = ifcopenshell.util.element.get_pset(wall, "Pset_WallCommon") or {}
    return common.get("IsExternal") is False


def _name(thing: Any) -> str:
    """Return what a thing is called, on one short line."""
    words = getattr(thing, "LongName", None) or thing.Name or thing.is_a().removeprefix("Ifc")
    plain = "".join(sign if sign.isprintable() else " " for sign in str(words))
    return " ".join(plain.replace(".", " ").split())[:50] or "unnamed"


def _free(name: str, taken: set[str]) -> str:
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name} {number}"
    taken.add(free)
    return free


def _building_name(model: Any) -> str:
    buildings = model.by_type("IfcBuilding")
    return _name(buildings[0]) if buildings else ""
