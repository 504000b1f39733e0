"""Drawn dwellings: valid by the way they are laid out, the same again from the same seed."""

import json
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.load import load
from simulator.case.parts import HeatedJet
from simulator.cli.program import roomsoak
from simulator.studies.layout_rules import RULES, RuleNumbers, case_by_rule
from simulator.studies.random_dwellings.floor_plans import SIZES, draw_floor_plan
from simulator.studies.random_dwellings.floor_space import FloorSpace, Rect, Shape
from simulator.studies.random_dwellings.pieces import CLUTTER
from simulator.studies.random_dwellings.random_dwelling import PREPARATIONS, random_dwelling
from simulator.studies.random_dwellings.toml_text import toml_text

SEEDS = st.integers(0, 2**32 - 1)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(SEEDS)
def test_every_dwelling_is_accepted_in_both_states(seed: int) -> None:
    """``case`` goes through the loader that ``check`` uses, which refuses what overlaps."""
    dwelling = random_dwelling(seed)
    found, prepared = (dwelling.case(state) for state in PREPARATIONS)
    assert found.dwelling.rooms == prepared.dwelling.rooms
    assert any(isinstance(part, HeatedJet) for part in found.parts)
    assert any(words == "bed" for words in found.furniture_words.values())
    area = sum(room.size[0] * room.size[1] for room in found.dwelling.rooms)
    assert math.isclose(area, dwelling.area, abs_tol=0.01)
    circuits = {load: circuit.name for circuit in found.circuits for load in circuit.loads}
    assert len(set(circuits.values())) == len(circuits) == len(found.loads)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(SEEDS)
def test_nothing_stands_in_the_ways_through_doors(seed: int) -> None:
    case = random_dwelling(seed).case("prepared")
    for door in case.dwelling.doorways:
        axis = int(door.high[0] - door.low[0] > door.high[1] - door.low[1])
        low, high = list(door.low), list(door.high)
        low[axis], high[axis] = low[axis] - 0.6, high[axis] + 0.6
        for part in case.parts:
            box = getattr(part, "box", None)
            if box is None or box.centre[2] > 2.0:
                continue
            quarter = round(box.turn) % 180 != 0
            half = [0.5 * box.size[1 - i if quarter else i] for i in (0, 1)]
            apart = any(
                abs(box.centre[i] - 0.5 * (low[i] + high[i])) >= half[i] + 0.5 * (high[i] - low[i])
                for i in (0, 1)
            )
            assert apart, (part.owner, door.name)


@settings(max_examples=6, deadline=None, derandomize=True)
@given(SEEDS, st.sampled_from(sorted(RULES)))
def test_rules_find_floor_in_every_dwelling(seed: int, rule: str) -> None:
    case = random_dwelling(seed).case("prepared")
    assert len(case_by_rule(RULES[rule], case, RuleNumbers()).loads) >= len(case.loads)


def test_a_seed_gives_the_same_texts_and_another_seed_others() -> None:
    assert random_dwelling(3).files == random_dwelling(3).files
    assert random_dwelling(3).files != random_dwelling(4).files


def test_all_sizes_and_levels_of_clutter_are_drawn() -> None:
    drawn = [random_dwelling(seed) for seed in range(40)]
    assert {dwelling.kind for dwelling in drawn} == set(SIZES)
    assert {dwelling.facts["clutter"] for dwelling in drawn} == {level.name for level, _ in CLUTTER}
    assert set(drawn[0].sources("prepared")) < set(drawn[0].files)


def test_a_window_may_just_fit() -> None:
    """In seed 2715 a wall is as long as its window with both reveals, less round-off."""
    assert random_dwelling(2715).case("prepared").dwelling.windows


@settings(max_examples=60, deadline=None, derandomize=True)
@given(SEEDS)
def test_rooms_of_a_plan_stand_apart_and_each_has_a_door(seed: int) -> None:
    plan = draw_floor_plan(np.random.default_rng(seed))
    for nth, room in enumerate(plan.rooms):
        assert min(room.size) >= 0.99
        for other in plan.rooms[:nth]:
            gaps = [
                max(room.at[i], other.at[i])
                - min(room.at[i] + room.size[i], other.at[i] + other.size[i])
                for i in (0, 1)
            ]
            assert max(gaps) > 0.0999
    assert {name for door in plan.doors for name in door.rooms} == {r.name for r in plan.rooms}


def test_open_doors_take_floor_that_others_leave_alone() -> None:
    space = FloorSpace((3.0, 3.0))
    wardrobe = Shape(1.0, 0.6, opens=0.5)
    assert space.try_at(wardrobe, (1.5, 2.7), 0) is not None  # its doors open to the south
    assert space.opened == [pytest.approx(Rect(1.0, 1.9, 2.0, 2.4))]
    assert space.try_at(Shape(0.4, 0.4), (1.5, 2.0), 0) is None
    assert space.try_at(Shape(0.4, 0.4), (1.5, 1.6), 0) is not None


def test_plain_toml_reads_back() -> None:
    table = {
        "name": 'a "b" ü',
        "n": 1,
        "share": 0.5,
        "flag": True,
        "empty": [],
        "change": {"bed, 1": {"at": ["1 m", "2 m"]}},
        "room": [{"name": "x", "west": {"behind": "y"}}, {"name": "z"}],
    }
    assert tomllib.loads(toml_text(table)) == table


def test_the_command_writes_files_that_check_accepts(tmp_path: Path) -> None:
    call = ["dwelling", "--seed", "7", "--out", str(tmp_path / "seven")]
    done = CliRunner().invoke(roomsoak, call)
    assert done.exit_code == 0, done.output
    cases = done.stdout.split()
    assert [Path(case).name for case in cases] == ["case_as_found.toml", "case_prepared.toml"]
    checked = CliRunner().invoke(roomsoak, ["check", cases[0]])
    assert checked.exit_code == 0, checked.output
    assert load(cases[1]).sources == random_dwelling(7).case("prepared").sources
    again = CliRunner().invoke(roomsoak, call)
    assert again.exit_code == 2
    assert "exists already" in again.output
    forced = CliRunner().invoke(roomsoak, [*call, "--force", "--json"])
    assert json.loads(forced.stdout)["cases"] == cases
