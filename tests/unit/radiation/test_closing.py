"""Closing of raw counts: what it keeps, and what it must repair."""

import numpy as np
import pytest
from scipy.sparse import csr_array

from simulator.physics.radiation.closing import close_exchange, share_counts


def test_exact_exchange_is_left_alone() -> None:
    exact = np.array([[0.0, 1.0, 1.0], [1.0, 0.5, 0.5], [1.0, 0.5, 1.5]])
    closed = close_exchange(csr_array(exact), exact.sum(axis=1)).toarray()
    assert closed == pytest.approx(exact, abs=1e-12)


def test_noise_is_made_reciprocal_and_closed() -> None:
    chance = np.random.default_rng(11)
    exact = chance.uniform(0.0, 1.0, (40, 40))
    exact = exact + exact.T
    target = exact.sum(axis=1)
    noise = chance.uniform(0.8, 1.2, exact.shape)
    noisy = exact * 0.5 * (noise + noise.T)
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
    closed = close_exchange(csr_array(np.array([[0.0, 1.5], [1.5, 0.0]])), np.array([1.0, 2.0]))
    dense = closed.toarray()
    assert np.abs(dense - dense.T).max() < 1e-15
    assert dense.sum(axis=1) == pytest.approx([1.0, 2.0], rel=1e-12)
    assert dense[0, 1] == pytest.approx(1.0, rel=1e-3)
    assert dense.diagonal().min() >= -1e-15


def test_counts_are_shared_by_the_worth_of_their_rays() -> None:
    """Poisson counts of one exchange from a patch of few strong and one of many weak rays."""
    chance = np.random.default_rng(2)
    worth = np.array([0.1, 0.001])
    truth = 0.05
    found = []
    for _ in range(400):
        counts = chance.poisson(truth / worth)
        raw = csr_array(np.array([[0.0, counts[0] * 0.1], [counts[1] * 0.001, 0.0]]))
        shared = share_counts(raw, worth).toarray()
        assert shared[0, 1] == shared[1, 0]
        found.append(shared[0, 1])
    # 50 weak hits tell G to 14 %; the plain mean with half a strong hit would scatter by 70 %.
    assert np.mean(found) == pytest.approx(truth, rel=0.03)
    assert np.std(found) < 0.16 * truth


def test_equal_worths_give_the_plain_mean() -> None:
    raw = np.random.default_rng(1).uniform(0.0, 1.0, (7, 7))
    shared = share_counts(csr_array(raw), np.full(7, 0.01)).toarray()
    assert shared == pytest.approx(0.5 * (raw + raw.T), rel=1e-12)
