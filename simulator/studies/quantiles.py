"""Quantiles of times some of which never come."""

import math
from collections.abc import Sequence

import numpy as np

from simulator.grid.grid import FloatArray


def quantiles_with_never(
    values: Sequence[float] | FloatArray, shares: Sequence[float]
) -> tuple[float, ...]:
    """Return the values below which given shares [-] of all lie; nan is later than all others.

    Each is one of the values (the inverse of their distribution function).

    >>> quantiles_with_never([3.0, 1.0, 2.0, math.nan], (0.5, 1.0))
    (2.0, nan)
    """
    order = np.where(np.isnan(values), np.inf, values)
    found = np.quantile(order, shares, method="inverted_cdf").tolist()
    return tuple(value if math.isfinite(value) else math.nan for value in found)
