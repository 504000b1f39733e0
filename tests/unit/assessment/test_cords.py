"""Cords in the heat: the code's own figures, and what a current asks of a cord."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.assessment.cords import check_cord, heat_factor
from simulator.case.electrical import CORD_INSULATIONS, CORD_RATINGS, Cord, ElectricalLoad

#: NEC 310.15(B)(1), read in its own text: insulation, air, factor; 0 stands for "not allowed".
PUBLISHED = [
    (60.0, 51.0, 0.41),
    (60.0, 55.0, 0.41),
    (75.0, 51.0, 0.67),
    (75.0, 55.0, 0.67),
    (90.0, 51.0, 0.76),
    (90.0, 55.0, 0.76),
    (60.0, 56.0, 0.0),
    (60.0, 60.0, 0.0),
    (75.0, 56.0, 0.58),
    (75.0, 60.0, 0.58),
    (90.0, 56.0, 0.71),
    (90.0, 60.0, 0.71),
]

#: The same table at 36 to 40 °C, 46 to 50 °C, 61 to 65 °C (from memory).
FROM_MEMORY = [
    (60.0, 40.0, 0.82),
    (75.0, 40.0, 0.88),
    (90.0, 40.0, 0.91),
    (60.0, 50.0, 0.58),
    (75.0, 50.0, 0.75),
    (90.0, 50.0, 0.82),
    (75.0, 65.0, 0.47),
    (90.0, 65.0, 0.65),
]


@pytest.mark.parametrize(("insulation", "air", "factor"), PUBLISHED + FROM_MEMORY)
def test_factors_are_those_of_the_code(insulation: float, air: float, factor: float) -> None:
    assert heat_factor(insulation, air) == factor


@given(st.sampled_from([60.0, 75.0, 90.0]), st.floats(0.0, 100.0), st.floats(0.0, 40.0))
def test_hotter_air_never_lets_a_cord_carry_more(
    insulation: float, air: float, more: float
) -> None:
    assert 0.0 <= heat_factor(insulation, air + more) <= heat_factor(insulation, air) <= 1.0


def test_a_cord_that_is_good_in_a_cool_room_is_over_in_a_hot_one() -> None:
    """10 AWG carries 30 A at 30 °C; 5.6 kW at 240 V are 23.3 A; at 55 °C 0.67 x 30 = 20.1 A."""
    cord = Cord(CORD_RATINGS["10 AWG"], CORD_INSULATIONS["75 degC"], "10 AWG")
    load = ElectricalLoad("heater", "heater", "room", 5600.0, 240.0, cord)
    cool, hot = check_cord(load, 240.0, 30.0), check_cord(load, 240.0, 55.0)
    assert not cool.is_over
    assert hot.carries == pytest.approx(20.1)
    assert hot.is_over
    needed = dict(hot.needed)
    assert needed[75.0] == pytest.approx(5600.0 / 240.0 / 0.67)
    assert dict(check_cord(load, 240.0, 58.0).needed)[60.0] is None


def test_a_cord_that_is_not_given_is_not_called_over() -> None:
    check = check_cord(ElectricalLoad("fan", "fan", "room", 200.0), 120.0, 60.0)
    assert check.rating is None and check.carries is None and not check.is_over
