"""What sensors show of one place is believed of others as far as they go together."""

import numpy as np
import pytest
from scipy.stats import norm

from simulator.studies.following.courses import Place
from simulator.studies.following.departures import (
    GREATEST,
    OF_PLACE,
    OF_ROOM,
    OF_THING,
    SPOTS,
    WALLS,
    Guess,
    departed,
    learnt_spread,
    of_spots,
    slowest,
)
from simulator.studies.following.null_directions import null_directions

PLACES = (
    Place("bed", "mattress", "bedroom", 10.0),
    Place("bed", "box spring", "bedroom", 10.0),
    Place("bedroom", "baseboard, north wall", "bedroom", 1.0),
    Place("bedroom", "baseboard, east wall", "bedroom", 1.0),
)


def test_a_sensor_speaks_for_its_thing_and_little_for_others() -> None:
    guess = Guess.of(PLACES, [0])
    middle = guess.weights @ np.array([0.2])
    of_all, of_thing = 0.2 * OF_ROOM, 0.2 * (OF_ROOM + OF_THING)
    assert middle == pytest.approx(
        [of_thing + 0.2 * OF_PLACE, of_thing, WALLS * of_all, WALLS * of_all]
    )
    scatter = np.sqrt(np.diag(guess.scatter @ guess.scatter.T))
    assert scatter[0] < scatter[1] < 1.0 < scatter[2] < WALLS


def test_walls_of_one_room_go_together_and_those_of_two_rooms_do_not() -> None:
    other = Place("hall", "baseboard, north wall", "hall", 1.0)
    guess = Guess.of((*PLACES, other), [2])
    assert guess.weights[3, 0] == pytest.approx(OF_ROOM + OF_THING)
    assert guess.weights[4, 0] == 0.0


def test_without_sensors_all_scatter_fully() -> None:
    guess = Guess.of(PLACES, [])
    whole = [1.0, 1.0, WALLS**2, WALLS**2]
    assert np.diag(guess.scatter @ guess.scatter.T) == pytest.approx(whole)
    lots = np.random.default_rng(1)
    drawn = np.array([guess.draw(np.zeros(0), 0.1, lots) for _ in range(4000)])
    assert drawn.std(axis=0) == pytest.approx(0.1 * np.sqrt(whole), rel=0.05)
    assert np.corrcoef(drawn, rowvar=False)[0, 1] == pytest.approx(OF_ROOM + OF_THING, abs=0.05)


def test_the_greatest_of_several_normal_numbers_is_known() -> None:
    """Mean of the greatest of n: the integral of x times the density n F^(n-1) f."""
    x = np.linspace(-10.0, 10.0, 20_001)
    for count, told in enumerate(GREATEST, start=1):
        density = count * norm.cdf(x) ** (count - 1) * norm.pdf(x)
        assert told == pytest.approx(np.trapezoid(x * density, x), abs=1e-4)
    assert len(GREATEST) == SPOTS


def test_a_place_is_believed_slower_for_the_spots_that_no_sensor_sees() -> None:
    slower = slowest(PLACES, [0, 0, 1, *[2] * SPOTS], 0.1)
    assert 0.0 < slower[0] < slower[1] < slower[3] < 0.1
    assert slower[2] == 0.0
    assert slowest(PLACES, [], 0.2) == pytest.approx(2.0 * slowest(PLACES, [], 0.1))


def test_a_course_departs_by_its_pace_and_its_rise() -> None:
    table = np.column_stack([np.linspace(20.0, 60.0, 41)] * 2)
    rows = np.array([0.0, 10.0, 20.0, 80.0])
    found = departed(table, rows, np.log([1.0, 2.0]), np.log([1.0, 0.5]))
    assert found[:, 0] == pytest.approx([20.0, 30.0, 40.0, 60.0])
    assert found[:, 1] == pytest.approx([20.0, 22.5, 25.0, 40.0])


def test_spreads_follow_what_sensors_show() -> None:
    inner, nothing = of_spots(PLACES, [0, 2, 3]), 1e-6 * np.eye(3)
    calm = learnt_spread(0.1, inner, np.zeros(3), nothing)
    wild = learnt_spread(0.1, inner, np.array([0.4, -0.4, 0.4]), nothing)
    assert calm < 0.1 < wild


def test_null_directions_are_named_and_told_ones_are_not() -> None:
    believed = np.array([0.5, 0.5, 0.5])
    tight = 1e-4
    # The sum of the first two is known, their difference is not; the third is known.
    along = np.array([1.0, -1.0, 0.0]) / np.sqrt(2.0)
    covariance = tight * np.eye(3) + 0.25 * np.outer(along, along)
    told = null_directions(covariance, believed, ("leak", "weather", "clutter"))
    assert len(told) == 1
    assert "'leak'" in told[0]
    assert "less of" in told[0]
    assert "'weather'" in told[0]
    assert "clutter" not in told[0]
    alone = null_directions(np.diag([tight, tight, 0.25]), believed, ("leak", "weather", "clutter"))
    assert alone == ("clutter: the log does not tell it",)
