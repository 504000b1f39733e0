"""What a run looks like at a moment, as quadrangles with a temperature at each corner."""

from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Dwelling
from simulator.case.parts import Part
from simulator.grid.grid import FloatArray, IntArray
from simulator.output.furniture_drawing import box_patches
from simulator.output.surface_tint import SurfaceTint
from simulator.output.viewer.solids import furniture_of

#: Size of the patches of a floor [m].
FLOOR_PATCH = 0.10


@dataclass(frozen=True, slots=True)
class Body:
    """A body of one owner: ``points`` (N, 3) [m], ``quads`` (M, 4) into them, anticlockwise from
    outside, and ``temperature`` (N,) [°C], nan where it is not known."""

    owner: str
    points: FloatArray
    quads: IntArray
    temperature: FloatArray


def furniture(parts: tuple[Part, ...], tint: SurfaceTint) -> list[Body]:
    """Return the boxes of all furniture; what belongs to machines is left out."""
    found = []
    for part in furniture_of(parts):
        points, quads = box_patches(part.box)
        middle = np.asarray(part.box.centre)
        # A hair inside, so that a point on a face reads the part's own cell and not the next one.
        inside = middle + (points - middle) * (1.0 - 0.02 / max(part.box.size))
        found.append(Body(part.owner, points, quads, tint.of_thing(part.owner, inside)))
    return found


def floors(dwelling: Dwelling, tint: SurfaceTint) -> list[Body]:
    """Return the floor of each room, with the temperature of the lowest cells."""
    found = []
    for room in dwelling.rooms:
        counts = [max(1, round(length / FLOOR_PATCH)) for length in room.size[:2]]
        x, y = (np.linspace(room.low[axis], room.high[axis], counts[axis] + 1) for axis in range(2))
        grid_x, grid_y = (values.ravel() for values in np.meshgrid(x, y, indexing="ij"))
        points = np.stack([grid_x, grid_y, np.full(grid_x.size, room.low[2])], axis=1)
        corner = np.arange(points.shape[0]).reshape(x.size, y.size)
        quads = np.stack(
            [corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]], axis=-1
        )
        middle = 0.5 * (np.asarray(room.low) + np.asarray(room.high))
        above = points + 0.01 * (middle - points)
        found.append(Body(room.name, points, quads.reshape(-1, 4), tint.of_field(above)))
    return found
