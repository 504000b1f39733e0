"""Sub-voxel skins: how the first centimetres of a solid cell follow the air before its core does.

One node a voxel errs by 3 to 16 K in the first hours. Each exposed face of a solid therefore has
its own surface node and, where the solid is thick enough, a chain of two more before the core.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray

#: Skins reach this share of the depth of solid behind a face: slices of dx/8 and dx/4.
SKIN_SHARE = 0.375

#: Share of a solid's volume that all of its skins may take when more than one face is exposed.
SKIN_VOLUME_LIMIT = 0.3

#: Solids thinner than this have a surface node and a core only [m]. estimate: 1.5 cm of wood
#: levels out within two minutes.
THIN = 0.015

#: Films thinner than this are one with their core [m]. estimate: 2 mm of cloth resist less than a
#: tenth of what the air before them does.
FILM = 0.002

#: In a thin solid the surface node stands for this share of the depth.
THIN_SHARE = 0.125


@dataclass(frozen=True, slots=True)
class Skins:
    """The skins of all surfaces of solids with a direction, films left out (length F).

    Each face has a surface node that holds ``capacity[:, 0]``. A thick face goes on with two nodes;
    ``link`` holds surface to first, first to second, second to core. A thin one has only
    ``link[:, 2]``, surface to core.
    """

    row: IntArray  # row of Surfaces
    is_thick: BoolArray
    capacity: FloatArray  # (F, 3) surface node, first, second skin node [J/K]
    link: FloatArray  # (F, 3) [W/K]
    cover: FloatArray  # (F,) area over the solid's section behind it [-]
    reach: FloatArray  # (F,) of the skins [m]
    distance: FloatArray  # (F,) from their inner end to the core, as a length of solid [m]
    core_capacity: FloatArray  # (N,) what is left to each solid node [J/K]
    pair_conductance: FloatArray  # (P,) core to core [W/K]


def skins(grid: Grid) -> Skins:
    """Return the skins of every exposed face; their capacities and the cores' sum to the solids'.

    Notes
    -----
    Nodes stand at the surface and at 1/3 and 3/3 of the skins' reach s, and hold s/6, s/2 and s/3
    of it. From there to the core the resistance is w/(3 k): the mean of a parabola over a core of
    width w whose far side passes no heat. A face that has an opposite one owns half of the depth;
    the skins of other axes narrow the section. Way and pair conductances are matched so that heat
    that passes through meets the whole depth, and the error falls with the square of the cell size.

    Against exact solutions (tests/heat_problems/clutter.py) blocks of clutter on cells of 5 cm
    store heat within 0.7 K of their mean temperature, where one node a cell errs by 3 to 6 K.
    """
    surfaces, solids = grid.surfaces, grid.solids
    has_direction = (surfaces.solid >= 0) & (surfaces.axis >= 0)
    row = np.flatnonzero(has_direction & (surfaces.depth >= FILM))
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
    core_link *= _narrowing(solid, surfaces.axis[row], area * reach / solids.volume[solid])
    link = np.stack([area * k / (reach / 3.0), area * k / (2.0 * reach / 3.0), core_link], axis=1)
    core_capacity = solids.heat_capacity - np.bincount(
        solid, weights=capacity.sum(axis=1), minlength=solids.heat_capacity.size
    )
    cover = area * depth / solids.volume[solid]
    behind = core / 3.0 + np.where(is_thick, 0.0, reach)
    excess = (core / 3.0 + reach) / (0.5 * depth) - 1.0
    return Skins(
        row=row,
        is_thick=is_thick,
        capacity=capacity,
        link=link,
        cover=cover,
        reach=np.where(is_thick, reach, 0.0),
        distance=behind,
        core_capacity=core_capacity,
        pair_conductance=_pair_conductance(grid, row, cover, excess),
    )


def _narrowing(solid: IntArray, axis: NDArray[np.int8], taken: FloatArray) -> FloatArray:
    """Section of the core over that of the solid, for each face: skins of other axes narrow it."""
    place = 3 * solid + axis
    left = 1.0 - np.bincount(place, weights=taken, minlength=3 * int(solid.max(initial=-1)) + 3)
    others: FloatArray = np.prod(left.reshape(-1, 3), axis=1)[solid] / left[place]
    return others


def _pair_conductance(
    grid: Grid, row: IntArray, cover: FloatArray, excess: FloatArray
) -> FloatArray:
    """Conductance between cores such that the way from a surface through a cell keeps its length.

    Cores stand a little more (or less) than half a cell behind their surface; by this ``excess``,
    as a share of half a cell, they are nearer to (farther from) the solid behind them.
    """
    surfaces, solids = grid.surfaces, grid.solids
    first, second = solids.pair.reshape(-1, 2).T
    size = 6 * solids.cell.size
    outward = 6 * surfaces.solid[row] + 2 * surfaces.axis[row] + (surfaces.sign[row] > 0)
    covered = np.bincount(outward, weights=cover, minlength=size)
    wanted = np.bincount(outward, weights=cover * excess, minlength=size)
    shift = wanted / np.maximum(covered, 1.0)  # of the core away from each side, by half cells
    axis = pair_axis(grid, first, second)
    back_of_first = shift[6 * first + 2 * axis]  # the second lies on the high side of the first
    back_of_second = shift[6 * second + 2 * axis + 1]
    k_first, k_second = solids.conductivity[first], solids.conductivity[second]
    share = k_second / (k_first + k_second)  # of the first in the resistance between the two
    nearer = share * back_of_first + (1.0 - share) * back_of_second
    conductance: FloatArray = solids.pair_conductance / (1.0 - nearer)
    return conductance


def pair_axis(grid: Grid, first: IntArray, second: IntArray) -> IntArray:
    """Return the axis along which each pair lies; its first solid has the lower flat index."""
    apart = grid.solids.cell[second] - grid.solids.cell[first]
    _, rows, layers = grid.shape
    axis: IntArray = np.where(apart >= rows * layers, 0, np.where(apart >= layers, 1, 2))
    return axis


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
