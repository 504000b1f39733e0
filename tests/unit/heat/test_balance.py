"""The balance makes and loses no heat, and leaves a uniform dwelling alone."""

import dataclasses

import builders
import numpy as np
import pytest
from unit.heat.grids import black_box, exchange_of, make_grid, still_air, stirred_air
from unit.heat.small_room import small_room

from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.balance import build_heat_model
from simulator.physics.heat.linear_solver import HeatSolver, ShiftedSystem
from simulator.physics.heat.long_wave import long_wave
from simulator.physics.heat.nodes import node_layout
from simulator.physics.radiation.exchange import NO_RADIATION


def test_uniform_temperature_stays_uniform_in_any_flow() -> None:
    room = small_room(behind=31.0, outdoor=31.0, appliance=0.0)
    model, state = room.model, room.state(31.0)
    rate = (model.constant - model.outflow(state)) / room.layout.capacity
    # 31 K times the round-off of a divergence-free flow, against 1 K/s that 1 % of divergence makes
    assert np.abs(rate).max() < 1e-11


def test_heat_leaves_only_through_leaks_and_outer_ends_of_walls() -> None:
    room = small_room()
    model = room.model
    state = 20.0 + 40.0 * np.random.default_rng(3).random(room.layout.size)
    gone = (model.outflow(state) - model.constant).sum()
    told = model.leak_loss(state) + model.envelope_loss(state) - model.appliance_power
    assert gone == pytest.approx(told, abs=1e-9 * np.abs(model.outflow(state)).sum())


def test_no_term_pulls_a_node_beyond_its_neighbours() -> None:
    room = small_room(eddies=0.05)
    matrix = room.model.matrix
    value = matrix.value.copy()
    value[matrix.diagonal] = -1.0
    assert (value <= 1e-15).all()
    assert (room.model.long_wave.conductance >= 0.0).all()
    assert (room.model.matrix.value[matrix.diagonal] > 0.0).all()


def test_one_implicit_step_makes_no_new_extremes() -> None:
    room = small_room(behind=20.0, outdoor=20.0, appliance=0.0, eddies=0.05)
    system = HeatSolver(room.model).shifted(30.0)
    state = 20.0 + 40.0 * np.random.default_rng(4).random(room.layout.size)
    after = system.solve(system.storage * state + room.model.constant, state, 1e-12)
    assert after.min() >= 20.0 - 1e-9
    assert after.max() <= state.max() + 1e-9


def test_a_watt_anywhere_warms_every_node() -> None:
    room = small_room()
    system = HeatSolver(room.model).shifted(600.0)
    nothing = np.zeros(room.layout.size)
    for heater in room.model.heaters:
        load = nothing.copy()
        load[heater.node] += heater.weight
        rise = system.solve(load, nothing, 1e-13)
        assert rise.min() > 0.0


@pytest.mark.parametrize("tolerance", [1e-3, 1e-9])
def test_a_solution_that_stalls_is_rescued(
    tolerance: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept directions in single precision got stuck in a bedroom on cells of 5 cm."""
    room = small_room(eddies=0.05)
    state = 20.0 + 40.0 * np.random.default_rng(4).random(room.layout.size)
    load = HeatSolver(room.model).shifted(30.0).storage * state + room.model.constant
    exact = HeatSolver(room.model).shifted(30.0).solve(load, state, 1e-11)
    monkeypatch.setattr(ShiftedSystem, "_descended", lambda self, attempt, *_: (attempt, 1))
    found = HeatSolver(room.model).shifted(30.0).solve(load, state, tolerance)
    np.testing.assert_allclose(found, exact, atol=20.0 * tolerance)


def test_recirculating_heater_blows_the_mean_of_its_intake() -> None:
    room = small_room(ducted=False)
    heater = room.model.heaters[0]
    state = room.state()
    state[heater.intake_node] = [30.0, 34.0]
    assert heater.intake_temperature(state) == pytest.approx(32.0)
    loopless = build_heat_model(
        room.grid,
        room.layout,
        room.airflow,
        dataclasses.replace(room.exchange, intakes=(None,)),
        np.linspace(3.0, 12.0, room.grid.surfaces.area.size),
        black_box(room.grid, 7),
        np.full(room.layout.size, 40.0),
    )
    carried = loopless.outflow(state) - room.model.outflow(state)
    assert carried[heater.node] == pytest.approx(heater.capacity_flow * heater.weight * 32.0)
    taken = heater.capacity_flow * heater.intake_weight * state[heater.intake_node]
    assert -carried[heater.intake_node] == pytest.approx(taken)


def test_long_wave_gives_the_exact_flow_at_the_temperatures_it_is_linearised_about() -> None:
    grid = small_room().grid
    room = small_room()
    radiation = black_box(grid, grid.surfaces.area.size)  # every surface its own patch
    state = 20.0 + 40.0 * np.random.default_rng(5).random(room.layout.size)
    linear = long_wave(grid, room.layout, radiation, state)
    leaving = np.zeros(room.layout.size)
    np.add.at(leaving, linear.node, linear.diagonal * state[linear.node])
    linear.subtract_received(state, leaving)
    kelvin = state[room.layout.surface_node] + ZERO_CELSIUS
    exact = STEFAN_BOLTZMANN * (
        radiation.exchange.sum(axis=1) * kelvin**4 - radiation.exchange @ kelvin**4
    )
    by_node = np.zeros(room.layout.size)
    np.add.at(by_node, room.layout.surface_node, exact)
    # single precision of the conductances, of gross flows of up to 600 W/m²
    assert leaving == pytest.approx(by_node, abs=1e-3)
    assert abs(leaving.sum()) < 1e-9


def test_faces_that_a_board_shuts_pass_neither_flow_nor_mixing() -> None:
    grid = make_grid([np.linspace(0.0, 1.0, 3), np.linspace(0.0, 1.0, 2), np.linspace(0.0, 1.0, 2)])
    closed = grid.closed_x.copy()
    closed[1] = True
    shut = dataclasses.replace(grid, closed_x=closed)
    layout = node_layout(shut)
    model = build_heat_model(
        shut,
        layout,
        stirred_air(shut, 0.0, 1, mixing=1.0),
        exchange_of(shut),
        np.zeros(0),
        NO_RADIATION,
        np.zeros(layout.size),
    )
    assert model.outflow(np.array([20.0, 60.0])) == pytest.approx([0.0, 0.0], abs=1e-12)


def test_partition_passes_the_heat_of_its_layers_from_room_to_room() -> None:
    grid = voxelise(builders.two_rooms((1.0, 1.0, 1.0), doorway=None), 0.25)
    grid = dataclasses.replace(grid, air_volume=np.where(grid.is_open, 1e15, 0.0))
    layout = node_layout(grid)
    west = np.take(grid.room.ravel(), layout.air_cell) == 0
    state = np.full(layout.size, 20.0)
    state[layout.air] = np.where(west, 50.0, 20.0)
    model = build_heat_model(
        grid,
        layout,
        still_air(grid),
        exchange_of(grid),
        np.full(grid.surfaces.area.size, 8.0),
        NO_RADIATION,
        state,
    )
    # held by endless air until all walls are steady
    system = HeatSolver(model).shifted(1e10)
    steady = system.solve(system.storage * state + model.constant, state, 1e-12)
    left = model.outflow(steady)[layout.air]
    resistance = 1.0 / 8.0 + 2.0 * 0.0125 / 0.25 + 1.0 / 8.0  # test partition: two plasterboards
    assert left[west].sum() == pytest.approx(30.0 / resistance, rel=1e-3)  # 1 m²
    assert left.sum() == pytest.approx(0.0, abs=1e-3)
