"""Names of places: the words that a crew would use, and none that it would not."""

import pytest
from builders import box_room, solid

from simulator.assessment.extent import Extent, extent_of_box
from simulator.assessment.naming import (
    Thing,
    compass,
    join_words,
    level_in_room,
    level_in_thing,
    name_place,
    outer_third,
    place_in_thing,
    thing_words,
    things_of,
    wall_words,
)
from simulator.case.parts import Box

ROOM = Extent((0.0, 0.0, 0.0), (4.0, 5.0, 2.4))
BED = Thing("bed", "bed", Extent((1.0, 2.9, 0.0), (2.6, 4.9, 1.1)), head=(0.0, 1.0))
WARDROBE = Thing("wardrobe", "wardrobe", Extent((3.4, 1.0, 0.0), (4.0, 2.4, 2.0)))


def spot(x: float, y: float, z: float, half: float = 0.05) -> Extent:
    return Extent((x - half, y - half, z - half), (x + half, y + half, z + half))


@pytest.mark.parametrize(
    ("east", "north", "words"),
    [(0, 1, "north"), (1, 1, "north-east"), (-1, 0, "west"), (-1, -1, "south-west"), (0, 0, "")],
)
def test_compass_has_x_to_the_east_and_y_to_the_north(east: int, north: int, words: str) -> None:
    assert compass(east, north) == words


def test_a_region_that_spans_a_thing_is_at_neither_end() -> None:
    assert outer_third(Extent((1.0, 2.9, 0.2), (2.5, 3.0, 0.3)), BED.extent, 0) == 0
    assert outer_third(spot(1.1, 3.0, 0.2), BED.extent, 0) == -1


@pytest.mark.parametrize(
    ("region", "words"),
    [
        (spot(1.8, 4.7, 0.1), "head end"),
        (spot(1.8, 3.0, 0.1), "foot end"),
        (spot(2.5, 4.7, 0.1), "head end, east side"),
        (spot(1.8, 3.9, 0.1), "middle"),
        (Extent((1.0, 2.9, 0.0), (2.6, 4.9, 0.3)), ""),
    ],
)
def test_places_in_a_bed_are_named_from_its_head(region: Extent, words: str) -> None:
    assert place_in_thing(region, BED) == words


def test_a_bed_with_its_head_to_the_west_is_named_from_there() -> None:
    bed = Thing("bed", "bed", Extent((0.0, 0.0, 0.0), (2.0, 1.5, 0.5)), head=(-0.9, 0.0))
    assert place_in_thing(spot(0.2, 1.3, 0.3), bed) == "head end, north side"
    assert place_in_thing(spot(1.8, 0.75, 0.3), bed) == "foot end"


def test_places_in_a_wardrobe_have_corners_sides_and_levels() -> None:
    low_corner = spot(3.9, 2.3, 0.2)
    assert place_in_thing(low_corner, WARDROBE) == "north-east corner"
    assert level_in_thing(low_corner, WARDROBE.extent) == "low"
    assert place_in_thing(spot(3.7, 1.1, 1.9), WARDROBE) == "south side"
    assert level_in_thing(spot(3.7, 1.1, 1.9), WARDROBE.extent) == "high"


def test_a_low_thing_has_no_levels() -> None:
    assert level_in_thing(spot(1.8, 3.9, 0.1), Extent((0, 0, 0), (2, 2, 0.6))) == ""


@pytest.mark.parametrize(
    ("z", "words"),
    [(0.05, "floor"), (0.4, "low"), (1.0, "middle"), (1.9, "high"), (2.35, "ceiling")],
)
def test_levels_in_a_room(z: float, words: str) -> None:
    assert level_in_room(spot(2.0, 2.0, z), ROOM) == words


def test_a_region_from_floor_to_ceiling_has_no_level() -> None:
    assert level_in_room(Extent((1, 1, 0.0), (1.2, 1.2, 2.3)), ROOM) == ""


def test_walls_within_arms_reach_are_named() -> None:
    assert wall_words(spot(2.0, 4.8, 1.0), ROOM) == "against the north wall"
    assert wall_words(spot(3.9, 4.8, 1.0), ROOM) == "in the north-east corner"
    assert wall_words(spot(2.0, 2.0, 1.0), ROOM) == ""
    assert wall_words(spot(0.36, 2.0, 1.0), ROOM) == ""
    assert wall_words(spot(0.34, 2.0, 1.0), ROOM) == "against the west wall"


def test_a_region_from_wall_to_wall_is_against_neither() -> None:
    assert wall_words(Extent((0.1, 4.8, 0.0), (3.9, 4.9, 0.1)), ROOM) == "against the north wall"


def test_two_of_a_kind_are_called_by_their_own_names() -> None:
    words = {"west bed": "bed", "east bed": "bed", "wardrobe": "wardrobe"}
    assert thing_words("west bed", words) == "west bed"
    assert thing_words("wardrobe", words) == "wardrobe"
    assert thing_words("bedroom", words) == "bedroom"


def test_words_are_not_repeated() -> None:
    assert join_words("box spring, inside", "", "inside", "middle") == "box spring, inside, middle"


THINGS = {"bed": BED, "wardrobe": WARDROBE}


@pytest.mark.parametrize(
    ("owner", "group", "region", "words"),
    [
        (
            "room",
            "floor under the bed",
            spot(1.8, 4.7, 0.05),
            "floor under the bed, head end, against the north wall",
        ),
        (
            "bed",
            "under the bed",
            spot(1.8, 4.75, 0.05),
            "under the bed, head end, against the north wall, floor",
        ),
        ("bed", "mattress, inside", spot(1.8, 3.9, 0.5), "bed, mattress, inside, middle"),
        (
            "wardrobe",
            "hanging clothes",
            spot(3.9, 1.1, 0.3),
            "wardrobe, hanging clothes, south-east corner, low, against the east wall",
        ),
        ("room", "baseboard, north wall", spot(2.0, 4.97, 0.05), "baseboard, north wall"),
        (
            "room",
            "baseboard, north wall",
            spot(3.9, 4.97, 0.05),
            "baseboard, north wall, in the north-east corner",
        ),
        (
            "room",
            "baseboard, west outside wall",
            spot(0.05, 2.0, 0.05),
            "baseboard, west outside wall",
        ),
        ("room", "behind a wall socket", spot(0.0, 2, 0.4), None),
    ],
)
def test_names_put_together(owner: str, group: str, region: Extent, words: str | None) -> None:
    expected = words or "behind a wall socket, against the west wall, low"
    assert name_place(owner, group, region, ROOM, THINGS) == expected


def test_the_head_of_a_bed_is_found_from_its_headboard_even_if_pillows_say_otherwise() -> None:
    parts = (
        solid((1.0, 1.0, 0.2), (2.0, 1.5, 0.3), owner="bed", name="mattress"),
        solid((0.95, 1.0, 0.0), (0.05, 1.5, 1.1), owner="bed", name="headboard"),
        solid((2.5, 1.0, 0.5), (0.4, 1.5, 0.1), owner="bed", name="pillow"),
    )
    case = box_room((4.0, 4.0, 2.4), parts=parts, furniture_words={"bed": "bed"})
    head = things_of(case)["bed"].head
    assert head is not None
    assert head[0] < 0.0
    assert abs(head[0]) > abs(head[1])


def test_a_turned_box_spans_its_corners() -> None:
    """A square of side √2 turned by 45° spans 2 along both axes; tilted by 90° a box lies down."""
    side = 2.0**0.5
    turned = extent_of_box(Box((1.0, 1.0, 0.5), (side, side, 1.0), turn=45.0))
    assert turned.low == pytest.approx((0.0, 0.0, 0.0))
    assert turned.high == pytest.approx((2.0, 2.0, 1.0))
    tilted = extent_of_box(Box((0.0, 0.0, 0.0), (1.0, 2.0, 4.0), tilt=90.0))
    assert tilted.high == pytest.approx((0.5, 2.0, 1.0))
