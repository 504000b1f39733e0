"""The pictures of a lesson: every state, every chapter side by side, small ones for the page."""

import io
import re
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from simulator.output.comparison_picture import MOST_ROOMS, draw_comparison
from simulator.output.lesson.gathered import Chapter, Lesson, Shown
from simulator.output.pen import DOTS_PER_INCH, Pen
from simulator.output.picture_foot import draw_scale
from simulator.output.picture_labels import draw_labels
from simulator.output.picture_sheet import blank_figure, pixel_axes
from simulator.output.pictures import draw_room, room_stage
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.studies.comparison import compare
from simulator.studies.lesson_words import extremes
from simulator.units import System

STILL = (640, 400)  # of the room alone [pixels]
STILL_FOOT = 118
STILL_COLOURS = 64


def file_name(chapter: Chapter, number: int) -> str:
    """Return the file name of a state's picture."""
    name = chapter.shown[number].state.name.lower()
    plain = re.sub(r"[^a-z0-9]+", "_", name).strip("_")
    return f"{chapter.series.name}_{number + 1}_{plain}.png"


def write_pictures(
    lesson: Lesson,
    folder: Path,
    *,
    units: System,
    on_picture: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write a picture of every state and one of each chapter; return their paths.

    A state that stands in several chapters is drawn once.
    """
    written, drawn = [], set()
    for chapter in lesson.chapters:
        path = folder / f"{chapter.series.name}.png"
        _tell(on_picture, path)
        written.append(draw_chapter(chapter, path, units=units))
        for number, shown in enumerate(chapter.shown):
            if shown.key in drawn:
                continue
            drawn.add(shown.key)
            path = folder / file_name(chapter, number)
            _tell(on_picture, path)
            one = shown.answer
            room = shown.room
            draw_room(one.case, room.grid, room.history, one.assessment, path, units=units)
            written.append(path)
    return written


def _tell(on_picture: Callable[[str], None] | None, path: Path) -> None:
    if on_picture is not None:
        on_picture(path.name)


def draw_chapter(chapter: Chapter, path: Path, *, units: System) -> Path:
    """Write the chapter's main states side by side; return the path."""
    main = main_states(chapter)
    whole = chapter.found
    found = compare([chapter.shown[n].answer for n in main], whole.moment, whole.common)
    rooms = [chapter.shown[n].room for n in main]
    return draw_comparison(found, rooms, path, units=units, title=chapter.series.words)


def main_states(chapter: Chapter) -> list[int]:
    """Return which states stand for a chapter: no single steps; of fans the best and the worst."""
    states = chapter.series.states
    if chapter.series.name == "fans":
        least, most = extremes(chapter.series, chapter.found)
        keep = {least, most} | {
            n for n, state in enumerate(states) if state.name in ("no fans", "as planned")
        }
        return sorted(keep)
    return [n for n, state in enumerate(states) if not state.is_step][:MOST_ROOMS]


def still(shown: Shown, time: float, *, units: System) -> bytes:
    """Return a small picture of a state with the scale of colours, as PNG of few colours."""
    size = (STILL[0], STILL[1] + STILL_FOOT)
    figure = blank_figure(size)
    one, room = shown.answer, shown.room
    stage = room_stage(one.case, room.grid, room.history, one.assessment, time, STILL)
    drawing = Pen(pixel_axes(figure, (0, 0, *STILL)), 0.66)
    stage.draw(drawing.axes)
    draw_labels(drawing, one.case, one.assessment, stage)
    draw_scale(Pen(pixel_axes(figure, (0, STILL[1], *size)), 1.0), FIXED_SCALE, units)
    whole = io.BytesIO()
    figure.savefig(whole, format="png", dpi=DOTS_PER_INCH)
    few = Image.open(whole).convert("RGB").quantize(STILL_COLOURS, dither=Image.Dither.NONE)
    packed = io.BytesIO()
    few.save(packed, format="png", optimize=True)
    return packed.getvalue()
