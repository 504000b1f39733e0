"""Eliminating chains changes nothing but the size of the system."""

import numpy as np
import pytest
from unit.heat.small_room import small_room

from simulator.errors import ConvergenceError
from simulator.physics.heat.linear_solver import HeatSolver


def dense(room: object, time_constant: float) -> np.ndarray:
    """The whole matrix M/τ + K, column by column from the balance itself."""
    model, layout = room.model, room.layout
    columns = [model.outflow(unit) for unit in np.eye(layout.size)]
    return np.array(columns).T + np.diag(layout.capacity / time_constant)


@pytest.mark.parametrize("time_constant", [3.0, 100.0, 2e4, np.inf])
def test_solution_equals_that_of_the_whole_dense_system(time_constant: float) -> None:
    room = small_room()
    load = room.model.constant + np.random.default_rng(2).random(room.layout.size)
    system = HeatSolver(room.model).shifted(time_constant)
    found = system.solve(load, room.state(), 1e-11)
    exact = np.linalg.solve(dense(room, time_constant), load)
    # the tolerance is one of residuals; the steady balance makes the most of it
    assert np.abs(found - exact).max() < 1e-7


def test_heat_closes_at_any_tolerance() -> None:
    room = small_room()
    system = HeatSolver(room.model).shifted(60.0)
    state = room.state()
    load = system.storage * state + room.model.constant
    load[0] += 1000.0
    for tolerance in (1.0, 1e-3, 1e-9):
        found = system.solve(load, state, tolerance)
        residual = system.storage * found + room.model.outflow(found) - load
        assert abs(residual.sum()) < 1e-10 * np.abs(load).sum()


def test_a_load_that_is_not_finite_is_named_at_once() -> None:
    room = small_room()
    load = room.model.constant.copy()
    load[3] = np.nan
    with pytest.raises(ConvergenceError, match="not finite"):
        HeatSolver(room.model).shifted(60.0).solve(load, room.state(), 1e-3)
