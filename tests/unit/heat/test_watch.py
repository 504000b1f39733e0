"""Probes read the air around them or the solid they are in; refuges read their coldest point."""

import numpy as np
import pytest
from unit.heat.small_room import CELL, SHAPE, flat, small_room

from simulator.physics.heat.nodes import air_temperatures, mean_air_temperature
from simulator.physics.heat.watch import point_mean

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


def test_a_warming_solid_is_coldest_behind_its_faces_but_not_colder_than_it_began() -> None:
    layout, grid = ROOM.layout, ROOM.grid
    state = ROOM.state()
    assert ROOM.watch.refuges(state) == pytest.approx(20.0)
    state[layout.core_faces.node] = 44.0
    state[layout.solid_node] = 40.0
    top = int(np.searchsorted(grid.solids.cell, flat(3, 3, 1)))  # one face in the air, above
    below = int(np.searchsorted(grid.solids.cell, flat(3, 3, 0)))  # none
    corner = int(np.searchsorted(grid.solids.cell, flat(2, 2, 1)))  # three
    found = ROOM.watch.refuges(state)
    # the parabola: coldest minus mean is half of mean minus face, for each axis
    assert found[[top, below, corner]] == pytest.approx([38.0, 40.0, 34.0])
    state[layout.solid_node] = 21.0
    assert ROOM.watch.refuges(state).min() == pytest.approx(20.0)
    assert ROOM.watch.coldest(state) == pytest.approx(20.0)


def test_a_cooling_solid_is_read_at_its_mean() -> None:
    state = ROOM.state(50.0)
    state[ROOM.layout.core_faces.node] = 30.0
    assert ROOM.watch.refuges(state) == pytest.approx(50.0)


def test_fields_hold_air_where_air_is() -> None:
    state = linear_state()
    field = air_temperatures(ROOM.grid, ROOM.layout, state)
    assert np.isnan(field[ROOM.grid.is_blocked]).all()
    assert field[7, 6, 5] == pytest.approx(20.0 + 21.0 + 12.0 + 5.0)
    assert ROOM.watch.field(state)[3, 3, 0] == pytest.approx(20.0)
    volumes = ROOM.grid.air_volume
    expected = np.nansum(field * volumes) / volumes.sum()
    assert mean_air_temperature(ROOM.layout, state) == pytest.approx(expected)
