"""Jets that hit a surface: one function a correlation, vectorised over numpy arrays.

They say what a disc about the point of impact takes; ``jet_impact`` uses them where a jet hits.
"""

import numpy as np

from simulator.constants import AIR_PRANDTL
from simulator.grid.grid import FloatArray

#: The smallest disc about the point of impact that was measured, r/D [-].
NEAREST_RADIUS = 2.5


def Nu_round_jet_impinging_martin_1977(
    reynolds: FloatArray,
    distance: FloatArray | float = 6.0,
    radius: FloatArray | float = 2.5,
    prandtl: float = AIR_PRANDTL,
) -> FloatArray:
    """Return the mean Nusselt number of a disc about the point that a round jet hits [-].

    Parameters
    ----------
    reynolds : on the nozzle's diameter D and the speed at its mouth [-].
    distance : from the nozzle to the surface, H/D [-].
    radius : of the disc, r/D [-].
    prandtl : [-].

    Notes
    -----
    Nu = Pr^0.42 (D/r) (1 - 1.1 D/r) / [1 + 0.1 (H/D - 6) D/r] 2 Re^(1/2) (1 + Re^0.55/200)^(1/2),
    on D. Re 2000 to 400 000, H/D 2 to 12, r/D 2.5 to 7.5. Weakness: nothing but the jet moves, it
    hits at a right angle, and its air is as warm as that of the room: a heater's jet rises.

    References
    ----------
    Martin 1977, Advances in Heat Transfer 13:1 (volume and page from memory; the form agrees with
    several open reprints of Bergman et al., Introduction to Heat Transfer, section 7.7).

    Examples
    --------
    (1 + 10 000^0.55/200)^(1/2) is 1.3388; 200 times that, a fifth of 1 - 1.1/5 of it, at H/D = 6:

    >>> round(float(Nu_round_jet_impinging_martin_1977(np.array(1e4), 6.0, 5.0, 1.0)), 2)
    41.77
    """
    return np.asarray(_strength(reynolds, prandtl) * _mean_spread(distance, radius))


def Nu_round_jet_impinging_local_martin_1977(
    reynolds: FloatArray,
    distance: FloatArray | float = 6.0,
    radius: FloatArray | float = 2.5,
    prandtl: float = AIR_PRANDTL,
) -> FloatArray:
    """Return the local Nusselt number at a distance from the point that a round jet hits [-].

    Parameters
    ----------
    reynolds, distance, prandtl : as for the mean.
    radius : from the point of impact, r/D [-].

    Notes
    -----
    The mean of discs differentiated: Nu(r) = d(r² mean)/d(r²), and the mean of the disc of 2.5 D
    within that disc, so that means of wider discs are Martin's.

    References
    ----------
    As for the mean, from which it is derived here.

    Examples
    --------
    At H/D = 6 it is D/2r times 2 Re^(1/2) (1 + Re^0.55/200)^(1/2), here 267.76 / 10:

    >>> round(float(Nu_round_jet_impinging_local_martin_1977(np.array(1e4), 6.0, 5.0, 1.0)), 2)
    26.78
    """
    x = np.maximum(np.asarray(radius, dtype=np.float64), NEAREST_RADIUS)
    c = 0.1 * (np.asarray(distance) - 6.0)
    # of x² times the spread of the mean: x (x - 1.1) / (x + c), over the derivative of x²
    local = ((2.0 * x - 1.1) * (x + c) - x * (x - 1.1)) / (2.0 * x * (x + c) ** 2)
    inner = _mean_spread(distance, NEAREST_RADIUS)
    spread = np.where(np.asarray(radius) <= NEAREST_RADIUS, inner, local)
    return np.asarray(_strength(reynolds, prandtl) * spread)


def _strength(reynolds: FloatArray, prandtl: float) -> FloatArray:
    """Return what the mean and the local number have in common: the jet and its air [-]."""
    return np.asarray(2.0 * prandtl**0.42 * np.sqrt(reynolds * (1.0 + 0.005 * reynolds**0.55)))


def _mean_spread(distance: FloatArray | float, radius: FloatArray | float) -> FloatArray:
    """Return how the mean over a disc falls with its radius and the distance [-]."""
    near = 1.0 / np.asarray(radius)
    far = 1.0 + 0.1 * (np.asarray(distance) - 6.0) * near
    return np.asarray(near * (1.0 - 1.1 * near) / far)
