"""A fan that something throttles loses thrust by its fan curve; a free fan keeps all of it."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from air_rooms import air_room, cells_at, fan, jet

from simulator.case.parts import Vector
from simulator.grid.grid import Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.fan_curve import LEAST_FLOW, resistance, thrust_share
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
        zeta = resistance(flow_share)
        assert zeta == pytest.approx(4.0 * (flow_share**-2 - 1.0), rel=1e-12)
        squared_flow = thrust_share(zeta, shut_off)
        fan_pressure = shut_off * (1.0 - squared_flow)
        assert fan_pressure == pytest.approx(zeta * squared_flow, rel=1e-12)


def test_thrust_falls_with_the_flow_and_never_exceeds_the_free_one() -> None:
    shares = [thrust_share(resistance(c), 3.0) for c in np.linspace(-0.5, 1.5, 41)]
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[-1] == 1.0
    assert shares[0] == thrust_share(resistance(LEAST_FLOW), 3.0) > 0.0
    assert thrust_share(resistance(0.2), inf) == 1.0


@pytest.mark.parametrize("cell", [0.2, 0.1])
@pytest.mark.parametrize("direction", [EAST, (1.0, 1.0, 0.0), (0.8, 0.5, 0.3)])
def test_a_free_fan_keeps_all_its_thrust(cell: float, direction: Vector) -> None:
    airflow = blow(room(cell, (1.5, 1.3, 1.1), direction))
    assert 0.98 < airflow.thrust_share[0] <= 1.0


@pytest.mark.parametrize("gap", [0.07, 0.15, 0.3])
def test_a_gap_takes_the_same_thrust_on_any_cells(gap: float) -> None:
    """The gap is 0.35 to 1.5 cells of 0.2 m, which alone see a free fan or one shut off."""
    coarse, fine = (blow(room(cell, (gap, 1.5, 1.2))).thrust_share[0] for cell in (0.2, 0.1))
    expected = 1.0 / (1.0 + ((0.5 / (4.0 * gap)) ** 2 - 1.0 / 64.0) / 3.0)
    assert coarse == pytest.approx(expected, abs=0.02)  # gaps are told within 5 mm
    assert coarse == pytest.approx(fine, abs=1e-12)


def test_what_no_gap_explains_still_throttles_by_the_flow_through_the_disc() -> None:
    """A fan that drives air round through loose stuff, all of it two cells away or farther."""
    shape = (30, 8, 3)
    drag = np.zeros(shape)
    drag[18:22] = 200.0
    dividing = np.zeros(shape, dtype=np.bool_)
    dividing[5:27, 3:5] = True  # a ring: there and back
    mover = fan((1.2, 0.15, 0.15), EAST, diameter=0.3, flow=0.4)
    free, slowed = (
        blow(air_room(shape, 0.1, blocked=dividing, forchheimer=stuff, fans=[mover]))
        for stuff in (np.zeros(shape), drag)
    )
    assert slowed.thrust_share[0] < 0.8 * free.thrust_share[0]


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
    corner = air_room((30, 20, 20), 0.1, fans=[fan((0.3, 0.3, 0.3), (1.0, 1.0, 0.3))])
    for grid in (room(0.1, (0.15, 1.5, 1.2)), corner):
        first = blow(grid)
        again = solve_airflow(grid, start=first, discard=0.0, average=1.0)
        assert first.thrust_share[0] < 0.9
        # the fan follows over 2 s, so that a cold start would have kept three quarters of the way
        assert again.thrust_share == pytest.approx(first.thrust_share, abs=0.02)


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
