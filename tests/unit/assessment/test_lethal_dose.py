"""Lethal dose: worked figures, exactness on straight lines, published ramps, and the band."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from simulator.assessment.lethal_dose import (
    ADULT_SLOW,
    CURVES,
    EGG_SLOW,
    DeathCurve,
    accumulate,
    dose,
)

MINUTE = 60.0
HOUR = 3600.0


def without_limits(curve: DeathCurve) -> DeathCurve:
    """Return the bare exponential, which has closed forms."""
    return replace(curve, floor=-math.inf, cap=math.inf)


def final_dose(
    minutes: NDArray[np.float64] | list[float],
    temperature: NDArray[np.float64] | list[float],
    curve: DeathCurve,
    offset: float = 0.0,
) -> float:
    time = np.asarray(minutes, dtype=np.float64) * MINUTE
    field = np.asarray(temperature, dtype=np.float64)[:, None]
    return float(accumulate(time, field, curve, (), offset).final[0])


@pytest.mark.parametrize(
    ("curve", "temperature", "minutes", "expected"),
    [
        (EGG_SLOW, 48.0, 71.5, 1.000000),  # Kells & Goblirsch 2011, Insects 2(3):412
        (EGG_SLOW, 50.0, 30.0, 1.366582),  # arithmetic from the curve
        (EGG_SLOW, 52.0, 20.0, 2.967324),
        (ADULT_SLOW, 45.0, 94.8, 1.000000),  # Kells & Goblirsch 2011
        (ADULT_SLOW, 50.0, 60.0, 10.491923),
    ],
)
def test_constant_temperature_gives_time_over_lt99(
    curve: DeathCurve, temperature: float, minutes: float, expected: float
) -> None:
    assert final_dose([0.0, minutes], [temperature] * 2, curve) == pytest.approx(expected, abs=1e-6)


def test_egg_curve_passes_through_both_published_points() -> None:
    assert EGG_SLOW.lethal_time(48.0) / MINUTE == pytest.approx(71.5, rel=1e-12)
    # Published: some eggs still survived 7 h at 45 °C, so LT99 is at least 420 min there.
    assert EGG_SLOW.lethal_time(45.0) / MINUTE == pytest.approx(420.0, abs=1.0)


@pytest.mark.parametrize(("rate", "expected"), [(5.0, 0.925859), (10.0, 0.462929)])
def test_ramp_without_limits_matches_its_closed_form(rate: float, expected: float) -> None:
    """20 to 50 °C at 5 and 10 K/h; one straight line of the history must be enough."""
    curve = without_limits(EGG_SLOW)
    minutes = 30.0 / rate * 60.0
    assert final_dose([0.0, minutes], [20.0, 50.0], curve) == pytest.approx(expected, abs=1e-6)
    fine = np.linspace(0.0, minutes, 1001)
    ramp = 20.0 + rate / 60.0 * fine
    assert final_dose(fine, ramp, curve) == pytest.approx(expected, abs=1e-6)


def test_left_rectangles_at_five_minutes_would_err_by_a_fifth() -> None:
    """On a ramp of 10 K/h the crude sum is 20 % low; the exact integral is not."""
    minutes = np.arange(0.0, 181.0, 5.0)
    ramp = 20.0 + minutes / 6.0
    curve = without_limits(EGG_SLOW)
    rectangles = sum(5.0 * MINUTE / curve.lethal_time(float(value)) for value in ramp[:-1])
    exact = final_dose(minutes, ramp, curve)
    assert rectangles / exact - 1.0 == pytest.approx(-0.22, abs=0.03)
    assert exact == pytest.approx(0.462929, abs=1e-6)


def test_exponential_approach_matches_its_value() -> None:
    """20 to 50 °C with a time constant of 60 min for 240 min: 2.318865 without floor and cap."""
    minutes = np.linspace(0.0, 240.0, 4801)
    temperature = 50.0 - 30.0 * np.exp(-minutes / 60.0)
    found = final_dose(minutes, temperature, without_limits(EGG_SLOW))
    # Straight lines over a curve: the error falls with the square of the 3 s step.
    assert found == pytest.approx(2.318865, abs=2e-6)


def test_floor_and_cap_are_cut_within_a_segment() -> None:
    """One line from 20 to 80 °C: only its middle counts in full, its end at the 55 °C rate."""
    slope = math.log(10.0) / EGG_SLOW.z
    rate_floor = 1.0 / EGG_SLOW.lethal_time(45.0)
    rate_cap = 1.0 / EGG_SLOW.lethal_time(55.0)
    second_per_kelvin = HOUR / 60.0
    expected = second_per_kelvin * ((rate_cap - rate_floor) / slope + 25.0 * rate_cap)
    assert final_dose([0.0, 60.0], [20.0, 80.0], EGG_SLOW) == pytest.approx(expected, rel=1e-12)
    assert final_dose([0.0, 60.0], [80.0, 20.0], EGG_SLOW) == pytest.approx(expected, rel=1e-12)


def test_no_credit_below_the_floor_and_no_more_above_the_cap() -> None:
    assert final_dose([0.0, 6000.0], [44.999, 44.999], EGG_SLOW) == 0.0
    assert final_dose([0.0, 6000.0], [43.999, 43.999], ADULT_SLOW) == 0.0
    at_cap = final_dose([0.0, 10.0], [55.0, 55.0], EGG_SLOW)
    assert final_dose([0.0, 10.0], [70.0, 70.0], EGG_SLOW) == pytest.approx(at_cap, rel=1e-14)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_random_history_matches_brute_force(curve: DeathCurve) -> None:
    """Each straight line cut into 4000 midpoint rectangles: agreement to their own error."""
    chance = np.random.default_rng(7)
    time = np.cumsum(chance.uniform(30.0, 400.0, 30))
    temperature = chance.uniform(35.0, 65.0, (30, 3))
    found = dose(time, temperature, curve)
    share = (np.arange(4000) + 0.5) / 4000.0
    total = np.zeros(3)
    for row in range(29):
        for place in range(3):
            line = temperature[row, place] + share * np.diff(temperature[row : row + 2, place])
            capped = np.minimum(line, curve.cap)
            rate = 10.0 ** ((capped - curve.reference_temperature) / curve.z) / curve.reference_time
            rate[line < curve.floor] = 0.0
            total[place] += (time[row + 1] - time[row]) * rate.mean()
        assert found[row + 1] == pytest.approx(total, rel=2e-4, abs=1e-6)


def test_threshold_times_are_exact_within_a_segment() -> None:
    """Cutting the history at the reported time must reach just that dose."""
    time = np.array([0.0, 2.0, 3.0, 5.0]) * HOUR
    temperature = np.array([20.0, 52.0, 47.0, 70.0])[:, None]
    levels = (0.1, 1.0, 3.5, 9.0, 1e4)
    result = accumulate(time, temperature, EGG_SLOW, levels)
    assert math.isnan(result.time_to[-1, 0])
    for level, moment in zip(levels[:-1], result.time_to[:-1, 0], strict=True):
        cut = np.append(time[time < moment], moment)
        at_cut = np.interp(cut, time, temperature[:, 0])[:, None]
        assert accumulate(cut, at_cut, EGG_SLOW, ()).final[0] == pytest.approx(level, rel=1e-10)


def test_dose_is_the_same_however_the_lines_are_cut() -> None:
    time = np.array([0.0, 1.0, 2.0]) * HOUR
    temperature = np.array([[30.0, 60.0], [58.0, 46.0], [44.0, 46.0]])
    fine = np.union1d(np.linspace(0.0, 2.0 * HOUR, 701), time)
    finer = np.stack([np.interp(fine, time, column) for column in temperature.T], axis=1)
    coarse = accumulate(time, temperature, EGG_SLOW)
    cut = accumulate(fine, finer, EGG_SLOW)
    assert cut.final == pytest.approx(coarse.final, rel=1e-11)
    assert cut.time_to == pytest.approx(coarse.time_to, rel=1e-9, nan_ok=True)


def test_peak_and_first_time_at_fifty() -> None:
    time = np.array([0.0, 100.0, 200.0, 300.0])
    temperature = np.array(
        [[20.0, 51.0, 20.0], [60.0, 20.0, 50.0], [30.0, 20.0, 49.0], [70.0, 20.0, 49.0]],
        dtype=np.float32,
    )
    result = accumulate(time, temperature, EGG_SLOW)
    assert result.peak == pytest.approx([70.0, 51.0, 50.0])
    assert result.time_of_50 == pytest.approx([75.0, 0.0, 100.0])
    colder = accumulate(time, temperature, EGG_SLOW, offset=-2.0)
    assert colder.peak == pytest.approx([68.0, 49.0, 48.0])
    assert colder.time_of_50 == pytest.approx([80.0, math.nan, math.nan], nan_ok=True)


def test_one_and_two_kelvin_change_the_dose_as_stated() -> None:
    """The factors 1.80 and 3.26 that the band rests on."""
    warm = final_dose([0.0, 30.0], [50.0, 50.0], EGG_SLOW)
    assert warm / final_dose([0.0, 30.0], [50.0, 50.0], EGG_SLOW, -1.0) == pytest.approx(
        1.80, abs=0.01
    )
    assert warm / final_dose([0.0, 30.0], [50.0, 50.0], EGG_SLOW, -2.0) == pytest.approx(
        3.26, abs=0.01
    )


def codling_moth() -> DeathCurve:
    """Return the line through complete kill at 46/48/50/52 °C after 50/15/5/2 min.

    Fifth-instar codling moth: J Stored Prod Res 38:441 (2002), abstract.
    """
    temperature = np.array([46.0, 48.0, 50.0, 52.0])
    slope, level = np.polyfit(temperature, np.log10([50.0, 15.0, 5.0, 2.0]), 1)
    minutes = 10.0 ** (level + slope * 52.0)
    return DeathCurve(
        "codling moth",
        minutes * MINUTE,
        52.0,
        -1.0 / slope,
        -math.inf,
        math.inf,
        codling_moth.__doc__ or "",
    )


@pytest.mark.parametrize(("rate", "published"), [(1.0, 1.8), (10.0, 0.2), (18.0, 0.1)])
def test_codling_moth_ramp_accumulates_the_published_lethal_time(
    rate: float, published: float
) -> None:
    """Lethal time gathered on the way up, in minutes at 52 °C (same paper, ramps in K/min)."""
    curve = codling_moth()
    gathered = final_dose([0.0, 32.0 / rate], [20.0, 52.0], curve) * curve.reference_time / MINUTE
    assert gathered == pytest.approx(curve.z / (rate * math.log(10.0)), rel=1e-6)
    # Published to one digit after the point.
    assert gathered == pytest.approx(published, abs=0.06)


def test_pereira_z_value_gives_the_published_activation_energy() -> None:
    """z = 4 °C over 41-49 °C is Ea 484-488 kJ/mol: Pereira et al. 2009, J Econ Entomol 102:1182."""
    curve = replace(without_limits(ADULT_SLOW), z=4.0)
    low, high = 41.0 + 273.15, 49.0 + 273.15
    ratio = curve.lethal_time(41.0) / curve.lethal_time(49.0)
    energy = 8.314462618 * math.log(ratio) / (1.0 / low - 1.0 / high)
    assert 484e3 <= energy <= 488e3
    assert energy == pytest.approx(484.4e3, abs=100.0)


def test_warmer_history_never_has_less_dose() -> None:
    chance = np.random.default_rng(3)
    time = np.linspace(0.0, 6.0 * HOUR, 40)
    temperature = chance.uniform(40.0, 60.0, (40, 50))
    warmer = temperature + chance.uniform(0.0, 3.0, temperature.shape)
    plain, more = (accumulate(time, field, EGG_SLOW) for field in (temperature, warmer))
    assert np.all(more.final >= plain.final)
    never = 1e9
    assert np.all(np.nan_to_num(more.time_to, nan=never) <= np.nan_to_num(plain.time_to, nan=never))
