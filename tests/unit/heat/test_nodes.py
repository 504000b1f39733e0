"""The nodes keep every joule of the grid, and stand where the refuges look for them."""

import builders
import numpy as np
import pytest
from unit.heat.grids import make_grid, material, slab
from unit.heat.small_room import small_room

from simulator.case.dwelling import Construction, Layer, Side
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.nodes import node_layout, start_state
from simulator.physics.heat.skins import LAYER_SHARE, SKIN_SHARE, SKIN_VOLUME_LIMIT, skins
from simulator.physics.heat.wall_columns import wall_mesh

PLASTER, WOOL = material(0.25, 900.0, 1000.0), material(0.04, 30.0, 1030.0)
SANDWICH = Construction(
    "test sandwich", (Layer(PLASTER, 0.0125), Layer(WOOL, 0.1), Layer(PLASTER, 0.025))
)


def test_nodes_store_what_air_solids_and_walls_store() -> None:
    room = small_room()
    grid, layout = room.grid, room.layout
    columns = grid.columns
    per_area = np.array(
        [
            sum(layer.thickness * layer.material.volumetric_heat_capacity for layer in c.layers)
            for c in grid.constructions
        ]
    )
    expected = (
        AIR_VOLUMETRIC_HEAT_CAPACITY * grid.air_volume.sum()
        + grid.solids.heat_capacity.sum()
        + (columns.area * per_area[columns.construction]).sum()
    )
    assert layout.capacity.sum() == pytest.approx(expected, rel=1e-13)
    assert layout.capacity[layout.is_envelope].sum() == pytest.approx(
        (columns.area * per_area[columns.construction]).sum(), rel=1e-13
    )
    assert layout.capacity.min() > 0.0


def test_voxelised_furniture_and_partition_keep_their_heat_capacity() -> None:
    parts = [
        builders.solid((0.5, 0.5, 0.3), (1.3, 0.83, 0.21), material=builders.FOAM),
        builders.solid((2.0, 1.0, 0.0), (0.02, 1.0, 1.0)),
        builders.porous((1.0, 2.0, 0.0), (0.6, 0.6, 0.5)),
    ]
    grid = voxelise(builders.two_rooms(parts=parts), 0.2)
    layout = node_layout(grid)
    solid = ~layout.is_envelope
    solid[layout.air] = False
    assert layout.capacity[solid].sum() == pytest.approx(grid.solids.heat_capacity.sum(), rel=1e-12)
    assert layout.capacity.min() > 0.0
    assert (layout.surface_node >= 0).all()


@pytest.mark.parametrize("faces", [1, 2, 4, 5, 6])
def test_skins_stay_within_their_share_of_the_solid(faces: int) -> None:
    blocked = np.zeros((3, 3, 3), dtype=bool)
    blocked[1, 1, 1] = True
    for place in [(0, 1, 1), (2, 1, 1), (1, 0, 1), (1, 2, 1), (1, 1, 0)][: 6 - faces]:
        blocked[place] = True
    grid = make_grid([np.linspace(0.0, 0.3, 4)] * 3, blocked=blocked)
    middle = int(np.searchsorted(grid.solids.cell, 13))
    found = skins(grid)
    ours = grid.surfaces.solid[found.row] == middle
    assert ours.sum() == faces
    share = found.capacity[ours].sum() / grid.solids.heat_capacity[middle]
    limit = SKIN_SHARE if faces == 1 else SKIN_VOLUME_LIMIT
    if (
        faces == 2
    ):  # opposite each other: a layer, whose skins hold half of the slice before the core
        limit = LAYER_SHARE + 0.5
    assert share == pytest.approx(limit, rel=1e-12)
    total = found.capacity[ours].sum() + found.core_capacity[middle]
    assert total == pytest.approx(grid.solids.heat_capacity[middle], rel=1e-13)


@pytest.mark.parametrize("both", [False, True])
def test_wall_mesh_has_a_node_on_every_interface(both: bool) -> None:
    mesh = wall_mesh(SANDWICH, faces_rooms_on_both_sides=both)
    for plane in (0.0, 0.0125, 0.1125, 0.1375):
        assert np.abs(mesh.depth - plane).min() < 1e-12
    assert mesh.depth[mesh.first_interface] == pytest.approx(0.0125)
    assert mesh.depth[mesh.last_interface] == pytest.approx(0.1125)
    resistance = 0.0125 / 0.25 + 0.1 / 0.04 + 0.025 / 0.25
    assert (1.0 / mesh.conductance).sum() == pytest.approx(resistance, rel=1e-13)
    assert np.diff(mesh.depth)[0] < 0.007


def test_cavity_lies_behind_the_first_layer_seen_from_either_room() -> None:
    grid = voxelise(builders.two_rooms(doorway=None), 0.25)
    layout = node_layout(grid)
    shared = np.flatnonzero(grid.columns.partner >= 0)
    assert shared.size > 0
    # the test partition is two equal layers: its middle is the cavity of both sides
    partner = grid.columns.partner[shared]
    assert (layout.cavity_node[shared] == layout.cavity_node[partner]).all()
    assert (layout.cavity_node[shared] >= layout.retained).all()


def test_cavity_of_a_wall_of_one_layer_is_its_outer_face() -> None:
    grid = make_grid([np.linspace(0.0, 1.0, 2)] * 3, walls={Side.WEST: (slab(1, 1, 1, 0.1), 5, 0)})
    layout = node_layout(grid)
    assert layout.cavity_node[0] == layout.ends.node[0]


def test_walls_start_from_the_steady_profile_between_the_room_and_what_is_behind() -> None:
    room = small_room(behind=0.0)
    state = start_state(room.grid, room.layout)
    assert state[: room.layout.retained] == pytest.approx(20.0)
    model = room.model
    inner = model.outflow(state)[room.layout.retained :] - model.constant[room.layout.retained :]
    assert np.abs(inner).max() < 1e-9  # nothing changes inside any wall or skin
    assert state.min() < 5.0
