"""From case files to a case."""

import dataclasses
import doctest
import importlib
from pathlib import Path

import pytest

from simulator.case.build_dwelling import build_dwelling
from simulator.case.case import Case
from simulator.case.documents import Problems, Spot, Table, parse
from simulator.case.dwelling import Dwelling, Side
from simulator.case.dwelling_file import DwellingFile
from simulator.case.load import load, load_texts
from simulator.case.overlap import corners
from simulator.case.parts import AirMover, HeatedJet, PorousPart, SolidPart
from simulator.case.refusals import read_record
from simulator.case.size import MOST_CELLS, check_size, count_cells
from simulator.errors import CaseError

ROOT = Path(__file__).resolve().parents[3]
GEOMETRIES = sorted((ROOT / "geometries").glob("*.toml"))
SOUND = ROOT / "tests" / "contracts" / "sound.toml"

SHELL = """
name = "test dwelling"
start = "20 degC"
outdoors = { temperature = "0 degC", ground = "10 degC" }
[shell]
walls = { construction = "frame_wall", behind = "outdoors" }
floor = { construction = "slab_on_ground", behind = "ground" }
ceiling = { construction = "wood_ceiling", behind = "mirror" }
"""


def dwelling_of(text: str) -> Dwelling:
    """Return the dwelling of a dwelling file's text after the shell's."""
    document = parse("test.toml", SHELL + text)
    problems = Problems()
    table = Table(document, (), document.data)
    file = read_record(DwellingFile, table, problems)
    problems.raise_any()
    assert file is not None
    dwelling = build_dwelling(file, Spot(table, (), problems))
    problems.raise_any()
    assert dwelling is not None
    return dwelling


def room(name: str, west: float, south: float, size: tuple[float, float, float], more: str) -> str:
    """Return the text of a room."""
    lengths = ", ".join(f'"{length} m"' for length in size)
    return (
        f'[[room]]\nname = "{name}"\nat = ["{west} m", "{south} m"]\nsize = [{lengths}]\n{more}\n'
    )


@pytest.fixture(scope="module")
def sound() -> Case:
    """The sound case."""
    return load(SOUND)


@pytest.mark.parametrize("path", GEOMETRIES, ids=lambda path: path.stem)
def test_every_shipped_case_loads_and_stands_in_its_rooms(path: Path) -> None:
    case = load(path)
    assert case.title and case.dwelling.rooms and case.treatment.horizon > 0
    low = [min(r.low[i] for r in case.dwelling.rooms) for i in range(3)]
    high = [max(r.high[i] for r in case.dwelling.rooms) for i in range(3)]
    for part in case.parts:
        if isinstance(part, SolidPart | PorousPart):
            for corner in corners(part.box):
                for i in range(3):
                    # 5 mm: what the loader lets pass as rounding of measured lengths
                    assert low[i] - 0.005 <= corner[i] <= high[i] + 0.005


@pytest.mark.parametrize("path", GEOMETRIES, ids=lambda path: path.stem)
def test_a_case_can_be_made_again_from_its_texts(path: Path) -> None:
    case = load(path)
    main = next(iter(case.sources))
    assert main == path.name
    assert load_texts(case.sources, main) == case


def test_the_example_in_the_loaders_docstring_runs() -> None:
    result = doctest.testmod(importlib.import_module("simulator.case.load"))
    assert result.attempted >= 2
    assert result.failed == 0


def test_there_are_shipped_cases() -> None:
    assert len(GEOMETRIES) >= 5


def test_a_case_holds_what_its_file_says(sound: Case) -> None:
    assert sound.title == "Two small rooms, invented"
    assert (sound.preparation, sound.layout) == ("prepared", "one fan")
    assert sound.dwelling.start_temperature == 21.0
    assert sound.dwelling.outdoor_temperature == 5.0
    assert sound.treatment.target_temperature == 55.0
    assert sound.treatment.horizon == 6 * 3600
    assert sound.treatment.proportional_band == 3.0
    assert sound.furniture_words == {"bed": "bed", "dresser": "dresser"}
    assert [circuit.loads for circuit in sound.circuits] == [("heater 1",)]
    assert {part.owner for part in sound.parts} == {"bed", "dresser", "heater 1", "fan 1"}
    fan = next(part for part in sound.parts if isinstance(part, AirMover))
    assert fan.direction == pytest.approx((-1.0, 0.0, 0.0))
    assert fan.centre[:2] == pytest.approx((3.7, 3.0))


def test_positions_count_from_the_rooms_corner() -> None:
    text = SOUND.read_text()
    moved = text.replace('at = ["0 m", "0 m"]', 'at = ["10 m", "20 m"]')
    moved = moved.replace('at = ["4.3 m", "0 m"]', 'at = ["14.3 m", "20 m"]')
    here, there = load_texts({"a": text}, "a"), load_texts({"a": moved}, "a")
    for first, second in zip(here.parts, there.parts, strict=True):
        if isinstance(first, SolidPart) and isinstance(second, SolidPart):
            shift = [b - a for a, b in zip(first.box.centre, second.box.centre, strict=True)]
            assert shift == pytest.approx([10.0, 20.0, 0.0], abs=1e-9)


def test_a_doorway_spans_the_gap_between_its_rooms(sound: Case) -> None:
    (door,) = sound.dwelling.doorways
    assert door.low == pytest.approx((4.2, 0.3, 0.0))
    assert door.high == pytest.approx((4.3, 1.11, 2.03))
    assert door.is_open


def test_a_doorway_is_the_same_from_either_room() -> None:
    rooms = room("a", 0, 0, (4, 3, 2.4), "") + room("b", 1, 3.1, (2, 3, 2.5), "")
    one = dwelling_of(rooms + '[[doorway]]\nname = "d"\nbetween = ["a", "b"]\nalong = "1.5 m"\n')
    two = dwelling_of(rooms + '[[doorway]]\nname = "d"\nbetween = ["b", "a"]\nalong = "0.5 m"\n')
    assert one.doorways[0].low == pytest.approx(two.doorways[0].low)
    assert one.doorways[0].high == pytest.approx(two.doorways[0].high)
    assert one.doorways[0].low[1] == pytest.approx(3.0)
    assert one.doorways[0].high[1] == pytest.approx(3.1)


def test_a_window_lies_in_the_plane_of_its_wall(sound: Case) -> None:
    window = sound.dwelling.windows[0]
    assert window.low == pytest.approx((0.0, 1.2, 0.9))
    assert window.high == pytest.approx((0.0, 2.4, 2.0))
    assert window.envelope.behind.name == "outdoors"
    assert window.envelope.construction.name == "double_glazing"


def test_sides_take_the_nearest_that_is_said() -> None:
    own = (
        'walls = { construction = "brick_wall", behind = "mirror" }\n'
        'north = { construction = "concrete_wall", behind = "ground" }'
    )
    (first, second) = dwelling_of(
        room("a", 0, 0, (4, 3, 2.4), own) + room("b", 0, 9, (4, 3, 2.4), "")
    ).rooms
    assert first.envelope[Side.NORTH].construction.name == "concrete_wall"
    assert first.envelope[Side.EAST].construction.name == "brick_wall"
    assert first.envelope[Side.FLOOR].construction.name == "slab_on_ground"
    assert second.envelope[Side.NORTH].construction.name == "frame_wall"


def test_what_is_behind_has_its_temperature_and_resistance() -> None:
    text = '[[behind]]\nname = "shop"\ntemperature = "18 degC"\n' + room(
        "a", 0, 0, (4, 3, 2.4), 'west = { construction = "brick_wall", behind = "shop" }'
    )
    envelope = dwelling_of(text).rooms[0].envelope
    # Rse 0.04 and Rsi 0.13 m² K/W of ISO 6946 (read at second hand)
    assert envelope[Side.EAST].behind.temperature == 0.0
    assert envelope[Side.EAST].behind.resistance == 0.04
    assert envelope[Side.WEST].behind.temperature == 18.0
    assert envelope[Side.WEST].behind.resistance == 0.13
    assert envelope[Side.FLOOR].behind.temperature == 10.0
    assert envelope[Side.CEILING].behind.temperature is None


def test_own_materials_and_constructions_are_used() -> None:
    text = (
        '[[material]]\nname = "cork"\nconductivity = "0.05 W/(m K)"\ndensity = "200 kg/m3"\n'
        'heat_capacity = "1500 J/(kg K)"\nsource = "EN 12524:2000"\n'
        '[[construction]]\nname = "cork wall"\nlayers = [\n'
        '{ material = "cork", thickness = "1/2 in" }, { material = "brick", thickness = "4 in" }]\n'
    )
    wall = 'walls = { construction = "cork wall", behind = "outdoors" }'
    layers = (
        dwelling_of(text + room("a", 0, 0, (4, 3, 2.4), wall))
        .rooms[0]
        .envelope[Side.WEST]
        .construction.layers
    )
    assert layers[0].material.conductivity == 0.05
    assert layers[0].thickness == pytest.approx(0.0127)
    assert layers[1].material.name == "brick"


def test_infiltration_follows_en_12831() -> None:
    # EN 12831: V̇ = 2 V n50 e ε; V 40 m³, n50 4 1/h, e 0.03, ε 1 gives 9.6 m³/h (second hand)
    leak = '[leakage]\nn50 = "4 1/h"\nshielding = 0.03\n'
    (leakage,) = dwelling_of(leak + room("a", 0, 0, (4, 4, 2.5), "")).leakage
    assert leakage.flow * 3600 == pytest.approx(9.6, rel=1e-12)


def test_air_changes_are_of_the_rooms_volume() -> None:
    leak = '[leakage]\nair_changes = "0.4 1/h"\n'
    (leakage,) = dwelling_of(leak + room("a", 0, 0, (4, 4, 2.5), "")).leakage
    assert leakage.flow == pytest.approx(0.4 * 40 / 3600, rel=1e-12)
    assert leakage.sides == (Side.WEST, Side.EAST, Side.SOUTH, Side.NORTH)


def test_only_outside_walls_leak() -> None:
    inner = 'walls = { construction = "interior_wall", behind = "mirror" }\n'
    rooms = room("outer", 0, 0, (4, 3, 2.4), "") + room("inner", 4.1, 0, (2, 3, 2.4), inner)
    (leakage,) = dwelling_of(rooms).leakage
    assert leakage.room == "outer"
    # its east side is partition to the other room from end to end
    assert leakage.sides == (Side.WEST, Side.SOUTH, Side.NORTH)


def test_a_higher_room_keeps_the_strip_of_wall_above_its_neighbour() -> None:
    rooms = room("high", 0, 0, (4, 3, 3.0), "") + room("low", 4.1, 0, (2, 3, 2.4), "")
    leakage = {leak.room: leak.sides for leak in dwelling_of(rooms).leakage}
    assert Side.EAST in leakage["high"]
    assert Side.WEST not in leakage["low"]


def test_a_preparation_removes_changes_and_adds() -> None:
    text = SOUND.read_text()
    added = (
        'remove = ["dresser"]\n[[preparation.furniture]]\nkind = "nightstand"\n'
        'name = "nightstand"\nroom = "bedroom"\nat = ["0.5 m", "3.3 m"]\n'
    )
    case = load_texts({"a": text.replace('name = "prepared"\n', 'name = "p"\n' + added)}, "a")
    assert set(case.furniture_words) == {"bed", "nightstand"}
    names = {part.name for part in case.parts if part.owner == "bed"}
    assert not names & {"bedding", "pillow"}
    as_found = load_texts({"a": text.replace('bedding = "stripped"', "")}, "a")
    assert {"bedding", "pillow"} <= {part.name for part in as_found.parts}


def test_sections_are_tables_or_files(tmp_path: Path, sound: Case) -> None:
    head, rest = SOUND.read_text().split("[dwelling]", 1)
    dwelling, rest = rest.split("[preparation]", 1)
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "d.toml").write_text(
        dwelling.replace("[dwelling.", "[").replace("[[dwelling.", "[[")
    )
    (tmp_path / "case.toml").write_text(head + 'dwelling = "home/d.toml"\n[preparation]' + rest)
    case = load(tmp_path / "case.toml")
    assert list(case.sources) == ["case.toml", "home/d.toml"]
    assert dataclasses.replace(case, sources=sound.sources) == sound
    assert load_texts(case.sources, "case.toml") == case


def test_a_fault_in_a_file_of_its_own_names_that_file(tmp_path: Path) -> None:
    (tmp_path / "t.toml").write_text('target = "55 degC"\nhorizon = "6 m"\n')
    text = SOUND.read_text().split("[treatment]")[0]
    path = tmp_path / "case.toml"
    path.write_text(text.replace("[dwelling]", 'treatment = "t.toml"\n[dwelling]', 1))
    with pytest.raises(CaseError) as caught:
        load(path)
    assert str(caught.value).startswith(f"{tmp_path}/t.toml:2: horizon: 'm' is a unit of length")


def test_layout_preparation_and_treatment_may_be_left_out() -> None:
    text = SOUND.read_text().split("[preparation]")[0]
    case = load_texts({"a": text}, "a")
    assert (case.preparation, case.layout) == ("as found", "no equipment")
    assert case.treatment.target_temperature == 55.0
    assert not any(isinstance(part, HeatedJet | AirMover) for part in case.parts)


def test_overrides_replace_one_value_and_are_kept_in_the_sources(sound: Case) -> None:
    overrides = {"treatment.horizon": "4 h", "layout.equipment.fan 1.turn": "90 deg"}
    case = load(SOUND, overrides=overrides)
    assert case.treatment == dataclasses.replace(sound.treatment, horizon=4 * 3600)
    fan = next(part for part in case.parts if isinstance(part, AirMover))
    assert fan.direction == pytest.approx((0.0, 1.0, 0.0))
    assert load_texts(case.sources, SOUND.name) == case


def test_overrides_reach_into_files_of_their_own() -> None:
    path = ROOT / "geometries" / "bedroom_prepared.toml"
    case = load(
        path, overrides={"dwelling.start": "15 degC", "preparation": "bedroom/as_found.toml"}
    )
    assert case.dwelling.start_temperature == 15.0
    assert case.preparation == load(ROOT / "geometries" / "bedroom_as_found.toml").preparation
    assert load_texts(case.sources, path.name) == case


@pytest.mark.parametrize(
    ("key", "value", "phrase"),
    [
        ("treatmnt.horizon", "4 h", "did you mean 'treatment'?"),
        ("layout.equipment.fan 7.turn", "0 deg", "no entry named 'fan 7'"),
        ("title.x", "y", "unknown first key"),
        ("treatment.horizon.x", "y", "'horizon' is no table"),
        ("treatment.horizon", object(), "override of 'treatment.horizon'"),
        ("treatment.horizon", "4 kg", "'kg' is a unit of mass, not time"),
    ],
)
def test_a_wrong_override_is_refused(key: str, value: object, phrase: str) -> None:
    with pytest.raises(CaseError) as caught:
        load(SOUND, overrides={key: value})
    assert phrase in str(caught.value)
    assert "\n" not in str(caught.value)


def test_cells_are_counted_around_all_rooms(sound: Case) -> None:
    # 4.2 m, a 0.1 m partition and 1.5 m in a row; 3.6 m; 2.44 m needs 25 cells of 0.1 m
    assert count_cells(sound.dwelling, 0.1) == 58 * 36 * 25
    check_size(sound, 0.1)


def test_too_many_cells_are_refused_with_a_size_that_fits(sound: Case) -> None:
    with pytest.raises(CaseError) as caught:
        check_size(sound, 0.001)
    message = str(caught.value)
    assert f"{5800 * 3600 * 2440:,} cells" in message
    assert f"at most {MOST_CELLS:,}" in message
    fitting = float(message.rsplit("a cell of ", 1)[1].split(" m")[0])
    check_size(sound, fitting)
    with pytest.raises(CaseError):
        check_size(sound, fitting - 0.01)


@pytest.mark.parametrize("size", [0.0, -0.1, float("nan"), float("inf"), 1e-300])
def test_an_impossible_cell_is_refused(sound: Case, size: float) -> None:
    with pytest.raises(CaseError, match="must be at least"):
        check_size(sound, size)
