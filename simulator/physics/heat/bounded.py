"""Temperatures made to hold a given heat, without a new extreme: pulled towards what is there."""

import numpy as np

from simulator.grid.grid import FloatArray, IntArray


def pulled(
    values: FloatArray,
    weight: FloatArray,
    group: IntArray,
    mean: FloatArray,
    low: FloatArray,
    high: FloatArray,
) -> FloatArray:
    """Return values whose weighted mean is that asked for in each group (G,).

    Every value of a group goes the same share of its way to ``high`` or ``low`` (G,), bounds that
    lie beyond the mean; so order is kept and the bounds hold.
    """
    count = mean.size
    total = np.bincount(group, weight, count)
    held = np.bincount(group, weight * values, count) / np.where(total > 0.0, total, 1.0)
    bound = np.where(mean > held, np.maximum(high, mean), np.minimum(low, mean))
    way = bound - held
    share = np.divide(mean - held, way, out=np.zeros(count), where=way != 0.0)
    share = np.clip(share, 0.0, 1.0)[group]
    moved: FloatArray = values + share * (bound[group] - values)
    return moved


def extremes(values: FloatArray, group: IntArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and highest value of each group (inf, -inf: an empty one)."""
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, group, values)
    np.maximum.at(high, group, values)
    return low, high
