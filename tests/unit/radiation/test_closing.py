"""Closing of raw counts: what it keeps, and what it must repair."""

import numpy as np
import pytest
from scipy.sparse import csr_array

from simulator.physics.radiation.closing import close_exchange


def test_exact_exchange_is_left_alone() -> None:
    exact = np.array([[0.0, 1.0, 1.0], [1.0, 0.5, 0.5], [1.0, 0.5, 1.5]])
    closed = close_exchange(csr_array(exact), exact.sum(axis=1)).toarray()
    assert closed == pytest.approx(exact, abs=1e-12)


def test_noise_is_made_reciprocal_and_closed() -> None:
    chance = np.random.default_rng(11)
    exact = chance.uniform(0.0, 1.0, (40, 40))
    exact = exact + exact.T
    target = exact.sum(axis=1)
    noisy = exact * chance.uniform(0.8, 1.2, exact.shape)
    closed = close_exchange(csr_array(noisy), target).toarray()
    assert closed.sum(axis=1) == pytest.approx(target, rel=1e-12)
    assert np.abs(closed - closed.T).max() < 1e-15
    assert closed.min() >= 0.0
    # Nearer to the truth than the counts were.
    assert np.abs(closed - exact).mean() < np.abs(noisy - exact).mean()


def test_patch_that_sees_nothing_keeps_its_heat() -> None:
    raw = np.array([[0.0, 2.0, 0.0], [2.0, 1.0, 0.0], [0.0, 0.0, 0.0]])
    closed = close_exchange(csr_array(raw), np.array([2.0, 3.0, 1.0])).toarray()
    assert closed[2] == pytest.approx([0.0, 0.0, 1.0])


def test_areas_that_cannot_match_do_not_break_reciprocity() -> None:
    """Two patches that see only each other with unequal areas: the larger keeps the rest."""
    closed = close_exchange(csr_array(np.array([[0.0, 1.0], [2.0, 0.0]])), np.array([1.0, 2.0]))
    dense = closed.toarray()
    assert np.abs(dense - dense.T).max() < 1e-15
    assert dense.sum(axis=1) == pytest.approx([1.0, 2.0], rel=1e-12)
    assert dense[0, 1] == pytest.approx(1.0, rel=1e-3)
    assert dense.diagonal().min() >= -1e-15
