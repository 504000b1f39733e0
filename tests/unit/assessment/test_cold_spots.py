"""Cold spots: which places, in which order, under which names, with which figures."""

import numpy as np
import pytest
from builders import box_room, solid, two_rooms
from runs import Spot, hand_history, open_grid

from simulator.assessment.assess import MOST_LISTED, assess
from simulator.assessment.cold_spots import first_time, slowest_share
from simulator.assessment.places import doses_of
from simulator.case.case import Case
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History

LITRE = 1e-3
TIME = np.linspace(0.0, 4 * 3600.0, 25)


def room_with_bed() -> Case:
    parts = (
        solid((1.0, 1.8, 0.2), (1.6, 2.0, 0.4), owner="bed", name="mattress"),
        solid((1.0, 3.8, 0.0), (1.6, 0.1, 1.1), owner="bed", name="headboard"),
    )
    return box_room((4.0, 4.0, 2.4), parts=parts, furniture_words={"bed": "bed"})


def ramp(final: float, rise: float = 0.5) -> FloatArray:
    """Rise from 20 °C in a straight line over a share of the time, then hold."""
    return np.interp(TIME, [0.0, rise * TIME[-1], TIME[-1]], [20.0, final, final])


def run(case: Case, spots: list[Spot], series: list[FloatArray]) -> tuple[Grid, History]:
    grid = open_grid(case, spots)
    air = ramp(60.0, 0.25)
    return grid, hand_history(case, grid, TIME, np.stack(series, axis=1), air_mean=air)


def test_cold_spots_are_what_is_not_done_named_by_place() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((1.8, 3.6, 0.05), LITRE, "bed", "under the bed", "room"),
        ((1.8, 2.7, 0.5), LITRE, "bed", "mattress, inside", "room"),
        ((3.9, 0.1, 0.05), LITRE, "room", "baseboard, south wall", "room"),
    ]
    grid, history = run(case, spots, [ramp(46.0), ramp(58.0), ramp(44.0)])
    assessment = assess(case, grid, history)
    corner, under = assessment.cold_spots
    assert [corner.rank, under.rank] == [1, 2]
    assert corner.words == "baseboard, south wall, in the south-east corner"
    assert under.words == "under the bed, head end, floor"
    assert {corner.kind, under.kind} == {"cold"}
    assert corner.refuges.tolist() == [2]
    assert corner.coldest == 44.0
    assert np.isnan(corner.lag)
    assert np.isnan(corner.time_to_done)
    assert corner.egg_dose == 0.0
    assert under.egg_dose > 0.0


def test_the_box_of_a_spot_is_that_of_its_cells() -> None:
    case = room_with_bed()
    grid, history = run(case, [((1.85, 3.65, 0.05), LITRE, "bed", "under", "room")], [ramp(40.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.low == pytest.approx((1.8, 3.6, 0.0))
    assert spot.high == pytest.approx((2.0, 3.8, 0.2))
    assert spot.centre == pytest.approx((1.85, 3.65, 0.05))


def test_mean_is_weighted_by_volume() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((1.8, 3.6, 0.05), 3 * LITRE, "bed", "under the bed", "room"),
        ((1.9, 3.6, 0.05), 1 * LITRE, "bed", "under the bed", "room"),
    ]
    grid, history = run(case, spots, [ramp(40.0), ramp(44.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.mean == pytest.approx(41.0)
    assert spot.litres == pytest.approx(4.0)


def test_when_all_is_done_the_slowest_twentieth_is_shown_as_slow() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((0.1 + 0.2 * (n % 20), 0.5 + 0.8 * (n // 20), 1.0), LITRE, "room", "wall", "room")
        for n in range(40)
    ]
    grid, history = run(case, spots, [ramp(57.0, 0.4 + 0.01 * n) for n in range(40)])
    doses = doses_of(history)
    assert slowest_share(grid, doses).tolist() == [38, 39]
    assessment = assess(case, grid, history)
    assert assessment.is_all_done
    (spot,) = assessment.cold_spots
    assert spot.kind == "slow"
    assert spot.time_to_done == assessment.finishing_time


def test_lag_is_counted_from_the_air_to_the_slowest_refuge() -> None:
    """The air passes 50 °C at 3/4 of its hour, the refuge at 30/36 of its two hours."""
    case = room_with_bed()
    grid, history = run(case, [((1.8, 3.6, 0.5), LITRE, "bed", "mattress", "room")], [ramp(56.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.lag == pytest.approx(7200.0 * 30.0 / 36.0 - 3600.0 * 0.75, abs=1.0)


def test_the_room_is_named_only_where_there_are_several() -> None:
    case = two_rooms()
    spots: list[Spot] = [
        ((1.0, 1.0, 0.05), LITRE, "west", "floor", "west"),
        ((4.0, 1.0, 0.05), LITRE, "east", "floor", "east"),
    ]
    grid, history = run(case, spots, [ramp(40.0), ramp(39.0)])
    spots_found = assess(case, grid, history).cold_spots
    assert [(spot.words, spot.room) for spot in spots_found] == [
        ("floor, east", "east"),
        ("floor, west", "west"),
    ]


def test_a_spot_of_two_things_names_both() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((1.8, 3.0, 0.3), LITRE, "bed", "mattress, inside", "room"),
        ((1.8, 3.0, 0.05), 0.8 * LITRE, "room", "floor under the bed", "room"),
    ]
    grid, history = run(case, spots, [ramp(40.0), ramp(40.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.words.startswith("bed, mattress, inside")
    assert spot.words.endswith("(and floor under the bed)")


def test_the_coldest_core_gives_the_name_although_it_is_small() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((1.8, 3.0, 0.3), 20 * LITRE, "bed", "mattress, inside", "room"),
        ((1.8, 3.0, 0.05), LITRE, "bed", "floor under the bed", "room"),
        ((1.8, 3.1, 0.3), 2 * LITRE, "bed", "mattress, surface", "room"),
        ((1.7, 3.1, 0.1), LITRE, "bed", "leg, surface", "room"),
    ]
    grid, history = run(case, spots, [ramp(44.0), ramp(40.0), ramp(44.0), ramp(44.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.words == "floor under the bed, middle (and mattress, inside; 1 more place)"


def test_pieces_of_one_name_are_one_spot() -> None:
    case = room_with_bed()
    spots: list[Spot] = [
        ((1.6, 2.7, 0.5), LITRE, "bed", "mattress, inside", "room"),
        ((2.0, 2.7, 0.5), LITRE, "bed", "mattress, inside", "room"),
    ]
    grid, history = run(case, spots, [ramp(40.0), ramp(41.0)])
    (spot,) = assess(case, grid, history).cold_spots
    assert spot.refuges.tolist() == [0, 1]


def test_a_long_list_is_cut_and_the_rest_is_counted() -> None:
    case = box_room((8.0, 8.0, 2.4))
    spots: list[Spot] = [
        ((0.5 + 1.2 * (n % 6), 0.5 + 1.2 * (n // 6), 1.0), LITRE, "room", f"place {n}", "room")
        for n in range(18)
    ]
    grid, history = run(case, spots, [ramp(30.0 + n) for n in range(18)])
    assessment = assess(case, grid, history)
    assert len(assessment.cold_spots) == MOST_LISTED
    coldest = [spot.coldest for spot in assessment.cold_spots[:5]]
    assert coldest == sorted(coldest)
    assert assessment.notes[0].startswith("6 more cold spots, 6 litres together")


def test_first_time_of_a_level_lies_on_the_straight_line() -> None:
    time = np.array([0.0, 10.0, 20.0])
    assert first_time(time, np.array([40.0, 48.0, 56.0]), 50.0) == pytest.approx(12.5)
    assert first_time(time, np.array([50.0, 48.0, 56.0]), 50.0) == 0.0
    assert np.isnan(first_time(time, np.array([40.0, 48.0, 49.0]), 50.0))
