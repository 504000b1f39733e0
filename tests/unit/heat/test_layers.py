"""Layers in the heat balance: nothing is lost, interfaces are eliminated, resistance is exact."""

import builders
import numpy as np
import pytest
from unit.heat.grids import exchange_of, still_air

from simulator.case.parts import Part, Refuge
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.nodes import node_layout
from simulator.physics.heat.skins import skins
from simulator.physics.heat.watch import watch
from simulator.physics.radiation.exchange import NO_RADIATION

PARTS: tuple[Part, ...] = (
    builders.solid((0.31, 0.42, 0.0), (1.3, 0.9, 0.012), owner="rug", material=builders.CLOTH),
    builders.solid((0.45, 0.53, 0.2), (1.0, 0.8, 0.2), name="mattress", material=builders.FOAM),
    builders.solid(
        (0.45, 0.53, 0.4),
        (1.0, 0.8, 0.03),
        name="blanket",
        material=builders.CLOTH,
        refuge=Refuge.THROUGHOUT,
    ),
    *builders.wardrobe((1.7, 0.4, 0.0), (0.5, 0.6, 0.9), turn=20.0),
)


def room(cell: float) -> tuple[Grid, HeatModel]:
    case = builders.box_room(
        (2.4, 2.0, 1.2), parts=PARTS, envelope=builders.OUTDOOR_WALL, air_changes=0.5
    )
    grid = voxelise(case, cell)
    layout = node_layout(grid)
    model = build_heat_model(
        grid,
        layout,
        still_air(grid, 1e-3),
        exchange_of(grid),
        np.full(grid.surfaces.area.size, 6.0),
        NO_RADIATION,
        np.full(layout.size, 20.0),
    )
    return grid, model


@pytest.mark.parametrize("cell", [0.2, 0.1])
def test_layers_keep_the_heat_capacity_of_their_parts(cell: float) -> None:
    grid, model = room(cell)
    layout = model.layout
    solid = ~layout.is_envelope
    solid[layout.air] = False
    exact = sum(p.box.volume * p.material.volumetric_heat_capacity for p in PARTS)
    assert layout.capacity[solid].sum() == pytest.approx(exact, rel=1e-12)
    assert layout.capacity.min() > 0.0
    assert skins(grid).core_capacity.min() > 0.0


@pytest.mark.parametrize("cell", [0.2, 0.1])
def test_heat_among_layers_is_neither_made_nor_lost(cell: float) -> None:
    _, model = room(cell)
    state = 20.0 + 40.0 * np.random.default_rng(5).random(model.layout.size)
    out = model.outflow(state) - model.constant
    told = model.leak_loss(state) + model.envelope_loss(state)
    assert out.sum() == pytest.approx(told, abs=1e-10 * np.abs(out).sum())
    still = model.outflow(np.full(model.layout.size, 5.0)) - model.constant
    assert np.abs(still).max() < 1e-9 * np.abs(out).max()  # all at the outdoors' 5 °C


def test_between_two_parts_no_node_is_left_to_the_iteration() -> None:
    grid, model = room(0.1)
    layout, touch = model.layout, grid.solids.pair_area > 0.0
    assert (layout.touch_node[touch] >= layout.retained).all()
    assert (layout.touch_node[~touch] == -1).all()
    assert np.unique(layout.touch_node[touch]).size == touch.sum()
    faces = (grid.surfaces.solid >= 0) & (grid.surfaces.axis >= 0)
    cells = int(grid.is_open.sum()) + grid.columns.cell.size + grid.solids.cell.size
    assert layout.retained == cells + int(faces.sum())


def test_the_refuge_under_a_blanket_reads_the_node_between() -> None:
    grid, model = room(0.1)
    layout, refuges = model.layout, grid.refuges
    state = np.full(layout.size, 50.0)
    state[layout.touch_node[grid.solids.pair_area > 0.0]] = 30.0
    words = [group.words for group in refuges.groups]
    under = refuges.group == words.index("blanket, underside")
    assert watch(grid, layout, ()).refuges(state)[under] == pytest.approx(30.0)


@pytest.mark.parametrize("cell", [0.2, 0.13, 0.1])
@pytest.mark.parametrize("turn", [3.0, 29.0, 45.0, 61.0])
def test_turned_and_tilted_layers_conduct_and_store_in_every_sliver(
    cell: float, turn: float
) -> None:
    parts = [
        *builders.wardrobe((0.6, 0.5, 0.0), (0.7, 0.6, 0.9), turn=turn),
        builders.solid((1.7, 0.4, 0.2), (0.5, 0.8, 0.2), turn=turn, material=builders.FOAM),
        builders.solid((1.7, 0.4, 0.4), (0.5, 0.8, 0.03), turn=turn, material=builders.CLOTH),
        builders.solid((1.0, 1.4, 0.2), (0.6, 0.03, 0.5), turn=turn, tilt=30.0),
    ]
    grid = voxelise(builders.box_room((2.6, 2.2, 1.2), parts=parts), cell)
    found = skins(grid)
    assert found.link.min() > 0.0
    assert found.capacity.min() >= 0.0
    assert (found.core_capacity / grid.solids.heat_capacity).min() > 0.09
    assert found.pair_conductance.min(initial=1.0) > 0.0
    exact = sum(p.box.volume * p.material.volumetric_heat_capacity for p in parts)
    total = found.capacity.sum() + found.core_capacity.sum()
    assert total == pytest.approx(exact, rel=1e-12)
