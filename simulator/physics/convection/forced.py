"""Forced convection: one function a correlation, vectorised over numpy arrays.

None of these contains radiation (the well-known h = 5.7 + 3.8 V does, and so is not on offer).
"""

import numpy as np

from simulator.constants import AIR_PRANDTL, AIR_VISCOSITY
from simulator.grid.grid import FloatArray


def Re_air(speed: FloatArray, length: FloatArray) -> FloatArray:
    """Return the Reynolds number V L / ν of air at 40 °C [-].

    Parameters
    ----------
    speed : [m/s].
    length : characteristic length [m].

    Examples
    --------
    >>> round(float(Re_air(np.array(1.0), np.array(0.3))))
    17689
    """
    return speed * length / AIR_VISCOSITY


def Nu_flat_plate_laminar_pohlhausen_1921(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a plate in a calm parallel stream, on its length [-].

    Notes
    -----
    Nu = 0.664 Re^(1/2) Pr^(1/3), Re < 5·10⁵, 0.6 < Pr < 50. Weakness: room air is not calm; its
    turbulence raises the transfer.

    References
    ----------
    E. Pohlhausen 1921, Zeitschrift für angewandte Mathematik und Mechanik 1:115 (from memory).

    Examples
    --------
    >>> round(float(Nu_flat_plate_laminar_pohlhausen_1921(np.array(1e4), 0.703)), 5)
    59.04093
    """
    return np.asarray(0.664 * np.sqrt(reynolds) * prandtl ** (1.0 / 3.0))


def Nu_flat_plate_turbulent_colburn_1933(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a plate with a layer turbulent from its edge [-].

    Notes
    -----
    Nu = 0.037 Re^(4/5) Pr^(1/3), 0.6 < Pr < 60, Re up to 10⁷; below Re of some 10⁴ a laminar layer
    transfers more and this one is no longer met. Weakness: calm parallel stream.

    References
    ----------
    Colburn 1933, Transactions of the AIChE 29:174 (the analogy; from memory), with the friction law
    of Schlichting; as in Bergman et al. 2011, Introduction to Heat Transfer, 6th edition, 7.2.

    Examples
    --------
    >>> round(float(Nu_flat_plate_turbulent_colburn_1933(np.array(1e5), 0.703)), 3)
    328.993
    """
    return np.asarray(0.037 * reynolds**0.8 * prandtl ** (1.0 / 3.0))


def Nu_flat_plate_mixed_bergman_2011(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a plate with transition at Re = 5·10⁵, on its length [-].

    Notes
    -----
    Nu = (0.037 Re^(4/5) - 871) Pr^(1/3) above Re = 5·10⁵, below it the laminar form. Range to 10⁸.

    References
    ----------
    Bergman, Lavine, Incropera & DeWitt 2011, Introduction to Heat Transfer, 6th edition, 7.2.

    Examples
    --------
    >>> round(float(Nu_flat_plate_mixed_bergman_2011(np.array(1e6), 0.703)), 4)
    1301.3387
    """
    mixed = (0.037 * reynolds**0.8 - 871.0) * prandtl ** (1.0 / 3.0)
    laminar = Nu_flat_plate_laminar_pohlhausen_1921(reynolds, prandtl)
    return np.where(reynolds > 5e5, mixed, laminar)


def Nu_flat_plate_turbulent_schlichting_gersten_1997(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a plate with a turbulent layer; for comparison [-].

    Notes
    -----
    Nu = 0.037 Re^(4/5) Pr / [1 + 2.443 Re^(-1/10) (Pr^(2/3) - 1)], 5·10⁵ < Re < 10⁷.

    References
    ----------
    Schlichting & Gersten 1997, Grenzschicht-Theorie, 9th edition (form as in ``ht``).

    Examples
    --------
    >>> round(float(Nu_flat_plate_turbulent_schlichting_gersten_1997(np.array(1e6), 0.703)), 4)
    1883.1363
    """
    analogy = 1.0 + 2.443 * reynolds**-0.1 * (prandtl ** (2.0 / 3.0) - 1.0)
    return np.asarray(0.037 * reynolds**0.8 * prandtl / analogy)


def Nu_cylinder_crossflow_churchill_bernstein_1977(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a cylinder across a stream, on its diameter [-].

    Notes
    -----
    Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) / [1 + (0.4/Pr)^(2/3)]^(1/4) · [1 + (Re/282000)^(5/8)]^(4/5),
    Re Pr > 0.2. Weakness: one cylinder; neighbours shelter or speed up the stream.

    References
    ----------
    Churchill & Bernstein 1977, Journal of Heat Transfer 99:300.

    Examples
    --------
    >>> round(float(Nu_cylinder_crossflow_churchill_bernstein_1977(np.array(6071.0), 0.7)), 6)
    40.637086
    """
    laminar = 0.62 * np.sqrt(reynolds) * prandtl ** (1.0 / 3.0)
    blunt = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    return np.asarray(0.3 + laminar / blunt * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8)


def Nu_packed_bed_wakao_kaguei_1982(
    reynolds: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the Nusselt number of the pieces in a bed, on piece size and superficial speed [-].

    Notes
    -----
    Nu = 2 + 1.1 Pr^(1/3) Re^0.6, Re 3 to 3000. Weakness: for a regular bed of spheres; in heaps of
    clothes the air takes a few wide ways and passes the rest by, so that it is an upper estimate.

    References
    ----------
    Wakao & Kaguei 1982, Heat and Mass Transfer in Packed Beds.

    Examples
    --------
    >>> round(float(Nu_packed_bed_wakao_kaguei_1982(np.array(2000.0), 0.7)), 6)
    95.406413
    """
    return np.asarray(2.0 + 1.1 * prandtl ** (1.0 / 3.0) * reynolds**0.6)
