"""Verdicts on hiding places against arithmetic by hand."""

from itertools import pairwise

import numpy as np
import pytest
from builders import box_room
from runs import Spot, hand_history, open_grid

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment, PlaceVerdict

HOUR = 3600.0
#: LT99 of eggs at 52 °C [s], from the two points 71.5 min at 48 °C and z = 3.9 K.
LT99_52 = 71.5 * 60.0 * 10.0 ** ((48.0 - 52.0) / 3.9)


def judged(held: list[float], groups: list[str], hours: float = 1.0) -> Assessment:
    """Assess refuges that are held at constant temperatures [°C], one litre each."""
    case = box_room((2.0, 2.0, 2.0))
    spots: list[Spot] = [
        ((0.1 + 0.2 * n, 0.1, 0.1), 1e-3, "room", words, "room") for n, words in enumerate(groups)
    ]
    grid = open_grid(case, spots)
    time = np.linspace(0.0, hours * HOUR, 13)
    return assess(case, grid, hand_history(case, grid, time, np.tile(held, (13, 1))))


def only(assessment: Assessment) -> PlaceVerdict:
    (place,) = assessment.places
    return place


def test_a_place_at_52_degrees_is_done_after_three_and_a_half_lethal_times() -> None:
    place = only(judged([52.0], ["bed"]))
    assert place.time_to_lt99 == pytest.approx(LT99_52, rel=1e-12)
    assert place.time_to_done == pytest.approx(3.5 * LT99_52, rel=1e-12)
    assert place.egg_dose == pytest.approx(HOUR / LT99_52, rel=1e-12)


def test_a_place_that_fails_two_kelvin_colder_is_marginal() -> None:
    """One hour at 50 °C is egg dose 2.73: enough for dose 1, not for 3.5."""
    place = only(judged([52.0], ["bed"]))
    assert place.state == "marginal"
    assert place.egg_dose_colder == pytest.approx(2.733, abs=1e-3)
    assert np.isnan(place.time_to_done_colder)
    assert only(judged([52.0], ["bed"], hours=2.0)).state == "done"


def test_dose_alone_is_not_enough_without_50_degrees() -> None:
    """At 49.5 °C the egg dose of 3.5 is reached within two hours, but never 50 °C."""
    place = only(judged([49.5], ["bed"], hours=3.0))
    assert place.egg_dose > 3.5
    assert place.state == "not done"
    assert np.isnan(place.time_to_done)


def test_50_degrees_alone_is_not_enough_without_the_dose() -> None:
    place = only(judged([50.0], ["bed"]))
    assert place.peak == 50.0
    assert place.state == "not done"


def test_a_place_is_judged_by_its_slowest_member() -> None:
    assessment = judged([56.0, 40.0, 53.0], ["bed", "bed", "sofa"], hours=2.0)
    bed, sofa = assessment.places
    assert (bed.words, bed.state, bed.coldest, bed.peak) == ("bed", "not done", 40.0, 40.0)
    assert bed.litres == pytest.approx(2.0)
    assert (bed.egg_dose, bed.adult_dose) == (0.0, 0.0)
    assert sofa.state == "done"
    assert not assessment.is_all_done
    assert np.isnan(assessment.finishing_time)


def test_the_finishing_time_is_when_the_last_place_is_done() -> None:
    assessment = judged([54.0, 52.0, 55.0], ["bed", "sofa", "rug"], hours=3.0)
    assert assessment.is_all_done
    assert assessment.finishing_time == pytest.approx(3.5 * LT99_52, rel=1e-12)
    assert assessment.finishing_time_colder > 3.0 * assessment.finishing_time
    assert [place.words for place in assessment.places] == ["sofa", "bed", "rug"]


def test_places_not_done_come_first_the_coldest_leading() -> None:
    assessment = judged([54.0, 46.0, 40.0, 44.0], ["bed", "sofa", "rug", "desk"], hours=3.0)
    assert [place.words for place in assessment.places] == ["rug", "desk", "sofa", "bed"]


def test_warmer_places_are_never_done_later() -> None:
    held = np.linspace(44.0, 58.0, 29)
    groups = [f"place {n}" for n in range(9)]
    for start in range(0, 27, 9):
        temperatures = held[start : start + 9].tolist()
        places = {place.words: place for place in judged(temperatures, groups, 4.0).places}
        times = [np.nan_to_num(places[name].time_to_done, nan=np.inf) for name in groups]
        assert all(later <= earlier for earlier, later in pairwise(times))
