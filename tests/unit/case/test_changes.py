"""Changes in a case file: whole new cases, cumulative, and refused with line and name."""

from pathlib import Path

import pytest

from simulator.case.case import Case
from simulator.case.load import load, load_texts
from simulator.case.parts import UPSIDE_DOWN, AirMover, SolidPart
from simulator.errors import CaseError
from tests.small_cases import room_head

GEOMETRIES = Path(__file__).parents[3] / "geometries"
CASE = (
    room_head("changes", ("4 m", "4 m", "2.5 m"), room="bedroom", floor="carpeted_wood_floor")
    + """[[dwelling.room]]
name = "hall"
size = ["2 m", "4 m", "2.5 m"]
at = ["4.12 m", "0 m"]
[[dwelling.doorway]]
name = "door"
between = ["bedroom", "hall"]
along = "1 m"
[[dwelling.window]]
name = "window"
room = "bedroom"
side = "west"
along = "1 m"
width = "1 m"
height = "1.2 m"
[[dwelling.furniture]]
kind = "bed"
name = "bed"
room = "bedroom"
at = ["2 m", "2.5 m"]
[[dwelling.furniture]]
kind = "clutter"
name = "pile"
room = "bedroom"
at = ["0.5 m", "0.5 m"]

[preparation]
name = "stripped"
[preparation.change.bed]
bedding = "stripped"
mattress = "flat"

[layout]
name = "one fan"
[[layout.equipment]]
kind = "fan"
name = "fan 1"
room = "bedroom"
at = ["3.5 m", "0.5 m"]
turn = "90 deg"

[treatment]
horizon = "6 h"
"""
)


def changed(*rows: str) -> Case:
    text = CASE + "".join(f"[[treatment.change]]\n{row}\n" for row in rows)
    return load_texts({"a.toml": text}, "a.toml")


def refusal(*rows: str) -> str:
    with pytest.raises(CaseError) as caught:
        changed(*rows)
    message = str(caught.value)
    first = CASE.count("\n") + 1
    assert message.startswith("a.toml:")
    assert int(message.split(":")[1]) >= first
    return message


def part(case: Case, name: str) -> SolidPart:
    return next(p for p in case.parts if isinstance(p, SolidPart) and p.name == name)


def fan(case: Case) -> AirMover:
    return next(p for p in case.parts if isinstance(p, AirMover))


TURN = 'at = "2 h"\nwords = "turn"\nset = { "dwelling.furniture.bed.mattress" = "turned" }'
AIM = 'at = "3 h"\nwords = "aim"\nset = { "layout.equipment.fan 1.turn" = "180 deg" }'


def test_without_rows_nothing_changes() -> None:
    assert changed().changes == ()


def test_changes_are_whole_cases_and_add_up() -> None:
    case = changed(TURN, AIM)
    first, second = case.changes
    assert (first.time, first.words, second.time) == (7200.0, "turn", 10800.0)
    assert part(case, "mattress").box.lie != UPSIDE_DOWN
    assert part(first.case, "mattress").box.lie == UPSIDE_DOWN
    assert part(second.case, "mattress").box.lie == UPSIDE_DOWN
    assert fan(first.case).direction == fan(case).direction
    assert fan(second.case).direction == pytest.approx((-1.0, 0.0, 0.0))
    assert first.case.treatment == case.treatment and first.case.changes == ()


def test_the_texts_of_the_case_hold_its_changes() -> None:
    case = changed(TURN, AIM)
    again = load_texts(case.sources, "a.toml")
    assert again == case


def test_a_pile_is_taken_out_and_what_was_prepared_is_forgotten() -> None:
    case = changed('at = "1 h"\nwords = "out"\nremove = ["pile", "bed"]\nenters_at = "25 degC"')
    (change,) = case.changes
    assert {p.owner for p in case.parts} >= {"pile", "bed"}
    assert not {p.owner for p in change.case.parts} & {"pile", "bed"}
    assert change.enters_at == 25.0


def test_a_doorway_that_opens_has_its_cells_from_the_start() -> None:
    row = 'at = "1 h"\nwords = "open"\nset = { "dwelling.doorway.door.open" = true }'
    text = CASE.replace('along = "1 m"\n[[dwelling.w', 'along = "1 m"\nopen = false\n[[dwelling.w')
    case = load_texts({"a.toml": f"{text}[[treatment.change]]\n{row}\n"}, "a.toml")
    (door,), (opened,) = case.dwelling.doorways, case.changes[0].case.dwelling.doorways
    assert (door.is_open, opened.is_open) == (False, True)
    assert door.is_ever_open and opened.is_ever_open


@pytest.mark.parametrize(("written", "share"), [('"25 cm"', 0.25), ("0.5", 0.5), ("0", 0.0)])
def test_a_window_opens_by_a_width_or_a_share(written: str, share: float) -> None:
    row = f'at = "1 h"\nwords = "air"\nset = {{ "dwelling.window.window.open" = {written} }}'
    case = changed(row)
    assert case.dwelling.windows[0].opening == 0.0
    assert case.changes[0].case.dwelling.windows[0].opening == pytest.approx(share)


@pytest.mark.parametrize(
    ("row", "phrases"),
    [
        ('at = "7 h"\nwords = "x"\nremove = ["pile"]', ["change[entry 1].at", "before 6 h"]),
        ('at = "1 h"\nwords = "x"', ["nothing changes; give 'set' or 'remove'"]),
        ('words = "x"\nremove = ["pile"]', ["missing; give 'at'"]),
        ('at = "1 h"\nwords = "x"\nremove = ["piles"]', ["'x' at 1 h", "did you mean 'pile'"]),
        ('at = "1 h"\nwords = "x"\nwhen = 3\nremove = ["pile"]', ["unknown key 'when'"]),
        (
            'at = "1 h"\nwords = "stand"\nset = { "dwelling.furniture.bed.mattress" = "up" }',
            ["change[entry 1]", "'stand' at 1 h", "allowed: 'flat', 'turned' or 'on_edge'"],
        ),
        (
            'at = "1 h"\nwords = "x"\nset = { "layout.equipment.fan 2.turn" = "9 deg" }',
            ["no entry named 'fan 2'", "did you mean 'fan 1'"],
        ),
        (
            'at = "1 h"\nwords = "x"\nset = { "layout.equipment.fan 1.at" = ["9 m", "1 m"] }',
            ["'fan 1' reaches", "out of room"],
        ),
        (
            'at = "1 h"\nwords = "x"\nset = { "dwelling.room.hall.size" = ["2 m", "4 m", "3 m"] }',
            ["stay for the whole run"],
        ),
        ('at = "1 h"\nwords = "x"\nset = { "dwelling.start" = "30 degC" }', ["use 'enters_at'"]),
        ('at = "1 h"\nwords = "x"\nset = { "treatment.horizon" = "5 h" }', ["whole run"]),
        ('at = "1 h"\nwords = "x"\nset = { "treatment" = "b.toml" }', ["cannot be changed"]),
        ('at = "1 h"\nwords = "x"\nset = { "title" = "b" }', ["cannot be changed"]),
        ('at = "1 h"\nwords = "x"\nset = { "room.x" = 1 }', ["unknown first key 'room'"]),
        (
            'at = "1 h"\nwords = "x"\nset = { "dwelling.window.window.open" = "2 m" }',
            ["wider than the window", "at most 1 m"],
        ),
        (
            'at = "1 h"\nwords = "x"\nset = { "dwelling.window.window.open" = 1.5 }',
            ["not an opening"],
        ),
    ],
)  # fmt: skip
def test_a_wrong_change_is_refused_by_its_line(row: str, phrases: list[str]) -> None:
    message = refusal(row)
    assert "\n" not in message
    for phrase in phrases:
        assert phrase in message


def test_changes_stand_in_order_of_time() -> None:
    assert "after 3 h" in refusal(AIM, TURN)


def test_a_heater_cannot_come_later() -> None:
    fan = (
        '{ kind = "fan", name = "fan 1", room = "bedroom", at = ["3.5 m", "0.5 m"], '
        'turn = "90 deg" }'
    )
    heater = (
        '{ kind = "electric_heater", name = "heater", room = "hall", at = ["1 m", "1 m"], '
        'turn = "90 deg", power = "1 kW", flow = "300 cfm" }'
    )
    row = f'at = "1 h"\nwords = "x"\nset = {{ "layout.equipment" = [{fan}, {heater}] }}'
    assert "heaters cannot come or go" in refusal(row)


def test_what_a_circuit_feeds_cannot_go() -> None:
    texts = (GEOMETRIES / "bedroom_prepared.toml").read_text()
    row = '[[treatment.change]]\nat = "1 h"\nwords = "x"\nset = { "layout.equipment" = [] }\n'
    path = GEOMETRIES / "bedroom_prepared.toml"
    sources = {
        str(p.relative_to(GEOMETRIES)): p.read_text() for p in GEOMETRIES.glob("bedroom/*.toml")
    }
    with pytest.raises(CaseError, match=r"unknown equipment"):
        load_texts({path.name: texts + row, **sources}, path.name)


def test_the_shipped_case_with_visits_and_cool_down_loads() -> None:
    case = load(GEOMETRIES / "bedroom_with_cool_down.toml")
    assert [change.time / 3600.0 for change in case.changes] == [2.0, 3.5, 7.0]
    assert case.changes[-1].case.dwelling.windows[0].opening == pytest.approx(0.2)
