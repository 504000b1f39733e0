"""Kriging passes near what it knows, and its error of leaving one out is the true one."""

import numpy as np
import pytest
from scipy.stats import qmc

from simulator.studies.following import kriging
from simulator.studies.following.kriging import fitted


def points(count: int, seed: int = 1) -> np.ndarray:
    return 2.0 * qmc.LatinHypercube(3, rng=np.random.default_rng(seed)).random(count) - 1.0


def kinked(where: np.ndarray) -> np.ndarray:
    """Return a plane with a kink, as a thermostat makes one, and a smooth bowl."""
    plane = where @ np.array([1.0, -0.5, 0.2])
    return np.column_stack([np.minimum(plane, 0.2), plane**2])


def test_it_passes_near_its_points() -> None:
    """Not through them: runs scatter a little (``NUGGET``), which rounds a kink the most."""
    where = points(40)
    drawn, _ = fitted(where, kinked(where))
    missed = np.abs(np.array([drawn.at(p) for p in where]) - kinked(where)).max(axis=0)
    assert missed[1] < 0.02
    assert missed[0] < 0.05


def test_it_foretells_what_it_has_not_seen() -> None:
    where, new = points(60), points(200, seed=2)
    drawn, left_out = fitted(where, kinked(where))
    missed = np.array([drawn.at(p) for p in new]) - kinked(new)
    seen = np.sqrt((missed**2).mean(axis=0))
    told = np.sqrt((left_out**2).mean(axis=0))
    assert np.all(seen < 0.1)
    assert np.all((seen / told > 0.4) & (seen / told < 2.5))


def test_leaving_one_out_is_what_a_fit_without_it_misses() -> None:
    where = points(20)
    values, lengths = kinked(where), np.array([2.0, 2.0, 4.0])
    quick = kriging._left_out(where, values, lengths)
    rest = np.arange(20) != 7
    matrix = kriging._system(where[rest], lengths)
    weights = np.linalg.solve(matrix, np.concatenate([values[rest], np.zeros((4, 2))]))
    without = kriging.Kriging(where[rest], lengths, weights).at(where[7])
    np.testing.assert_allclose(quick[7], values[7] - without, atol=1e-8)


def test_a_plane_is_drawn_exactly() -> None:
    where = points(16)
    plane = (where @ np.array([[2.0], [0.5], [-1.0]])) + 3.0
    drawn, left_out = fitted(where, plane)
    assert np.abs(left_out).max() == pytest.approx(0.0, abs=1e-6)
    assert drawn.at(np.array([0.3, 0.3, 0.3]))[0] == pytest.approx(3.45, abs=1e-6)
