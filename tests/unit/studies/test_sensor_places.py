"""Sensors go where they see the last cold places of most runs, within reach of a crew."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from simulator.case.load import load
from simulator.grid.voxelise import voxelise
from simulator.studies.evaluate import Workers
from simulator.studies.rungs import LOOK
from simulator.studies.sensor_places import REACH, choose, place_sensors, within_reach

SMALL = Path(__file__).parents[2] / "rooms" / "small.toml"


def test_the_place_that_is_always_last_leaves_nothing_to_regret() -> None:
    times = np.array([[1.0, 5.0, 2.0], [3.0, 9.0, 2.0]])
    chosen, regrets = choose(times, np.arange(3), np.arange(3), 2)
    assert chosen[0] == 1
    assert regrets == [0.0, 0.0]


def test_two_sensors_share_the_runs_between_them() -> None:
    """Either place is the last in half of the runs; a third, never the last, is the best alone."""
    times = np.array([[10.0, 2.0, 7.0], [2.0, 10.0, 7.0]])
    chosen, regrets = choose(times, np.arange(3), np.arange(3), 3)
    assert chosen[0] == 2 and regrets[0] == 3.0
    assert set(chosen[1:]) == {0, 1}
    assert regrets == sorted(regrets, reverse=True)
    assert regrets[-1] == 0.0


def test_a_place_gets_one_sensor_and_only_within_reach() -> None:
    times = np.array([[9.0, 8.0, 1.0]])
    chosen, _ = choose(times, np.arange(3), np.array([0, 0, 1]), 3)
    assert chosen == [0, 2]
    chosen, regrets = choose(times, np.array([1, 2]), np.array([0, 0, 1]), 1)
    assert chosen == [1] and regrets == [1.0]


def test_sensors_are_placed_in_a_room() -> None:
    case = load(SMALL, overrides={"treatment.horizon": "30 min"})
    flow = replace(LOOK.settings.first_flow, discard=4.0, average=8.0)
    glance = replace(LOOK, settings=replace(LOOK.settings, first_flow=flow))
    plan = place_sensors(case, 2, Workers(1), samples=3, rung=glance)
    assert plan.runs == 3
    assert len({(s.owner, s.words) for s in plan.sensors}) == 2
    assert plan.sensors[0].regret >= plan.sensors[1].regret >= 0.0
    assert plan.blind >= plan.sensors[0].regret
    assert all(0.0 <= sensor.position[2] <= REACH for sensor in plan.sensors)
    grid = voxelise(case, 0.2)
    assert within_reach(case, grid).size == grid.refuges.index.size
    lifted = grid.refuges.position + np.array([0.0, 0.0, REACH - 0.1])
    high = replace(grid, refuges=replace(grid.refuges, position=lifted))
    left = within_reach(case, high)
    assert 0 < left.size < grid.refuges.index.size
    assert lifted[left, 2].max() <= REACH
