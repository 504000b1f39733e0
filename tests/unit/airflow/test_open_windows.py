"""Open windows: the textbook's flow, in below and out above, through the window's own cells."""

import dataclasses
import math

import numpy as np
import pytest
from builders import OUTDOOR_WALL, OUTDOOR_WINDOW, box_room, solid

from simulator.case.case import Case
from simulator.case.dwelling import Side, Window
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.air_exchange import air_exchange
from simulator.physics.airflow.open_windows import (
    DISCHARGE,
    q_single_sided_stack_brown_solvason_1962,
    window_flows,
    windows_have_changed,
    with_windows,
)
from simulator.physics.airflow.solve_airflow import solve_airflow

WINDOW = Window("window", "room", Side.WEST, (0.0, 0.6, 0.8), (0.0, 1.4, 1.8), OUTDOOR_WINDOW, 0.5)


def room(*parts: object, window: Window = WINDOW, outdoors: float = 5.0) -> Case:
    return box_room(
        (2.4, 2.0, 2.4),
        parts=parts,  # type: ignore[arg-type]
        windows=(window,),
        envelope=OUTDOOR_WALL,
        outdoor_temperature=outdoors,
    )


def test_the_flow_is_that_of_its_derivation() -> None:
    """Speed sqrt(2 g z dT/T) over half the height, summed by hand."""
    height, width, inside, outside = 1.2, 0.8, 50.0, 10.0
    z = (np.arange(200_000) + 0.5) / 200_000 * 0.5 * height
    mean = 0.5 * (inside + outside) + 273.15
    speed = np.sqrt(2.0 * 9.80665 * z * (inside - outside) / mean)
    by_hand = DISCHARGE * width * 0.5 * height * speed.mean()
    found = q_single_sided_stack_brown_solvason_1962(width * height, height, inside, outside)
    assert found == pytest.approx(by_hand, rel=1e-6)


def test_no_difference_no_flow_and_it_grows_as_the_root() -> None:
    q = q_single_sided_stack_brown_solvason_1962
    assert q(1.0, 1.0, 20.0, 20.0) == 0.0
    assert q(2.0, 1.0, 30.0, 10.0) == pytest.approx(2.0 * q(1.0, 1.0, 30.0, 10.0))
    assert q(1.0, 4.0, 30.0, 10.0) == pytest.approx(2.0 * q(1.0, 1.0, 30.0, 10.0))


def test_a_shut_window_is_no_opening() -> None:
    grid = voxelise(room(window=dataclasses.replace(WINDOW, opening=0.0)), 0.2)
    assert grid.windows == ()
    assert with_windows(grid, np.zeros(0)) is grid


@pytest.mark.parametrize(("outdoors", "sign"), [(5.0, 1.0), (45.0, -1.0)])
def test_cold_air_comes_in_below_and_hot_air_leaves_above(outdoors: float, sign: float) -> None:
    grid = voxelise(room(outdoors=outdoors), 0.2)
    (window,) = grid.windows
    assert window.area == pytest.approx(0.5 * 0.8 * 1.0)
    assert window.height == pytest.approx(1.0)
    flows = window_flows(grid, np.full(grid.shape, 20.0))
    expected = q_single_sided_stack_brown_solvason_1962(0.4, 1.0, 20.0, outdoors)
    assert flows == pytest.approx([sign * expected])
    exchange = air_exchange(with_windows(grid, flows))
    assert exchange.leak_inflow.sum() == pytest.approx(expected, rel=1e-12)
    assert exchange.leak_outflow.sum() == pytest.approx(expected, rel=1e-12)
    x, y, z = np.unravel_index(np.flatnonzero(exchange.leak_inflow), grid.shape)
    heights = grid.centres[2][z]
    assert np.all(x == 0)
    assert np.all((grid.centres[1][y] > 0.6) & (grid.centres[1][y] < 1.4))
    assert np.all(heights < 1.3) if sign > 0 else np.all(heights > 1.3)


def test_the_flow_of_air_takes_up_what_the_window_lets_in() -> None:
    grid = voxelise(room(), 0.2)
    air = np.full(grid.shape, 40.0)
    flows = window_flows(grid, air)
    airflow = solve_airflow(with_windows(grid, flows), air, discard=2.0, average=4.0)
    assert airflow.cell_source[airflow.cell_source > 0.0].sum() == pytest.approx(flows[0], rel=0.3)
    assert airflow.divergence < 1e-10


def test_a_window_behind_a_wardrobe_cannot_be_opened() -> None:
    board = solid((0.0, 0.0, 0.0), (0.2, 2.0, 2.4), owner="wardrobe")
    with pytest.raises(CaseError, match="window 'window' cannot be opened"):
        voxelise(room(board), 0.2)


def test_a_new_flow_of_air_is_asked_for_by_a_tenth() -> None:
    assert not windows_have_changed(np.array([0.100]), np.array([0.105]))
    assert windows_have_changed(np.array([0.100]), np.array([0.08]))
    assert not windows_have_changed(np.zeros(0), np.zeros(0))
    assert math.isfinite(DISCHARGE)
