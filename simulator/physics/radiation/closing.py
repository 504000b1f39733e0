"""Closing: raw counts of rays turned into an exchange that is reciprocal and adds up exactly."""

import numpy as np
from scipy.sparse import csr_array, diags_array

from simulator.grid.grid import FloatArray

#: Rounds of scaling; each brings the row sums closer to what they must be.
_ROUNDS = 100

#: Row sums are close enough for the exact last step when they are within this of their target [-].
_CLOSE_ENOUGH = 1e-9


def close_exchange(raw: csr_array, target: FloatArray) -> csr_array:
    """Return the symmetric matrix nearest in kind to ``raw`` whose rows sum to ``target``.

    Parameters
    ----------
    raw : [P, P] what patch j absorbs of the rays of patch i, not negative [m²].
    target : ε A of each patch [m²].

    Notes
    -----
    Reciprocity: S = (N + Nᵀ)/2. Closure: D S D with a diagonal D from d ← d·√(target / row sum).
    The last step takes the smaller correction of each pair, so that no row exceeds its target, and
    gives the rest to the diagonal, which exchanges nothing. Both hold to round-off.
    """
    symmetric = csr_array(0.5 * (raw + raw.T))
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
