"""Correlations against the ``ht`` package (called by function, not by name) and worked numbers.

Tolerance of a formula: 1e-6 relative, the print of the worked numbers.
"""

import doctest
from collections.abc import Callable

import ht
import numpy as np
import pytest

from simulator.constants import AIR_CONDUCTIVITY, AIR_PRANDTL, AIR_VISCOSITY, GRAVITY
from simulator.physics.convection import CORRELATIONS, forced, impinging, natural
from simulator.physics.convection.surface_coefficients import forced_coefficients

PR = 0.703
REYNOLDS = np.array([30.0, 1e3, 1e4, 1e5, 4.9e5])
RAYLEIGH = np.array([1e3, 1e4, 1e6, 9e6, 1e8, 1e9, 2e10])
TOLERANCE = 1e-6


@pytest.mark.parametrize(
    ("ours", "oracle", "arguments"),
    [
        (
            forced.Nu_flat_plate_laminar_pohlhausen_1921,
            ht.Nu_horizontal_plate_laminar_Baehr,
            REYNOLDS,
        ),
        (
            forced.Nu_flat_plate_turbulent_schlichting_gersten_1997,
            ht.Nu_horizontal_plate_turbulent_Schlichting,
            np.array([5e5, 1e6, 9e6]),
        ),
        (
            forced.Nu_cylinder_crossflow_churchill_bernstein_1977,
            ht.Nu_cylinder_Churchill_Bernstein,
            REYNOLDS,
        ),
        (
            forced.Nu_packed_bed_wakao_kaguei_1982,
            ht.conv_packed_bed.Nu_Wakao_Kagei,
            REYNOLDS,
        ),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_forced_correlation_agrees_with_an_independent_library(
    ours: Callable[..., np.ndarray], oracle: Callable[..., float], arguments: np.ndarray
) -> None:
    expected = [oracle(float(value), PR) for value in arguments]
    assert ours(arguments, PR) == pytest.approx(expected, rel=TOLERANCE)


@pytest.mark.parametrize(
    ("ours", "oracle"),
    [
        (
            natural.Nu_vertical_plate_natural_churchill_chu_1975,
            ht.Nu_vertical_plate_Churchill,
        ),
        (natural.Nu_sphere_natural_churchill_1983, ht.Nu_sphere_Churchill),
        (
            natural.Nu_horizontal_cylinder_natural_churchill_chu_1975,
            ht.Nu_horizontal_cylinder_Churchill_Chu,
        ),
        (
            natural.Nu_horizontal_gap_natural_hollands_1984,
            ht.conv_free_enclosed.Nu_Nusselt_Rayleigh_Hollands,
        ),
        (
            lambda rayleigh, _: natural.Nu_horizontal_plate_assisting_mcadams_1954(rayleigh),
            ht.Nu_horizontal_plate_McAdams,
        ),
        (
            lambda rayleigh, _: natural.Nu_horizontal_plate_opposed_mcadams_1954(rayleigh),
            lambda pr, gr: ht.Nu_horizontal_plate_McAdams(pr, gr, buoyancy=False),
        ),
    ],
)
def test_natural_correlation_agrees_with_an_independent_library(
    ours: Callable[..., np.ndarray], oracle: Callable[..., float]
) -> None:
    expected = [oracle(PR, float(value) / PR) for value in RAYLEIGH]
    assert ours(RAYLEIGH, PR) == pytest.approx(expected, rel=TOLERANCE)


def test_mixed_plate_matches_its_worked_numbers() -> None:
    """(0.037 Re^0.8 - 871) Pr^(1/3): Bergman et al. 2011, 7.2, evaluated by hand at Pr 0.703."""
    found = forced.Nu_flat_plate_mixed_bergman_2011(np.array([1e6, 2e6]), PR)
    assert found == pytest.approx([1301.3387, 2839.7211], rel=TOLERANCE)
    laminar = forced.Nu_flat_plate_laminar_pohlhausen_1921(np.array([1e4, 1e5, 5e5]), PR)
    assert laminar == pytest.approx([59.04093, 186.70381, 417.48242], rel=TOLERANCE)


def test_room_wall_correlations_match_their_worked_numbers() -> None:
    """Alamdari & Hammond 1983 and Awbi & Hatton 1999 at 5, 15 and 35 K, printed to 0.001."""
    drop = np.array([5.0, 15.0, 35.0])
    height, diameter = np.array(2.5), np.array(4.444)
    wall = natural.h_vertical_wall_natural_alamdari_hammond_1983(drop, height)
    assert wall == pytest.approx([2.217, 3.134, 4.113], abs=6e-4)
    wall = natural.h_vertical_wall_natural_awbi_hatton_1999(drop, diameter)
    assert wall == pytest.approx([2.439, 3.365, 4.313], abs=6e-4)
    floor = natural.h_floor_natural_awbi_hatton_1999(drop, diameter)
    assert floor == pytest.approx([3.188, 4.472, 5.805], abs=6e-4)


@pytest.mark.parametrize(("distance", "radius"), [(2.0, 2.5), (6.0, 5.0), (12.0, 7.5)])
def test_impinging_jet_in_the_form_of_relative_nozzle_area(distance: float, radius: float) -> None:
    """Martin 1977 as textbooks write it: A = (D/2r)², Nu / Pr^0.42 = G(A, H/D) F(Re).

    G = 2 √A (1 - 2.2 √A) / [1 + 0.2 (H/D - 6) √A], F = 2 √Re √(1 + 0.005 Re^0.55).
    """
    reynolds = np.array([2e3, 1e5, 4e5])
    root = 0.5 / radius
    g = 2.0 * root * (1.0 - 2.2 * root) / (1.0 + 0.2 * (distance - 6.0) * root)
    f = 2.0 * np.sqrt(reynolds) * np.sqrt(1.0 + 0.005 * reynolds**0.55)
    found = impinging.Nu_round_jet_impinging_martin_1977(reynolds, distance, radius, PR)
    assert found == pytest.approx(PR**0.42 * g * f, rel=TOLERANCE)


def test_choice_along_a_published_wall_jet_is_within_the_spread_of_an_impinging_jet() -> None:
    """0.3 m, 5.66 m/s, peak speed 1.03 U0 D/r (Rajaratnam 1976, from memory), mean over discs.

    Measured: 0.73 to 1.02 of Martin 1977; the stated spread is 30 %.
    """
    speed, diameter = 5.66, 0.3
    for distance in (2.0, 4.0, 6.0, 10.0):
        for radius in (2.5, 5.0, 7.5):
            r = np.linspace(0.0, radius, 400)[1:]
            peak = speed * np.minimum(1.0, 1.03 / r)
            ours = np.average(forced_coefficients(peak, np.ones(r.size)), weights=r)
            reynolds = forced.Re_air(np.array(speed), np.array(diameter))
            martin = impinging.Nu_round_jet_impinging_martin_1977(reynolds, distance, radius)
            assert 0.7 < ours / (martin * AIR_CONDUCTIVITY / diameter) < 1.3


def film(temperature: float) -> tuple[float, float, float]:
    """Return k, ν and Pr of air (ideal gas, Sutherland's law with its usual constants)."""
    kelvin = temperature + 273.15
    viscosity = 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)
    density = 101325.0 / (287.05 * kelvin)
    # Conductivities at 20, 50, 55 and 60 °C by Sutherland's law, joined by straight lines.
    conductivity = float(
        np.interp(temperature, [20.0, 50.0, 55.0, 60.0], [0.025695, 0.028013, 0.028391, 0.028767])
    )
    return conductivity, viscosity / density, viscosity * 1006.0 / conductivity


@pytest.mark.parametrize(
    ("surface", "air", "height", "expected"),
    [
        (20.0, 55.0, 2.5, 4.360),
        (45.0, 55.0, 2.5, 2.858),
        (20.0, 55.0, 0.5, 4.814),
        (30.0, 50.0, 1.0, 3.822),
    ],
)
def test_vertical_plate_in_room_air(
    surface: float, air: float, height: float, expected: float
) -> None:
    """Churchill & Chu 1975 with film properties: worked coefficients, W/(m² K)."""
    mean = 0.5 * (surface + air)
    k, nu, pr = film(mean)
    rayleigh = GRAVITY * (air - surface) * height**3 / (mean + 273.15) / nu**2 * pr
    found = (
        natural.Nu_vertical_plate_natural_churchill_chu_1975(np.array(rayleigh), pr) * k / height
    )
    # Properties are interpolated here: 0.2 %.
    assert float(found) == pytest.approx(expected, rel=2e-3)


def test_flat_plate_in_room_air() -> None:
    """Laminar and fully turbulent coefficients at 50 °C, worked by hand, printed to 0.001."""
    k, nu, pr = film(50.0)
    speed = np.array([0.2, 0.5, 1.0, 2.0, 5.0, 1.0, 3.0])
    length = np.array([1.0, 1.0, 1.0, 1.0, 1.0, 0.3, 2.5])
    reynolds = speed * length / nu
    laminar = forced.Nu_flat_plate_laminar_pohlhausen_1921(reynolds, pr) * k / length
    expected = [1.748, 2.764, 3.908, 5.527, 8.739, 7.135, 4.281]
    # The properties are printed to five digits.
    assert laminar == pytest.approx(expected, abs=2e-3)
    turbulent = forced.Nu_flat_plate_turbulent_colburn_1933(reynolds, pr) * k / length
    expected = [1.596, 3.322, 5.785, 10.072, 20.963, 7.360, 11.598]
    assert turbulent == pytest.approx(expected, abs=4e-3)


def test_cold_floor_is_opposed_and_cold_ceiling_assisted() -> None:
    """McAdams 1954, 5 x 4 m at 20 °C under and over air at 55 °C: 1.637 and 5.719 W/(m² K)."""
    k, nu, pr = film(37.5)
    length = 20.0 / 18.0
    rayleigh = np.array(GRAVITY * 35.0 * length**3 / 310.65 / nu**2 * pr)
    floor = natural.Nu_horizontal_plate_opposed_mcadams_1954(rayleigh) * k / length
    ceiling = natural.Nu_horizontal_plate_assisting_mcadams_1954(rayleigh) * k / length
    assert float(floor) == pytest.approx(1.637, rel=2e-3)
    assert float(ceiling) == pytest.approx(5.719, rel=2e-3)


def test_narrow_gaps_only_conduct() -> None:
    still = np.array([0.0, 10.0, 1000.0])
    assert natural.Nu_horizontal_gap_natural_hollands_1984(still) == pytest.approx(1.0, abs=1e-6)
    # ElSherbiny et al. 1982: within 1 % of pure conduction up to Ra 1000 at H/w = 40.
    assert natural.Nu_vertical_gap_natural_elsherbiny_1982(still, 40.0) == pytest.approx(
        1.0, rel=0.01
    )


def test_constant_air_properties_serve_the_whole_treatment() -> None:
    """Properties at 40 °C against those at 20 and 60 °C: within 7 % in every regime."""
    for temperature in (20.0, 60.0):
        k, nu, pr = film(temperature)
        forced_ratio = (k / AIR_CONDUCTIVITY) * (AIR_VISCOSITY / nu) ** 0.8
        natural_ratio = (k / AIR_CONDUCTIVITY) * ((AIR_VISCOSITY / nu) ** 2 * pr / AIR_PRANDTL) ** (
            1 / 3
        )
        assert 0.93 < forced_ratio < 1.07
        assert 0.90 < natural_ratio < 1.10


@pytest.mark.parametrize("correlation", CORRELATIONS, ids=lambda function: function.__name__)
def test_correlation_is_documented_vectorised_and_rises(
    correlation: Callable[..., np.ndarray],
) -> None:
    """Contract of every correlation on offer: name, docstring, array in and out, no decrease."""
    words = correlation.__name__.split("_")
    assert words[0] in {"h", "Nu"}
    assert words[-1].isdigit() and len(words[-1]) == 4
    text = correlation.__doc__ or ""
    for heading in ("Notes", "References", "Examples"):
        assert heading in text
    length = 2.0 if "elsherbiny" not in words else 40.0
    arguments = np.geomspace(1e2, 4e5, 50)
    needs_length = words[0] == "h" or "elsherbiny" in words
    found = correlation(arguments, length) if needs_length else correlation(arguments)
    assert found.shape == arguments.shape
    assert np.all(np.isfinite(found)) and np.all(np.diff(found) >= 0.0)


@pytest.mark.parametrize(
    ("module", "least"),
    [(natural, 6), (forced, 6), (impinging, 1)],
    ids=["natural", "forced", "impinging"],
)
def test_worked_numbers_in_the_docstrings_are_true(module: object, least: int) -> None:
    failures, count = doctest.testmod(module)  # type: ignore[arg-type]
    assert failures == 0
    assert count >= least
