"""Medicines: mean kinetic temperature and the rule for spikes (USP 659, at second hand)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.assessment.dry_air import humidity_when_heated
from simulator.assessment.medicines import mean_kinetic_temperature, medicine_record

HOUR = 3600.0


def square(hours: float, hot: float) -> tuple[np.ndarray, np.ndarray]:
    """Return a run of some hours at one temperature."""
    return np.linspace(0.0, hours * HOUR, 97), np.full(97, hot)


def test_a_month_with_one_treatment_keeps_its_mean_and_fails_by_its_spike() -> None:
    """30 d at 22 °C with 8 h at 55 °C: mean kinetic temperature 24.5 °C (derived)."""
    record = medicine_record(*square(8.0, 55.0))
    assert record.mean_of_month == pytest.approx(24.5, abs=0.05)
    assert record.mean_of_month <= 25.0
    assert record.peak == 55.0
    assert not record.is_within


def test_the_day_of_a_treatment_by_itself() -> None:
    """One day with 8 h at 55 °C, else 22 °C: 44 °C (derived)."""
    assert medicine_record(*square(8.0, 55.0)).mean_of_day == pytest.approx(44.0, abs=0.5)


def test_a_mild_short_spike_is_within() -> None:
    """USP 659: up to 40 °C, at most 24 h, mean at most 25 °C."""
    assert medicine_record(*square(3.0, 39.0)).is_within
    assert not medicine_record(*square(3.0, 40.5)).is_within
    assert not medicine_record(*square(25.0, 27.0)).is_within  # longer than a day above 25 °C


@given(st.floats(-20.0, 80.0), st.floats(1.0, 1e6))
def test_the_mean_of_one_temperature_is_that_temperature(temperature: float, lasts: float) -> None:
    assert mean_kinetic_temperature([(lasts, temperature)]) == pytest.approx(temperature, abs=1e-6)


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0), st.floats(0.05, 0.95))
def test_the_mean_lies_between_the_plain_mean_and_the_hottest(
    one: float, other: float, share: float
) -> None:
    mean = mean_kinetic_temperature([(share, one), (1.0 - share, other)])
    assert share * one + (1.0 - share) * other - 1e-6 <= mean <= max(one, other) + 1e-6


def test_heated_air_is_dry() -> None:
    """21 °C and 50 % heated to 55 °C without moisture: 7.9 % (derived from the Wood Handbook)."""
    assert 100.0 * humidity_when_heated(0.50, 21.0, 55.0) == pytest.approx(7.9, abs=0.05)
