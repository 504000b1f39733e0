"""The error of a grid from runs on several: observed order, extrapolation, convergence index."""

import math

#: Safety factors of the grid convergence index [-]: with three grids, whose order is observed, and
#: with two, whose order is assumed (Roache 1994, J. Fluids Eng. 116:405; Celik et al. 2008).
THREE_GRIDS, TWO_GRIDS = 1.25, 3.0

#: Rounds of the fixed-point iteration for the observed order.
MOST_ROUNDS = 200


def observed_order(
    fine: float, middle: float, coarse: float, ratio_fine: float, ratio_coarse: float
) -> float:
    """Return the order at which three grids approach their limit [-].

    Parameters
    ----------
    fine, middle, coarse : the same quantity on the three grids.
    ratio_fine, ratio_coarse : cell size of the middle over the fine, and of the coarse over the
        middle grid [-], both above 1.

    Raises
    ------
    ValueError
        If the three values tell no order: two of them are equal, or a ratio is not above 1.

    Notes
    -----
    Celik et al. 2008, J. Fluids Eng. 130:078001: the fixed point of
    p = |ln |e32/e21| + q(p)| / ln r21, q = ln((r21^p - s) / (r32^p - s)), s = sign(e32/e21).
    """
    near, far = middle - fine, coarse - middle
    if near == 0.0 or far == 0.0:
        raise ValueError("two grids give the same value: no order can be told")
    if ratio_fine <= 1.0 or ratio_coarse <= 1.0:
        raise ValueError("each grid must be coarser than the one before")
    sign = math.copysign(1.0, far / near)
    order = 1.0
    for _ in range(MOST_ROUNDS):
        q = math.log(abs((ratio_fine**order - sign) / (ratio_coarse**order - sign)))
        last, order = order, abs(math.log(abs(far / near)) + q) / math.log(ratio_fine)
        if abs(order - last) < 1e-12 * max(order, 1.0):
            break
        order = max(order, 1e-6)
    return order


def extrapolated(fine: float, coarse: float, ratio: float, order: float) -> float:
    """Return the Richardson extrapolation of two grids to cells of no size."""
    return fine + (fine - coarse) / (math.pow(ratio, order) - 1.0)


def error_band(
    fine: float, coarse: float, ratio: float, order: float, safety: float = TWO_GRIDS
) -> float:
    """Return the half width of the band about the fine grid's value: the convergence index.

    It is safety |fine - coarse| / (ratio^order - 1), in the unit of the values.
    """
    return safety * abs(fine - coarse) / (math.pow(ratio, order) - 1.0)
