"""Jets that hit surfaces: what they hit, what they miss, how much it takes."""

from collections.abc import Sequence

import numpy as np
import pytest
from builders import box_room, solid
from numpy.typing import NDArray

from simulator.case.parts import AirMover, Part, Vector
from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.convection.forced import Re_air
from simulator.physics.convection.impinging import Nu_round_jet_impinging_martin_1977
from simulator.physics.convection.jet_impact import impact_coefficients

SIZE = (3.0, 4.6, 4.6)
DIAMETER, SPEED = 0.3, 5.66


def fan(centre: Vector, direction: Vector, *, speed: float = SPEED) -> AirMover:
    flow = speed * 0.25 * np.pi * DIAMETER**2
    return AirMover("fan", "disc", centre, direction, DIAMETER, flow, 0.0)


def room(*parts: Part, size: Vector = SIZE, cell: float = 0.1) -> Grid:
    return voxelise(box_room(size, parts=parts), cell)


def on_side(grid: Grid, axis: int, sign: int) -> NDArray[np.bool_]:
    found: NDArray[np.bool_] = (grid.surfaces.axis == axis) & (grid.surfaces.sign == sign)
    return found


def apart(grid: Grid, y: float, z: float) -> NDArray[np.float64]:
    """Distance of each surface from a line along x [m]."""
    _, j, k = np.unravel_index(grid.surfaces.air_cell, grid.shape)
    found: NDArray[np.float64] = np.hypot(grid.centres[1][j] - y, grid.centres[2][k] - z)
    return found


@pytest.mark.parametrize("radius", [2.5, 5.0, 7.5])
@pytest.mark.parametrize("distance", [2.0, 4.0, 8.0])
def test_disc_about_the_hit_takes_what_martin_measured(distance: float, radius: float) -> None:
    place = (SIZE[0] - distance * DIAMETER, 2.3, 2.3)
    grid = room(fan(place, (1.0, 0.0, 0.0)), cell=0.05)
    h = impact_coefficients(grid)
    disc = on_side(grid, 0, -1) & (apart(grid, 2.3, 2.3) <= radius * DIAMETER)
    reynolds = Re_air(np.array(SPEED), np.array(DIAMETER))
    nusselt = Nu_round_jet_impinging_martin_1977(reynolds, distance, radius)
    found = np.average(h[disc], weights=grid.surfaces.area[disc])
    # squares of 5 cm about a circle, and the wall is met within a quarter of a cell
    assert found == pytest.approx(float(nusselt) * AIR_CONDUCTIVITY / DIAMETER, rel=0.02)
    assert np.all(h[~on_side(grid, 0, -1)] == 0.0)
    assert np.all(h[apart(grid, 2.3, 2.3) > 7.5 * DIAMETER] == 0.0)


@pytest.mark.parametrize(
    ("centre", "direction", "speed"),
    [
        ((0.5, 2.3, 2.3), (0.0, 1.0, 0.0), 0.05),  # too weak: Re 900
        ((0.5, 2.3, 2.3), (1.0, 1.0, 0.0), SPEED),  # 45°: a glancing blow
    ],
)
def test_weak_or_oblique_jets_hit_nothing(centre: Vector, direction: Vector, speed: float) -> None:
    grid = room(fan(centre, direction, speed=speed))
    assert not impact_coefficients(grid).any()


def test_far_walls_are_not_hit() -> None:
    """Twelve diameters are 3.6 m."""
    assert not impact_coefficients(room(fan((0.5, 0.5, 2.3), (0.0, 1.0, 0.0)))).any()
    assert impact_coefficients(room(fan((0.5, 1.5, 2.3), (0.0, 1.0, 0.0)))).any()


@pytest.mark.parametrize("thickness", [0.02, 0.4])
def test_a_board_before_the_wall_is_hit_in_its_place(thickness: float) -> None:
    board = solid((2.2, 1.8, 1.8), (thickness, 1.0, 1.0))
    grid = room(fan((1.0, 2.3, 2.3), (1.0, 0.0, 0.0)), board)
    h = impact_coefficients(grid)
    struck = h > 0.0
    surfaces = grid.surfaces
    assert struck.any()
    assert np.all(surfaces.part[struck] >= 0)
    assert np.all((surfaces.axis[struck] == 0) & (surfaces.sign[struck] == -1))
    assert surfaces.area[struck].sum() == pytest.approx(1.0)


def test_a_screen_keeps_the_wall_jet_from_what_lies_behind_it() -> None:
    screen = solid((2.2, 3.0, 0.0), (0.8, 0.2, 4.6))
    grid = room(fan((1.6, 2.3, 2.3), (1.0, 0.0, 0.0)), screen)
    h = impact_coefficients(grid)
    y = grid.centres[1][np.unravel_index(grid.surfaces.air_cell, grid.shape)[1]]
    assert h[on_side(grid, 0, -1) & (y < 2.9)].any()
    assert not h[y > 3.1].any()


def test_all_six_directions_are_alike() -> None:
    found = []
    for axis in range(3):
        for sign in (-1.0, 1.0):
            direction, centre = [0.0, 0.0, 0.0], [1.5, 1.5, 1.5]
            direction[axis] = sign
            centre[axis] += 0.3 * sign
            parts: Sequence[Part] = [fan(tuple(centre), tuple(direction))]
            grid = room(*parts, size=(3.0, 3.0, 3.0))
            found.append(np.sort(impact_coefficients(grid)))
    for other in found[1:]:
        assert other == pytest.approx(found[0], rel=0.03)  # the wall is met within 2 cm of 1.2 m
