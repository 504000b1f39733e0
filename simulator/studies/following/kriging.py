"""Numbers known at some points of the unknowns, drawn through to every other point: kriging.

A linear trend plus a smooth remainder whose covariance is Matérn's with exponent 5/2, each unknown
with a length of its own; the lengths are those that foretell best each run from all others. That
error of leaving one out comes without refitting (Dubrule 1983, Mathematical Geology 15:687; the
method: Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, chapters 2, 4 and 5).

A quadratic polynomial through the same 60 runs errs three times as much: a thermostat that holds in
some runs and never in others makes a kink that no polynomial follows.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from simulator.grid.grid import FloatArray

#: Added to the variance at each point [-]: runs scatter a little, and matrices stay regular.
NUGGET = 1e-4

#: Lengths to begin with and the least and greatest, in half ranges (choice), and how often the
#: error may be asked for while they are sought.
LENGTH, SHORTEST, LONGEST, TRIES = 4.0, 0.3, 100.0, 400


@dataclass(frozen=True, slots=True)
class Kriging:
    """What ``fitted`` returns. n points of d unknowns, M numbers at each."""

    points: FloatArray  # (n, d)
    lengths: FloatArray  # (d,)
    weights: FloatArray  # (n + 1 + d, M)

    def at(self, point: FloatArray) -> FloatArray:
        """Return the numbers at a point (d,), shape (M,)."""
        near = _covariance(point[None, :], self.points, self.lengths)[0]
        found: FloatArray = np.concatenate([near, [1.0], point]) @ self.weights
        return found


def fitted(points: FloatArray, values: FloatArray) -> tuple[Kriging, FloatArray]:
    """Return the kriging of values (n, M) at points (n, d), and what it misses of each left out."""

    def missed(logarithm: FloatArray) -> float:
        lengths = np.clip(np.exp(logarithm), SHORTEST, LONGEST)
        return float((_left_out(points, values, lengths) ** 2).sum())

    start = np.full(points.shape[1], np.log(LENGTH))
    best = minimize(missed, start, method="Nelder-Mead", options={"maxfev": TRIES}).x
    lengths = np.clip(np.exp(best), SHORTEST, LONGEST)
    matrix = _system(points, lengths)
    target = np.concatenate([values, np.zeros((1 + points.shape[1], values.shape[1]))])
    weights = np.linalg.solve(matrix, target)
    return Kriging(points, lengths, weights), _left_out(points, values, lengths)


def _left_out(points: FloatArray, values: FloatArray, lengths: FloatArray) -> FloatArray:
    """Return each value less what all other points foretell of it, shape (n, M)."""
    n = points.shape[0]
    inverse = np.linalg.inv(_system(points, lengths))[:n, :n]
    found: FloatArray = (inverse @ values) / np.diag(inverse)[:, None]
    return found


def _system(points: FloatArray, lengths: FloatArray) -> FloatArray:
    """Return the matrix of covariances bordered by the trend."""
    n, d = points.shape
    trend = np.column_stack([np.ones(n), points])
    inner = _covariance(points, points, lengths) + NUGGET * np.eye(n)
    return np.block([[inner, trend], [trend.T, np.zeros((1 + d, 1 + d))]])


def _covariance(left: FloatArray, right: FloatArray, lengths: FloatArray) -> FloatArray:
    """Return Matérn's covariance of exponent 5/2 between points, shape (n_left, n_right)."""
    apart = (left[:, None, :] - right[None, :, :]) / lengths
    r = np.sqrt(5.0 * (apart**2).sum(axis=2))
    found: FloatArray = (1.0 + r + r**2 / 3.0) * np.exp(-r)
    return found
