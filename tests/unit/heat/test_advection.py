"""Advection of heat by a known flow against exact profiles, and what its limits cost."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import splu
from unit.heat.grids import black_box, make_grid, still_air, stirred_air
from unit.heat.small_room import SmallRoom, small_room, with_full_power, with_power

from simulator.constants import AIR_PRANDTL, AIR_VISCOSITY, AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.advance import advance
from simulator.physics.heat.advection import (
    TURBULENT_PRANDTL,
    Carried,
    advection_and_mixing,
    kept_pace,
    sharp_share,
)
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.nodes import node_layout
from simulator.physics.heat.reduced_model import ReducedSteps
from simulator.physics.radiation.exchange import NO_RADIATION

#: Times that the shares are computed anew from the last solution.
ROUNDS = 6


def plane_of_cells(n: int) -> Grid:
    """Return n x n cells of a unit square, one cell deep."""
    edges = np.linspace(0.0, 1.0, n + 1)
    return make_grid([edges, edges, np.array([0.0, 1.0 / n])])


def uniform_flow(grid: Grid, velocity: tuple[float, float, float], diffusivity: float) -> Airflow:
    """Return a flow of one velocity [m/s] and one diffusivity of heat [m²/s] everywhere."""
    calm = still_air(grid, TURBULENT_PRANDTL * (diffusivity - AIR_VISCOSITY / AIR_PRANDTL))
    return replace(
        calm,
        x_velocity=calm.x_velocity + velocity[0],
        y_velocity=calm.y_velocity + velocity[1],
        z_velocity=calm.z_velocity + velocity[2],
    )


def matrix(grid: Grid, flow: Airflow, temperature: FloatArray | None) -> sparse.csc_array:
    carried = advection_and_mixing(grid, node_layout(grid), flow, temperature)
    n = grid.is_open.size
    return summed(carried, n).tocsc()


def summed(carried: Carried, n: int) -> sparse.csr_array:
    """Return the two parts of advection as one matrix."""
    bounded, sharp = (
        sparse.csr_array((part.value, (part.row, part.column)), shape=(n, n))
        for part in (carried.bounded, carried.sharpening)
    )
    return bounded + sharp


def steady(
    grid: Grid, flow: Airflow, held: np.ndarray, values: FloatArray, *, bounded: bool = False
) -> FloatArray:
    """Return the steady temperatures with the cells of ``held`` kept at ``values``."""
    now: FloatArray | None = None
    for _ in range(1 if bounded else ROUNDS):
        rows = matrix(grid, flow, now).tolil()
        rows[held.ravel()] = 0.0
        rows[held.ravel(), held.ravel()] = 1.0
        load = np.where(held, values, 0.0).ravel()
        now = splu(rows.tocsc()).solve(load).reshape(grid.shape)
    assert now is not None
    return now


@pytest.mark.parametrize(("peclet", "allowed"), [(1.0, 2e-4), (10.0, 4e-3)])
def test_steady_row_follows_the_exact_exponential(peclet: float, allowed: float) -> None:
    # Patankar (1980), section 5.2: (exp(Pe x) - 1)/(exp(Pe) - 1) between two held ends.
    n = 41
    edges = np.linspace(-0.5 / (n - 1), 1.0 + 0.5 / (n - 1), n + 1)
    grid = make_grid([edges, np.array([0.0, 0.1]), np.array([0.0, 0.1])])
    x = np.linspace(0.0, 1.0, n)
    exact = np.expm1(peclet * x) / np.expm1(peclet)
    held = np.zeros(grid.shape, dtype=bool)
    held[[0, -1]] = True
    found = steady(
        grid, uniform_flow(grid, (0.1, 0.0, 0.0), 0.1 / peclet), held, exact[:, None, None]
    )
    assert np.abs(found.ravel() - exact).max() < allowed


def oblique_front(n: int, *, bounded: bool, profile: Callable[[FloatArray], FloatArray]) -> float:
    """Return the mean error of a profile carried slantwise over n x n cells, mixing next to none.

    Along the flow nothing changes: the exact field is the profile of the distance from the line
    through the middle.
    """
    grid = plane_of_cells(n)
    slope = np.radians(35.0)
    flow = uniform_flow(grid, (np.cos(slope), np.sin(slope), 0.0), 1e-7)
    centre = (np.arange(n) + 0.5) / n - 0.5
    across = centre[None, :] * np.cos(slope) - centre[:, None] * np.sin(slope)
    exact = profile(across)[:, :, None]
    held = np.ones(grid.shape, dtype=bool)
    held[2:-2, 2:-2] = False
    found = steady(grid, flow, held, exact, bounded=bounded)
    return float(np.abs(found - exact)[~held].mean())


def smooth(distance: FloatArray) -> FloatArray:
    return np.tanh(4.0 * distance)


def step(distance: FloatArray) -> FloatArray:
    return np.where(distance > 0.0, 1.0, 0.0)


def test_a_smooth_profile_is_carried_with_second_order() -> None:
    coarse, middle, fine = (oblique_front(n, bounded=False, profile=smooth) for n in (12, 24, 48))
    assert np.log2(coarse / middle) > 1.7
    assert np.log2(middle / fine) > 1.7
    upwind = [oblique_front(n, bounded=True, profile=smooth) for n in (24, 48)]
    assert np.log2(upwind[0] / upwind[1]) < 1.2  # what the bounded part alone would do
    assert fine < 0.1 * upwind[1]


def test_a_sudden_step_is_smeared_far_less_than_by_the_bounded_scheme() -> None:
    sharp = oblique_front(32, bounded=False, profile=step)
    smeared = oblique_front(32, bounded=True, profile=step)
    assert sharp < 0.5 * smeared


def test_no_new_extremes_once_the_shares_fit_the_pattern() -> None:
    grid = plane_of_cells(24)
    flow = uniform_flow(grid, (0.5, 0.3, 0.0), 1e-4)
    held = np.ones(grid.shape, dtype=bool)
    held[2:-2, 2:-2] = False
    x = (np.arange(24) + 0.5) / 24
    values = np.where(x[:, None] < x[None, :], 60.0, 20.0)[:, :, None]
    found = steady(grid, flow, held, values)
    assert found.max() < 60.0 + 0.8  # 2 % of the step
    assert found.min() > 20.0 - 0.8


def test_a_puff_spreads_by_its_mixing_and_hardly_by_the_cells() -> None:
    # Variance grows by 2 D t, exact for a Gaussian puff. The power law puts |u| dx / 2 in the place
    # of D where the flow rules.
    n, dx, u, D, sigma, time = 160, 0.05, 0.25, 1e-3, 0.25, 8.0
    grid = make_grid([dx * np.arange(n + 1), np.array([0.0, dx]), np.array([0.0, dx])])
    flow = uniform_flow(grid, (u, 0.0, 0.0), D)
    x = dx * (np.arange(n) + 0.5)
    start = np.exp(-0.5 * ((x - 2.0) / sigma) ** 2)

    def variance(T: FloatArray) -> float:
        mean = (x * T).sum() / T.sum()
        return float(((x - mean) ** 2 * T).sum() / T.sum())

    def carried(*, bounded: bool) -> FloatArray:
        now, dt = start.copy(), 0.02
        capacity = AIR_VOLUMETRIC_HEAT_CAPACITY * dx**3
        for round_ in range(round(time / dt)):
            if round_ % 5 == 0:  # every half cell
                K = matrix(grid, flow, None if bounded else now.reshape(grid.shape)) / capacity
            middle = now - 0.5 * dt * (K @ now)
            now = now - dt * (K @ middle)
        return now

    def added(T: FloatArray) -> float:
        return (variance(T) - variance(start)) / (2.0 * time) - D

    sharp, smeared = carried(bounded=False), carried(bounded=True)
    assert sharp.sum() == pytest.approx(start.sum(), rel=1e-9)
    assert added(smeared) == pytest.approx(0.5 * u * dx - D, rel=0.01)
    assert abs(added(sharp)) < 0.1 * 0.5 * u * dx


def test_limited_entries_conserve_heat() -> None:
    room = small_room(eddies=0.05)
    warm = 20.0 + 40.0 * np.random.default_rng(5).random(room.grid.shape)
    n = room.layout.size
    K = summed(advection_and_mixing(room.grid, room.layout, room.airflow, warm), n)
    assert np.abs(K.sum(axis=0)).max() < 1e-13 * np.abs(K).max()


@pytest.mark.parametrize("seed", range(4))
def test_no_pattern_gains_strength_whatever_the_flow_and_the_shares(seed: int) -> None:
    # With K + K^T semidefinite both ways of marching are stable, the one-sided projection too.
    edges = np.linspace(0.0, 1.0, 8)
    grid = make_grid([edges, edges, edges])
    flow = stirred_air(grid, 0.05, seed, mixing=0.0)  # wild: it speeds up and turns in every cell
    x, y, z = np.meshgrid(*[0.5 * (edges[:-1] + edges[1:])] * 3, indexing="ij")
    chance = np.random.default_rng(seed).random(grid.shape)
    for pattern in (chance, x + 0.7 * y + 0.4 * z, x + 0.1 * chance):
        K = matrix(grid, flow, pattern).toarray()
        strength = np.linalg.eigvalsh(0.5 * (K + K.T))
        assert strength[0] > -1e-14 * strength[-1] * len(K)


def test_no_pattern_grows_by_itself_under_limited_entries() -> None:
    room = small_room(eddies=0.05)
    warm = 20.0 + 40.0 * np.random.default_rng(5).random(room.grid.shape)
    air = room.layout.air_cell.size
    K = summed(advection_and_mixing(room.grid, room.layout, room.airflow, warm), air)
    rates = np.linalg.eigvals(K.toarray() / room.layout.capacity[:air, None])
    assert rates.real.min() > -1e-9 * np.abs(rates).max()


def limited_model(room: SmallRoom) -> tuple[HeatModel, FloatArray]:
    """Return the room's balance with shares from a random pattern, and the pattern."""
    pattern = room.state()
    pattern[room.layout.air] += 40.0 * np.random.default_rng(5).random(room.layout.air_cell.size)
    convection = np.full(room.grid.surfaces.area.size, 6.0)
    model = build_heat_model(
        room.grid, room.layout, room.airflow, room.exchange, convection, NO_RADIATION, pattern
    )
    return model, pattern


def warmed_room(**options: float) -> SmallRoom:
    """Return the room with the balance that a run would have: shares from its own warm pattern."""
    room = small_room(eddies=0.05, **options)
    times = np.array([600.0])
    warm = advance(
        room.model, room.state(), room.control, 0.0, 600.0, watch=room.watch, output_times=times
    ).state
    model = build_heat_model(
        room.grid,
        room.layout,
        room.airflow,
        room.exchange,
        np.full(room.grid.surfaces.area.size, 6.0),
        black_box(room.grid, 7),
        warm,
    )
    assert (model.matrix.value != model.matrix.bounded).sum() > 1000
    return replace(room, model=model)


def test_both_ways_of_marching_agree_and_keep_heat_under_limited_entries() -> None:
    room = warmed_room()
    times = np.arange(0.0, 6 * 3600.0 + 1.0, 300.0)
    steps, shapes = (
        advance(
            room.model,
            room.state(),
            room.control,
            0.0,
            float(times[-1]),
            watch=room.watch,
            output_times=times,
            method=method,
        )
        for method in (ImplicitSteps(error=0.005, solver_tolerance=1e-5), ReducedSteps())
    )
    assert np.abs(steps.state - shapes.state).max() < 0.05  # measured 0.012 K
    for result in (steps, shapes):
        book = result.ledger
        stored = book.stored_air + book.stored_solids + book.stored_envelope
        left = book.heaters + book.fans_and_appliances - book.leaks - book.envelope - stored
        assert np.abs(left).max() < 1e-10 * book.heaters[-1]


def negative_influence(room: SmallRoom, time_constant: float) -> FloatArray:
    """Return how far one implicit step may leave the range of before, of its width (n,) [-].

    The worst over all states: the step is a weighted mean of the old temperatures, and this is the
    sum of the weights below zero.
    """
    storage = np.diag(room.layout.capacity / time_constant)
    K = np.array([room.model.outflow(unit) for unit in np.eye(room.layout.size)]).T
    K -= room.model.outflow(room.state(0.0))[:, None]
    return -np.minimum(np.linalg.solve(storage + K, storage), 0.0).sum(axis=1)


def test_new_extremes_are_slight_in_air_and_next_to_none_in_solids() -> None:
    room = warmed_room()
    solids = slice(room.layout.air.stop, None)
    at_once, usual = negative_influence(room, 1.0), negative_influence(room, 30.0)
    assert at_once[solids].max() < 1e-3  # measured 0.0005
    assert at_once[room.layout.air].mean() < 0.02  # measured 0.009; 0.11 in the worst cell
    assert usual.max() < 0.005  # measured 0.002
    bounded = negative_influence(small_room(eddies=0.05), 1.0)
    assert bounded.max() < 1e-12


def test_more_heat_never_cools_a_node_under_limited_entries() -> None:
    room = warmed_room()
    steps = ImplicitSteps(error=np.inf, solver_tolerance=1e-9)  # the same steps in both runs
    full = with_full_power(room.control)
    less, more = (
        advance(
            room.model,
            room.state(),
            with_power(full, share),
            0.0,
            3600.0,
            watch=room.watch,
            output_times=[3600.0],
            method=steps,
        ).state
        for share in (0.5, 1.0)
    )
    assert (more - less).min() > -1e-6


def test_uniform_air_stays_uniform_under_limited_entries() -> None:
    room = small_room(behind=31.0, outdoor=31.0, appliance=0.0, eddies=0.05)
    model, _ = limited_model(room)
    rate = (model.constant - model.outflow(room.state(31.0))) / room.layout.capacity
    assert np.abs(rate).max() < 1e-11


def test_limited_balance_is_solved_for_long_and_short_time_constants() -> None:
    model, pattern = limited_model(small_room(eddies=0.05))
    for time_constant in (1.0, 30.0, 3600.0, 1e5):
        system = HeatSolver(model).shifted(time_constant)
        load = system.storage * pattern + model.constant
        solved = system.solve(load, pattern, 1e-10)
        residual = system.storage * solved + model.outflow(solved) - load
        assert np.abs(residual).max() < 1e-6 * np.abs(load).max()


def test_share_is_full_in_smooth_places_and_none_at_extremes_and_shut_faces() -> None:
    def of(r: float) -> float:
        """Return the limit 2 r over what the sharp scheme adds."""
        return 2.0 * r / (2.0 / 3.0 + r / 3.0)

    T = np.array([1.0, 2.0, 3.0, 3.2, 9.0, 8.0])[:, None, None]
    faces = np.ones((5, 1, 1), dtype=bool)
    forward = sharp_share(T, faces, np.ones((5, 1, 1))).ravel()
    np.testing.assert_allclose(
        forward, [0.0, 1.0, 2.0 / (2.0 / 3.0 + 5.0 / 3.0), of(0.2 / 5.8), 0.0]
    )
    backward = sharp_share(T, faces, -np.ones((5, 1, 1))).ravel()
    np.testing.assert_allclose(backward, [1.0, of(0.2), 2.0 / (2.0 / 3.0 + 29.0 / 3.0), 0.0, 0.0])
    faces[1] = False
    shut = sharp_share(T, faces, np.ones((5, 1, 1))).ravel()
    np.testing.assert_allclose(shut, [0.0, 0.0, 0.0, of(0.2 / 5.8), 0.0])


def test_shares_do_not_change_when_temperatures_are_scaled_or_shifted() -> None:
    grid = make_grid([np.linspace(0.0, 1.0, 6) for _ in range(3)])
    flow = stirred_air(grid, 0.05, 2)
    T = np.random.default_rng(1).random(grid.shape)
    one, other = (
        advection_and_mixing(grid, node_layout(grid), flow, field) for field in (T, 20.0 + 40.0 * T)
    )
    np.testing.assert_allclose(one.sharpening.value, other.sharpening.value, atol=1e-9)


def test_pace_is_the_part_of_a_flow_that_came_through_the_face_before() -> None:
    flow = np.array([1.0, 2.0, 1.0, -3.0, -4.0, 0.0])[:, None, None]
    found = kept_pace(flow).ravel()
    np.testing.assert_allclose(found, [0.0, 0.5, 1.0, 1.0, 0.0, 0.0])
