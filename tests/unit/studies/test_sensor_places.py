"""Sensors go where they see the last cold places of most runs, within reach of a crew."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.case.case import Change
from simulator.case.load import load
from simulator.case.parts import AirMover
from simulator.grid.voxelise import voxelise
from simulator.studies import sensor_places
from simulator.studies.evaluate import Workers
from simulator.studies.following.twin import TURNED, with_fans_turned
from simulator.studies.rungs import LOOK
from simulator.studies.sensor_places import REACH, choose, place_sensors, within_reach

SMALL = Path(__file__).parents[2] / "rooms" / "small.toml"


#: Three spots in a row, 0.2 m from each other.
ROW = 0.2 * np.eye(3)[0] * np.arange(3)[:, None]


def test_the_place_that_is_always_last_leaves_nothing_to_regret() -> None:
    times = np.array([[1.0, 5.0, 2.0], [3.0, 9.0, 2.0]])
    chosen, regrets = choose(times, np.arange(3), np.arange(3), 2, ROW)
    assert chosen[0] == 1
    assert regrets == [0.0, 0.0]


def test_two_sensors_share_the_runs_between_them() -> None:
    """Either place is the last in half of the runs; a third, never the last, is the best alone."""
    times = np.array([[10.0, 2.0, 7.0], [2.0, 10.0, 7.0]])
    chosen, regrets = choose(times, np.arange(3), np.arange(3), 3, ROW)
    assert chosen[0] == 2 and regrets[0] == 3.0
    assert set(chosen[1:]) == {0, 1}
    assert regrets == sorted(regrets, reverse=True)
    assert regrets[-1] == 0.0


def test_a_place_gets_one_sensor_and_only_within_reach() -> None:
    times = np.array([[9.0, 8.0, 1.0]])
    chosen, _ = choose(times, np.arange(3), np.array([0, 0, 1]), 3, ROW)
    assert chosen == [0, 2]
    chosen, regrets = choose(times, np.array([1, 2]), np.array([0, 0, 1]), 1, ROW)
    assert chosen == [1] and regrets == [1.0]


def test_a_place_whose_coldest_side_changes_gets_a_sensor_on_each_side() -> None:
    times = np.array([[9.0, 8.0, 2.0], [2.0, 8.0, 9.0]])
    one_place = np.zeros(3, dtype=np.int64)
    chosen, regrets = choose(times, np.arange(3), one_place, 3, ROW)
    assert chosen == [1] and regrets == [1.0]
    chosen, regrets = choose(times, np.arange(3), one_place, 3, ROW, apart=0.15)
    assert set(chosen) == {0, 1, 2} and regrets[-1] == 0.0
    chosen, _ = choose(times, np.arange(3), one_place, 3, ROW, apart=0.3)
    assert chosen == [1]  # the middle is too near to both sides
    chosen, _ = choose(times, np.arange(3), one_place, 3, ROW, apart=0.0)
    assert len(set(chosen)) == 3


def test_every_run_has_its_fans_turned_by_a_lot_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    case = load(SMALL)
    count, lots = voxelise(case, LOOK.cell_size).refuges.index.size, []

    def times(ask: sensor_places._Ask) -> np.ndarray:
        lots.append(ask.turn)
        return np.arange(float(count))

    monkeypatch.setattr(sensor_places, "_times_to_done", times)
    place_sensors(case, 1, Workers(1), samples=3)
    place_sensors(case, 1, Workers(1), samples=3, turned=True)
    place_sensors(case, 1, Workers(1), samples=3, seed=1, turned=True)
    assert lots[:3] == [None] * 3
    assert len(set(lots[3:])) == 6


def test_a_fan_is_turned_once_for_the_whole_day() -> None:
    case = load(SMALL)
    case = replace(case, changes=(Change(3600.0, "later", case),))
    lots = np.random.default_rng(1)
    turned = with_fans_turned(case, lots)
    now, later, before = (
        [part.direction for part in one.parts if isinstance(part, AirMover)]
        for one in (turned, turned.changes[0].case, case)
    )
    assert now == later
    assert len(now) == len(before) > 0
    for new, old in zip(now, before, strict=True):
        apart = np.degrees(np.arccos(np.dot(new, old)))
        assert 0.1 < apart <= TURNED


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
