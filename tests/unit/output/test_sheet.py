"""The job sheet: it stands alone, leads a tape to the right place, promises nothing."""

import dataclasses
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
import weasyprint
from runs import hand_history

from simulator.assessment.assess import assess
from simulator.assessment.cautions import CAUTIONS
from simulator.assessment.naming import things_of
from simulator.assessment.readiness_item import Cost
from simulator.assessment.summary import plain
from simulator.case.load import load, load_texts
from simulator.grid.voxelise import voxelise
from simulator.output.field_file import Result
from simulator.output.restored import restored
from simulator.output.sheet.finding_sections import finding_sections
from simulator.output.sheet.label_space import Rectangle
from simulator.output.sheet.marks import marks_of
from simulator.output.sheet.plan_svg import draw_plans
from simulator.output.sheet.plan_view import fitted, hull, storeys
from simulator.output.sheet.setting_out import heading, placings
from simulator.output.sheet.timeline import moved_equipment, timeline
from simulator.output.sheet.watch_list import watch_list
from simulator.output.sheet.write_sheet import sheet_html
from simulator.studies.band import Band, Quantiles, SpotChance, Weight
from simulator.studies.moved_runs import Score
from simulator.studies.remedies import Remedies, Step, Tried
from simulator.studies.uncertain import Uncertain
from simulator.units import System

SOUND = (Path(__file__).parents[2] / "contracts" / "sound.toml").read_text("utf-8")
GEOMETRIES = Path(__file__).resolve().parents[3] / "geometries"

#: Words that no output may hold.
PROMISES = re.compile(r"\b(safe|safely|guarantee\w*|eradicat\w*)\b", re.IGNORECASE)

CHANGES = """
[[treatment.change]]
at = "2 h"
words = "aim fan 1 at the door"
set = { "layout.equipment.fan 1.turn" = "0 deg", "dwelling.doorway.bedroom door.open" = false }
"""

SENSOR = """
[[layout.equipment]]
kind = "sensor"
name = "thermostat"
room = "bedroom"
at = ["1.0 m", "2.0 m", "1.6 m"]
thermostat = true
"""


def result_of(text: str = SOUND, end: float = 40.0) -> Result:
    """Return a run in which every hiding place warms towards ``end`` [°C], the hall's the least."""
    case = load_texts({"case.toml": text}, "case.toml")
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 6 * 3600.0, 37)
    rise = 1.0 - np.exp(-time / 1800.0)
    least = np.array([group.room == "hall" for group in grid.refuges.groups])
    ends = end - 3.0 * least[grid.refuges.group]
    course = 20.0 + rise[:, None] * (ends - 20.0)
    history = hand_history(case, grid, time, course, air_mean=20.0 + 40.0 * rise)
    return Result(case, grid, history, 0.2, "case.toml", "0123abcd" * 8, {"roomsoak": "0.1.0"})


@pytest.fixture(scope="module")
def cold() -> Result:
    return result_of()


@pytest.fixture(scope="module")
def hot() -> Result:
    return result_of(end=60.0)


@pytest.fixture(scope="module")
def page(cold: Result) -> str:
    return sheet_html(cold)


# --- the page as a whole


def test_a_sheet_needs_nothing_beside_it(page: str) -> None:
    for outside in ("http:", "https:", "src=", "href=", "url(", "@import", "<script", "<link"):
        assert outside not in page


@pytest.mark.parametrize("units", ["si", "us"])
def test_no_sheet_promises_what_a_model_cannot(cold: Result, hot: Result, units: System) -> None:
    for result in (cold, hot):
        sheet = sheet_html(result, units)
        assert PROMISES.search(sheet) is None
        assert "inspections afterwards decide" in " ".join(sheet.split())
        assert "Local codes" in sheet


def test_all_cautions_stand_in_their_order(page: str) -> None:
    places = [page.index(line.replace("'", "&#39;")) for line in CAUTIONS]
    assert places == sorted(places)


def test_nothing_is_told_by_colour(page: str) -> None:
    """Every colour is a grey: a copy in black and white says the same."""
    colours = re.findall(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b", page)
    assert colours
    for colour in colours:
        parts = [colour[i : i + len(colour) // 3] for i in range(0, len(colour), len(colour) // 3)]
        assert len(set(parts)) == 1, colour


def test_text_of_a_case_is_text_and_nothing_else() -> None:
    bad = "<script>alert(1)</script>"
    text = SOUND.replace("Two small rooms, invented", bad).replace('"hall"', "'hall\"<b>'")
    text = text.replace('name = "bed"', f'name = "{bad}"')
    text = text.replace("change.bed]", f'change."{bad}"]')
    text = text.replace('name = "fan 1"', "name = 'fan \"><img>'")
    sheet = sheet_html(result_of(text))
    assert sheet.count("&lt;script&gt;alert(1)&lt;/script&gt;") > 2  # title, plan or key, lists
    for markup in ("<script", "<img", "<b>&#39;", 'hall"<b>'):
        assert markup not in sheet


def test_the_case_says_that_it_is_invented(page: str) -> None:
    assert "content is invented" in page
    assert "content is invented" not in sheet_html(result_of(SOUND.replace(", invented", "")))


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_sheet_prints_on_two_to_four_pages(cold: Result, units: System) -> None:
    pages = weasyprint.HTML(string=sheet_html(cold, units)).render().pages
    assert 2 <= len(pages) <= 4


def test_a_home_without_furniture_and_equipment_has_a_sheet() -> None:
    text = SOUND[: SOUND.index("[[dwelling.furniture]]")] + SOUND[SOUND.index("[treatment]") :]
    sheet = sheet_html(result_of(text))
    assert "The case has no equipment" in sheet
    assert "no circuits are given" in sheet


# --- setting out


@pytest.mark.parametrize(
    ("direction", "words"),
    [
        ((1.0, 0.0, 0.0), "east"),
        ((0.0, -1.0, 0.0), "south"),
        ((-1.0, 1.0, 0.0), "north-west"),
        ((math.cos(math.radians(30)), math.sin(math.radians(30)), 0.0), "30° north of east"),
        ((math.sin(math.radians(10)), math.cos(math.radians(10)), 0.3), "10° east of north"),
        ((0.0, 0.0, -1.0), "straight down"),
    ],
)
def test_a_direction_is_told_by_compass(direction: tuple[float, float, float], words: str) -> None:
    assert heading(direction) == words


def test_distances_and_aim_lead_to_where_the_case_puts_a_machine() -> None:
    """A fan at (3.7, 3.0) turned to 200 deg meets the west wall at 3.0 - 3.7 tan 20 deg."""
    case = result_of(SOUND.replace('"3.0 m"]\nturn = "180 deg"', '"3.0 m"]\nturn = "200 deg"')).case
    rows = {row.tag: row for row in placings(marks_of(case), case, "si")}
    fan = rows["F1"]
    assert (fan.from_west, fan.from_south, fan.height) == ("3.70 m", "3.00 m", "0.40 m")
    meets = 3.0 - 3.7 * math.tan(math.radians(20.0))
    assert (
        fan.points == f"20° south of west, axis meets the west wall {meets:.2f} m from south wall"
    )
    heater = rows["H1"]
    assert (heater.from_west, heater.from_south) == ("3.60 m", "0.80 m")
    assert heater.points.startswith("north, axis meets the north wall 3.60 m from west wall")


def test_an_aim_through_an_open_door_says_so() -> None:
    text = SOUND.replace('at = ["3.7 m", "3.0 m"]\nturn = "180 deg"', 'at = ["3.4 m", "0.6 m"]')
    text = text.replace('at = ["3.4 m", "0.6 m"]', 'at = ["3.4 m", "0.6 m"]\nturn = "0 deg"')
    text = text.replace('at = ["3.6 m", "0.8 m"]', 'at = ["3.6 m", "2.0 m"]')
    case = load_texts({"case.toml": text}, "case.toml")
    fan = {row.tag: row for row in placings(marks_of(case), case, "si")}["F1"]
    assert fan.points == "east, through the bedroom door"


def test_what_the_crew_changes_is_set_out_again() -> None:
    case = load_texts({"case.toml": SOUND + CHANGES}, "case.toml")
    (moved,) = moved_equipment(case)
    assert [mark.tag for mark in moved.marks] == ["F1"]
    assert moved.openings == ("bedroom door shut",)
    result = result_of(SOUND + CHANGES)
    answer = assess(result.case, result.grid, result.history)
    events = timeline(result.case, result.history, answer, "si").events
    words = next(event.words for event in events if event.kind == "change")
    assert "F1 then stands 3.70 m from west wall, 3.00 m from south wall" in words
    assert "points east" in words


# --- the plan


def test_the_plan_is_to_scale(cold: Result) -> None:
    (rooms,) = storeys(cold.case)
    view = fitted(rooms, "si")
    west, east = view.at(0.0, 0.0), view.at(4.2, 3.6)
    assert east[0] - west[0] == pytest.approx(4200.0 / view.ratio)
    assert west[1] - east[1] == pytest.approx(3600.0 / view.ratio)  # north is up
    assert f"scale 1:{view.ratio}" in sheet_html(cold)


def test_a_hull_is_the_corners_of_its_points() -> None:
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    assert set(hull([*square, (0.5, 0.5), (0.5, 0.0)])) == set(square)


def shared(one: Rectangle, other: Rectangle) -> float:
    width = min(one[2], other[2]) - max(one[0], other[0])
    height = min(one[3], other[3]) - max(one[1], other[1])
    return max(width, 0.0) * max(height, 0.0)


@pytest.mark.parametrize(
    "name",
    [
        "bedroom_with_cool_down",
        "field_apartment_high",
        "hotel_twin_prepared",
        "studio_as_found_high_fans",
        "two_bedroom_flat_as_found",
    ],
)
def test_no_label_of_a_shipped_plan_covers_another_or_a_symbol(name: str) -> None:
    case = load(GEOMETRIES / f"{name}.toml")
    middles = [thing.extent.centre for thing in things_of(case).values()][:12]
    spots = [(str(number), point) for number, point in enumerate(middles, start=1)]
    moved = [(mark, row.when) for row in moved_equipment(case) for mark in row.marks]
    for plan in draw_plans(case, marks_of(case), moved, spots, "us"):
        labels = plan.labels
        assert len(labels) > 12
        for index, label in enumerate(labels):
            others = (*labels[:index], *plan.symbols)
            assert max(shared(label, other) for other in others) < 0.02  # [mm²]: round-off


# --- the day and the watch list


def test_the_day_is_in_order_and_says_what_does_not_come(cold: Result) -> None:
    answer = assess(cold.case, cold.grid, cold.history)
    day = timeline(cold.case, cold.history, answer, "si")
    assert [event.time for event in day.events] == sorted(event.time for event in day.events)
    air = next(event for event in day.events if "room air" in event.words)
    assert air.time == pytest.approx(1800.0 * math.log(40.0 / 5.0), abs=60.0)  # 55 of 20 to 60 °C
    assert any("not done" in line or "no hiding place" in line for line in day.missing)


def test_where_all_is_done_the_last_place_has_its_time(hot: Result) -> None:
    answer = assess(hot.case, hot.grid, hot.history)
    day = timeline(hot.case, hot.history, answer, "si")
    last = next(event for event in day.events if "last hiding place" in event.words)
    assert last.time == pytest.approx(answer.finishing_time)
    assert day.missing == ()


def test_a_sensor_is_sent_to_the_coldest_point_of_the_coldest_place(cold: Result) -> None:
    text_with_sensor = result_of(SOUND.replace("[[layout.circuit]]", SENSOR + "[[layout.circuit]]"))
    answer = assess(cold.case, cold.grid, cold.history)
    first = watch_list(cold, answer, marks_of(cold.case), "si")[0]
    final = cold.history.refuge_temperature[-1]
    at = np.argmin(np.linalg.norm(cold.grid.refuges.position - np.array(first.point), axis=1))
    assert final[at] == final.min()
    hall = next(room for room in cold.case.dwelling.rooms if room.name == "hall")
    assert first.from_west == f"{first.point[0] - hall.low[0]:.2f} m"
    assert first.watched_by == "add one"
    assert [mark.tag for mark in marks_of(text_with_sensor.case)] == ["H1", "F1", "S1"]


# --- findings of studies

SPREADS = [{"name": "all done", "quantity": "time", "fine": None, "coarse": 60.0, "band": None}]
GRID_ERROR = {
    "cell_size": 0.1,
    "companion_cell_size": 0.2,
    "order": 1.0,
    "safety": 3.0,
    "figures": SPREADS,
    "places": 80,
    "half_within": 0.5,
    "most_within": 2.5,
    "mean_difference": 0.1,
    "verdicts_that_differ": 4,
}


SCORE = Score(cold=3, cold_litres=12.5, lateness=7200.0, finishing=math.nan, stops=0)
REMEDIES = Remedies(
    cell_size=0.2,
    planned=6 * 3600.0,
    prolonged=12 * 3600.0,
    base=SCORE,
    moves=(Tried("pull the bed off the wall", "bed: off the wall", 21.0, 1, 4.0, SCORE),),
    plan=(Step("pull the bed off the wall", SCORE),),
    values={"dwelling.furniture.bed.at": ["1 m", "2 m"]},
    remove=("laundry",),
    clears=False,
    everything=None,
    costs={"dresser: drawers": Cost(minutes=17.0, litres=2.0)},
    runs=5,
)
TIMES = Quantiles(20000.0, 21000.0, math.nan)


def band_of(words: str) -> Band:
    return Band(
        samples=64,
        failed=0,
        seed=1,
        cell_size=0.2,
        horizon=6 * 3600.0,
        has_grid_error=True,
        things=(Uncertain("leaks", "leakage", 0.5, 2.0, 1.0, True, "estimate"),),
        done_in=20,
        done_in_colder=2,
        finishing=TIMES,
        finishing_colder=TIMES,
        cold_share=Quantiles(0.1, 0.2, 0.3),
        spots=(SpotChance(1, words, "hall", 57, 60, Quantiles(30.0, 32.0, 35.0)),),
        weights=(Weight("leaks", "leakage", 0.6),),
    )


@pytest.mark.parametrize("found", [REMEDIES, band_of("hall, floor")], ids=["remedies", "band"])
def test_a_finding_comes_back_as_the_record_that_it_was(found: Remedies | Band) -> None:
    table = json.loads(json.dumps(plain(found)))
    again = restored(type(found), table)
    assert type(again) is type(found)
    assert repr(again) == repr(found)  # nan is no equal of itself


def test_a_table_that_lacks_a_number_is_refused() -> None:
    with pytest.raises(KeyError, match="runs"):
        restored(Remedies, {k: v for k, v in plain(REMEDIES).items() if k != "runs"})


def test_chances_and_costs_stand_where_they_are_of_use(cold: Result) -> None:
    answer = assess(cold.case, cold.grid, cold.history)
    words = answer.cold_spots[0].words
    findings = {"band": plain(band_of(words)), "remedies": plain(REMEDIES)}
    result = dataclasses.replace(cold, findings=findings)
    first = watch_list(result, answer, marks_of(cold.case), "si")[0]
    assert first.where.endswith("cold in 57 of 64 runs")
    sheet = sheet_html(result)
    assert "pull the bed off the wall" in sheet
    assert "left undone: 17 min later and 2.0 l more stay cold" in sheet
    assert "done within 6 h in 20 of 64 runs" in sheet
    assert PROMISES.search(sheet) is None


def test_findings_are_printed_by_name_and_none_is_dropped(cold: Result) -> None:
    findings = {"grid_error": GRID_ERROR, "moon_phase": {"full": True}}
    known, other = finding_sections(findings, "si")
    assert "nine of ten within 2.5 K; 4 of 80" in known.paragraphs[0]
    assert "moon_phase" in other.paragraphs[0]
    (unread,) = finding_sections({"grid_error": {"places": 3}}, "si")
    assert "grid_error" in unread.paragraphs[0]
    sheet = sheet_html(dataclasses.replace(cold, findings=findings))
    assert "Error of the cells" in sheet
    assert "no companion run" not in sheet


# --- the reader: from the printed words alone back to the layout

COMPASS = {"east": 0.0, "north": 90.0, "west": 180.0, "south": 270.0}


def read_heading(words: str) -> float:
    """Return the turn [deg] that words such as "20° west of north" tell."""
    off = re.match(r"(\d+)° (\w+) of (\w+)", words)
    if off:
        beside, base = COMPASS[off[2]], COMPASS[off[3]]
        sense = 1.0 if (beside - base) % 360.0 == 90.0 else -1.0
        return base + sense * float(off[1])
    both = re.match(r"(north|south)-(east|west)", words)
    if both:
        first, second = COMPASS[both[1]], COMPASS[both[2]]
        return first + 45.0 * (1.0 if (second - first) % 360.0 == 90.0 else -1.0)
    return COMPASS[words.split(",")[0]]


@pytest.mark.parametrize(
    "name",
    [
        "bedroom_prepared",
        "field_apartment_high",
        "hotel_twin_prepared",
        "studio_as_found_high_fans",
        "two_bedroom_flat_prepared",
    ],
)
def test_the_printed_table_leads_back_to_the_layout(name: str) -> None:
    """Distances are printed to the centimetre, angles to the degree: half of that is lost."""
    case = load(GEOMETRIES / f"{name}.toml")
    marks = marks_of(case)
    rows = placings(marks, case, "si")
    rooms = {room.name: room for room in case.dwelling.rooms}
    assert len({row.tag for row in rows}) == len(rows) == len(marks) > 3
    for mark, row in zip(marks, rows, strict=True):
        told = [float(text.removesuffix(" m")) for text in (row.from_west, row.from_south)]
        up = float(row.height.removesuffix(" m"))
        low = rooms[row.room].low
        blower = mark.blower
        if blower is None:
            assert mark.probe is not None
            at = (low[0] + told[0], low[1] + told[1], low[2] + up)
            assert at == pytest.approx(mark.probe.position, abs=0.0051)
            continue
        tilt = re.search(r"tilted (\d+)° (up|down)", row.points)
        angle = 0.0 if tilt is None else float(tilt[1]) * (1.0 if tilt[2] == "up" else -1.0)
        turn = math.radians(read_heading(row.points))
        along = math.cos(math.radians(angle))
        aim = (along * math.cos(turn), along * math.sin(turn), math.sin(math.radians(angle)))
        assert aim == pytest.approx(blower.direction, abs=math.radians(0.6))
        assert up == pytest.approx(blower.centre[2] - low[2], abs=0.0051)
        assert told == pytest.approx(mark.entry.at, abs=0.0051)  # type: ignore[attr-defined]
