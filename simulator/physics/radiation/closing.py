"""Closing: raw counts of rays turned into an exchange that is reciprocal and adds up exactly."""

import numpy as np
from scipy.sparse import csr_array, diags_array

from simulator.grid.grid import FloatArray

#: Rounds of scaling; each brings the row sums closer to what they must be.
_ROUNDS = 100

#: Row sums are close enough for the exact last step when they are within this of their target [-].
_CLOSE_ENOUGH = 1e-9


def share_counts(raw: csr_array, worth: FloatArray) -> csr_array:
    """Return the symmetric exchange that the rays of both patches of each pair agree on best.

    Parameters
    ----------
    raw : [P, P] what patch j absorbs of the rays of patch i [m²]: rays counted times their worth.
    worth : of one ray of each patch [m²].

    Notes
    -----
    The counts n_ij and n_ji both estimate one G: S = (n_ij + n_ji) / (1/w_i + 1/w_j), the most
    likely value for Poisson counts. For equal worths this is the mean (N + Nᵀ)/2; a large patch,
    whose rays are worth much and seldom meet a small one, has less say in that pair.
    """
    rows = np.repeat(np.arange(worth.size), np.diff(raw.indptr))
    counts = csr_array((raw.data / worth[rows], raw.indices, raw.indptr), shape=raw.shape)
    both = csr_array(counts + counts.T)
    rows = np.repeat(np.arange(worth.size), np.diff(both.indptr))
    both.data *= 1.0 / (1.0 / worth[rows] + 1.0 / worth[both.indices])
    return both


def close_exchange(symmetric: csr_array, target: FloatArray) -> csr_array:
    """Return the scaled symmetric matrix whose rows sum to ``target``.

    Parameters
    ----------
    symmetric : [P, P] noisy exchange, symmetric, not negative [m²].
    target : ε A of each patch [m²].

    Notes
    -----
    D S D with a diagonal D from d ← d·√(target / row sum). The last step takes the smaller
    correction of each pair, so that no row exceeds its target, and gives the rest to the diagonal,
    which exchanges nothing. Symmetry and closure hold to round-off.
    """
    scale = np.ones(target.size)
    for _ in range(_ROUNDS):
        row_sum = scale * (symmetric @ scale)
        correction = np.divide(target, row_sum, out=np.ones(target.size), where=row_sum > 0.0)
        if np.max(np.abs(correction - 1.0), initial=0.0) < _CLOSE_ENOUGH:
            break
        scale *= np.sqrt(correction)
    scaled = csr_array(diags_array(scale) @ symmetric @ diags_array(scale))
    row_sum = scaled.sum(axis=1)
    excess = np.divide(target, row_sum, out=np.ones(target.size), where=row_sum > 0.0)
    rows = np.repeat(np.arange(target.size), np.diff(scaled.indptr))
    limited = np.minimum(1.0, np.minimum(excess[rows], excess[scaled.indices]))
    scaled.data *= limited
    closed = csr_array(scaled + diags_array(target - scaled.sum(axis=1)))
    closed.sort_indices()
    return closed
