"""The hand-out: one page without the network, with the numbers of its runs, small to mail."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from simulator.assessment.assess import assess
from simulator.case.load import load_texts
from simulator.case.parts import Box, Refuge, SolidPart
from simulator.output import graphics_check
from simulator.output.comparison_picture import Room
from simulator.output.kept_results import KeptResults
from simulator.output.lesson import page as page_module
from simulator.output.lesson.animation import animate
from simulator.output.lesson.curves import BOTTOM, HEIGHT, TOP, cold_litres_svg
from simulator.output.lesson.gathered import Chapter, Lesson, Shown
from simulator.output.lesson.lesson_runs import Turn, lesson_results
from simulator.output.lesson.page import LARGEST, Page, lesson_page, write_page
from simulator.output.lesson.pictures import main_states, write_pictures
from simulator.studies.comparison import answer_of, compare
from simulator.studies.lesson_plan import Series, State
from simulator.studies.lesson_words import extremes, sentences
from tests.browser import watched_page
from tests.builders import FOAM, box_room
from tests.runs import hand_history, open_grid

SOUND = Path(__file__).parents[2] / "contracts" / "sound.toml"
SPOTS = [
    ((0.3, 0.7, 0.3), 0.004, "bed", "mattress, inside", "room"),
    ((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room"),
]
PILE = ((1.0, 0.3, 0.3), 0.080, "pile", "clutter, inside", "room")
BED = SolidPart("bed", "mattress", Box((0.6, 0.8, 0.3), (0.8, 0.8, 0.2)), FOAM, Refuge.THROUGHOUT)
TITLE = "Room of <Mr & Mrs Nobody>"


def chapter(name: str, states: dict[str, tuple[float, ...]]) -> Chapter:
    """A chapter whose states end at these temperatures of their two hiding places [°C].

    A state with a third temperature has a pile, which is a hiding place of 80 litres, as well.
    """
    case = box_room((2.0, 1.6, 1.2), parts=(BED,), furniture_words={"bed": "bed"})
    time = np.linspace(0.0, 6 * 3600.0, 37)
    shown = []
    for word, ends in states.items():
        grid = open_grid(case, [*SPOTS, PILE][: len(ends)])
        course = 20.0 + np.linspace(0.0, 1.0, 37)[:, None] * (np.array(ends) - 20.0)
        history = hand_history(case, grid, time, course, frames=7)
        judged = assess(case, grid, history)
        answer = answer_of(word, case, 0.2, grid, history, judged, {})
        state = State(word, f"what '{word}' is", case, is_step=word.startswith("step"))
        shown.append(Shown(f"{name}-{len(shown)}", state, answer, Room(grid, history)))
    series = Series(name, f"what {name} does", tuple(one.state for one in shown), ("x: no",))
    return Chapter(series, tuple(shown), compare([one.answer for one in shown]))


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    preparation = chapter(
        "preparation",
        {"as found": (30.0, 40.0), "step 1": (40.0, 60.0), "all together": (60.0, 60.0)},
    )
    fans = chapter("fans", {"no fans": (25.0, 25.0), "low": (30.0, 60.0), "corners": (60.0, 60.0)})
    return Lesson(TITLE, 0.2, (preparation, fans))


@pytest.fixture(scope="module")
def page(lesson: Lesson) -> str:
    return lesson_page(lesson).text


@pytest.fixture
def no_stills(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages quickly made: their pictures are empty."""
    monkeypatch.setattr(page_module, "still", lambda *_, **__: b"")


def data_in(text: str) -> dict[str, Any]:
    found = re.search(r'id="data">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    data: dict[str, Any] = json.loads(found[1])
    return data


def rooms_in(text: str) -> dict[str, Any]:
    rooms: dict[str, Any] = data_in(text)["rooms"]
    return rooms


def test_the_page_asks_for_nothing_and_is_small(page: str) -> None:
    assert len(page.encode()) < LARGEST
    assert re.findall(r'(?:src|href)="(?!data:|")[^"]*"', page) == []
    assert "@import" not in page
    assert re.findall(r"url\(", page) == []
    assert "default-src 'none'" in page


def test_names_are_escaped_and_forbidden_words_absent(page: str) -> None:
    assert "<Mr & Mrs" not in page
    assert "Room of &lt;Mr &amp; Mrs Nobody&gt;" in page
    text = re.sub(r"<(script|style).*?</\1>", "", page, flags=re.DOTALL).lower()
    for word in ("eradicated", "guaranteed", "safe"):
        assert not re.search(rf"\b{word}\b", text)


def test_the_page_tells_the_numbers_of_its_runs(page: str, lesson: Lesson) -> None:
    rooms = rooms_in(page)
    assert list(rooms) == list(lesson.rooms())
    for key, one in lesson.rooms().items():
        judged = one.answer.assessment
        undone = sum(place.state == "not done" for place in judged.places)
        assert rooms[key]["not_done"] == f"{undone} of 2"
        assert rooms[key]["packed"]
    cold = data_in(page)["cold"]
    # 4 l under 30 °C of the mattress, 1 l behind the baseboard.
    assert [cold["preparation"][f"preparation-{n}"][-1] for n in range(3)] == [
        "5.0 l",
        "4.0 l",
        "0.0 l",
    ]
    assert "Each step alone: step 1 4.0 l." in page
    assert "Left out: x: no" in page


def test_each_run_of_a_lesson_is_asked_for_once_and_found_by_all_that_show_it(
    tmp_path: Path,
) -> None:
    kept, text = KeptResults(tmp_path, {}), SOUND.read_text(encoding="utf-8")
    case, other = (load_texts({"a": text + more}, "a") for more in ("", "\n# another\n"))
    first = (State("as found", "", case), State("tidy", "", other))
    plan = [Series("preparation", "", first), Series("fans", "", (State("as planned", "", case),))]
    asked: list[Turn] = []

    def result_of(turn: Turn) -> Any:
        asked.append(turn)
        return turn.words

    found = lesson_results(plan, kept, 0.2, result_of)
    assert [turn.words for turn in asked] == ["preparation, as found", "preparation, tidy"]
    assert [(turn.number, turn.of) for turn in asked] == [(1, 3), (2, 3)]
    assert found["fans/as planned"] == found["preparation/as found"]
    assert found["preparation/tidy"][1] == "preparation, tidy"


def test_sentences_tell_the_extremes_and_what_is_not_known(lesson: Lesson) -> None:
    fans = lesson.chapters[1]
    assert extremes(fans.series, fans.found) == (2, 1)
    words = " ".join(sentences(fans.series, fans.found, "si"))
    assert "'corners' leaves the least (0.0 l) and 'low' the most (4.0 l)" in words
    assert "cannot be told apart" in words


@pytest.mark.usefixtures("no_stills")
def test_loose_things_that_warm_easily_make_no_state_look_better() -> None:
    """A warm pile lowers the share of what is cold; the places that all states have are colder."""
    one = chapter("clutter", {"no clutter": (60.0, 40.0), "stuffed": (40.0, 40.0, 60.0)})
    bare, stuffed = (state.answer.assessment for state in one.shown)
    assert stuffed.fraction_below_50[-1] < 0.5 * bare.fraction_below_50[-1]
    text = lesson_page(Lesson(TITLE, 0.2, (one,))).text
    cold = data_in(text)["cold"]["clutter"]
    assert [cold[f"clutter-{n}"][-1] for n in range(2)] == ["1.0 l", "5.0 l"]
    assert re.findall(r'<th scope="row">[^<]*</th><td>([^<]*)</td>', text) == ["1.0 l", "5.0 l"]
    assert "when the run ends: no clutter 1 of 2; stuffed 2 of 3." in text
    told = re.sub(r"<(script|style).*?</\1>", "", text, flags=re.DOTALL)
    assert "share of the hiding volume" not in told.lower()
    assert "mean of hiding places" not in told


def test_the_curves_begin_alike_and_end_at_the_litres_that_all_states_have() -> None:
    one = chapter("clutter", {"no clutter": (60.0, 40.0), "stuffed": (40.0, 40.0, 60.0)})
    svg = cold_litres_svg(one.found.answers, one.found.common, "words")
    marks = re.findall(r'text-anchor="end">([^<]*)<', svg)
    assert marks == ["0 l", "1 l", "2 l", "3 l", "4 l", "5 l"]
    curves = re.findall(r'd="M([^"]*)" fill="none"', svg)
    ends = [[float(curve.split("L")[n].split()[1]) for n in (0, -1)] for curve in curves]
    assert [end[0] for end in ends] == [TOP, TOP]
    assert [end[1] for end in ends] == pytest.approx([BOTTOM - (BOTTOM - TOP) / 5.0, TOP], abs=0.06)


@pytest.mark.usefixtures("no_stills")
def test_rooms_that_do_not_fit_are_pictures(lesson: Lesson) -> None:
    whole = lesson_page(lesson)
    assert whole.solid_rooms == whole.pictured_rooms == 6
    packed = {key: len(room["packed"]) for key, room in rooms_in(whole.text).items()}
    bare = len(whole.text.encode()) - sum(packed.values())
    none = lesson_page(lesson, largest=bare + 100)
    assert none.solid_rooms == 0
    main = lesson_page(lesson, largest=bare + sum(packed.values()) - 200)
    assert main.solid_rooms > 0
    assert len(main.text.encode()) < bare + sum(packed.values()) - 200


def test_main_states_are_no_single_steps(lesson: Lesson) -> None:
    assert main_states(lesson.chapters[0]) == [0, 2]
    assert main_states(lesson.chapters[1]) == [0, 1, 2]


def test_names_at_the_ends_of_curves_keep_apart_and_inside(lesson: Lesson) -> None:
    many = [one.answer for c in lesson.chapters for one in c.shown] * 2
    svg = cold_litres_svg(many, lesson.chapters[0].found.common, "words")
    places = sorted(float(y) for y in re.findall(r'x="586" y="([\d.]+)"', svg))
    assert len(places) == len(many)
    assert np.diff(places).min() > 13.0
    assert places[-1] <= HEIGHT


def test_times_below_the_curves_are_plain(lesson: Lesson) -> None:
    answers, common = (
        [one.answer for one in lesson.chapters[0].shown],
        lesson.chapters[0].found.common,
    )
    short = [replace(one, time=one.time * 4500.0 / one.time[-1]) for one in answers]
    for some, times in ((answers, ["0", "1 h", "6 h"]), (short, ["0", "15 min", "1 h 15 min"])):
        told = re.findall(r'text-anchor="middle">([^<]*)<', cold_litres_svg(some, common, "words"))
        assert [told[0], told[1], told[-1]] == times


@pytest.fixture
def plans_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures are plans, which are quickly drawn."""
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)


@pytest.mark.usefixtures("plans_only")
def test_the_film_shows_both_states_at_each_moment(lesson: Lesson, tmp_path: Path) -> None:
    first, _, last = lesson.chapters[0].shown
    common = lesson.chapters[0].found.common
    with Image.open(animate(first, last, common, tmp_path / "film.webp", most_frames=2)) as film:
        assert film.n_frames == 2
        frames = []
        for number in range(2):
            film.seek(number)
            frames.append(np.asarray(film.convert("RGB")).astype(int))
    # Both begin alike; at the end the clock, the numbers and the rooms are others.
    assert np.abs(frames[1] - frames[0]).mean() > 0.1


@pytest.mark.usefixtures("plans_only")
def test_every_state_has_a_picture(lesson: Lesson, tmp_path: Path) -> None:
    written = write_pictures(lesson, tmp_path, units="us")
    assert len({path.name for path in written}) == len(written) == 8
    assert all(path.read_bytes().startswith(b"\x89PNG") for path in written)


@pytest.mark.slow
def test_the_page_opens_offline_and_answers(page: str, lesson: Lesson, tmp_path: Path) -> None:
    path = tmp_path / "lesson.html"
    path.write_text(page, encoding="utf-8")
    with watched_page(1100, 900) as watched:
        shown = watched.page
        shown.context.set_offline(True)
        shown.goto(path.as_uri())
        shown.wait_for_selector("html[data-shown='preparation-0']")
        assert shown.locator("#still").is_hidden()
        shown.locator("#spots button").first.click()
        assert shown.locator("#spots button[aria-pressed='true']").count() == 1
        shown.select_option("#state", "fans-2")
        shown.wait_for_selector("html[data-shown='fans-2']")
        assert "After 6 h: 0.0 l below 50 °C" in shown.locator("#now").inner_text()
        assert "not done when the run ends: 0 of 2" in shown.locator("#not-done").inner_text()
        shown.locator("#panel input[type=range]").first.fill("0")
        assert "After 0 min: 5.0 l below" in shown.locator("#now").inner_text()
        assert shown.locator("button[title]").first.is_visible()
    assert [request for request in watched.requests if not request.startswith("data:")] == [
        path.as_uri()
    ]
    assert watched.complaints == []


@pytest.mark.slow
def test_without_webgl_the_page_shows_pictures(page: str, tmp_path: Path) -> None:
    path = tmp_path / "lesson.html"
    path.write_text(page, encoding="utf-8")
    with watched_page(more_switches=("--disable-3d-apis",)) as watched:
        shown = watched.page
        shown.goto(path.as_uri())
        shown.wait_for_selector("html[data-shown='preparation-0']")
        assert shown.locator("#picture").is_visible()
        assert shown.evaluate("document.getElementById('picture').naturalWidth") == 640
        assert shown.locator("#view").is_hidden()


def test_a_page_is_whole_or_not_there(page: str, tmp_path: Path) -> None:
    path = write_page(Page(page, 1, 1), tmp_path / "lesson.html")
    assert path.read_text(encoding="utf-8") == page
    assert [one.name for one in tmp_path.iterdir()] == ["lesson.html"]
