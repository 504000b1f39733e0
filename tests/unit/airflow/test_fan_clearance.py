"""The gaps about a fan are those of the true walls and furniture, whatever the cells."""

import numpy as np
import pytest
from air_rooms import air_room
from builders import WOOD, box_room

from simulator.case.parts import Box, Refuge, SolidPart, Vector
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.fan_clearance import POINTS, Clearance, clearance, solids_of

D = 0.5
EAST = (1.0, 0.0, 0.0)
STEP = D / POINTS


def about(grid: Grid, centre: Vector, direction: Vector = EAST) -> Clearance:
    unit = np.array(direction) / np.linalg.norm(direction)
    return clearance(solids_of(grid), np.array(centre), unit, D)


def loss_of(gap: float) -> float:
    return float((D / (4.0 * gap)) ** 2 - 1.0 / 64.0)


@pytest.mark.parametrize("cell", [0.1, 0.2])
@pytest.mark.parametrize("gap", [0.083, 0.23])
def test_a_wall_is_where_it_is(cell: float, gap: float) -> None:
    grid = air_room((round(4.0 / cell), round(3.0 / cell), round(2.0 / cell)), cell)
    for x in (gap, 4.0 - gap):
        found = about(grid, (x, 1.5, 1.0))
        assert found.nearest == pytest.approx(gap, abs=STEP)
        assert loss_of(gap + STEP) <= found.loss <= loss_of(gap - STEP)


def test_a_fan_amid_a_room_loses_nothing() -> None:
    grid = air_room((40, 30, 20), 0.1)
    assert about(grid, (2.0, 1.5, 1.0)).loss == 0.0
    assert about(grid, (2.0, 1.5, 0.26)).loss == 0.0  # level, close over the floor


@pytest.mark.parametrize("turn", [0.0, 30.0])
def test_furniture_is_where_it_is_and_not_where_its_cells_are(turn: float) -> None:
    """A tall box turned with the fan that faces it across 0.13 m, on cells of 0.25 m."""
    towards = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn)), 0.0])
    middle = np.array([1.3, 1.5, 1.0]) + 0.43 * towards
    box = Box(tuple(middle), (0.6, 1.0, 1.9), turn)  # type: ignore[arg-type]
    part = SolidPart("dresser", "block", box, WOOD, Refuge.NOWHERE)
    grid = voxelise(box_room((4.0, 3.0, 2.5), parts=[part]), 0.25)
    found = about(grid, (1.3, 1.5, 1.0), tuple(towards))  # type: ignore[arg-type]
    assert found.nearest == pytest.approx(0.13, abs=STEP)
    assert loss_of(0.13 + STEP) <= found.loss <= loss_of(0.13 - STEP)


def test_a_shut_gap_takes_nearly_all_and_stays_finite() -> None:
    grid = air_room((40, 30, 20), 0.1)
    assert 1e3 < about(grid, (0.0, 1.5, 1.0)).loss < 1e4


def test_a_thing_before_half_of_the_disc_takes_less_than_before_all() -> None:
    low = SolidPart("box", "block", Box((1.6, 1.5, 0.5), (0.4, 1.0, 1.0)), WOOD, Refuge.NOWHERE)
    tall = SolidPart("box", "block", Box((1.6, 1.5, 1.0), (0.4, 1.0, 2.0)), WOOD, Refuge.NOWHERE)
    losses = [
        about(voxelise(box_room((4.0, 3.0, 2.5), parts=[part]), 0.2), (1.25, 1.5, 1.0)).loss
        for part in (low, tall)
    ]
    assert 0.0 < losses[0] < 0.1 * losses[1]
