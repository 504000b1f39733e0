"""Natural convection: one function a correlation, vectorised over numpy arrays.

None of these contains radiation. Nusselt numbers are on the length that the docstring names.
"""

import numpy as np

from simulator.constants import AIR_EXPANSION, AIR_PRANDTL, AIR_VISCOSITY, GRAVITY
from simulator.grid.grid import FloatArray


def Ra_air(difference: FloatArray, length: FloatArray) -> FloatArray:
    """Return the Rayleigh number g β |ΔT| L³ Pr / ν² of air at 40 °C [-].

    Parameters
    ----------
    difference : air minus surface temperature, either sign [K].
    length : characteristic length [m].

    Examples
    --------
    >>> f"{float(Ra_air(np.array(35.0), np.array(2.5))):.3e}"
    '4.198e+10'
    """
    buoyancy = GRAVITY * AIR_EXPANSION * np.abs(difference)
    return buoyancy * length**3 * AIR_PRANDTL / AIR_VISCOSITY**2


def h_vertical_wall_natural_alamdari_hammond_1983(
    difference: FloatArray, height: FloatArray
) -> FloatArray:
    """Return the coefficient of a vertical room surface [W/(m² K)].

    Parameters
    ----------
    difference : air minus surface temperature, either sign [K].
    height : height of the wall or of the side of a thing [m].

    Notes
    -----
    h = {[1.5 (ΔT/H)^(1/4)]⁶ + [1.23 ΔT^(1/3)]⁶}^(1/6), Rayleigh numbers 10⁴ to 10¹².
    The form is from memory. Weakness: fitted to still rooms with uniformly warm walls; measured
    coefficients of real rooms scatter by 30 % about it.

    References
    ----------
    Alamdari & Hammond 1983, Building Services Engineering Research and Technology 4:106 (from
    memory).

    Examples
    --------
    >>> h = h_vertical_wall_natural_alamdari_hammond_1983(np.array(35.0), np.array(2.5))
    >>> round(float(h), 3)
    4.113
    """
    drop = np.abs(difference)
    laminar = 1.5 * (drop / height) ** 0.25
    turbulent = 1.23 * np.cbrt(drop)
    return np.asarray((laminar**6 + turbulent**6) ** (1.0 / 6.0))


def h_vertical_wall_natural_awbi_hatton_1999(
    difference: FloatArray, hydraulic_diameter: FloatArray
) -> FloatArray:
    """Return the coefficient of a heated room wall [W/(m² K)]; for comparison with other authors.

    Parameters
    ----------
    difference : air minus surface temperature, either sign [K].
    hydraulic_diameter : 4 × area / perimeter of the wall [m].

    Notes
    -----
    h = 1.823 ΔT^0.293 / D^0.121. Weakness: a chamber of about 2.8 m, air temperature measured close
    to the wall.

    References
    ----------
    Awbi & Hatton 1999, Energy and Buildings 30:233 (form seen in open building-simulation sources).

    Examples
    --------
    >>> round(float(h_vertical_wall_natural_awbi_hatton_1999(np.array(15.0), np.array(4.444))), 3)
    3.365
    """
    return np.asarray(1.823 * np.abs(difference) ** 0.293 / hydraulic_diameter**0.121)


def h_floor_natural_awbi_hatton_1999(
    difference: FloatArray, hydraulic_diameter: FloatArray
) -> FloatArray:
    """Return the coefficient of a heated floor [W/(m² K)]; for comparison with other authors.

    Parameters
    ----------
    difference : air minus surface temperature, either sign [K].
    hydraulic_diameter : 4 × area / perimeter of the floor [m].

    Notes
    -----
    h = 2.175 ΔT^0.308 / D^0.076; only for a floor warmer than the air.

    References
    ----------
    Awbi & Hatton 1999, Energy and Buildings 30:233 (form seen in open building-simulation sources).

    Examples
    --------
    >>> round(float(h_floor_natural_awbi_hatton_1999(np.array(15.0), np.array(4.444))), 3)
    4.472
    """
    return np.asarray(2.175 * np.abs(difference) ** 0.308 / hydraulic_diameter**0.076)


def Nu_vertical_plate_natural_churchill_chu_1975(
    rayleigh: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of an isothermal vertical plate on its height [-].

    Notes
    -----
    Nu = {0.825 + 0.387 Ra^(1/6) / [1 + (0.492/Pr)^(9/16)]^(8/27)}², any Ra up to 10¹².
    Weakness: a plate in open air; a few per cent low in the laminar range.

    References
    ----------
    Churchill & Chu 1975, International Journal of Heat and Mass Transfer 18:1323.

    Examples
    --------
    >>> round(float(Nu_vertical_plate_natural_churchill_chu_1975(np.array(1e9), 0.703)), 5)
    122.68792
    """
    factor = (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return np.asarray((0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / factor) ** 2)


def Nu_horizontal_plate_assisting_mcadams_1954(rayleigh: FloatArray) -> FloatArray:
    """Return the Nusselt number of a plate that faces away from its own stable layer [-].

    That is a warm surface facing up or a cold one facing down; the length is area / perimeter.

    Notes
    -----
    Nu = 0.54 Ra^(1/4) up to Ra = 10⁷, above it 0.15 Ra^(1/3). Range 10⁴ to 10¹¹. Weakness: a step
    of 11 % where the two meet (32.3 at Ra 10⁷ from above, 30.4 from below: the published pair).

    References
    ----------
    McAdams 1954, Heat Transmission, 3rd edition.

    Examples
    --------
    >>> round(float(Nu_horizontal_plate_assisting_mcadams_1954(np.array(1e9))), 5)
    150.0
    """
    laminar = 0.54 * rayleigh**0.25
    return np.where(rayleigh <= 1e7, laminar, 0.15 * np.cbrt(rayleigh))


def Nu_horizontal_plate_opposed_mcadams_1954(rayleigh: FloatArray) -> FloatArray:
    """Return the Nusselt number of a plate under or over its own stable layer [-].

    That is a cold surface facing up or a warm one facing down; the length is area / perimeter.

    Notes
    -----
    Nu = 0.27 Ra^(1/4) up to Ra = 10¹⁰, above it 0.15 Ra^(1/3). Weakness: presumes that the air can
    flow off over the edges; a floor between walls does worse in truly still air.

    References
    ----------
    McAdams 1954, Heat Transmission, 3rd edition; the upper branch as in ``ht``.

    Examples
    --------
    >>> round(float(Nu_horizontal_plate_opposed_mcadams_1954(np.array(1e9))), 5)
    48.01354
    """
    laminar = 0.27 * rayleigh**0.25
    return np.where(rayleigh <= 1e10, laminar, 0.15 * np.cbrt(rayleigh))


def Nu_sphere_natural_churchill_1983(
    rayleigh: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a sphere on its diameter [-]: the pieces of loose stuff.

    Notes
    -----
    Nu = 2 + 0.589 Ra^(1/4) / a^(4/9) · (1 + 7.44e-8 Ra / a^(16/9))^(1/12) with
    a = 1 + (0.469/Pr)^(9/16), Ra < 10¹³. Weakness: one sphere in
    open air, while pieces in a pile shelter each other.

    References
    ----------
    Churchill 1983, in Schlünder (editor), Heat Exchanger Design Handbook.

    Examples
    --------
    >>> round(float(Nu_sphere_natural_churchill_1983(np.array(1e6), 0.703)), 5)
    16.38756
    """
    a = 1.0 + (0.469 / prandtl) ** (9.0 / 16.0)
    turbulent = (1.0 + 7.44e-8 * rayleigh / a ** (16.0 / 9.0)) ** (1.0 / 12.0)
    return np.asarray(2.0 + 0.589 * rayleigh**0.25 / a ** (4.0 / 9.0) * turbulent)


def Nu_horizontal_cylinder_natural_churchill_chu_1975(
    rayleigh: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the mean Nusselt number of a horizontal cylinder on its diameter [-]: bars and rails.

    Notes
    -----
    Nu = {0.6 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27)}², Ra up to 10¹².

    References
    ----------
    Churchill & Chu 1975, International Journal of Heat and Mass Transfer 18:1049.

    Examples
    --------
    >>> round(float(Nu_horizontal_cylinder_natural_churchill_chu_1975(np.array(1e6), 0.703)), 5)
    14.51835
    """
    factor = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return np.asarray((0.6 + 0.387 * rayleigh ** (1.0 / 6.0) / factor) ** 2)


def Nu_horizontal_gap_natural_hollands_1984(
    rayleigh: FloatArray, prandtl: float = AIR_PRANDTL
) -> FloatArray:
    """Return the Nusselt number across a wide flat gap heated from below, on its height [-].

    Parameters
    ----------
    rayleigh : on the height and the whole difference between the two plates [-].
    prandtl : [-].

    Notes
    -----
    Nu = 1 + [1 - 1708/Ra]⁺ {k₁ + 2 (Ra^(1/3)/k₂)^(1 - ln(Ra^(1/3)/k₂))} + [(Ra/5803)^(1/3) - 1]⁺
    with k₁ = 1.44 / (1 + 0.018/Pr + 0.00136/Pr²), k₂ = 75 exp(1.5/√Pr); []⁺ drops negative values.
    Below Ra = 1708 only conduction is left. Weakness: plates without end.

    References
    ----------
    Hollands 1984, International Journal of Heat and Mass Transfer 27:466.

    Examples
    --------
    >>> round(float(Nu_horizontal_gap_natural_hollands_1984(np.array(1e5), 0.703)), 5)
    3.96051
    """
    safe = np.maximum(rayleigh, 1.0)
    onset = np.maximum(0.0, 1.0 - 1708.0 / safe)
    k1 = 1.44 / (1.0 + 0.018 / prandtl + 0.00136 / prandtl**2)
    k2 = 75.0 * np.exp(1.5 / np.sqrt(prandtl))
    scaled = np.cbrt(safe) / k2
    cells = k1 + 2.0 * scaled ** (1.0 - np.log(scaled))
    turbulent = np.maximum(0.0, np.cbrt(rayleigh / 5803.0) - 1.0)
    return np.asarray(1.0 + onset * cells + turbulent)


def Nu_vertical_gap_natural_elsherbiny_1982(
    rayleigh: FloatArray, slenderness: FloatArray | float
) -> FloatArray:
    """Return the Nusselt number across a tall vertical gap, on its width [-].

    Parameters
    ----------
    rayleigh : on the width and the whole difference between the two sides [-].
    slenderness : height over width [-], 5 to 110.

    Notes
    -----
    The largest of 0.0605 Ra^(1/3), {1 + [0.104 Ra^0.293 / (1 + (6310/Ra)^1.36)]³}^(1/3) and
    0.242 (Ra w/H)^0.272.

    References
    ----------
    ElSherbiny, Raithby & Hollands 1982, Journal of Heat Transfer 104:96 (form from memory).

    Examples
    --------
    >>> round(float(Nu_vertical_gap_natural_elsherbiny_1982(np.array(1e3), 40.0)), 2)
    1.0
    """
    safe = np.maximum(rayleigh, 1e-9)
    boundary = 0.0605 * np.cbrt(rayleigh)
    transition = np.cbrt(1.0 + (0.104 * rayleigh**0.293 / (1.0 + (6310.0 / safe) ** 1.36)) ** 3)
    laminar = 0.242 * (rayleigh / slenderness) ** 0.272
    return np.maximum(np.maximum(boundary, transition), laminar)
