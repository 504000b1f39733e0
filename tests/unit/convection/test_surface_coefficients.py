"""Coefficients of surfaces: orientation, speed, sheltered air, loose stuff, stated spread."""

import numpy as np
import pytest
from builders import box_room, porous, solid
from numpy.typing import NDArray

from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.convection.surface_coefficients import (
    CorrelatedCoefficients,
    FixedCoefficients,
    forced_coefficients,
    surface_coefficients,
)
from simulator.physics.convection.surface_sampling import SAMPLING_DISTANCE, sample_surfaces


def flow_of(grid: Grid, speed: NDArray[np.float64] | float) -> Airflow:
    """Return a flow that has only a speed; nothing else is read by convection."""
    nothing = np.zeros(0)
    return Airflow(
        x_velocity=nothing,
        y_velocity=nothing,
        z_velocity=nothing,
        speed=np.broadcast_to(np.asarray(speed, dtype=np.float64), grid.shape).copy(),
        eddy_viscosity=nothing,
        cell_source=nothing,
        divergence=0.0,
        near_surface_speed=0.0,
        scatter=0.0,
        pointwise_scatter=0.0,
        flow_time=0.0,
    )


def coefficients(grid: Grid, speed: float, air: float, surface: float) -> NDArray[np.float64]:
    return surface_coefficients(
        grid,
        flow_of(grid, speed),
        np.full(grid.shape, air),
        np.full(grid.surfaces.area.size, surface),
    )


@pytest.fixture(scope="module")
def room() -> Grid:
    return voxelise(box_room((2.0, 1.6, 2.4)), 0.2)


@pytest.fixture(scope="module")
def furnished() -> Grid:
    """A block on the floor, a heap of clothes, and a shut box of boards with air in it."""
    boards = [
        solid((1.2, 0.2, 0.0), (0.6, 0.6, 0.1), owner="chest", name="bottom"),
        solid((1.2, 0.2, 0.5), (0.6, 0.6, 0.1), owner="chest", name="top"),
        solid((1.2, 0.2, 0.1), (0.1, 0.6, 0.4), owner="chest", name="left"),
        solid((1.7, 0.2, 0.1), (0.1, 0.6, 0.4), owner="chest", name="right"),
        solid((1.3, 0.2, 0.1), (0.4, 0.1, 0.4), owner="chest", name="front"),
        solid((1.3, 0.7, 0.1), (0.4, 0.1, 0.4), owner="chest", name="back"),
    ]
    parts = [
        solid((0.2, 0.2, 0.0), (0.6, 0.6, 0.4)),
        porous((0.2, 1.0, 0.0), (0.6, 0.4, 0.4)),
        *boards,
    ]
    return voxelise(box_room((2.0, 1.6, 1.6), parts=parts, air_changes=0.5), 0.1)


def test_cold_ceiling_under_hot_air_takes_more_than_cold_floor(room: Grid) -> None:
    """Natural convection: a cold ceiling is unstable, a cold floor stable, walls between."""
    surfaces = room.surfaces
    h = coefficients(room, 0.0, 55.0, 20.0)
    floor = h[(surfaces.axis == 2) & (surfaces.sign > 0)]
    ceiling = h[(surfaces.axis == 2) & (surfaces.sign < 0)]
    wall = h[surfaces.axis < 2]
    assert floor.max() < wall.min() < ceiling.min()
    # McAdams 1954 for 2.0 x 1.6 m, area over perimeter 0.444 m, worked by hand with 40 °C air.
    rayleigh = 9.80665 / 313.15 * 35.0 * (3.2 / 7.2) ** 3 * 0.705 / 1.6960e-5**2
    expected = 0.27 * rayleigh**0.25 * AIR_CONDUCTIVITY / (3.2 / 7.2)
    assert floor == pytest.approx(expected, rel=1e-9)
    # Swapped temperatures swap floor and ceiling.
    swapped = coefficients(room, 0.0, 20.0, 55.0)
    assert swapped[(surfaces.axis == 2) & (surfaces.sign > 0)] == pytest.approx(ceiling[0])


def test_fast_air_is_forced_and_slow_air_natural(room: Grid) -> None:
    still, slow, fast = (coefficients(room, speed, 50.0, 40.0) for speed in (0.0, 0.05, 3.0))
    wall = room.surfaces.axis < 2
    assert np.all(fast > slow) and np.all(slow >= still)
    # 0.05 m/s gives some 1 W/(m² K) against 2.8 of natural convection: by the cubes, 2 %.
    assert slow[wall] == pytest.approx(still[wall], rel=0.03)
    forced = forced_coefficients(np.array(3.0), np.array(2.4))
    assert fast[wall] == pytest.approx(float(forced), rel=0.03)


def test_blend_is_never_below_its_parts_nor_above_their_sum(room: Grid) -> None:
    natural = coefficients(room, 0.0, 50.0, 30.0)
    forced = coefficients(room, 0.6, 40.0, 40.0)
    both = coefficients(room, 0.6, 50.0, 30.0)
    assert np.all(both >= np.maximum(natural, forced) * (1.0 - 1e-12))
    assert np.all(both <= natural + forced)


def test_still_isothermal_air_only_conducts(room: Grid) -> None:
    """Half a cell of air: 0.1 m."""
    assert coefficients(room, 0.0, 40.0, 40.0) == pytest.approx(AIR_CONDUCTIVITY / 0.1, rel=1e-9)


def test_stirred_walls_lie_between_two_laws_of_surfaces_in_wind(room: Grid) -> None:
    """2.8 + 3 V (Watmuff et al. 1977) and 4 + 4 V (ISO 6946), both from memory, 10 K apart."""
    wall = room.surfaces.axis < 2
    for speed in (0.3, 0.5, 1.0, 2.0):
        h = coefficients(room, speed, 50.0, 40.0)[wall]
        # At 0.3 m/s the choice is a tenth below the lower law, whose 2.8 stands for wind at rest.
        assert np.all(h > 0.85 * (2.8 + 3.0 * speed))
        assert np.all(h < 4.0 + 4.0 * speed)


def test_speed_is_read_within_one_physical_distance_on_every_grid() -> None:
    """A speed that grows with the height, read at the floor in cells of 0.1 and 0.05 m.

    The first cells' centres differ by a factor of two, the means within 0.2 m by 15 %; in the limit
    a half ball of 0.2 m has its centre at 3/8 of its radius.
    """
    means = []
    for cell in (0.1, 0.05):
        grid = voxelise(box_room((1.0, 1.0, 1.0)), cell)
        height = np.broadcast_to(grid.centres[2], grid.shape)
        near = sample_surfaces(grid).near_speed(height)
        floor = (grid.surfaces.axis == 2) & (grid.surfaces.sign > 0)
        means.append(float(near[floor].mean()))
    assert means[0] == pytest.approx(means[1], rel=0.16)
    assert means[1] == pytest.approx(3.0 / 8.0 * SAMPLING_DISTANCE, rel=0.2)


def test_speed_behind_a_solid_is_not_read() -> None:
    """Air races on one side of a board that is a cell thick and stands still on the other."""
    board = solid((0.9, 0.0, 0.0), (0.1, 1.0, 1.0))
    grid = voxelise(box_room((2.0, 1.0, 1.0), parts=[board]), 0.1)
    speed = np.zeros(grid.shape)
    speed[grid.centres[0] > 1.0] = 2.0
    near = sample_surfaces(grid).near_speed(speed)
    on_board = grid.surfaces.part == 0
    left = on_board & (grid.surfaces.axis == 0) & (grid.surfaces.sign < 0)
    right = on_board & (grid.surfaces.axis == 0) & (grid.surfaces.sign > 0)
    assert left.any() and right.any()
    assert np.all(near[left] == 0.0)
    assert near[right] == pytest.approx(2.0)


def test_speed_behind_a_thin_board_is_not_read() -> None:
    """The same with a board of 2 cm, which leaves its cells open and shuts their faces."""
    board = solid((0.96, 0.0, 0.0), (0.02, 1.0, 1.0))
    grid = voxelise(box_room((2.0, 1.0, 1.0), parts=[board]), 0.1)
    assert grid.closed_x.any()
    speed = np.zeros(grid.shape)
    speed[grid.centres[0] > 1.0] = 2.0
    near = sample_surfaces(grid).near_speed(speed)
    on_board = grid.surfaces.part == 0
    facing = {sign: near[on_board & (grid.surfaces.sign == sign)] for sign in (-1, 1)}
    assert np.all(facing[-1] == 0.0)
    assert facing[1] == pytest.approx(2.0)


def test_air_in_a_shut_box_is_limited_by_its_gap(furnished: Grid) -> None:
    """Inside a box 0.4 m wide no surface gets more than half the gap carries."""
    sampling = sample_surfaces(furnished)
    inside = np.isfinite(sampling.gap)
    assert inside.any()
    part = np.array([p.owner for p in furnished.parts])[furnished.surfaces.part[inside]]
    assert set(part) == {"chest"}
    assert sampling.gap[inside] == pytest.approx(0.4)
    h = coefficients(furnished, 0.0, 50.0, 20.0)
    free = coefficients(voxelise(box_room((2.0, 1.6, 1.6)), 0.1), 0.0, 50.0, 20.0)
    assert h[inside].max() < free.max()
    # The flow solver's own stirring of a pocket is not counted a second time.
    stirred = coefficients(furnished, 0.5, 50.0, 20.0)
    assert stirred[inside] == pytest.approx(h[inside], rel=1e-12)
    stable = inside & (furnished.surfaces.axis == 2) & (furnished.surfaces.sign > 0)
    # Warm air over a cold bottom: pure conduction across half of 0.4 m, or of half a cell.
    assert h[stable] == pytest.approx(AIR_CONDUCTIVITY / 0.05, rel=1e-9)


def test_loose_stuff_gains_with_speed_and_never_falls_below_conduction(furnished: Grid) -> None:
    loose = furnished.surfaces.axis < 0
    assert loose.any()
    still = coefficients(furnished, 0.0, 40.0, 40.0)[loose]
    assert still == pytest.approx(2.0 * AIR_CONDUCTIVITY / 0.03, rel=1e-9)
    blown = coefficients(furnished, 0.1, 40.0, 40.0)[loose]
    # Wakao & Kaguei 1982 at Re = 0.1 · 0.03 / ν.
    nusselt = 2.0 + 1.1 * 0.705 ** (1.0 / 3.0) * (0.1 * 0.03 / 1.6960e-5) ** 0.6
    assert blown == pytest.approx(nusselt * AIR_CONDUCTIVITY / 0.03, rel=1e-9)


def test_scale_moves_everything_but_the_conduction_limit(furnished: Grid) -> None:
    sampling = sample_surfaces(furnished)
    flow = flow_of(furnished, 0.8)
    air = np.full(furnished.shape, 50.0)
    surface = np.full(furnished.surfaces.area.size, 30.0)
    plain = CorrelatedCoefficients(sampling)(furnished, flow, air, surface)
    scaled = CorrelatedCoefficients(sampling, 1.3)(furnished, flow, air, surface)
    moved = ~np.isclose(plain, AIR_CONDUCTIVITY / sampling.half_cell)
    assert moved.mean() > 0.8
    assert scaled[moved] == pytest.approx(1.3 * plain[moved])


def test_fixed_coefficients_know_only_the_orientation(furnished: Grid) -> None:
    fixed = FixedCoefficients(vertical=8.0, upward=6.0, downward=10.0, porous=3.0)
    surfaces = furnished.surfaces
    h = fixed(furnished, flow_of(furnished, 1.0), np.zeros(furnished.shape), np.zeros(1))
    assert np.all(h[surfaces.axis < 0] == 3.0)
    assert np.all(h[(surfaces.axis == 0) | (surfaces.axis == 1)] == 8.0)
    assert np.all(h[(surfaces.axis == 2) & (surfaces.sign > 0)] == 6.0)
    assert np.all(h[(surfaces.axis == 2) & (surfaces.sign < 0)] == 10.0)


def test_mirrored_room_has_mirrored_coefficients() -> None:
    """The same block at the other end: the same coefficients in another order."""
    found = []
    for x in (0.2, 1.2):
        grid = voxelise(
            box_room((2.0, 1.0, 1.0), parts=[solid((x, 0.2, 0.0), (0.6, 0.6, 0.4))]), 0.1
        )
        speed = np.abs(grid.centres[0] - (0.0 if x < 1.0 else 2.0))[:, None, None]
        h = surface_coefficients(
            grid,
            flow_of(grid, speed),
            np.full(grid.shape, 50.0),
            np.full(grid.surfaces.area.size, 20.0),
        )
        found.append(np.sort(h))
    assert found[0] == pytest.approx(found[1], rel=1e-12)
