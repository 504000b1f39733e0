"""Edits go to the file that holds the key, keep comments, and leave a case that loads."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from desk_case import CASE, TEXTS, lay_out
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.errors import CaseError
from simulator.workspace import toml_edit
from simulator.workspace.open_case import OpenCase
from simulator.workspace.operations import read_operations
from simulator.workspace.refusals import Outdated, Refused


@pytest.fixture
def case(tmp_path: Path) -> OpenCase:
    return OpenCase(lay_out(tmp_path), CASE)


def edit(case: OpenCase, *operations: dict[str, Any]) -> None:
    case.edit(case.revision, read_operations(list(operations)))


def on_disk(case: OpenCase) -> dict[str, str]:
    return {name: case.folder.read(name) for name in TEXTS}


def test_the_small_case_loads(case: OpenCase) -> None:
    assert case.problems == []


def test_what_is_no_operation_is_refused_by_its_place_counted_from_one() -> None:
    sound = {"op": "piece", "name": "boxes", "values": {}, "into": "dwelling"}
    with pytest.raises(Refused, match=r"^operations\[entry 2\]\.remove\.section: Field required"):
        read_operations([sound, {"op": "remove"}])


def test_a_fan_is_moved_in_its_own_file_and_comments_stay(case: OpenCase) -> None:
    edit(
        case,
        {
            "op": "set",
            "section": "layout",
            "path": ["equipment", "fan 1", "at"],
            "value": ["1.70 m", "0.65 m"],
        },
    )
    found = on_disk(case)
    assert {name for name in TEXTS if found[name] != TEXTS[name]} == {"home/layout.toml"}
    old, new = TEXTS["home/layout.toml"], found["home/layout.toml"]
    assert new == old.replace('"1.80 m", "0.60 m"', '"1.70 m", "0.65 m"')


@pytest.mark.parametrize(
    ("into", "file"),
    [("preparation", "home/prepared.toml"), ("dwelling", "home/dwelling.toml")],
)
def test_furniture_is_changed_for_the_day_or_for_good(case: OpenCase, into: str, file: str) -> None:
    edit(case, {"op": "piece", "name": "boxes", "values": {"at": ["1.9 m", "1.7 m"]}, "into": into})
    found = on_disk(case)
    assert {name for name in TEXTS if found[name] != TEXTS[name]} == {file}
    assert "# " in found[file]


def test_what_is_set_back_to_as_found_leaves_no_empty_table(case: OpenCase) -> None:
    edit(
        case,
        {
            "op": "piece",
            "name": "nightstand",
            "values": {"drawers_are": None},
            "into": "preparation",
        },
    )
    assert "nightstand" not in case.folder.read("home/prepared.toml")


def test_a_piece_taken_out_and_brought_back_leaves_the_case_as_it_was(case: OpenCase) -> None:
    before = [part.owner for part in case.require().parts]
    edit(case, {"op": "take_out", "name": "boxes", "taken": True})
    assert "boxes" not in {part.owner for part in case.require().parts}
    edit(case, {"op": "take_out", "name": "boxes", "taken": False})
    assert [part.owner for part in case.require().parts] == before


def test_an_edit_that_would_not_load_changes_nothing(case: OpenCase) -> None:
    revision = case.revision
    with pytest.raises(CaseError, match="sticks"):
        edit(
            case,
            {
                "op": "piece",
                "name": "boxes",
                "values": {"at": ["9 m", "1 m"]},
                "into": "dwelling",
            },
        )
    assert on_disk(case) == TEXTS
    assert case.revision == revision


def test_an_older_revision_is_refused_and_the_newer_one_told(case: OpenCase) -> None:
    first = case.revision
    edit(case, {"op": "set", "section": "case", "path": ["title"], "value": "Other"})
    with pytest.raises(Outdated, match=str(case.revision)):
        case.edit(first, read_operations([{"op": "take_out", "name": "boxes", "taken": True}]))


def test_undo_and_redo_write_the_files(case: OpenCase) -> None:
    edit(case, {"op": "set", "section": "case", "path": ["title"], "value": "Other"})
    changed = on_disk(case)
    case.undo(case.revision)
    assert on_disk(case) == TEXTS
    case.redo(case.revision)
    assert on_disk(case) == changed
    with pytest.raises(Refused, match="nothing to redo"):
        case.redo(case.revision)


def test_what_another_program_wrote_is_taken_over(case: OpenCase) -> None:
    first = case.revision
    path = case.folder.path("home/layout.toml")
    path.write_text(TEXTS["home/layout.toml"].replace("90 deg", "80 deg"))
    with pytest.raises(Outdated):
        case.edit(first, read_operations([{"op": "take_out", "name": "boxes", "taken": True}]))
    assert "80 deg" in case.texts["home/layout.toml"]
    assert not case.can_undo


def test_a_room_is_renamed_everywhere(case: OpenCase) -> None:
    edit(case, {"op": "rename", "what": "room", "from": "bedroom", "to": "north room"})
    assert case.require().dwelling.rooms[0].name == "north room"
    assert "bedroom" not in "".join(on_disk(case).values())
    assert "# the only one" in case.folder.read("home/dwelling.toml")


def test_furniture_is_renamed_where_it_is_prepared(case: OpenCase) -> None:
    edit(case, {"op": "rename", "what": "furniture", "from": "nightstand", "to": "bed table"})
    prepared = tomllib.loads(case.folder.read("home/prepared.toml"))
    assert prepared["change"] == {"bed table": {"drawers_are": "open"}}
    with pytest.raises(CaseError, match="already"):
        edit(case, {"op": "rename", "what": "furniture", "from": "bed table", "to": "boxes"})


def test_equipment_is_renamed_on_its_circuit(case: OpenCase) -> None:
    edit(case, {"op": "rename", "what": "equipment", "from": "fan 1", "to": "tall fan"})
    assert case.require().circuits[0].loads == ("heater 1", "tall fan")


def test_a_broken_case_can_be_mended_as_text(tmp_path: Path) -> None:
    folder = lay_out(tmp_path)
    broken = TEXTS["home/layout.toml"].replace('"fan"', '"fun"')
    folder.save({"home/layout.toml": broken})
    case = OpenCase(folder, CASE)
    assert "did you mean 'fan'" in case.problems[0]
    edit(case, {"op": "text", "file": "home/layout.toml", "text": TEXTS["home/layout.toml"]})
    assert case.problems == []


@pytest.mark.parametrize(
    "operations",
    [
        None,
        [],
        "x",
        [{}],
        [{"op": "fly"}],
        [{"op": "set", "section": "case", "path": []}],
        [{"op": "set", "section": "case", "path": ["title"], "value": 1, "more": 2}],
        [{"op": "set", "section": "../x", "path": ["title"], "value": 1}],
        [{"op": "remove", "section": "case", "path": [-1]}],
    ],
)
def test_what_is_no_operation_is_refused_in_one_line(operations: Any) -> None:
    with pytest.raises(Refused) as refusal:
        read_operations(operations)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    "operation",
    [
        {"op": "remove", "section": "layout", "path": ["equipment", "fan 9"]},
        {"op": "remove", "section": "layout", "path": ["equipment", 7]},
        {"op": "set", "section": "layout", "path": ["equipment", "at"], "value": 1},
        {"op": "set", "section": "case", "path": ["title", "x"], "value": 1},
        {"op": "add", "section": "case", "path": ["title"], "value": {}},
        {"op": "set", "section": "case", "path": ["dwelling"], "value": "../other.toml"},
        {"op": "text", "file": CASE, "text": "title ="},
        {"op": "rename", "what": "room", "from": "hall", "to": "x"},
        {"op": "overrides", "overrides": {"title.x": 1}},
        {"op": "set", "section": "treatment", "path": ["horizon"], "value": [[{"a": []}]]},
    ],
)
def test_an_edit_that_does_not_fit_changes_nothing(
    case: OpenCase, operation: dict[str, Any]
) -> None:
    with pytest.raises(CaseError):
        edit(case, operation)
    assert on_disk(case) == TEXTS


_NAMES = st.sampled_from(["a", "b c", "d.e", "ü"])
_VALUES = st.recursive(
    st.one_of(st.integers(-5, 5), st.booleans(), st.text(max_size=5), st.floats(-1, 1)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_NAMES, inner, max_size=2),
    max_leaves=4,
)


@settings(max_examples=60, deadline=None)
@given(
    key=_NAMES,
    value=_VALUES,
    text=st.sampled_from(list(TEXTS.values())),
    path=st.sampled_from([(), ("shell",), ("room", 0), ("equipment", 0), ("change",), ("new",)]),
)
def test_a_text_reads_as_the_edit_meant_or_is_not_changed(
    key: str, value: Any, text: str, path: tuple[str | int, ...]
) -> None:
    wanted = tomllib.loads(text)
    node: Any = wanted
    change = toml_edit.set_value((*path, key), value)
    try:
        written = toml_edit.edited(text, change)
    except CaseError:
        return
    for step in path:
        node = node.setdefault(step, {}) if isinstance(step, str) else node[step]
    node[key] = value
    assert tomllib.loads(written) == wanted
    assert all(line in written for line in text.splitlines() if line.startswith("#"))
