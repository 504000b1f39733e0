"""The states of a lesson: each differs from the dwelling by what it says, and by nothing else."""

from pathlib import Path

import pytest

from simulator.assessment.readiness import readiness
from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.parts import AirMover
from simulator.errors import CaseError
from simulator.studies import lesson_plan
from simulator.studies.fan_layout import fans_of
from simulator.studies.lesson_plan import (
    OTHER_STEPS,
    STEPS,
    as_far_as_possible,
    clutter_litres,
    clutter_series,
    fan_series,
    preparation_series,
    steps_of,
    stuffed,
    without_clutter,
)

GEOMETRIES = Path(__file__).parents[3] / "geometries"
DWELLINGS = ("bedroom_as_found", "studio_as_found", "hotel_twin_as_found")


@pytest.fixture(scope="module", params=DWELLINGS)
def case(request: pytest.FixtureRequest) -> Case:
    return load(GEOMETRIES / f"{request.param}.toml")


def test_every_item_that_a_case_can_say_belongs_to_one_step(case: Case) -> None:
    items = [item for item in readiness(case).items if item.overrides]
    steps = steps_of(items)
    assert sum(len(mine) for mine in steps.values()) == len(items)
    assert set(steps) <= {*STEPS, OTHER_STEPS}
    assert all(steps.values())


def test_a_step_is_off_the_list_once_it_is_followed(case: Case) -> None:
    items = [item for item in readiness(case).items if item.overrides]
    for mine in steps_of(items).values():
        now, kept, passed_over = as_far_as_possible(case, mine)
        left = {item.key for item in readiness(now).items}
        assert not left & {item.key for item in kept}
        assert len(kept) + len(passed_over) == len(mine)


def test_all_together_leaves_nothing_that_a_case_can_say(case: Case) -> None:
    series = preparation_series(case)
    last = series.states[-1]
    assert last.name == "all together"
    assert not last.is_step
    left = [item.words for item in readiness(last.case).items if item.overrides]
    told = [reason for reason in series.left_out if reason.startswith("all together, without")]
    assert len(left) == len(told)
    assert all(any(words in reason for reason in told) for words in left)
    assert len(told) < 3  # pieces that meet a fan when they are pulled off their wall
    assert [state.name for state in series.states if not state.is_step] == [
        "as found",
        "all together",
    ]


def test_clutter_grows_from_none_to_stuffed_and_equipment_stays(case: Case) -> None:
    litres = [clutter_litres(one) for one in (without_clutter(case), case, stuffed(case))]
    assert litres[0] == 0.0
    assert litres[0] < litres[1] < litres[2]
    for state in clutter_series(case).states:
        assert fans_of(state.case) == fans_of(case)
        assert state.case.layout == case.layout
    assert f"{litres[2]:.0f} litres" in clutter_series(case).states[-1].words


def test_fans_are_as_many_and_as_strong_whatever_the_rule(case: Case) -> None:
    def fans(one: Case) -> list[AirMover]:
        return [part for part in one.parts if isinstance(part, AirMover)]

    none, planned, *ruled = fan_series(case).states
    assert fans(none.case) == []
    assert planned.case is case
    for state in ruled:
        assert len(fans(state.case)) == len(fans(case))
        assert {fan.flow for fan in fans(state.case)} == {fans(case)[0].flow}
        assert set(state.case.furniture_words) == set(case.furniture_words)


def test_what_cannot_be_is_left_out_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> Case:
        raise CaseError("bed: overlaps\nmore")

    case = load(GEOMETRIES / "bedroom_as_found.toml")
    monkeypatch.setattr(lesson_plan, "stuffed", refuse)
    series = clutter_series(case)
    assert [state.name for state in series.states] == ["no clutter", "as found"]
    assert series.left_out == ("stuffed: bed: overlaps",)
