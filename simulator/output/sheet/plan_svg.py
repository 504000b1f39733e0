"""The plan of a dwelling to scale: shell, furniture, equipment, cold places.

Everything is told by shape, line and lettering, so that a copy in black and white says the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.case.parts import Vector
from simulator.output.sheet import svg
from simulator.output.sheet.label_space import LabelSpace, Rectangle, about, edges
from simulator.output.sheet.marks import LETTERS, Mark
from simulator.output.sheet.plan_labels import PlanLabels
from simulator.output.sheet.plan_shell import (
    lengths,
    lengths_take,
    north_arrow,
    outlet_symbol,
    scale_bar,
    shell,
)
from simulator.output.sheet.plan_symbols import (
    alarm_symbol,
    badge,
    sensor_symbol,
    spot_symbol,
    symbol,
)
from simulator.output.sheet.plan_view import WALL, Outline, PlanView, fitted, outlines, storeys
from simulator.output.sheet.svg import Drawing
from simulator.units import System

FOOT = 13.0  # height of scale bar and key [mm]
LEAST_WIDTH = 176.0  # of the drawing, so that its key has room [mm]
FURNITURE_FILL = "#f4f4f4"


@dataclass(frozen=True, slots=True)
class Plan:
    """The drawing of a storey, and the names of the furniture that has letters in it.

    ``labels`` are the rectangles [mm] of all that is written, ``symbols`` those of what is drawn
    of machines, sensors and cold places.
    """

    drawing: Drawing
    letters: Mapping[str, str]
    labels: tuple[Rectangle, ...]
    symbols: tuple[Rectangle, ...]


def draw_plans(
    case: Case,
    marks: Sequence[Mark],
    moved: Sequence[tuple[Mark, str]],
    spots: Sequence[tuple[str, Vector]],
    units: System,
) -> tuple[Plan, ...]:
    """Return a plan of each storey.

    Parameters
    ----------
    marks : the equipment at the start.
    moved : equipment as it stands after a change, with words such as "at 2 h".
    spots : number of each cold place and where it is [m].
    """
    return tuple(_plan(case, rooms, marks, moved, spots, units) for rooms in storeys(case))


def _plan(
    case: Case,
    rooms: tuple[Room, ...],
    marks: Sequence[Mark],
    moved: Sequence[tuple[Mark, str]],
    spots: Sequence[tuple[str, Vector]],
    units: System,
) -> Plan:
    view = fitted(rooms, units)
    furniture = outlines(case, view)
    space = LabelSpace((0.5, 0.5, view.size[0] - 0.5, view.size[1] - 0.5))
    space.lines += [edge for outline in furniture for edge in edges(outline.bounds)]
    names = {room.name for room in rooms}
    symbols = [(mark, symbol(mark, view), "") for mark in marks if mark.room.name in names]
    symbols += [
        (mark, symbol(mark, view, is_later=True), when)
        for mark, when in moved
        if mark.room.name in names
    ]
    crosses = [(number, view.at(*point[:2])) for number, point in spots if view.holds(point)]
    alarms = _fire_devices(case, view)
    space.drawn += [taken for _, drawn, _ in symbols for taken in drawn.taken]
    space.drawn += [about(at, 1.8, 1.8) for _, at in crosses]
    space.drawn += [about(at, 3.0, 3.0) for _, at in alarms]
    space.drawn += [strip for room in rooms for strip in _walls(view, room)]
    space.drawn += lengths_take(view)
    labels = PlanLabels(view, units, space)
    for number, at in crosses:
        labels.spot(number, at)
    for mark, drawn, when in symbols:
        labels.mark(mark, drawn.body, when)
    for room in rooms:
        labels.room(room)
    for outline in sorted(furniture, key=lambda outline: -_area(outline.bounds)):
        labels.furniture(outline)
    for name, at in alarms:
        labels.letter(name, at, reach=1.7)
    left = 0.5 * max(LEAST_WIDTH - view.size[0], 0.0)
    drawn_plan = [
        shell(case, view),
        *(_furniture(outline) for outline in furniture),
        *(alarm_symbol(*at) for _, at in alarms),
        *(drawn.drawn for _, drawn, _ in symbols),
        *(spot_symbol(*at) for _, at in crosses),
        *labels.drawn,
        lengths(view, units),
    ]
    body = svg.element(
        "g", Markup("").join(drawn_plan), transform=f"translate({left:.2f} 0)"
    ) + _foot(view, units, {mark.letter for mark in marks})
    words = f"plan to scale 1:{view.ratio} of {', '.join(room.name for room in rooms)}"
    drawing = Drawing(body, max(view.size[0], LEAST_WIDTH), view.size[1] + FOOT, words)
    return Plan(drawing, labels.letters, tuple(space.written), tuple(space.drawn))


def _furniture(outline: Outline) -> Markup:
    """Return the outline of a piece: broken where it hangs overhead, dotted where it lies flat."""
    dash = "1.6 0.9" if outline.hangs else "0.3 0.7" if outline.is_flat else ""
    fill = "none" if dash else FURNITURE_FILL
    whole = svg.path(list(outline.points), fill=fill, width=0.25, dash=dash)
    inner = [svg.path(list(points), stroke=svg.GREY, width=0.12) for points in outline.inner]
    return Markup("").join([whole, *inner])


def _fire_devices(case: Case, view: PlanView) -> list[tuple[str, tuple[float, float]]]:
    return [
        (probe.owner, view.at(*probe.position[:2]))
        for probe in case.probes
        if probe.hazard is not None and probe.hazard.is_fire_device and view.holds(probe.position)
    ]


def _walls(view: PlanView, room: Room) -> list[Rectangle]:
    """Return what the walls of a room take, in which nothing is written."""
    left, top, right, bottom = view.box(room.low, room.high)
    thick = view.length(WALL)
    return [
        (left - thick, top - thick, right + thick, top + 0.3),
        (left - thick, bottom - 0.3, right + thick, bottom + thick),
        (left - thick, top, left + 0.3, bottom),
        (right - 0.3, top, right + thick, bottom),
    ]


def _area(bounds: Rectangle) -> float:
    return (bounds[2] - bounds[0]) * (bounds[3] - bounds[1])


def _foot(view: PlanView, units: System, letters: set[str]) -> Markup:
    """Return north arrow, scale bar and the key of the symbols, below the plan."""
    y = view.size[1]
    drawn = [north_arrow(6.0, y + 3.4), scale_bar(14.0, y + 1.0, view, units)]
    x, row = 14.0, y + 9.0
    machine = svg.rectangle(0.0, -1.4, 3.4, 2.8, fill="#b5b5b5", stroke_width=0.5)
    fan = svg.rectangle(1.0, -1.6, 1.4, 3.2, fill=svg.WHITE, stroke_width=0.4)
    fan += svg.line(1.0, -1.6, 2.4, 1.6) + svg.line(1.0, 1.6, 2.4, -1.6)
    outlet = svg.rectangle(0.0, -1.2, 3.4, 2.4, fill=svg.WHITE, stroke_width=0.6)
    outlet += svg.line(0.0, -1.2, 3.4, 1.2) + svg.line(0.0, 1.2, 3.4, -1.2)
    signs = {"F": fan, "H": machine, "D": machine, "E": outlet, "S": sensor_symbol(1.7, 0.2)}
    keys = [
        (signs[letter], f"{letter} {LETTERS[letter]}", 4.6)
        for letter in LETTERS
        if letter in letters
    ]
    keys += [
        (spot_symbol(0.6, 0.0) + badge(3.6, 0.0, "n"), "watch list, place n", 6.4),
        (alarm_symbol(1.7, 0.0), "fire device", 4.6),
        (outlet_symbol(1.4, 0.0), "wall outlet", 3.6),
    ]
    for sign, words, wide in keys:
        drawn.append(svg.element("g", sign, transform=f"translate({x:.2f} {row:.2f})"))
        drawn.append(svg.text(x + wide, row, words, 2.3, anchor="start"))
        x += wide + 3.0 + svg.text_width(words, 2.3)
    return Markup("").join(drawn)
