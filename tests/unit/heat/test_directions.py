"""Kept directions: what is taken from a residual is what the rises called for ask for."""

import numpy as np
import pytest

from simulator.physics.heat.directions import MOST_DIRECTIONS, REMAINING, Directions
from simulator.physics.heat.kernels import SingleArray

NODES = 200
CHANCE = np.random.default_rng(0)
MATRIX = np.eye(NODES, dtype=np.float32) + 0.03 * CHANCE.standard_normal(
    (NODES, NODES), dtype=np.float32
)


def descended(directions: Directions, load: SingleArray, steps: int) -> SingleArray:
    """Return what is left of a load after a solution of so many new directions."""
    left = load.copy()
    directions.take_up(left)
    for _ in range(steps):
        rise = left.copy()
        heat = directions.add(rise, MATRIX @ rise)
        amount = float(heat @ left)
        directions.take(amount)
        left -= np.float32(amount) * heat
    return left


@pytest.mark.parametrize("steps", [3, 20, MOST_DIRECTIONS + REMAINING + 5])
def test_what_is_taken_is_what_the_rises_due_ask_for(steps: int) -> None:
    """Also after old directions gave way, some of them amid a solution, or all were forgotten."""
    directions = Directions(NODES)
    for _ in range(4):
        load = CHANCE.standard_normal(NODES, dtype=np.float32)
        left = descended(directions, load, steps)
        asked = MATRIX @ directions.due()
        assert np.abs(load - asked - left).max() < 2e-5 * np.abs(load).max()
    directions.clear()
    load = CHANCE.standard_normal(NODES, dtype=np.float32)
    left = descended(directions, load, 2)
    assert np.abs(load - MATRIX @ directions.due() - left).max() < 2e-5 * np.abs(load).max()


def test_a_load_met_before_is_taken_up_without_new_directions() -> None:
    directions = Directions(NODES)
    load = CHANCE.standard_normal(NODES, dtype=np.float32)
    left = descended(directions, load, 12)
    again = descended(directions, load - left, 0)
    assert np.linalg.norm(again) < 1e-5 * np.linalg.norm(load)


def test_a_direction_that_is_not_new_makes_all_begin_anew() -> None:
    directions = Directions(NODES)
    load = CHANCE.standard_normal(NODES, dtype=np.float32)
    left = load.copy()
    directions.take_up(left)
    for _ in range(2):  # the same twice
        heat = directions.add(load.copy(), MATRIX @ load)
        amount = float(heat @ left)
        directions.take(amount)
        left -= np.float32(amount) * heat
    assert np.abs(load - MATRIX @ directions.due() - left).max() < 2e-5 * np.abs(load).max()


def test_a_solution_that_was_broken_off_leaves_nothing_to_the_next() -> None:
    directions = Directions(NODES)
    descended(directions, CHANCE.standard_normal(NODES, dtype=np.float32), 5)
    directions.clear()  # as for another matrix, with rises not yet called for
    load = CHANCE.standard_normal(NODES, dtype=np.float32)
    left = descended(directions, load, 3)
    assert np.abs(load - MATRIX @ directions.due() - left).max() < 2e-5 * np.abs(load).max()
