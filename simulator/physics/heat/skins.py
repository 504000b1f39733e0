"""Sub-voxel skins: how the first centimetres of a solid cell follow the air before its core does.

One node a voxel errs by 3 to 16 K in the first hours. Each face of a solid that air, another part
or a wall touches has its own surface node and, where the solid is thick enough, two more before the
core.
"""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray

#: Skins reach this share of the depth of solid behind a face: slices of dx/8 and dx/4.
SKIN_SHARE = 0.375

#: Share of a solid's volume that all of its skins may take when more than one face is exposed.
SKIN_VOLUME_LIMIT = 0.3

#: In a layer, whose two faces lie opposite each other and alone, skins reach this share of its
#: depth from either face: nodes at 0, 1/11, 3/11 and 1/2 of it (choice).
LAYER_SHARE = 0.275

#: Share of their usual reach that skins keep at the edges of a layer (choice).
EDGE_SHARE = 0.1

#: Share of a solid that its skins never exceed (choice).
MOST_SHARE = 0.9

#: Solids thinner than this have a surface node and a core only [m]. estimate: 1.5 cm of wood
#: levels out within two minutes.
THIN = 0.015

#: Films thinner than this are one with their core [m]. estimate: 2 mm of cloth resist less than a
#: tenth of what the air before them does.
FILM = 0.002

#: In a thin solid the surface node stands for this share of the depth.
THIN_SHARE = 0.125


@dataclass(frozen=True, slots=True)
class Faces:
    """The faces of solids through which heat comes from without (length F).

    First those exposed to air, films left out, then the low and the high side of each touch of two
    parts, then those that lie on a wall.
    """

    solid: IntArray
    axis: IntArray
    sign: IntArray  # +1: outward along +axis
    area: FloatArray  # [m²]
    depth: FloatArray  # of solid behind [m]
    row: IntArray  # (E,) row of Surfaces of each exposed face
    touch: IntArray  # (T,) row of Solids.pair of each touch of two parts
    ground: IntArray  # (G,) row of Columns.contact_column of each face on a wall

    @property
    def low_side(self) -> slice:
        """The faces on the low side of touches, as seen from the touch."""
        return slice(self.row.size, self.row.size + self.touch.size)

    @property
    def high_side(self) -> slice:
        """The faces on the high side of touches."""
        first = self.row.size + self.touch.size
        return slice(first, first + self.touch.size)

    @property
    def on_walls(self) -> slice:
        """The faces on walls."""
        return slice(self.row.size + 2 * self.touch.size, self.solid.size)


@dataclass(frozen=True, slots=True)
class Skins:
    """The skins of all faces (length F, exposed ones first).

    Each face has a surface node that holds ``capacity[:, 0]``. A thick face goes on with two nodes;
    ``link`` holds surface to first, first to second, second to core. A thin one has only
    ``link[:, 2]``, surface to core.
    """

    faces: Faces
    is_thick: BoolArray
    capacity: FloatArray  # (F, 3) surface node, first, second skin node [J/K]
    link: FloatArray  # (F, 3) [W/K]
    cover: FloatArray  # (F,) area over the solid's section behind it [-]
    reach: FloatArray  # (F,) of the skins [m]
    distance: FloatArray  # (F,) from their inner end to the core, as a length of solid [m]
    layer: FloatArray  # (F,) 1 where the solid is a layer across the face, 0 where it is not
    core_capacity: FloatArray  # (N,) what is left to each solid node [J/K]
    pair_conductance: FloatArray  # (P,) core to core [W/K]; meaningless for touches

    @property
    def row(self) -> IntArray:
        """Row of Surfaces of each exposed face."""
        return self.faces.row


def faces_of(grid: Grid) -> Faces:
    """Return every face of a solid that air, another part or a wall touches."""
    surfaces, solids, columns = grid.surfaces, grid.solids, grid.columns
    row = np.flatnonzero((surfaces.solid >= 0) & (surfaces.axis >= 0) & (surfaces.depth >= FILM))
    touch = np.flatnonzero(solids.pair_area > 0.0)
    ground = np.flatnonzero(columns.contact_area > 0.0)
    column = columns.contact_column[ground]
    pair, axis, area = solids.pair[touch], solids.pair_axis[touch], solids.pair_area[touch]
    outward = np.ones(touch.size, dtype=np.int64)
    return Faces(
        solid=np.concatenate(
            [surfaces.solid[row], pair[:, 0], pair[:, 1], columns.contact_solid[ground]]
        ),
        axis=np.concatenate([surfaces.axis[row], axis, axis, columns.axis[column]]).astype(
            np.int64
        ),
        sign=np.concatenate([surfaces.sign[row], outward, -outward, columns.sign[column]]).astype(
            np.int64
        ),
        area=np.concatenate([surfaces.area[row], area, area, columns.contact_area[ground]]),
        depth=np.concatenate(
            [
                surfaces.depth[row],
                *solids.pair_depth[touch].T,
                columns.contact_depth[ground],
            ]
        ),
        row=row,
        touch=touch,
        ground=ground,
    )


def skins(grid: Grid) -> Skins:
    """Return the skins of every face; their capacities and the cores' sum to the solids'.

    Notes
    -----
    Nodes stand at the surface and at 1/3 and 3/3 of the skins' reach s, and hold s/6, s/2 and s/3
    of it. From there to the core the resistance is w/(3 k): the mean of a parabola over a core of
    width w whose far side passes no heat. A face that has an opposite one owns half of the depth;
    the skins of other axes narrow the section. Way and pair conductances are matched so that heat
    that passes through meets the whole depth, and the error falls with the square of the cell size.

    A *layer* (a rug, a blanket, a board) has two faces opposite each other and no other to speak
    of: heat passes through it. There the core is the node in the middle, at its full distance from
    the skins, and the last of them holds half of the slice between: layers in series are exact.

    Against exact solutions (tests/heat_problems/clutter.py) blocks of clutter on cells of 5 cm
    store heat within 0.7 K of their mean temperature, where one node a cell errs by 3 to 6 K.
    """
    solids, faces = grid.solids, faces_of(grid)
    solid, area, depth = faces.solid, faces.area, faces.depth
    cover = area * depth / solids.volume[solid]
    layer, edge = _layers(faces, cover, solids.cell.size)
    is_thick = depth >= THIN
    wanted = np.where(is_thick, SKIN_SHARE, THIN_SHARE) * depth
    reach = wanted * _scale(solid, area * wanted, area * depth, solids.volume)
    reach += np.where(is_thick, layer * (LAYER_SHARE * depth - reach), 0.0)
    reach *= 1.0 - (1.0 - EDGE_SHARE) * edge
    own_depth = depth * (1.0 - 0.5 * _opposed_share(faces, solids.cell.size))
    core = np.maximum(own_depth - reach, 0.1 * own_depth)
    behind = core * (1.0 + 2.0 * layer) / 3.0
    distance = behind + np.where(is_thick, 0.0, reach)
    k = solids.conductivity[solid]
    stored = solids.heat_capacity[solid] / solids.volume[solid] * area
    shares = np.where(is_thick[:, None], [1.0 / 6.0, 0.5, 1.0 / 3.0], [1.0, 0.0, 0.0])
    capacity = (stored * reach)[:, None] * shares
    capacity[:, 2] += np.where(is_thick, 0.5 * layer * core * stored, 0.0)
    on_thin_ground = np.zeros(solid.size, dtype=np.bool_)
    on_thin_ground[faces.on_walls] = True
    capacity[on_thin_ground & ~is_thick] = 0.0  # the wall's own node is its surface
    # The tiles of an askew face are counted by their centres: a sliver may get more than it holds.
    taken = np.bincount(solid, capacity.sum(axis=1), solids.cell.size)
    most = MOST_SHARE * solids.heat_capacity
    capacity *= np.minimum(1.0, most / np.maximum(taken, most))[solid, None]
    narrowing = _narrowing(solid, faces.axis, area * reach / solids.volume[solid])
    link = np.stack(
        [
            area * k / (reach / 3.0),
            area * k / (2.0 * reach / 3.0),
            area * k / distance * narrowing,
        ],
        axis=1,
    )
    excess = (behind + reach) / (0.5 * depth) - 1.0
    return Skins(
        faces=faces,
        is_thick=is_thick,
        capacity=capacity,
        link=link,
        cover=cover,
        reach=np.where(is_thick, reach, 0.0),
        distance=distance,
        layer=layer,
        core_capacity=solids.heat_capacity
        - np.bincount(solid, weights=capacity.sum(axis=1), minlength=solids.cell.size),
        pair_conductance=_pair_conductance(grid, faces, cover, excess),
    )


def _layers(faces: Faces, cover: FloatArray, solids: int) -> tuple[FloatArray, FloatArray]:
    """Return how far the solid is a layer across each face, and how far each is a layer's edge.

    One across an axis where faces cover both sides; less by the faces on other axes, which count
    with the square of how much nearer (or farther) they are to the middle.
    """
    side = 6 * faces.solid + 2 * faces.axis + (faces.sign > 0)
    covered = np.minimum(1.0, np.bincount(side, cover, 6 * solids).reshape(-1, 3, 2))
    on_axis = 3 * faces.solid + faces.axis
    weight = np.bincount(on_axis, faces.area, 3 * solids)
    depth = np.bincount(on_axis, faces.area * faces.depth, 3 * solids)
    inverse = (weight / np.maximum(depth, 1e-300)).reshape(-1, 3)  # 1/depth; 0 without faces
    disturbance = covered.sum(axis=2) * inverse**2
    thickness = 1.0 / np.maximum(inverse, 1e-9)
    others = 0.5 * (disturbance.sum(axis=1, keepdims=True) - disturbance)
    is_layer = covered.min(axis=2) * np.maximum(0.0, 1.0 - others * thickness**2)
    layer = is_layer[faces.solid, faces.axis]
    most = is_layer.max(axis=1)[faces.solid]
    edge = np.where(layer < most, most, 0.0)
    return layer, edge


def _narrowing(solid: IntArray, axis: IntArray, taken: FloatArray) -> FloatArray:
    """Section of the core over that of the solid, for each face: skins of other axes narrow it."""
    place = 3 * solid + axis
    gone = np.bincount(place, weights=taken, minlength=3 * int(solid.max(initial=-1)) + 3)
    left = np.maximum(1.0 - gone, 1.0 - MOST_SHARE)
    others: FloatArray = np.prod(left.reshape(-1, 3), axis=1)[solid] / left[place]
    return others


def _pair_conductance(
    grid: Grid, faces: Faces, cover: FloatArray, excess: FloatArray
) -> FloatArray:
    """Conductance between cores such that the way from a surface through a cell keeps its length.

    Cores stand a little more (or less) than half a cell behind their surface; by this ``excess``,
    as a share of half a cell, they are nearer to (farther from) the solid behind them.
    """
    solids = grid.solids
    first, second = solids.pair.reshape(-1, 2).T
    size = 6 * solids.cell.size
    outward = 6 * faces.solid + 2 * faces.axis + (faces.sign > 0)
    covered = np.bincount(outward, weights=cover, minlength=size)
    wanted = np.bincount(outward, weights=cover * excess, minlength=size)
    shift = wanted / np.maximum(covered, 1.0)  # of the core away from each side, by half cells
    axis = solids.pair_axis.astype(np.int64)
    back_of_first = shift[6 * first + 2 * axis]  # the second lies on the high side of the first
    back_of_second = shift[6 * second + 2 * axis + 1]
    way_first = solids.span[first, axis] / solids.conductivity[first]
    way_second = solids.span[second, axis] / solids.conductivity[second]
    share = way_first / (way_first + way_second)  # of the first in the resistance between the two
    nearer = share * back_of_first + (1.0 - share) * back_of_second
    conductance: FloatArray = solids.pair_conductance / (1.0 - nearer)
    return conductance


def _scale(
    solid: IntArray, wanted: FloatArray, swept: FloatArray, volume: FloatArray
) -> FloatArray:
    """Factor on the skins of each face that keeps them below their share of the solid's volume."""
    total = np.bincount(solid, weights=wanted, minlength=volume.size)
    faces = np.bincount(solid, weights=swept, minlength=volume.size) / volume
    limit = np.where(faces > 1.0 + 1e-9, SKIN_VOLUME_LIMIT, SKIN_SHARE) * volume
    factor: FloatArray = np.minimum(1.0, limit / np.maximum(total, 1e-300))[solid]
    return factor


def _opposed_share(faces: Faces, solids: int) -> FloatArray:
    """Share of each face's area that has another face of the same solid opposite [0..1]."""
    place = 6 * faces.solid + 2 * faces.axis
    is_high = (faces.sign > 0).astype(np.int64)
    area = np.bincount(place + is_high, weights=faces.area, minlength=6 * solids + 2)
    own, opposite = area[place + is_high], area[place + 1 - is_high]
    share: FloatArray = np.minimum(1.0, opposite / np.maximum(own, 1e-300))
    return share
