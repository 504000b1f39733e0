"""Answers side by side in one picture: rooms on one scale at one moment, and their curves."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from simulator.grid.grid import Grid
from simulator.history import History
from simulator.output.pen import DOTS_PER_INCH, INK, NOT_DONE, QUIET, Pen
from simulator.output.picture_foot import draw_key, draw_scale
from simulator.output.picture_labels import draw_labels
from simulator.output.picture_sheet import blank_figure, pixel_axes
from simulator.output.pictures import room_stage
from simulator.output.plots import mark_times, style
from simulator.output.side_panel import GOAL, spread, verdict_line
from simulator.output.temperature_scale import FIXED_SCALE, shown_temperature
from simulator.studies.comparison import Answer, Comparison, cold_litres_in
from simulator.studies.comparison_words import letters, not_done_text
from simulator.units import System, format_quantity, whole_degrees

#: Colours and dashes of curves: they differ in lightness and in dash, so that grey print reads too.
LINES: tuple[tuple[str, Any], ...] = (
    ("#0b3c5d", "-"),
    ("#c8553d", (0, (6, 2))),
    ("#3f7d4e", (0, (2, 1.5))),
    ("#8e6bbf", (0, (8, 2, 2, 2))),
    ("#b8860b", (0, (1, 1))),
    ("#4d4d4d", (0, (10, 3, 2, 3, 2, 3))),
)

WIDTH = 1600  # [pixels]
TITLE, HEAD, FOOT, CHARTS = 76, 92, 122, 430
MOST_IN_A_ROW = 3
MOST_ROOMS = 6  # drawn; curves and table have all


@dataclass(frozen=True, slots=True)
class Room:
    """What a picture needs beside the answer."""

    grid: Grid
    history: History


def draw_comparison(
    found: Comparison, rooms: Sequence[Room], path: Path, *, units: System = "si", title: str = ""
) -> Path:
    """Write rooms side by side, the scale, and two panels of curves as PNG; return its path.

    Parameters
    ----------
    rooms : of every answer of ``found``, in its order.
    title : of the picture; left out: a plain one.
    """
    shown = min(len(rooms), MOST_ROOMS)
    columns = min(shown, MOST_IN_A_ROW)
    rows = -(-shown // columns)
    cell = room_size(columns)
    size = (WIDTH, TITLE + rows * (HEAD + cell[1]) + FOOT + CHARTS)
    figure = blank_figure(size)
    head = Pen(pixel_axes(figure, (0, 0, WIDTH, TITLE)), 1.0)
    head.write(28.0, 30.0, title or "Side by side", 27.0, bold=True)
    when = format_quantity(found.moment, "time", units)
    head.write(28.0, 60.0, f"the same moment, after {when}, on the same scale", 18.0, QUIET)
    for number in range(shown):
        left = (number % columns) * cell[0]
        top = TITLE + (number // columns) * (HEAD + cell[1])
        _draw_room(figure, found, rooms[number], number, (left, top), cell, units)
    foot_top = TITLE + rows * (HEAD + cell[1])
    foot = Pen(pixel_axes(figure, (0, foot_top, WIDTH, foot_top + FOOT)), 1.0)
    draw_scale(foot, FIXED_SCALE, units)
    draw_key(foot)
    _draw_curves(figure, found, size, units)
    figure.savefig(path, format="png", dpi=DOTS_PER_INCH)
    return path


def room_size(columns: int) -> tuple[int, int]:
    """Return the pixels of each room in a row of so many."""
    return WIDTH // columns, round((0.56 if columns < MOST_IN_A_ROW else 0.70) * WIDTH / columns)


def _draw_room(
    figure: Any,
    found: Comparison,
    room: Room,
    number: int,
    corner: tuple[int, int],
    cell: tuple[int, int],
    units: System,
) -> None:
    answer = found.answers[number]
    left, top = corner
    head = Pen(pixel_axes(figure, (left, top, left + cell[0], top + HEAD)), 1.0)
    letter = letters(len(found.answers))[number]
    fits = max(20, (cell[0] - 80) // 10)
    lines = textwrap.wrap(f"{letter}  {answer.label}", fits, subsequent_indent="    ")[:2]
    for row, line in enumerate(lines):
        head.write(28.0, 16.0 + 22.0 * row, line, 19.0, bold=True)
    verdict, colour = verdict_line(room.history, answer.assessment, units)
    if answer.not_done:
        verdict += f": {not_done_text(answer)} hiding places"
    head.write(28.0, 20.0 + 22.0 * len(lines), verdict, 17.0, colour)
    stage = room_stage(answer.case, room.grid, room.history, answer.assessment, found.moment, cell)
    box = (left, top + HEAD, left + cell[0], top + HEAD + cell[1])
    drawing = Pen(pixel_axes(figure, box), max(0.6, cell[0] / 1170.0))
    stage.draw(drawing.axes)
    draw_labels(drawing, answer.case, answer.assessment, stage)


def _draw_curves(figure: Any, found: Comparison, size: tuple[int, int], units: System) -> None:
    """Draw how much is below 50 °C on the left and the coldest hiding place on the right.

    Shares compare only where all answers have the same hiding places; else litres in those that
    all have are drawn, if there are any.
    """
    panels = []
    bottom, height = 62.0 / size[1], (CHARTS - 124.0) / size[1]
    for left in (0.055, 0.555):
        panels.append(figure.add_axes((left, bottom, 0.375, height)))
    fifty = whole_degrees(GOAL, units)
    last = max(float(one.time[-1]) for one in found.answers)
    if found.has_same_places or not found.common:
        words = f"% of hiding volume below {fifty}"
        curves = [100.0 * one.assessment.fraction_below_50 for one in found.answers]
    else:
        words = f"litres below {fifty}, in the hiding places that all have"
        curves = [cold_litres_in(one, found.common) for one in found.answers]
    degree = "°F" if units == "us" else "°C"
    for panel, title in zip(
        panels,
        (words, f"coldest hiding place, {degree}"),
        strict=True,
    ):
        style(panel)
        panel.set_title(title, fontsize=13, color=INK, loc="left", pad=10)
        mark_times(panel, last)
        panel.axvline(found.moment / 3600.0, color=QUIET, lw=1.0, ls=(0, (1, 2)))
    top = max(1e-3, *(float(curve.max()) for curve in curves))
    panels[0].set_ylim(-0.02 * top, 1.04 * top)
    _plot(panels[0], found.answers, curves)
    cold = [shown_temperature(one.assessment.coldest, units) for one in found.answers]
    goal = float(shown_temperature(np.array(GOAL), units))
    low = min(float(np.nanmin(curve)) for curve in cold)
    high = max(goal, *(float(np.nanmax(curve)) for curve in cold))
    panels[1].set_ylim(low - 0.06 * (high - low), high + 0.06 * (high - low))
    panels[1].axhline(goal, color=NOT_DONE, lw=1.2, ls=(0, (5, 3)))
    panels[1].annotate(
        f"{fifty} to be reached",
        xy=(0.0, goal),
        xytext=(4, 5),
        textcoords="offset points",
        fontsize=11,
        color=NOT_DONE,
    )
    _plot(panels[1], found.answers, cold)


def _plot(panel: Any, answers: Sequence[Answer], curves: Sequence[Any]) -> None:
    """Plot curves with their letters at the ends, moved apart where they lie close together."""
    low, high = panel.get_ylim()
    names = letters(len(answers))
    ends = []
    for number, (one, curve) in enumerate(zip(answers, curves, strict=True)):
        colour, dash = LINES[number % len(LINES)]
        panel.plot(one.time / 3600.0, curve, color=colour, ls=dash, lw=2.4)
        ends.append(float(curve[-1]))
    moved = [-place for place in spread([-end for end in ends], 0.075 * (high - low))]
    for number, (one, end, place) in enumerate(zip(answers, ends, moved, strict=True)):
        panel.annotate(
            names[number],
            xy=(one.time[-1] / 3600.0, end),
            xytext=(one.time[-1] / 3600.0 + 0.025 * panel.get_xlim()[1], place),
            fontsize=14,
            fontweight="bold",
            color=LINES[number % len(LINES)][0],
            va="center",
            annotation_clip=False,
        )
