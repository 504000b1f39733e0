"""The hand-out: one page with rooms to turn, curves, tables and text, that needs no network."""

import base64
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
import numpy as np
from markupsafe import Markup

from simulator.assessment.cautions import CAUTIONS
from simulator.grid.grid import IntArray
from simulator.output.field_file import current_versions
from simulator.output.lesson.curves import cold_litres_svg
from simulator.output.lesson.gathered import Chapter, Lesson, Shown
from simulator.output.lesson.pictures import main_states, still
from simulator.output.side_panel import short_words
from simulator.output.viewer.pack import Fineness, pack
from simulator.output.viewer.script import viewer_script
from simulator.output.whole_file import whole_file
from simulator.studies.comparison import COMMON_LITRES, Answer, cold_litres_in
from simulator.studies.comparison_words import litres_text, not_done_text
from simulator.studies.comparison_words import shown as figure_text
from simulator.studies.lesson_words import sentences
from simulator.units import System, format_quantity, format_small_length, whole_degrees

#: The largest hand-out [bytes]: what a mail and an old telephone take.
LARGEST = 2_000_000

FINE = Fineness(step=0.25, most_frames=25, patch=0.20)
MIDDLE = Fineness(step=0.25, most_frames=19, patch=0.30)
COARSE = Fineness(step=0.5, most_frames=13, patch=0.40)
COARSEST = Fineness(step=0.5, most_frames=7, patch=0.60)

#: Ways to pack the rooms of main states and those of single steps (None: pictures only); the first
#: that fits is taken.
LADDER: tuple[tuple[Fineness, Fineness | None], ...] = (
    (FINE, FINE),
    (MIDDLE, MIDDLE),
    (COARSE, COARSE),
    (COARSE, COARSEST),
    (FINE, None),
    (MIDDLE, None),
    (COARSE, None),
    (COARSEST, None),
)

#: Figures in the tables, by their names in a comparison. No shares and no means of the hiding
#: volume: both look better when loose things that warm easily are brought in.
COLUMNS = (
    COMMON_LITRES,
    "hiding places not done",
    "coldest hiding place",
    "all done",
    "energy of the whole run",
)

ABOUT = (
    "A model's word is no proof: sensors in the cold spots during the treatment and an inspection "
    "afterwards decide."
)


@dataclass(frozen=True, slots=True)
class Page:
    """The hand-out as text, and how many of its rooms can be turned."""

    text: str
    solid_rooms: int
    pictured_rooms: int


def lesson_page(
    lesson: Lesson,
    *,
    units: System = "si",
    largest: int = LARGEST,
    on_room: Callable[[str], None] | None = None,
) -> Page:
    """Return the hand-out.

    The rooms of main states are packed first; those of single steps have a picture only where the
    page would grow beyond ``largest`` [bytes].
    """
    rooms = lesson.rooms()
    end = {
        chapter.shown[n].key: chapter.found.moment
        for chapter in lesson.chapters
        for n in range(len(chapter.shown))
    }
    stills = {}
    for key, one in rooms.items():
        if on_room is not None:
            on_room(one.state.name)
        stills[key] = base64.b64encode(still(one, end[key], units=units)).decode()
    bare = _rendered(lesson, rooms, stills, {}, units)
    room_left = largest - len(bare.encode())
    packed = _fitting(lesson, rooms, room_left)
    text = _rendered(lesson, rooms, stills, packed, units)
    return Page(text, len(packed), len(rooms))


def _fitting(lesson: Lesson, rooms: Mapping[str, Shown], room_left: int) -> dict[str, str]:
    """Return packed rooms as base64 by key: what fits of the ways in ``LADDER``."""
    main = {chapter.shown[n].key for chapter in lesson.chapters for n in main_states(chapter)}
    made: dict[tuple[str, Fineness], str] = {}
    for ours, theirs in LADDER:
        wanted = {key: ours if key in main else theirs for key in rooms}
        packed: dict[str, str] = {}
        for key, fineness in wanted.items():
            if fineness is None:
                continue
            if (key, fineness) not in made:
                made[key, fineness] = _packed(rooms[key], fineness)
            packed[key] = made[key, fineness]
            size = sum(len(text) for text in packed.values())
            # The first rooms already tell whether this way can fit.
            if size > room_left or size * len(rooms) > 1.5 * room_left * len(packed):
                packed = {}
                break
        if packed:
            return packed
    return {}


def _packed(one: Shown, fineness: Fineness) -> str:
    answer, room = one.answer, one.room
    whole = pack(answer.case, room.grid, room.history, answer.assessment, fineness=fineness)
    return base64.b64encode(whole).decode()


def _rendered(
    lesson: Lesson,
    rooms: Mapping[str, Shown],
    stills: Mapping[str, str],
    packed: Mapping[str, str],
    units: System,
) -> str:
    files = resources.files("simulator.output.lesson")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined)
    template = environment.from_string(files.joinpath("page.html").read_text(encoding="utf-8"))
    fifty = whole_degrees(50.0, units)
    data = {
        "units": units,
        "fifty": fifty,
        "rooms": {
            key: _room_table(one, stills[key], packed.get(key)) for key, one in rooms.items()
        },
        "cold": {chapter.series.name: _cold(chapter) for chapter in lesson.chapters},
    }
    first = next(iter(rooms.values())).answer
    return template.render(
        title=lesson.title,
        room_count=len(rooms),
        names=" and ".join(chapter.series.name for chapter in lesson.chapters),
        cell=format_small_length(lesson.cell_size, units),
        about=ABOUT,
        fifty=fifty,
        chapters=[_chapter(chapter, units) for chapter in lesson.chapters],
        limits=first.assessment.notes,
        cautions=CAUTIONS,
        version=current_versions()["roomsoak"],
        style=Markup(files.joinpath("page.css").read_text(encoding="utf-8")),
        script=Markup(files.joinpath("page.js").read_text(encoding="utf-8")),
        viewer=Markup(viewer_script()),
        data=Markup(_script_json(data)),
    )


def _script_json(data: Any) -> str:
    """Return JSON that cannot end the script element that it stands in."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _room_table(one: Shown, picture: str, packed: str | None) -> dict[str, Any]:
    answer = one.answer
    picked = _picked(answer)
    judged = answer.assessment
    return {
        "key": one.key,
        "name": one.state.name,
        "still": picture,
        "packed": packed,
        "times": answer.time[picked].round(0).tolist(),
        "coldest": judged.coldest[picked].round(1).tolist(),
        "not_done": not_done_text(answer),
        "spots": [{"id": str(s.rank), "words": short_words(s)} for s in judged.cold_spots],
    }


def _picked(answer: Answer) -> IntArray:
    """Return which times of an answer the page has."""
    picked: IntArray = np.rint(np.linspace(0, answer.time.size - 1, 61)).astype(np.int64)
    return np.unique(picked)


def _cold(chapter: Chapter) -> dict[str, list[str]]:
    """Return the litres below 50 °C of each run, in the places that all the chapter's states have.

    The same run counts other places in another chapter.
    """
    common = chapter.found.common
    return {
        one.key: [litres_text(x) for x in cold_litres_in(one.answer, common)[_picked(one.answer)]]
        for one in chapter.shown
    }


def _chapter(chapter: Chapter, units: System) -> dict[str, Any]:
    found = chapter.found
    figures = {figure.name: figure for figure in found.figures}
    fifty = whole_degrees(50.0, units)
    kept_together = fifty.replace(" ", "\N{NO-BREAK SPACE}")
    rows = []
    for number, one in enumerate(chapter.shown):
        cells = [
            figure_text(figures[name], figures[name].values[number], units, found, number)
            for name in COLUMNS
        ]
        rows.append(
            {
                "key": one.key,
                "name": one.state.name,
                "words": one.state.words,
                "cells": cells,
                "spots": [_spot(spot, units) for spot in one.answer.assessment.cold_spots],
            }
        )
    words = f"Litres below {fifty} against time, in the hiding places that all these states have"
    return {
        "name": chapter.series.name,
        "words": chapter.series.words,
        "sentences": sentences(chapter.series, found, units),
        "when": format_quantity(found.moment, "time", units),
        "heads": [name.replace("50 °C", kept_together) for name in COLUMNS],
        "states": rows,
        "figure": words,
        "curves": Markup(
            cold_litres_svg(
                found.answers, found.common, f"{chapter.series.name}: {words[0].lower()}{words[1:]}"
            )
        ),
    }


def _spot(spot: Any, units: System) -> str:
    coldest = format_quantity(spot.coldest, "temperature", units)
    return f"{short_words(spot)}: {coldest}, {spot.litres:.2g} litres"


def write_page(page: Page, path: Path) -> Path:
    """Write the hand-out; it appears under its name only when it is whole."""
    with whole_file(path) as unfinished:
        unfinished.write_text(page.text, encoding="utf-8")
    return path
