"""Probes read the air around them or the solid they are in; refuges read their coldest point."""

import numpy as np
import pytest
from unit.heat.grids import make_grid
from unit.heat.small_room import CELL, SHAPE, flat, small_room

from simulator.grid.grid import Grid
from simulator.physics.heat.nodes import (
    NodeLayout,
    air_temperatures,
    mean_air_temperature,
    node_layout,
)
from simulator.physics.heat.watch import point_mean, watch

ROOM = small_room()


def linear_state() -> np.ndarray:
    """Air temperatures that rise linearly along each axis."""
    state = ROOM.state()
    i, j, k = np.unravel_index(ROOM.layout.air_cell, SHAPE)
    state[ROOM.layout.air] = 20.0 + 3.0 * i + 2.0 * j + 1.0 * k
    return state


def test_probe_in_open_air_is_interpolated_linearly() -> None:
    state = linear_state()
    probe = point_mean(ROOM.grid, ROOM.layout, (1.6, 1.3, 1.1))
    exact = 20.0 + 3.0 * (1.6 / CELL - 0.5) + 2.0 * (1.3 / CELL - 0.5) + (1.1 / CELL - 0.5)
    assert probe.of(state) == pytest.approx(exact)
    assert probe.weight.sum() == pytest.approx(1.0)


def test_probe_at_a_wall_reads_the_cell_it_is_in() -> None:
    probe = point_mean(ROOM.grid, ROOM.layout, (0.0, 0.0, 0.0))
    assert probe.of(linear_state()) == pytest.approx(20.0)


def test_probe_inside_a_block_reads_its_core() -> None:
    probe = point_mean(ROOM.grid, ROOM.layout, (0.9, 0.9, 0.3))
    solid = int(np.searchsorted(ROOM.grid.solids.cell, flat(3, 3, 1)))
    assert probe.node.tolist() == [ROOM.layout.solid_node[solid]]


def test_probe_beside_a_block_leaves_the_block_out() -> None:
    probe = point_mean(ROOM.grid, ROOM.layout, (1.26, 0.9, 0.3))
    assert (probe.node < ROOM.layout.air.stop).all()
    assert probe.weight.sum() == pytest.approx(1.0)


def block_of(cells: int, axis: int = 0) -> tuple[Grid, NodeLayout]:
    """A row of solid cells, 0.1 m each, with air before its low end and behind its high end."""
    shape = [1, 1, 1]
    shape[axis] = cells + 2
    blocked = np.ones(shape, dtype=bool)
    np.moveaxis(blocked, axis, 0)[[0, -1]] = False
    grid = make_grid([np.linspace(0.0, 0.1 * n, n + 1) for n in shape], blocked=blocked)
    return grid, node_layout(grid)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_core_of_a_layer_is_its_coldest_point(axis: int) -> None:
    grid, layout = block_of(1, axis)
    state = np.full(layout.size, 44.0)
    state[layout.solid_node] = 40.0
    assert layout.core_profiles.drops(state) == pytest.approx([0.0])
    assert watch(grid, layout, ()).refuges(state) == pytest.approx([40.0])


def test_between_warm_faces_all_round_the_middle_is_colder_than_the_mean() -> None:
    blocked = np.zeros((3, 3, 3), dtype=bool)
    blocked[1, 1, 1] = True
    layout = node_layout(make_grid([np.linspace(0.0, 0.3, 4)] * 3, blocked=blocked))
    state = np.full(layout.size, 44.0)
    state[layout.solid_node] = 40.0
    # half of face minus mean for each of three axes
    assert layout.core_profiles.drops(state) == pytest.approx([6.0])


def test_a_cell_is_coldest_on_the_side_away_from_its_warm_face() -> None:
    _, layout = block_of(2)
    state = np.full(layout.size, 44.0)
    state[layout.solid_node] = 40.0
    # the plane between equal cores passes no heat: the parabola of one warm side
    assert layout.core_profiles.drops(state) == pytest.approx([2.0, 2.0])


def test_inside_a_body_the_parabola_through_three_cells_tells_the_coldest_point() -> None:
    _, layout = block_of(3)
    state = np.full(layout.size, 60.0)
    state[layout.solid_node] = [46.0, 40.0, 46.0]
    # T = 40 - 0.5 + 6 (x/d)²: its mean over the cell is 40
    assert layout.core_profiles.drops(state)[1] == pytest.approx(0.5)
    state[layout.solid_node] = [46.0, 40.0, 34.0]
    assert layout.core_profiles.drops(state)[1] == pytest.approx(3.0)  # a line: half a cell down


def test_nothing_is_read_colder_than_it_began() -> None:
    grid, layout = block_of(2)
    state = np.full(layout.size, 44.0)
    state[layout.solid_node] = 21.0
    assert watch(grid, layout, ()).refuges(state) == pytest.approx([20.0, 20.0])
    temperature, refuge = watch(grid, layout, ()).coldest(state)
    assert temperature == pytest.approx(20.0)
    assert refuge == 0


def test_fields_hold_air_where_air_is() -> None:
    state = linear_state()
    field = air_temperatures(ROOM.grid, ROOM.layout, state)
    assert np.isnan(field[ROOM.grid.is_blocked]).all()
    assert field[7, 6, 5] == pytest.approx(20.0 + 21.0 + 12.0 + 5.0)
    assert ROOM.watch.field(state)[3, 3, 0] == pytest.approx(20.0)
    volumes = ROOM.grid.air_volume
    expected = np.nansum(field * volumes) / volumes.sum()
    assert mean_air_temperature(ROOM.layout, state) == pytest.approx(expected)
