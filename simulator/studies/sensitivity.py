"""Which inputs an answer follows: Morris screening and Sobol indices.

Both take a function of points in the unit cube. Screening with few runs tells which inputs matter
at all and which act in company; Sobol indices share out the variance of the answer among those.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray

#: A function of points, shape (n, k) in the unit cube, that returns n answers.
Model = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Screening:
    """Elementary effects of k inputs, each for its whole range.

    Attributes
    ----------
    mean : of the effects: how the answer goes with the input (k,).
    mean_absolute : of their absolute values, mu* of Campolongo et al.: how much it matters (k,).
    spread : standard deviation: how much it acts in company or along a curve (k,).
    runs : that were made.
    """

    names: tuple[str, ...]
    mean: FloatArray
    mean_absolute: FloatArray
    spread: FloatArray
    runs: int


def morris(
    model: Model,
    names: Sequence[str],
    paths: int,
    lots: np.random.Generator,
    levels: int = 4,
) -> Screening:
    """Return the elementary effects of a function of the unit cube; paths (k + 1) runs.

    Parameters
    ----------
    paths : walks through the cube; each changes every input once, in an order drawn by lot.
    levels : of the grid that the walks keep to, an even number.

    Notes
    -----
    Morris 1991, Technometrics 33:161; the mean of absolute effects: Campolongo, Cariboni & Saltelli
    2007, Environ. Model. Softw. 22:1509. The step is levels / (2 (levels - 1)).
    """
    inputs = len(names)
    step = levels / (2.0 * (levels - 1.0))
    effects = np.empty((paths, inputs))
    walks, orders, signs = [], [], []
    for _ in range(paths):
        point = lots.integers(0, levels // 2, inputs) / (levels - 1.0)
        sign = np.where(lots.random(inputs) < 0.5, 1.0, -1.0)
        point = np.where(sign > 0.0, point, point + step)
        order = lots.permutation(inputs)
        walk = [point]
        for index in order:
            point = point.copy()
            point[index] += sign[index] * step
            walk.append(point)
        walks.append(walk)
        orders.append(order)
        signs.append(sign)
    points = np.concatenate([np.array(walk) for walk in walks])
    answers = np.asarray(model(points)).reshape(paths, inputs + 1)
    for path, (order, sign) in enumerate(zip(orders, signs, strict=True)):
        change = np.diff(answers[path])
        effects[path, order] = change / (step * sign[order])
    return Screening(
        tuple(names),
        effects.mean(axis=0),
        np.abs(effects).mean(axis=0),
        effects.std(axis=0, ddof=1) if paths > 1 else np.zeros(inputs),
        points.shape[0],
    )


@dataclass(frozen=True, slots=True)
class SobolShares:
    """Shares of the variance: ``first`` by an input alone, ``total`` with all its company (k,)."""

    names: tuple[str, ...]
    first: FloatArray
    total: FloatArray
    runs: int


def sobol(
    model: Model, names: Sequence[str], samples: int, lots: np.random.Generator
) -> SobolShares:
    """Return Sobol's indices of a function of the unit cube; samples (k + 2) runs.

    Parameters
    ----------
    samples : a power of two.

    Notes
    -----
    ``scipy.stats.sobol_indices``: Saltelli et al. 2010, Comput. Phys. Commun. 181:259.
    """
    from scipy.stats import sobol_indices, uniform

    found = sobol_indices(
        func=lambda points: np.asarray(model(points.T)),
        n=samples,
        dists=[uniform(0.0, 1.0)] * len(names),
        rng=lots,
    )
    runs = samples * (len(names) + 2)
    return SobolShares(tuple(names), found.first_order, found.total_order, runs)
