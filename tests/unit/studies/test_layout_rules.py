"""Placement rules: each sets fans that a case accepts, where it says, no more than asked."""

import math
from pathlib import Path

import pytest

from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.parts import AirMover
from simulator.errors import CaseError
from simulator.studies.fan_layout import FanPlace, fans_of, with_fans
from simulator.studies.layout_rules import (
    ALL_RULES,
    OWN,
    PRACTICE,
    RULES,
    LayoutRule,
    RuleNumbers,
    case_by_rule,
    fans_for,
    lay_out,
    rule_named,
)
from simulator.studies.rule_site import site_of
from tests.builders import box_room, two_rooms

GEOMETRIES = Path(__file__).parents[3] / "geometries"
EMPTY = box_room((5.0, 4.0, 2.5))


@pytest.fixture(scope="module")
def bedroom() -> Case:
    return load(GEOMETRIES / "bedroom_as_found_ring.toml")


def in_empty_room(rule: str, **numbers: float) -> tuple[FanPlace, ...]:
    return lay_out(RULES[rule], EMPTY, RuleNumbers(**{"floor_per_fan": 5.0, **numbers}))


def test_rules_are_told_apart_and_say_where_they_come_from() -> None:
    assert len(RULES) == len(ALL_RULES) >= 8
    assert {rule.standing for rule in ALL_RULES} == {PRACTICE, OWN}
    assert len({rule.words for rule in ALL_RULES}) == len(ALL_RULES)


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.name)
def test_a_furnished_room_accepts_every_rule(rule: LayoutRule, bedroom: Case) -> None:
    case = case_by_rule(rule, bedroom, RuleNumbers())
    fans = [part for part in case.parts if isinstance(part, AirMover)]
    assert len(fans) == (0 if rule.name == "none" else 3)  # 20 m² by 6 m² each
    assert fans_of(case) == tuple(f"fan {n + 1}" for n in range(len(fans)))
    plugged = {load for circuit in case.circuits for load in circuit.loads}
    assert plugged == {load.name for load in case.loads}  # heaters keep their plugs
    again = case_by_rule(rule, bedroom, RuleNumbers())
    assert again.sources == case.sources


def test_corners_blow_along_the_walls_anticlockwise() -> None:
    fans = {fan.at: fan.turn for fan in in_empty_room("corners")}
    assert fans == {(0.4, 0.4): 0.0, (4.6, 3.6): 180.0, (4.6, 0.4): 90.0, (0.4, 3.6): 270.0}


def test_pairs_blow_at_each_other() -> None:
    one, other = in_empty_room("pairs", floor_per_fan=10.0)
    assert abs(one.turn - other.turn) == pytest.approx(180.0)
    assert math.dist(one.at, other.at) > 3.0


def test_a_ring_goes_round_in_even_steps() -> None:
    fans = in_empty_room("ring")
    assert [fan.turn for fan in fans] == [0.0, 90.0, 180.0, 270.0]


def test_fans_at_beds_blow_at_them(bedroom: Case) -> None:
    for name in ("beds", "low"):
        first = lay_out(RULES[name], with_fans(bedroom, (), "none"), RuleNumbers())[0]
        bed = next(t for t in site_of(bedroom, "bedroom", 0.5).things if t.words == "bed")
        assert bed.low[0] <= first.at[0] <= bed.high[0] or bed.low[1] <= first.at[1] <= bed.high[1]
        aim = math.degrees(math.atan2(bed.middle[1] - first.at[1], bed.middle[0] - first.at[0]))
        assert abs((aim - first.turn + 180.0) % 360.0 - 180.0) < 0.1
        assert (first.height < 0.3) == (name == "low")


def test_fans_face_the_heater_or_else_the_door(bedroom: Case) -> None:
    bare = with_fans(bedroom, (), "none")
    heater = site_of(bare, "bedroom", 0.5).source_of_heat
    for fan in lay_out(RULES["heater"], bare, RuleNumbers()):
        aim = math.degrees(math.atan2(heater[1] - fan.at[1], heater[0] - fan.at[0]))
        assert abs((aim - fan.turn + 180.0) % 360.0 - 180.0) < 0.1
    west, east = lay_out(RULES["heater"], two_rooms(), RuleNumbers(floor_per_fan=9.0))
    assert math.cos(math.radians(west.turn)) > 0.5  # the door lies east of it
    assert math.cos(math.radians(east.turn)) < -0.5


def test_fans_follow_the_floor_and_keep_their_distance() -> None:
    for area, number in ((40.0, 1), (20.0, 1), (10.0, 2), (5.0, 4), (2.5, 8)):
        numbers = RuleNumbers(floor_per_fan=area)
        assert fans_for(site_of(EMPTY, "room", 0.5), numbers) == number
        for rule in ALL_RULES[1:]:
            fans = lay_out(rule, EMPTY, numbers)
            assert len(fans) == number, rule.name
            for nth, fan in enumerate(fans):
                for other in fans[:nth]:
                    assert math.dist(fan.at, other.at) > 0.6


def test_what_cannot_stand_is_left_out() -> None:
    assert lay_out(RULES["corners"], box_room((3.0, 0.6, 2.5)), RuleNumbers()) == ()


def test_lots_are_drawn_by_seed() -> None:
    one, same, other = (in_empty_room("anywhere", seed=seed) for seed in (1, 1, 2))
    assert one == same != other


def test_an_unknown_rule_is_refused_with_the_names_that_there_are() -> None:
    with pytest.raises(CaseError, match="unknown rule 'cornres'; rules: none, anywhere, corners"):
        rule_named("cornres")
