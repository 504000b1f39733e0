"""Readiness: lists made from the case, in the order of the cautions; what is done vanishes."""

import re
from pathlib import Path

import pytest

from simulator.assessment.harm import foreseen_harm
from simulator.assessment.harm_words import harm_lines
from simulator.assessment.power import planned_power
from simulator.assessment.power_words import cord_lines
from simulator.assessment.readiness import readiness, with_costs
from simulator.assessment.readiness_item import Cost, Readiness, ReadinessItem, Topic
from simulator.assessment.readiness_words import CLOSING, parts_of, why
from simulator.case.advice import When
from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.standing import Standing
from simulator.errors import CaseError
from simulator.units import whole_degrees

GEOMETRIES = Path(__file__).resolve().parents[3] / "geometries"
PAIRS = ["bedroom", "studio", "two_bedroom_flat", "hotel_twin"]
FORBIDDEN = re.compile(r"eradicat|\bsafe|guarant", re.IGNORECASE)


def shipped(name: str) -> Case:
    return load(GEOMETRIES / f"{name}.toml")


def by_key(lists: Readiness) -> dict[str, ReadinessItem]:
    return {item.key: item for item in lists.items}


@pytest.mark.parametrize("name", sorted(path.stem for path in GEOMETRIES.glob("*.toml")))
def test_lists_of_every_shipped_case(name: str) -> None:
    lists = readiness(shipped(name))
    keys = [item.key for item in lists.items]
    assert len(set(keys)) == len(keys)
    assert {item.when for item in lists.occupant} == {When.BEFORE}
    assert When.BEFORE not in {item.when for item in lists.crew}
    for items in (lists.occupant, lists.crew):
        order = [(tuple(When).index(item.when), item.topic) for item in items]
        assert order == sorted(order)
    for item in lists.items:
        assert item.words and item.reason and isinstance(item.standing, Standing)
        assert not FORBIDDEN.search(item.words + item.reason)
    assert lists.crew[-1].topic is Topic.INSPECTION
    assert "inspection decides" in CLOSING


@pytest.mark.parametrize("name", ["bedroom_as_found", "hotel_twin_as_found"])
def test_lists_in_us_units_tell_fahrenheit_first(name: str) -> None:
    """The °C of a source stand in brackets behind °F; the case's own limit is the sheet's."""
    case = shipped(name)
    items = by_key(readiness(case, "us"))
    sheet = planned_power(case)
    told = [item.words + " " + item.reason for item in items.values()]
    told += [*cord_lines(sheet.cords, "us"), *harm_lines(foreseen_harm(case), "us", 100)]
    assert sum("°F" in line for line in told) > 5
    for line in told:
        without = re.sub(r"°F(?:, | \()[^()]*°C\)", "", line)
        assert "°C" not in without.replace("5 °C (9 °F) an hour", ""), line
    limit = whole_degrees(case.treatment.air_limit, "us")
    assert f"when the air passes {limit};" in items["watch: cut-off"].words
    assert list(items) == list(by_key(readiness(case)))
    assert "°F" not in by_key(readiness(case))["watch: cut-off"].words


def test_people_come_first_then_what_burns_then_fire_systems() -> None:
    lists = readiness(shipped("hotel_twin_as_found"))
    arrival = [item.topic for item in lists.crew if item.when is When.ARRIVAL]
    first = list(dict.fromkeys(arrival))
    assert first == [
        Topic.PEOPLE,
        Topic.STOPS,
        Topic.FIRE,
        Topic.POWER,
        Topic.CARBON_MONOXIDE,
        Topic.WATCH,
        Topic.LIMITS,
        Topic.PREPARATION,
    ]


@pytest.mark.parametrize("dwelling", PAIRS)
def test_what_a_preparation_has_done_vanishes_and_nothing_is_added(dwelling: str) -> None:
    found = set(by_key(readiness(shipped(f"{dwelling}_as_found"))))
    ready = set(by_key(readiness(shipped(f"{dwelling}_prepared"))))
    assert ready < found
    beds = {key for key in found if key.endswith(": mattress")}
    drawers = {key for key in found if key.endswith(": drawers")}
    assert beds and drawers
    assert not (beds | drawers) & ready


def test_things_that_are_taken_out_are_no_longer_asked_for() -> None:
    found = by_key(readiness(shipped("bedroom_as_found")))
    assert found["medicines: out"].topic is Topic.STOPS
    assert found["medicines: out"].overrides == {"preparation.remove": ["medicines"]}
    assert "medicines: out" not in by_key(readiness(shipped("bedroom_prepared")))


@pytest.mark.parametrize("name", ["bedroom_as_found", "bedroom_prepared", "studio_as_found"])
def test_the_overrides_of_an_item_do_it_or_are_refused_for_want_of_space(name: str) -> None:
    """A study re-runs the model with them: the item is done and no other is undone."""
    path = GEOMETRIES / f"{name}.toml"
    before = by_key(readiness(load(path)))
    tried = 0
    for key, item in before.items():
        if not item.overrides:
            continue
        try:
            after = by_key(readiness(load(path, overrides=item.overrides)))
        except CaseError as error:
            assert re.search(r"overlaps|sticks", str(error)), f"{key}: {error}"
            continue
        tried += 1
        assert key not in after
        assert set(after) <= set(before)
    assert 2 * tried >= len([item for item in before.values() if item.overrides]) > 0


def test_a_shut_door_is_to_be_opened() -> None:
    path = GEOMETRIES / "studio_prepared.toml"
    shut = {"dwelling.doorway.bathroom door.open": False}
    item = by_key(readiness(load(path, overrides=shut)))["bathroom door: open"]
    assert item.overrides == {"dwelling.doorway.bathroom door.open": True}
    assert "bathroom door: open" not in by_key(readiness(load(path)))


def test_carbon_monoxide_is_on_the_list_only_where_fuel_burns() -> None:
    ducted, electric = (
        {item.topic for item in readiness(shipped(name)).items}
        for name in ("hotel_twin_prepared", "hotel_twin_prepared_electric")
    )
    assert Topic.CARBON_MONOXIDE in ducted
    assert Topic.CARBON_MONOXIDE not in electric


def test_fire_devices_are_named_with_their_class_and_sent_to_a_contractor() -> None:
    item = by_key(readiness(shipped("hotel_twin_as_found")))["fire: tell"]
    assert "sprinkler, room (sprinkler head, ordinary class, at most 38 °C)" in item.words
    assert "licensed fire-protection contractor" in item.words
    none = by_key(readiness(shipped("empty_box")))["fire: tell"]
    assert "look in every room" in none.words


def test_a_circuit_that_is_over_comes_with_what_to_move() -> None:
    path = GEOMETRIES / "studio_prepared.toml"
    small = {"layout.circuit.room outlets.rating": "10 A"}
    words = by_key(readiness(load(path, overrides=small)))["power: circuits"].words
    assert words.startswith("put the circuits in order before any heat")
    assert "left over" in words


def test_costs_are_filled_in_by_key() -> None:
    lists = readiness(shipped("bedroom_as_found"))
    priced = by_key(with_costs(lists, {"dresser: drawers": Cost(42.0, 3.5)}))
    assert priced["dresser: drawers"].cost == Cost(42.0, 3.5)
    assert priced["bed: mattress"].cost is None
    assert why(priced["dresser: drawers"]).endswith(
        "left undone: 42 min later and 3.5 l more stay cold"
    )
    assert parts_of(lists)[0][0] == "The occupant, before the day"


@pytest.mark.parametrize(
    ("thermostat", "words", "standing"),
    [
        (
            "60 degC",
            "use none of 60 °C insulation, and those of 75 or 90 °C only at 0.58 or 0.71",
            "read",
        ),
        (
            "63 degC",
            "use none of 60 °C insulation, and those of 75 or 90 °C only at 0.47 or 0.65",
            "memory",
        ),
        ("55 degC", "use those of 60 or 75 or 90 °C only at 0.41 or 0.67 or 0.76", "read"),
    ],
)
def test_cords_are_told_by_the_heat_that_is_planned(
    thermostat: str, words: str, standing: str
) -> None:
    """NEC 310.15(B)(1): both read bands; the next by the formula behind them (from memory)."""
    path = GEOMETRIES / "bedroom_as_found.toml"
    case = load(path, overrides={"treatment.thermostat": thermostat})
    item = by_key(readiness(case))["power: cords"]
    assert words in item.words
    assert standing in item.standing.value
