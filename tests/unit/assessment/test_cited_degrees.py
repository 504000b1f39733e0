"""Cited degrees Celsius, told to readers of degrees Fahrenheit."""

import pytest

from simulator.assessment.cited_degrees import degrees_told


@pytest.mark.parametrize(
    ("cited", "told"),
    [
        ("not warmer than 50 °C, by P412", "not warmer than 122 °F (50 °C), by P412"),
        ("at 51 to 55 °C 0.41, 0.67", "at 124 to 131 °F (51 to 55 °C) 0.41, 0.67"),
        ("of 60, 75, 90 °C (NEC)", "of 140, 167, 194 °F (60, 75, 90 °C) (NEC)"),
        ("heads (38 °C), alarms", "heads (100 °F, 38 °C), alarms"),
        ("75 or 90 °C at 0.58 or 0.71", "167 or 194 °F (75 or 90 °C) at 0.58 or 0.71"),
        ("a rise of 5 °C (9 °F) an hour", "a rise of 5 °C (9 °F) an hour"),
        ("above 55 °C (131 °F)", "above 55 °C (131 °F)"),
        ("z = 4.1 K and 145.4 °F", "z = 4.1 K and 145.4 °F"),
    ],
)
def test_fahrenheit_comes_first_and_only_once(cited: str, told: str) -> None:
    assert degrees_told(cited, "us") == told
    assert degrees_told(cited, "si") == cited
