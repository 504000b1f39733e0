"""The mean flow: solenoidal, symmetric where the room is, still where nothing moves it."""

from dataclasses import replace

import numpy as np
import pytest
from air_rooms import air_room, cells_at, fan, furnished_room, jet, leak

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.settings import (
    FIRST_LOOK,
    NO_EDDIES,
    SCREENING,
    AirflowSettings,
    FlowPlan,
    SteadyState,
    WallFriction,
)
from simulator.physics.airflow.solve_airflow import solve_airflow

FANS = (fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)), fan((4.2, 2.6, 0.8), (-1.0, -0.2, 0.0)))
LAMINAR = AirflowSettings(
    viscosity=0.01,
    eddies=NO_EDDIES,
    friction=WallFriction(is_turbulent=False),
    steady=SteadyState(residual=1e-11),
)


@pytest.fixture(scope="module")
def furnished() -> tuple[Grid, Airflow]:
    grid = furnished_room(0.2, fans=FANS)
    return grid, solve_airflow(grid)


def velocities(airflow: Airflow) -> list[FloatArray]:
    return [airflow.x_velocity, airflow.y_velocity, airflow.z_velocity]


def net_outflow(grid: Grid, airflow: Airflow, carried: FloatArray) -> FloatArray:
    """Outflow of each cell of a scalar that every cell holds ``carried`` of [m³/s] (upwind)."""
    widths = [np.diff(edges) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)]
    total = np.zeros(grid.shape)
    for axis, velocity in enumerate(velocities(airflow)):
        area = np.ones(1)
        for other in range(3):
            if other != axis:
                area = area * np.expand_dims(widths[other], [b for b in range(3) if b != other])
        flow = np.moveaxis(velocity * area, axis, 0)
        values = np.moveaxis(carried, axis, 0)
        padded = np.concatenate([values[:1], values, values[-1:]])
        flux = np.where(flow > 0.0, flow * padded[:-1], flow * padded[1:])
        total += np.moveaxis(flux[1:] - flux[:-1], 0, axis)
    return total


def test_no_face_into_solid_moves_air(furnished: tuple[Grid, Airflow]) -> None:
    grid, airflow = furnished
    for axis, velocity in enumerate(velocities(airflow)):
        is_open = np.moveaxis(grid.is_open, axis, 0)
        inner = np.moveaxis(velocity, axis, 0)
        assert not inner[0].any()
        assert not inner[-1].any()
        assert not inner[1:-1][~(is_open[1:] & is_open[:-1])].any()
    assert not airflow.speed[~grid.is_open].any()


def test_mean_flow_is_solenoidal_to_round_off(furnished: tuple[Grid, Airflow]) -> None:
    grid, airflow = furnished
    assert airflow.divergence < 1e-13  # round-off of velocities of a few m/s
    outflow = net_outflow(grid, airflow, np.ones(grid.shape))
    assert np.abs(outflow).max() / 0.2**2 < 1e-13


def test_uniform_heat_stays_uniform_and_is_kept_to_1e_12(furnished: tuple[Grid, Airflow]) -> None:
    """Ten seconds of explicit upwind transport of a field that is 1 everywhere."""
    grid, airflow = furnished
    field = np.ones(grid.shape)
    step = 0.2 * 0.2 / (6.0 * np.abs(airflow.speed).max())
    for _ in range(round(10.0 / step)):
        field -= step / 0.2**3 * net_outflow(grid, airflow, field)
    assert np.abs(field - 1.0).max() < 1e-12


def test_heat_in_a_moving_room_is_kept(furnished: tuple[Grid, Airflow]) -> None:
    grid, airflow = furnished
    field = np.where(grid.is_open, np.random.default_rng(1).random(grid.shape), 0.0)
    before = field.sum()
    step = 0.2 * 0.2 / (6.0 * np.abs(airflow.speed).max())
    for _ in range(100):
        field -= step / 0.2**3 * net_outflow(grid, airflow, field)
    assert field.sum() == pytest.approx(before, rel=1e-13)


def test_mean_speed_exceeds_the_speed_of_the_mean(furnished: tuple[Grid, Airflow]) -> None:
    grid, airflow = furnished
    centre = [
        0.5 * (np.moveaxis(v, axis, 0)[1:] + np.moveaxis(v, axis, 0)[:-1])
        for axis, v in enumerate(velocities(airflow))
    ]
    squares = sum(np.moveaxis(part, 0, axis) ** 2 for axis, part in enumerate(centre))
    of_mean = np.sqrt(squares)[grid.is_open].mean()
    assert of_mean < airflow.speed[grid.is_open].mean() < 3.0 * of_mean


def test_scatter_tells_how_far_the_halves_differ(furnished: tuple[Grid, Airflow]) -> None:
    _, airflow = furnished
    assert 0.0 < airflow.scatter < 0.15
    assert airflow.scatter < airflow.pointwise_scatter < 0.6
    assert airflow.flow_time == pytest.approx(40.0)
    assert 0.5 < airflow.near_surface_speed < 2.0


def test_the_same_room_gives_the_same_flow(furnished: tuple[Grid, Airflow]) -> None:
    grid, airflow = furnished
    again = solve_airflow(grid)
    assert np.array_equal(again.x_velocity, airflow.x_velocity)
    assert again.scatter == airflow.scatter


def test_a_start_from_the_solution_agrees_with_it(furnished: tuple[Grid, Airflow]) -> None:
    """Within what the averages scatter: 3 % in the mean, 25 % pointwise were found."""
    grid, airflow = furnished
    again = solve_airflow(grid, start=airflow, discard=10.0)
    assert again.near_surface_speed == pytest.approx(airflow.near_surface_speed, rel=0.1)
    assert not np.array_equal(again.x_velocity, airflow.x_velocity)


def test_arrays_of_the_answer_are_read_only(furnished: tuple[Grid, Airflow]) -> None:
    _, airflow = furnished
    with pytest.raises(ValueError, match="read-only"):
        airflow.speed[0, 0, 0] = 1.0


@pytest.mark.parametrize(("plan", "within"), [(SCREENING, 0.05), (FIRST_LOOK, 0.10)])
def test_the_plans_for_searches_agree_with_a_long_average(plan: FlowPlan, within: float) -> None:
    """The long one starts after the end of the others and shares nothing with them."""
    grid = furnished_room(0.2, fans=FANS)
    short, long = (
        solve_airflow(grid, discard=discard, average=average, settings=plan.settings)
        for discard, average in ((plan.discard, plan.average), (180.0, 240.0))
    )
    assert short.near_surface_speed == pytest.approx(long.near_surface_speed, rel=within)


@pytest.mark.parametrize(
    ("longest", "goal", "time"),
    [(0.0, 0.0, 8.0), (20.0, 0.0, 16.0), (24.0, 0.0, 24.0), (99.0, 9.0, 8.0)],
)
def test_an_average_is_prolonged_while_its_halves_differ(
    longest: float, goal: float, time: float
) -> None:
    grid = furnished_room(0.2, fans=FANS)
    settings = AirflowSettings(longest_average=longest, scatter_goal=goal)
    airflow = solve_airflow(grid, discard=2.0, average=8.0, settings=settings)
    assert airflow.flow_time == pytest.approx(time)


def test_a_prolonged_average_is_the_average_over_the_longer_time() -> None:
    grid = furnished_room(0.2, fans=FANS)
    prolonged = solve_airflow(
        grid,
        discard=2.0,
        average=8.0,
        settings=AirflowSettings(longest_average=16.0, scatter_goal=0.0),
    )
    whole = solve_airflow(grid, discard=2.0, average=16.0)
    assert prolonged.speed == pytest.approx(whole.speed, rel=1e-12)
    assert prolonged.x_velocity == pytest.approx(whole.x_velocity, abs=1e-12)
    assert prolonged.scatter == pytest.approx(whole.scatter, rel=1e-9)


# ---- symmetry ----

SIZE = (12, 10, 8)
CENTRE = (0.33, 0.42, 0.45)
TOWARDS = (0.8, 0.5, 0.33)


def small_room(mirror: int | None = None, order: tuple[int, int, int] = (0, 1, 2)) -> Grid:
    """A room with a block and a weak fan; mirrored along an axis, or its axes reordered."""
    blocked = np.zeros(SIZE, dtype=np.bool_)
    blocked[6:9, 2:5, 0:4] = True
    centre, towards = list(CENTRE), list(TOWARDS)
    if mirror is not None:
        blocked = np.flip(blocked, mirror)
        centre[mirror] = 0.1 * SIZE[mirror] - centre[mirror]
        towards[mirror] *= -1.0
    blocked = np.ascontiguousarray(blocked.transpose(order))
    moved = fan(
        tuple(centre[axis] for axis in order),  # type: ignore[arg-type]
        tuple(towards[axis] for axis in order),  # type: ignore[arg-type]
        diameter=0.25,
        flow=0.03,
    )
    return air_room(blocked.shape, 0.1, blocked=blocked, fans=[moved])  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def laminar() -> Airflow:
    return solve_airflow(small_room(), settings=LAMINAR)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_mirrored_laminar_room_has_the_mirrored_flow(laminar: Airflow, axis: int) -> None:
    mirrored = solve_airflow(small_room(axis), settings=LAMINAR)
    assert laminar.speed.max() > 0.1
    for own, (velocity, image) in enumerate(
        zip(velocities(laminar), velocities(mirrored), strict=True)
    ):
        sign = -1.0 if own == axis else 1.0
        # the steady state is reached to 1e-11 m/s², which leaves 1e-11 m/s
        assert sign * np.flip(image, axis) == pytest.approx(velocity, abs=1e-9)


@pytest.mark.parametrize("order", [(1, 2, 0), (2, 0, 1), (1, 0, 2)])
def test_no_axis_is_special(laminar: Airflow, order: tuple[int, int, int]) -> None:
    turned = solve_airflow(small_room(order=order), settings=LAMINAR)
    for axis, velocity in enumerate(velocities(turned)):
        original = velocities(laminar)[order[axis]].transpose(order)
        assert velocity == pytest.approx(original, abs=1e-9)


# ---- what moves and what does not ----


def test_without_fans_jets_or_warmth_the_air_is_still() -> None:
    airflow = solve_airflow(furnished_room(0.2, fans=()))
    assert not any(velocity.any() for velocity in velocities(airflow))
    assert airflow.near_surface_speed == airflow.scatter == airflow.divergence == 0.0


def test_level_warm_air_is_still() -> None:
    grid = furnished_room(0.2, fans=())
    warm = np.broadcast_to(np.linspace(20.0, 60.0, grid.shape[2]), grid.shape)
    assert not solve_airflow(grid, warm).speed.any()


def test_leaks_alone_flow_through_without_swirl() -> None:
    shape = (8, 6, 6)
    inlets, outlets = cells_at(shape, (0, 2, 0)), cells_at(shape, (7, 3, 5))
    grid = air_room(shape, leaks=[leak(inlets, outlets, 0.01)])
    airflow = solve_airflow(grid)
    middle = airflow.x_velocity[4] * 0.01
    assert middle.sum() == pytest.approx(0.01, rel=1e-12)
    assert airflow.divergence < 1e-13
    assert airflow.flow_time == 0.0


def test_warm_air_rises_and_cold_air_sinks() -> None:
    grid = air_room((10, 4, 8), 0.2)
    temperature = np.full(grid.shape, 20.0)
    temperature[:2], temperature[-2:] = 30.0, 10.0
    airflow = solve_airflow(grid, temperature, discard=5.0, average=10.0)
    assert airflow.z_velocity[:2].mean() > 0.05
    assert airflow.z_velocity[-2:].mean() < -0.05
    assert airflow.x_velocity[5, :, -1].mean() > 0.05 > -0.05 > airflow.x_velocity[5, :, 0].mean()


def test_a_shut_room_next_door_stays_still() -> None:
    blocked = np.zeros((20, 10, 8), dtype=np.bool_)
    blocked[10] = True
    grid = air_room((20, 10, 8), 0.2, blocked=blocked, fans=[fan((0.8, 1.0, 0.8), (1, 0, 0))])
    airflow = solve_airflow(grid, discard=4.0, average=8.0)
    assert airflow.speed[:10].max() > 1.0
    assert airflow.speed[11:].max() < 1e-12


def test_a_board_stops_air() -> None:
    board = np.zeros((21, 10, 8), dtype=np.bool_)
    board[10] = True
    grid = air_room((20, 10, 8), 0.2, closed_x=board, fans=[fan((0.8, 1.0, 0.8), (1, 0, 0))])
    airflow = solve_airflow(grid, discard=4.0, average=8.0)
    assert not airflow.x_velocity[10].any()
    assert airflow.speed[10:].max() < 1e-12


def test_ducted_air_crosses_the_room_and_leaves_by_the_leak() -> None:
    shape = (12, 8, 6)
    outlet = cells_at(shape, (1, 3, 2), (1, 4, 2))
    ends = cells_at(shape, (11, 0, 0)), cells_at(shape, (11, 7, 5))
    grid = air_room(
        shape,
        0.2,
        jets=[jet(outlet, None, flow=0.3, centre=(0.4, 0.8, 0.5), diameter=0.3)],
        leaks=[leak(ends[0], ends[1], 0.01)],
    )
    airflow = solve_airflow(grid, discard=4.0, average=8.0)
    through = airflow.x_velocity[6].sum() * 0.04
    assert through == pytest.approx(0.3, rel=1e-10)
    assert airflow.divergence < 1e-13
    assert airflow.cell_source[1, 3, 2] == pytest.approx(0.15)


def test_stronger_fans_blow_faster() -> None:
    """At high Reynolds numbers the flow scales with the fan: twice its flow, twice the speed."""
    weak = solve_airflow(furnished_room(0.2, fans=[replace(one, flow=0.6) for one in FANS]))
    strong = solve_airflow(furnished_room(0.2, fans=FANS))
    ratio = strong.near_surface_speed / weak.near_surface_speed
    assert 1.7 < ratio < 2.4  # friction falls a little with speed; 10 % scatter


# ---- cancelling ----


class StopHereError(Exception):
    """Raised by the test in place of Ctrl-C."""


def test_progress_may_cancel() -> None:
    def stop(share: float) -> None:
        raise StopHereError

    with pytest.raises(StopHereError):
        solve_airflow(furnished_room(0.1, fans=FANS), on_progress=stop)


def test_progress_rises_from_nothing_to_all() -> None:
    seen: list[float] = []
    solve_airflow(
        furnished_room(0.1, fans=FANS), discard=10.0, average=20.0, on_progress=seen.append
    )
    assert len(seen) >= 3
    assert seen == sorted(seen)
    assert seen[0] >= 0.0
    assert seen[-1] <= 1.0
