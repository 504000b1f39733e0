"""The state vector: which node is where, what it stores, which links the dwelling fixes.

Order: air of open cells | surfaces of solids | room sides of wall columns | solid cores (these are
the *retained* nodes) | nodes inside wall columns | skins (these two lie in *chains*). Cores come
after all that hangs on them: if a hub came first, incomplete factors would drop what it ties
together, and thin boards would take many iterations.
"""

from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import BoolArray, FloatArray, Grid, IndexArray, IntArray
from simulator.physics.heat.chains import Chains, chain_factors, join_chains
from simulator.physics.heat.core_profiles import CoreProfiles, core_profiles
from simulator.physics.heat.kernels import heat_by_part
from simulator.physics.heat.skins import Skins, skins
from simulator.physics.heat.touches import SkinChains, skin_chains
from simulator.physics.heat.wall_chains import (
    EnvelopeEnds,
    cavity_nodes,
    column_capacity,
    envelope_ends,
    wall_blocks,
)

#: Cells along each side of the blocks of the solver's coarse correction.
BLOCK = 4


@dataclass(frozen=True, slots=True)
class Links:
    """Conductances between retained nodes that never change (length L)."""

    low: IntArray
    high: IntArray
    conductance: FloatArray  # [W/K]


@dataclass(frozen=True, slots=True)
class NodeLayout:
    """What ``node_layout`` returns: n nodes, of which the first ``retained`` are solved for."""

    air_cell: IntArray  # (air nodes,) flat cell of each air node
    air_node: IntArray  # (cells,) air node of each flat cell, or -1
    solid_node: IntArray  # (N,) node of each solid's core
    surface_node: IntArray  # (S,) node of each row of Surfaces; of films and loose stuff the core
    column_node: IntArray  # (C,) room side of each wall column
    cavity_node: IntArray  # (C,) behind the first layer of each wall column
    touch_node: IntArray  # (P,) between the two parts of each touching pair of solids, else -1
    retained: int
    capacity: FloatArray  # (n,) [J/K]
    is_envelope: BoolArray  # (n,) nodes of wall columns, for the ledger
    core_profiles: CoreProfiles
    block: IndexArray  # (air nodes,) block of 4 x 4 x 4 cells, numbered without gaps
    links: Links
    chains: Chains
    ends: EnvelopeEnds

    @property
    def size(self) -> int:
        """Number of nodes."""
        return self.capacity.size

    @property
    def air(self) -> slice:
        """The air nodes."""
        return slice(0, self.air_cell.size)


def node_layout(grid: Grid) -> NodeLayout:
    """Return the nodes of a grid; capacities sum exactly to those of air, solids and walls."""
    n_air, n_solid = int(grid.is_open.sum()), grid.solids.cell.size
    all_skins = skins(grid)
    n_face, n_column = all_skins.row.size, grid.columns.cell.size
    retained = n_air + n_face + n_column + n_solid
    face_node = n_air + np.arange(n_face)
    column_node = n_air + n_face + np.arange(n_column)
    solid_node = n_air + n_face + n_column + np.arange(n_solid)

    walls = list(wall_blocks(grid, column_node))
    behind_faces = skin_chains(grid, all_skins, face_node, solid_node, column_node)
    chains = join_chains([*(block for block, _, _ in walls), *behind_faces.blocks])
    first_skin = retained + chains.capacity.size - behind_faces.size
    air_cell = np.flatnonzero(grid.is_open)
    air_capacity = AIR_VOLUMETRIC_HEAT_CAPACITY * grid.air_volume.ravel()[air_cell]
    is_envelope = np.zeros(retained + chains.capacity.size, dtype=bool)
    is_envelope[column_node] = True
    is_envelope[retained:first_skin] = True
    return NodeLayout(
        air_cell=air_cell,
        air_node=_inverse(air_cell, grid.is_open.size),
        solid_node=solid_node,
        surface_node=_surface_nodes(grid, solid_node, column_node, all_skins.row, face_node),
        column_node=column_node,
        cavity_node=cavity_nodes(grid, walls, column_node, retained),
        touch_node=_touch_nodes(grid, all_skins, behind_faces, first_skin),
        retained=retained,
        capacity=np.concatenate(
            [
                air_capacity,
                all_skins.capacity[:n_face, 0],
                column_capacity(grid, walls, column_node),
                all_skins.core_capacity,
                chains.capacity,
            ]
        ),
        is_envelope=is_envelope,
        core_profiles=core_profiles(
            grid,
            all_skins,
            _inner_nodes(grid, all_skins, behind_faces, face_node, column_node, first_skin),
            solid_node,
            column_node,
        ),
        block=_blocks(grid.shape, air_cell),
        links=_fixed_links(grid, solid_node, column_node, all_skins, face_node),
        chains=chains,
        ends=envelope_ends(grid, walls, chains, retained),
    )


def _inner_nodes(
    grid: Grid,
    all_skins: Skins,
    behind_faces: SkinChains,
    face_node: IntArray,
    column_node: IntArray,
    first_skin: int,
) -> IntArray:
    """Node next to the core behind each face: of thin solids the surface, or that of the wall."""
    faces = all_skins.faces
    node = first_skin + behind_faces.inner
    thin = ~all_skins.is_thick
    exposed = thin[: faces.row.size]
    node[: faces.row.size][exposed] = face_node[exposed]
    on_wall = thin[faces.on_walls]
    column = grid.columns.contact_column[faces.ground]
    node[faces.on_walls][on_wall] = column_node[column[on_wall]]
    return node


def _touch_nodes(
    grid: Grid, all_skins: Skins, behind_faces: SkinChains, first_skin: int
) -> IntArray:
    node = np.full(grid.solids.pair_area.size, -1, dtype=np.int64)
    node[all_skins.faces.touch] = first_skin + behind_faces.interface
    return node


def _surface_nodes(
    grid: Grid,
    solid_node: IntArray,
    column_node: IntArray,
    face_row: IntArray,
    face_node: IntArray,
) -> IntArray:
    surfaces = grid.surfaces
    node = np.full(surfaces.area.size, -1, dtype=np.int64)
    of_solid, of_column = surfaces.solid >= 0, surfaces.column >= 0
    node[of_solid] = solid_node[surfaces.solid[of_solid]]
    node[of_column] = column_node[surfaces.column[of_column]]
    node[face_row] = face_node
    return node


def _fixed_links(
    grid: Grid,
    solid_node: IntArray,
    column_node: IntArray,
    all_skins: Skins,
    face_node: IntArray,
) -> Links:
    """Solid to solid within a part or across a gap, wall to solid, surface of a thin solid to core.

    What touches and is thick enough has chains of skins instead.
    """
    solids, columns, faces = grid.solids, grid.columns, all_skins.faces
    thin = np.flatnonzero(~all_skins.is_thick[: faces.row.size])
    plain = solids.pair_area == 0.0
    apart = columns.contact_area == 0.0
    on_wall = np.arange(faces.solid.size)[faces.on_walls]
    laid = ~all_skins.is_thick[on_wall]
    lies = faces.ground[laid]
    pair = solids.pair[plain].reshape(-1, 2)
    return Links(
        low=np.concatenate(
            [
                solid_node[pair[:, 0]],
                column_node[columns.contact_column[apart]],
                column_node[columns.contact_column[lies]],
                face_node[thin],
            ]
        ),
        high=np.concatenate(
            [
                solid_node[pair[:, 1]],
                solid_node[columns.contact_solid[apart]],
                solid_node[columns.contact_solid[lies]],
                solid_node[faces.solid[thin]],
            ]
        ),
        conductance=np.concatenate(
            [
                all_skins.pair_conductance[plain],
                columns.contact_conductance[apart],
                all_skins.link[on_wall[laid], 2],
                all_skins.link[thin, 2],
            ]
        ),
    )


def _blocks(shape: tuple[int, int, int], air_cell: IntArray) -> IndexArray:
    i, j, k = (index // BLOCK for index in np.unravel_index(air_cell, shape))
    rows, layers = -(-shape[1] // BLOCK), -(-shape[2] // BLOCK)
    _, block = np.unique((i * rows + j) * layers + k, return_inverse=True)
    numbered: IndexArray = block.astype(np.uint32)
    return numbered


def _inverse(cell: IntArray, cells: int) -> IntArray:
    node = np.full(cells, -1, dtype=np.int64)
    node[cell] = np.arange(cell.size)
    return node


def start_state(grid: Grid, layout: NodeLayout) -> FloatArray:
    """Return the state of a dwelling kept long at its start temperature [°C].

    Air, solids and room sides of walls stand at it; inside the walls the profile is steady, from
    there to what is behind them.
    """
    chains, ends = layout.chains, layout.ends
    factors = chain_factors(chains, np.zeros(chains.capacity.size))
    behind = np.full(layout.size, grid.start_temperature)
    behind[ends.node] = ends.temperature
    behind_chain = np.repeat(behind[layout.retained + chains.last], np.diff(chains.start))
    state = np.full(layout.size, grid.start_temperature)
    state[layout.retained :] = (
        factors.near_response * grid.start_temperature + factors.far_response * behind_chain
    )
    return state


def stored_heat(layout: NodeLayout, state: FloatArray) -> tuple[float, float, float]:
    """Return the heat in air, solids and envelope, counted from 0 °C [J]."""
    air, envelope, solids = heat_by_part(
        layout.capacity, state, layout.air_cell.size, layout.is_envelope
    )
    return air, solids, envelope


def surface_temperatures(layout: NodeLayout, state: FloatArray) -> FloatArray:
    """Return the temperature of each row of Surfaces (S,) [°C]."""
    return state[layout.surface_node]


def mean_air_temperature(layout: NodeLayout, state: FloatArray) -> float:
    """Return the volume mean of the air [°C]."""
    capacity = layout.capacity[layout.air]
    return float(capacity @ state[layout.air] / capacity.sum())


def air_temperatures(
    grid: Grid, layout: NodeLayout, state: FloatArray, *, elsewhere: float = np.nan
) -> FloatArray:
    """Return the air temperature of each cell (nx, ny, nz) [°C]; ``elsewhere`` where no air is."""
    field = np.full(grid.is_open.size, elsewhere)
    field[layout.air_cell] = state[layout.air]
    return field.reshape(grid.shape)
