"""A fan that something throttles loses thrust by its fan curve; a free fan keeps all of it."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from air_rooms import air_room, cells_at, fan, jet

from simulator.case.parts import Vector
from simulator.grid.grid import Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.fan_curve import LEAST_FLOW, thrust_share
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.airflow.staggered import stagger

SIZE = (4.0, 3.0, 2.4)
EAST = (1.0, 0.0, 0.0)


def room(cell: float, centre: Vector, direction: Vector = EAST, shut_off: float = 3.0) -> Grid:
    shape = (round(SIZE[0] / cell), round(SIZE[1] / cell), round(SIZE[2] / cell))
    return air_room(shape, cell, fans=[replace(fan(centre, direction), shut_off=shut_off)])


def blow(grid: Grid) -> Airflow:
    return solve_airflow(grid, discard=6.0, average=8.0)


@pytest.mark.parametrize("shut_off", [1.0, 3.0, 10.0])
def test_the_working_point_lies_on_the_fan_curve_and_on_the_resistance(shut_off: float) -> None:
    """Pressures over the dynamic pressure of the free delivery, flows over it."""
    for flow_share in (0.3, 0.6, 0.9):
        zeta = 4.0 * (flow_share**-2 - 1.0)
        squared_flow = thrust_share(flow_share, shut_off)
        fan_pressure = shut_off * (1.0 - squared_flow)
        assert fan_pressure == pytest.approx(zeta * squared_flow, rel=1e-12)


def test_thrust_falls_with_the_flow_and_never_exceeds_the_free_one() -> None:
    shares = [thrust_share(c, 3.0) for c in np.linspace(-0.5, 1.5, 41)]
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[-1] == 1.0
    assert shares[0] == thrust_share(LEAST_FLOW, 3.0) > 0.0
    assert thrust_share(0.2, inf) == 1.0


@pytest.mark.parametrize("cell", [0.2, 0.1])
@pytest.mark.parametrize("direction", [EAST, (1.0, 1.0, 0.0), (0.8, 0.5, 0.3)])
def test_a_free_fan_keeps_all_its_thrust(cell: float, direction: Vector) -> None:
    airflow = blow(room(cell, (1.5, 1.3, 1.1), direction))
    assert 0.98 < airflow.thrust_share[0] <= 1.0


@pytest.mark.parametrize("centre", [(0.15, 1.5, 1.2), (3.85, 1.5, 1.2)])
def test_a_wall_close_behind_or_before_takes_thrust(centre: Vector) -> None:
    """0.15 m from a wall a disc of 0.5 m has an opening of 1.2 times its own area."""
    airflow = blow(room(0.1, centre))
    assert 0.2 < airflow.thrust_share[0] < 0.85
    stiff = blow(room(0.1, centre, shut_off=10.0))
    assert airflow.thrust_share[0] < stiff.thrust_share[0] < 1.0


def test_a_fan_hard_against_a_wall_gives_less_than_one_near_it() -> None:
    shares = [blow(room(0.1, (x, 1.5, 1.2))).thrust_share[0] for x in (0.05, 0.15, 0.6)]
    assert shares[0] < shares[1] < shares[2] <= 1.0
    assert shares[2] > 0.98


def test_the_force_in_the_air_is_the_share_of_the_free_thrust() -> None:
    grid = room(0.1, (0.15, 1.5, 1.2))
    still = np.zeros(grid.shape)
    stepper = FlowStepper(grid, stagger(grid), still, still, ROOM_AIR, lambda: None)
    free = stepper._force[0].sum()
    for _ in range(40):
        stepper.step(lambda: None)
    assert stepper.thrust_share[0] < 0.9
    assert stepper._force[0].sum() == pytest.approx(free * stepper.thrust_share[0], rel=1e-12)


def test_a_warm_start_takes_up_the_throttle() -> None:
    grid = room(0.1, (0.15, 1.5, 1.2))
    first = blow(grid)
    again = solve_airflow(grid, start=first, discard=0.0, average=1.0)
    # the fan follows over 2 s, so that a cold start would have kept three quarters of the way
    assert again.thrust_share == pytest.approx(first.thrust_share, abs=0.05)


def test_a_jet_of_given_flow_is_not_throttled() -> None:
    """Its flow is pressed through whatever stands before it."""
    shape = (20, 15, 12)
    outlet, intake = cells_at(shape, (18, 7, 6)), cells_at(shape, (2, 7, 6))
    heater = jet(outlet, intake, flow=0.2, centre=(1.85, 0.75, 0.65), diameter=0.3)
    grid = air_room(shape, 0.1, jets=[heater])
    still = np.zeros(grid.shape)
    stepper = FlowStepper(grid, stagger(grid), still, still, ROOM_AIR, lambda: None)
    for _ in range(20):
        stepper.step(lambda: None)
    assert stepper.thrust_share[0] == 1.0
    assert solve_airflow(grid, discard=2.0, average=2.0).thrust_share.size == 0
