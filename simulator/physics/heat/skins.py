"""Sub-voxel skins: how the first centimetres of a solid cell follow the air before its core does.

One node a voxel errs by 3 to 16 K in the first hours. Each exposed face of a solid therefore has
its own surface node and, where the solid is thick enough, a chain of two more before the core.
"""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray

#: Skins reach this share of the depth of solid behind a face: slices of dx/8 and dx/4.
SKIN_SHARE = 0.375

#: Share of a solid's volume that all of its skins may take when more than one face is exposed.
SKIN_VOLUME_LIMIT = 0.3

#: Solids thinner than this have a surface node and a core only [m]. estimate: 1.5 cm of wood
#: levels out within two minutes.
THIN = 0.015

#: In a thin solid the surface node stands for this share of the depth.
THIN_SHARE = 0.125


@dataclass(frozen=True, slots=True)
class Skins:
    """The skins of all surfaces of solids with a direction (length F).

    Each face has a surface node that holds ``capacity[:, 0]``. A thick face goes on with two nodes;
    ``link`` holds surface to first, first to second, second to core. A thin one has only
    ``link[:, 2]``, surface to core.
    """

    row: IntArray  # row of Surfaces
    is_thick: BoolArray
    capacity: FloatArray  # (F, 3) surface node, first, second skin node [J/K]
    link: FloatArray  # (F, 3) [W/K]
    core_capacity: FloatArray  # (N,) what is left to each solid node [J/K]


def skins(grid: Grid) -> Skins:
    """Return the skins of every exposed face; their capacities and the cores' sum to the solids'.

    Notes
    -----
    Nodes stand at the surface and at 1/3 and 3/3 of the skins' reach s, and hold s/6, s/2 and s/3
    of it. From there to the core the resistance is w/(3 k): the mean of a parabola over a core of
    width w whose far side passes no heat. A face that has an opposite one owns half of the depth.
    """
    surfaces, solids = grid.surfaces, grid.solids
    row = np.flatnonzero((surfaces.solid >= 0) & (surfaces.axis >= 0))
    solid, area, depth = surfaces.solid[row], surfaces.area[row], surfaces.depth[row]
    is_thick = depth >= THIN
    wanted = np.where(is_thick, SKIN_SHARE, THIN_SHARE) * depth
    reach = wanted * _scale(solid, area * wanted, area * depth, solids.volume)
    own_depth = depth * (1.0 - 0.5 * _opposed_share(grid, row))
    core = np.maximum(own_depth - reach, 0.1 * own_depth)
    k = solids.conductivity[solid]
    stored = solids.heat_capacity[solid] / solids.volume[solid] * area * reach
    shares = np.where(is_thick[:, None], [1.0 / 6.0, 0.5, 1.0 / 3.0], [1.0, 0.0, 0.0])
    capacity = stored[:, None] * shares
    core_link = area * k / (core / 3.0 + np.where(is_thick, 0.0, reach))
    link = np.stack([area * k / (reach / 3.0), area * k / (2.0 * reach / 3.0), core_link], axis=1)
    core_capacity = solids.heat_capacity - np.bincount(
        solid, weights=capacity.sum(axis=1), minlength=solids.heat_capacity.size
    )
    return Skins(row, is_thick, capacity, link, core_capacity)


def _scale(
    solid: IntArray, wanted: FloatArray, swept: FloatArray, volume: FloatArray
) -> FloatArray:
    """Factor on the skins of each face that keeps them below their share of the solid's volume."""
    total = np.bincount(solid, weights=wanted, minlength=volume.size)
    faces = np.bincount(solid, weights=swept, minlength=volume.size) / volume
    limit = np.where(faces > 1.0 + 1e-9, SKIN_VOLUME_LIMIT, SKIN_SHARE) * volume
    factor: FloatArray = np.minimum(1.0, limit / np.maximum(total, 1e-300))[solid]
    return factor


def _opposed_share(grid: Grid, row: IntArray) -> FloatArray:
    """Share of each face's area that has an exposed face of the same solid opposite [0..1]."""
    surfaces = grid.surfaces
    place = 6 * surfaces.solid[row] + 2 * surfaces.axis[row]
    is_high = (surfaces.sign[row] > 0).astype(np.int64)
    size = 6 * grid.solids.cell.size + 2
    area = np.bincount(place + is_high, weights=surfaces.area[row], minlength=size)
    own, opposite = area[place + is_high], area[place + 1 - is_high]
    share: FloatArray = np.minimum(1.0, opposite / np.maximum(own, 1e-300))
    return share
