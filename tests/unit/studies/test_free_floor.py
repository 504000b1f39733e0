"""Where a fan may stand: clear of everything, in every shipped dwelling."""

import math
from pathlib import Path

import pytest

from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.overlap import overlap_depth
from simulator.case.parts import Box, PorousPart, Refuge, SolidPart
from simulator.studies.free_floor import (
    CLEARANCE,
    DOOR_ZONE,
    STANDABLE,
    free_floor,
    hull_of,
    in_words,
    radius_of_fan,
    reach,
)
from simulator.units import length_in_both
from tests.builders import WOOD, box_room, two_rooms

GEOMETRIES = Path(__file__).parents[3] / "geometries"


def cupboard(turn: float = 0.0) -> SolidPart:
    return SolidPart(
        "cupboard", "board", Box((2.0, 1.5, 0.5), (1.0, 0.4, 1.0), turn), WOOD, Refuge.NOWHERE
    )


def gap_at(case: Case, x: float, y: float) -> float:
    floor = free_floor(case, case.dwelling.rooms[0].name)
    i = abs(floor.x - x).argmin()
    j = abs(floor.y - y).argmin()
    return float(floor.gap[i, j])


def test_gap_is_the_exact_distance_to_the_nearest_wall_or_piece() -> None:
    case = box_room((4.0, 3.0, 2.5), parts=[cupboard()])
    assert gap_at(case, 0.5, 1.5) == pytest.approx(0.5)  # to the west wall
    assert gap_at(case, 1.2, 1.5) == pytest.approx(0.3)  # to the cupboard's west side
    assert gap_at(case, 1.1, 2.0) == pytest.approx(math.hypot(0.4, 0.3))  # to its corner
    assert gap_at(case, 2.0, 1.5) == 0.0


def test_a_turned_piece_is_measured_as_it_stands() -> None:
    case = box_room((4.0, 3.0, 2.5), parts=[cupboard(90.0)])
    assert gap_at(case, 2.0, 0.9) == pytest.approx(0.1)
    assert gap_at(case, 1.2, 1.5) == pytest.approx(0.6)


def test_rugs_and_things_overhead_leave_the_floor_free() -> None:
    rug = SolidPart(
        "rug", "rug", Box((2.0, 1.5, 0.5 * STANDABLE), (2.0, 2.0, STANDABLE)), WOOD, Refuge.NOWHERE
    )
    shelf = SolidPart("shelf", "shelf", Box((2.0, 1.5, 2.2), (2.0, 2.0, 0.2)), WOOD, Refuge.NOWHERE)
    assert gap_at(box_room((4.0, 3.0, 2.5), parts=[rug, shelf]), 2.0, 1.5) == pytest.approx(1.5)


def test_the_way_through_an_open_door_and_a_shut_one_stays_free() -> None:
    case = two_rooms((3.0, 3.0, 2.4), doorway=(1.0, 0.8, 2.0))
    for name, x in (("west", 3.0), ("east", 0.0)):
        floor = free_floor(case, name)
        free = floor.spots(reach(0.5))
        before_door = (abs(free[:, 0] - x) < DOOR_ZONE) & (abs(free[:, 1] - 1.4) < 0.4)
        assert free.size and not before_door.any()


def test_nearest_moves_no_further_than_it_must() -> None:
    floor = free_floor(box_room((4.0, 3.0, 2.5)), "room")
    at = floor.nearest((0.0, 0.0), reach(0.5))
    assert at is not None
    assert at == pytest.approx((0.4, 0.4))  # 0.352 m on the raster of 5 cm
    assert floor.nearest((2.0, 1.5), reach(0.5)) == (2.0, 1.5)
    assert floor.nearest((2.0, 1.5), 1.6) is None
    taken = floor.without((2.0, 1.5), radius_of_fan(0.5))
    beside = taken.nearest((2.0, 1.5), reach(0.5))
    assert beside is not None
    assert 0.0 <= math.dist(beside, (2.0, 1.5)) - 2.0 * radius_of_fan(0.5) - CLEARANCE < 0.05


def test_spots_are_told_from_the_nearer_walls() -> None:
    room = box_room((4.0, 3.0, 2.5)).dwelling.rooms[0]
    assert in_words(room, (3.5, 0.4)) == "0.50 m from the east wall, 0.40 m from the south wall"
    both = in_words(room, (3.5, 0.4), length_in_both)
    assert both.startswith("0.5 m (1 ft 7.75 in) from the east wall, 0.4 m (1 ft 3.75 in) from")


@pytest.mark.parametrize("name", ["bedroom_prepared", "studio_as_found", "hotel_twin_prepared"])
def test_no_free_spot_of_a_shipped_dwelling_lies_in_a_piece(name: str) -> None:
    case = load(GEOMETRIES / f"{name}.toml")
    radius = radius_of_fan(0.5)
    for room in case.dwelling.rooms:
        free = free_floor(case, room.name).spots(reach(0.5))
        for part in case.parts:
            if isinstance(part, SolidPart | PorousPart) and part.box.size[2] > STANDABLE:
                for x, y in free[::7]:
                    # a square prism inside the fan's cylinder
                    side = math.sqrt(2.0) * radius
                    fan = Box(
                        (room.low[0] + x, room.low[1] + y, room.low[2] + 0.4), (side, side, 0.5)
                    )
                    assert overlap_depth(fan, part.box) <= 0.0, (part.owner, x, y)


def test_a_hull_holds_what_is_between_the_parts() -> None:
    sides = [Box((x, 0.0, 1.0), (0.1, 0.6, 2.0)) for x in (-0.5, 0.5)]
    hull = hull_of(sides)
    assert hull.size == pytest.approx((1.1, 0.6, 2.0))
    assert hull.centre == pytest.approx((0.0, 0.0, 1.0))
