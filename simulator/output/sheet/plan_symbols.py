"""Machines, sensors and cold places on the plan, told apart by shape and line, not by colour."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from simulator.case.overlap import corners
from simulator.case.parts import AirMover, Box, Vector
from simulator.output.equipment_drawing import casing
from simulator.output.sheet import svg
from simulator.output.sheet.label_space import Point, Rectangle, about
from simulator.output.sheet.marks import Mark
from simulator.output.sheet.plan_view import PlanView, hull, turned

#: Length of the arrow of a fan and of a heater [mm].
FAN_ARROW, HEATER_ARROW = 9.0, 11.0

#: Depth that a fan is drawn with [m] (its cage; estimate).
FAN_DEPTH = 0.16

#: A direction with less than this along the floor is drawn as up or down.
LEVEL = 0.2

MACHINE_FILL = "#b5b5b5"

SPOT = 0.75  # half the size of the cross at a cold place [mm]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A drawn symbol, the body that its label belongs to, and what it takes of the plan [mm]."""

    drawn: Markup
    body: Rectangle
    taken: tuple[Rectangle, ...]


def symbol(mark: Mark, view: PlanView, *, is_later: bool = False) -> Symbol:
    """Return the symbol of a machine or sensor; ``is_later``: where it is moved to in the run."""
    dash = "1.0 0.7" if is_later else ""
    if mark.outlet is not None:
        return _exhaust(mark.outlet.box, view)
    blower = mark.blower
    if blower is None:
        assert mark.probe is not None
        x, y = view.at(*mark.probe.position[:2])
        body = about((x, y), 2.6, 2.6)
        return Symbol(sensor_symbol(x, y), body, (body,))
    start = view.at(*blower.centre[:2])
    heading = (blower.direction[0], -blower.direction[1])
    if isinstance(blower, AirMover):
        across, deep = view.length(blower.diameter), view.length(FAN_DEPTH)
        drawn, taken = _fan_body(start, heading, across, deep, dash)
        tip, width = FAN_ARROW, 0.5
    else:
        box = mark.pieces.footprint[0]
        if blower.intake is not None:
            box = casing(blower, blower.intake)
        points = _shape(box, view)
        drawn = svg.path(points, fill=MACHINE_FILL, width=0.5, dash=dash)
        taken = (_bounds(points),)
        tip, width = HEATER_ARROW, 0.8
    arrow, beside = _arrow(start, heading, blower.direction, tip, width)
    return Symbol(drawn + arrow, _around(taken), (*taken, *beside))


def _fan_body(
    at: Point, heading: Point, across: float, deep: float, dash: str
) -> tuple[Markup, tuple[Rectangle, ...]]:
    """Return a fan as a crossed frame across its stream."""
    half, depth = 0.5 * across, 0.5 * deep
    points = [
        turned(at, heading, a * depth, b * half) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    frame = svg.path(points, fill=svg.WHITE, width=0.4, dash=dash)
    cross = svg.line(*points[0], *points[2], 0.25) + svg.line(*points[1], *points[3], 0.25)
    along = [turned(at, heading, 0.0, share * (half - depth)) for share in (-1, -0.5, 0, 0.5, 1)]
    return frame + cross, _pieces(along, deep + 0.6)


def _arrow(
    at: Point, heading: Point, direction: Vector, length: float, width: float
) -> tuple[Markup, tuple[Rectangle, ...]]:
    """Return the arrow of a stream; straight up or down it is a ring with a dot or a cross."""
    if (heading[0] ** 2 + heading[1] ** 2) ** 0.5 < LEVEL:
        ring = svg.circle(*at, 1.8, width=width)
        x, y = at
        if direction[2] > 0.0:
            return ring + svg.circle(x, y, 0.6, fill=svg.BLACK), (about(at, 4.0, 4.0),)
        cross = svg.line(x - 1.2, y - 1.2, x + 1.2, y + 1.2, 0.4)
        return ring + cross + svg.line(x - 1.2, y + 1.2, x + 1.2, y - 1.2, 0.4), (
            about(at, 4.0, 4.0),
        )
    neck, tip = turned(at, heading, length - 2.6, 0.0), turned(at, heading, length, 0.0)
    head = [tip, turned(neck, heading, 0.0, 1.1), turned(neck, heading, 0.0, -1.1)]
    shaft = svg.path([at, neck], width=width, is_closed=False)
    along = [
        turned(at, heading, length * share, 0.0) for share in (0.25, 0.4, 0.55, 0.7, 0.85, 1.0)
    ]
    return shaft + svg.path(head, fill=svg.BLACK, width=0.1), _pieces(along, 1.8)


def _exhaust(box: Box, view: PlanView) -> Symbol:
    """Return an opening in the wall as a barred box."""
    points = _shape(box, view)
    left, top, right, bottom = _bounds(points)
    frame = svg.path(points, fill=svg.WHITE, width=0.6)
    bars = svg.line(left, top, right, bottom, 0.3) + svg.line(left, bottom, right, top, 0.3)
    body = (left, top, right, bottom)
    return Symbol(frame + bars, body, (body,))


def sensor_symbol(x: float, y: float) -> Markup:
    """Return the sign of a sensor: a black triangle on its tip, the tip where the sensor is."""
    points = [(x, y + 0.9), (x - 1.2, y - 1.2), (x + 1.2, y - 1.2)]
    return svg.path(points, fill=svg.BLACK, width=0.1)


def spot_symbol(x: float, y: float) -> Markup:
    """Return the sign of a cold place: a cross."""
    return svg.line(x - SPOT, y - SPOT, x + SPOT, y + SPOT, 0.5) + svg.line(
        x - SPOT, y + SPOT, x + SPOT, y - SPOT, 0.5
    )


def badge(x: float, y: float, words: str) -> Markup:
    """Return the number of a cold place, white in a black box."""
    return svg.rectangle(x - 1.9, y - 1.5, 3.8, 3.0, fill=svg.BLACK, stroke="none") + svg.text(
        x, y, words, 2.4, fill=svg.WHITE, is_bold=True
    )


def alarm_symbol(x: float, y: float) -> Markup:
    """Return the sign of a fire device under the ceiling: a ring within a ring."""
    return svg.circle(x, y, 1.4, width=0.3) + svg.circle(x, y, 0.6, width=0.3)


def _shape(box: Box, view: PlanView) -> list[Point]:
    return [view.at(x, y) for x, y in hull([(p[0], p[1]) for p in corners(box)])]


def _bounds(points: Sequence[Point]) -> Rectangle:
    x, y = zip(*points, strict=True)
    return (min(x), min(y), max(x), max(y))


def _around(rectangles: Sequence[Rectangle]) -> Rectangle:
    left, top, right, bottom = zip(*rectangles, strict=True)
    return (min(left), min(top), max(right), max(bottom))


def _pieces(points: Iterable[Point], size: float) -> tuple[Rectangle, ...]:
    return tuple(about(point, size, size) for point in points)
