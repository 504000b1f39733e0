"""Cell planes: rectilinear, on every room plane and, where no sliver comes of it, on door jambs."""

import itertools
from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Doorway, Dwelling, Room
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray

#: Planes nearer than this are the same plane [m]: the noise of adding lengths in other units.
SAME_PLANE = 1e-6

#: Room planes nearer than this share of a cell cannot be told apart [-] (choice: a thinner layer of
#: cells would be too stiff for the airflow).
LEAST_LAYER = 0.35

#: Door jambs and heads become planes only if they leave cells of this share of a cell [-] (choice).
LEAST_JAMB_LAYER = 0.7

#: More cells than this are refused: about 10 GiB of arrays in a run (estimate: 2 kB a cell).
MOST_CELLS = 5_000_000


@dataclass(frozen=True, slots=True)
class Lattice:
    """The cell planes of each axis, without regard to what fills the cells."""

    edges: tuple[FloatArray, FloatArray, FloatArray]  # [m]
    cell_size: float  # nominal [m]

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of cells along x, y, z."""
        x, y, z = self.edges
        return (x.size - 1, y.size - 1, z.size - 1)

    @property
    def sizes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Cell sizes along x, y, z [m]."""
        x, y, z = self.edges
        return (np.diff(x), np.diff(y), np.diff(z))

    @property
    def centres(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Cell centres along x, y, z [m]."""
        x, y, z = self.edges
        return (0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1]), 0.5 * (z[1:] + z[:-1]))

    @property
    def volumes(self) -> FloatArray:
        """Cell volumes [m³], shape (nx, ny, nz)."""
        dx, dy, dz = self.sizes
        return dx[:, None, None] * dy[None, :, None] * dz[None, None, :]

    def face_areas(self, axis: int) -> FloatArray:
        """Return the area of each cell's faces normal to ``axis`` [m²], shape (nx, ny, nz)."""
        sizes = [size.copy() for size in self.sizes]
        sizes[axis] = np.ones_like(sizes[axis])
        return sizes[0][:, None, None] * sizes[1][None, :, None] * sizes[2][None, None, :]


def lay_planes(dwelling: Dwelling, cell_size: float) -> Lattice:
    """Return the lattice whose planes include every room plane exactly.

    Each interval between planes is divided into the number of equal cells nearest to ``cell_size``
    [m], so the spacing along an axis of a single room is uniform and the room keeps its size.
    """
    x, y, z = (_divide(_planes_of_axis(dwelling, axis, cell_size), cell_size) for axis in range(3))
    lattice = Lattice((x, y, z), cell_size)
    count = int(np.prod([float(n) for n in lattice.shape]))
    if count > MOST_CELLS:
        raise CaseError(
            f"cells of {cell_size:.3g} m make {count:.2g} cells; at most {MOST_CELLS:.2g} fit: "
            "use larger cells"
        )
    return lattice


def gap_axis(doorway: Doorway, rooms: dict[str, Room]) -> int:
    """Return the axis along which the two rooms of a doorway lie side by side."""
    first, second = (_room_named(name, doorway, rooms) for name in doorway.rooms)
    apart = [
        axis
        for axis in range(3)
        if first.high[axis] <= second.low[axis] + SAME_PLANE
        or second.high[axis] <= first.low[axis] + SAME_PLANE
    ]
    if len(apart) != 1:
        raise CaseError(
            f"doorway '{doorway.name}' joins '{first.name}' and '{second.name}', which do not "
            "share a partition: join rooms that lie side by side"
        )
    return apart[0]


def _room_named(name: str, doorway: Doorway, rooms: dict[str, Room]) -> Room:
    if name not in rooms:
        raise CaseError(
            f"doorway '{doorway.name}' leads to '{name}', which is no room; rooms are: "
            + ", ".join(sorted(rooms))
        )
    return rooms[name]


def _planes_of_axis(dwelling: Dwelling, axis: int, cell_size: float) -> list[float]:
    planes = _room_planes(dwelling, axis, cell_size)
    rooms = {room.name: room for room in dwelling.rooms}
    for doorway in dwelling.doorways:
        if (doorway.is_open or doorway.is_ever_open) and gap_axis(doorway, rooms) != axis:
            for jamb in (doorway.low[axis], doorway.high[axis]):
                inside = min(planes) < jamb < max(planes)
                nearest = min(abs(jamb - plane) for plane in planes)
                if inside and nearest >= LEAST_JAMB_LAYER * cell_size:
                    planes.append(jamb)
    return sorted(planes)


def _room_planes(dwelling: Dwelling, axis: int, cell_size: float) -> list[float]:
    found = sorted(
        (plane, room.name) for room in dwelling.rooms for plane in (room.low[axis], room.high[axis])
    )
    planes = [found[0][0]]
    owner = found[0][1]
    for plane, name in found[1:]:
        distance = plane - planes[-1]
        if distance > SAME_PLANE:
            if distance < LEAST_LAYER * cell_size:
                raise CaseError(_too_near(axis, (owner, planes[-1]), (name, plane)))
            planes.append(plane)
            owner = name
    return planes


def _too_near(axis: int, one: tuple[str, float], other: tuple[str, float]) -> str:
    distance = other[1] - one[1]
    letter = "xyz"[axis]
    return (
        f"rooms '{one[0]}' and '{other[0]}': their sides at {letter} = {one[1]:.3f} m and "
        f"{other[1]:.3f} m are only {distance:.3f} m apart; make them flush or set them further "
        f"apart, or use cells of at most {distance / LEAST_LAYER:.3f} m"
    )


def _divide(planes: list[float], cell_size: float) -> FloatArray:
    pieces = [np.asarray(planes[:1])]
    for low, high in itertools.pairwise(planes):
        count = max(1, round((high - low) / cell_size))
        pieces.append(np.linspace(low, high, count + 1)[1:])
    return np.concatenate(pieces)
