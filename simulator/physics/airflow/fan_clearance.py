"""How much room a fan has to draw and to blow: from walls and furniture as they are, not as cells.

Cells move what stands near a fan by up to half of their size, and the fan's own disc with it: a gap
of 0.1 m behind a fan is 0.2 m wide on cells of 0.2 m, or shut. Straight rays tell the true gap.
"""

from dataclasses import dataclass

import numpy as np

from simulator.case.parts import SolidPart
from simulator.grid.body_frames import cells_at
from simulator.grid.boxes import PlacedBox, place_box
from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.grid.planes import Lattice

#: Rays from the rim to each side (choice).
RAYS = 16

#: Rays end at this many diameters: what is farther away costs a fan nothing worth counting.
REACH = 2.0

#: Points of a ray a diameter: gaps are found within a hundredth of a diameter.
POINTS = 100


@dataclass(frozen=True, slots=True)
class Clearance:
    """What stands near a fan.

    Attributes
    ----------
    loss : pressure that the gaps behind and before the disc take, over the dynamic pressure of the
        mean flow through it [-].
    nearest : from the disc's rim along its axis, either way, to the nearest surface [m].
    """

    loss: float
    nearest: float


def clearance(
    solids: "Solids", centre: FloatArray, direction: FloatArray, diameter: float
) -> Clearance:
    """Return what stands near a disc.

    Parameters
    ----------
    solids : what rays end at on the grid.
    centre, direction : of the disc, (3,) [m] and a unit vector.
    diameter : [m].

    Notes
    -----
    Through a gap g between the rim and a surface behind or before it, all of the flow passes the
    area π D g, 4 g / D of the disc's, and what it speeds up by is lost again:
    zeta = (D / 4 g)², g the mean around the rim. Estimate: continuity, and one dynamic pressure of
    the gap lost as in any sudden widening; no published figure for fans was at hand. Resolved by
    cells of a tenth of a diameter, a gap of D/5 took a thrust of 0.64 (behind) and 0.59 (before) of
    the free one where this gives 0.66.
    """
    rim = centre + 0.5 * diameter * _around(direction)
    reach = REACH * diameter
    near = solids.within(reach + diameter, centre)
    behind = near.distance(rim, -direction, reach, diameter / POINTS)
    before = near.distance(rim, direction, reach, diameter / POINTS)
    loss = sum(_loss(float(gaps.mean()), diameter) for gaps in (behind, before))
    return Clearance(loss, float(min(behind.min(), before.min())))


def _loss(gap: float, diameter: float) -> float:
    """Loss of a mean gap, nil at the reach of the rays, finite when shut."""
    gap = max(gap, 0.5 * diameter / POINTS)
    return (0.25 * diameter / gap) ** 2 - (0.25 / REACH) ** 2


def _around(direction: FloatArray) -> FloatArray:
    """Unit vectors from the disc's centre towards its rim, (RAYS, 3)."""
    along = np.eye(3)[np.argmin(np.abs(direction))]
    one = np.cross(direction, along)
    one /= np.linalg.norm(one)
    two = np.cross(direction, one)
    angle = 2.0 * np.pi * (np.arange(RAYS) + 0.5) / RAYS
    return np.outer(np.cos(angle), one) + np.outer(np.sin(angle), two)


@dataclass(frozen=True, slots=True)
class Solids:
    """What rays end at: walls, boxes of solid stuff, and blocked cells that no box explains."""

    grid: Grid
    is_wall: BoolArray  # [i, j, k]
    boxes: tuple[PlacedBox, ...]

    def within(self, radius: float, centre: FloatArray) -> "Solids":
        """Return the same with the boxes alone that come within a radius [m] of a point."""
        near = (box for box in self.boxes if _distance(box, centre) <= radius)
        return Solids(self.grid, self.is_wall, tuple(near))

    def distance(
        self, origins: FloatArray, direction: FloatArray, reach: float, step: float
    ) -> FloatArray:
        """Return how far a ray from each origin gets [m], ``reach`` at most."""
        along = (np.arange(round(reach / step)) + 0.5) * step
        rays = origins[:, None, :] + along[:, None] * direction
        is_solid = self._holds(rays.reshape(-1, 3)).reshape(rays.shape[:2])
        first = np.where(is_solid.any(axis=1), np.argmax(is_solid, axis=1), along.size)
        return np.asarray(np.minimum(first * step, reach))

    def _holds(self, points: FloatArray) -> BoolArray:
        """Whether each point lies in a wall or in solid stuff."""
        cell = cells_at(self.grid, points)
        is_held: BoolArray = (cell < 0) | self.is_wall.ravel()[cell]
        for box in self.boxes:
            local = (points - box.centre) @ box.axes
            is_held |= np.all(np.abs(local) <= box.half, axis=1)
        return is_held


def solids_of(grid: Grid) -> Solids:
    """Return what rays end at on a grid."""
    is_part = np.array([isinstance(part, SolidPart) for part in grid.parts], dtype=np.bool_)
    has_box = np.zeros(grid.is_open.size, dtype=np.bool_)
    if is_part.any():
        has_box[grid.shares.cell[is_part[grid.shares.part]]] = True
    is_wall = (grid.room < 0) | (grid.is_blocked & ~has_box.reshape(grid.shape))
    lattice = Lattice((grid.x_edges, grid.y_edges, grid.z_edges), grid.cell_size)
    boxes = (place_box(part.box, lattice) for part in grid.parts if isinstance(part, SolidPart))
    return Solids(grid, is_wall, tuple(boxes))


def _distance(box: PlacedBox, point: FloatArray) -> float:
    """Distance from a point to the bounds of a box [m], zero inside."""
    beyond = np.maximum(np.maximum(box.low - point, point - box.high), 0.0)
    return float(np.linalg.norm(beyond))
