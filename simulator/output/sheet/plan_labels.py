"""What is written on the plan: marks, rooms, names of furniture, numbers of cold places.

Labels are set in the order in which they matter: cold places, equipment, rooms, furniture. A piece
that has no room for its name gets a letter, and the name stands in the key.
"""

import math
from dataclasses import dataclass, field

from markupsafe import Markup

from simulator.case.dwelling import Room
from simulator.output.sheet import svg
from simulator.output.sheet.label_space import LabelSpace, Point, Rectangle
from simulator.output.sheet.marks import Mark
from simulator.output.sheet.plan_shell import format_length
from simulator.output.sheet.plan_symbols import badge
from simulator.output.sheet.plan_view import Outline, PlanView
from simulator.output.sheet.svg import text_width
from simulator.units import System

#: Sizes of type [mm]: marks, what stands below them, rooms, furniture (tried one by one), letters.
TAG, BELOW, ROOM, FURNITURE, LETTER = 2.9, 2.1, 3.0, (2.3, 2.0), 2.4

LINE = 1.12  # height of a line over the size of its type [-]

#: A label farther than this from its point is joined to it by a line [mm].
JOINED = 1.6


@dataclass(slots=True)
class PlanLabels:
    """Labels of a plan: ``drawn`` so far, and the names that ``letters`` stand for."""

    view: PlanView
    units: System
    space: LabelSpace
    drawn: list[Markup] = field(default_factory=list)
    letters: dict[str, str] = field(default_factory=dict)

    def spot(self, number: str, at: Point) -> None:
        """Write the number of a cold place."""
        place = self.space.near(at, 4.2, 3.4, 1.4)
        self._join(at, place, (4.2, 3.4))
        self.drawn.append(badge(*place, number))

    def mark(self, mark: Mark, body: Rectangle, when: str) -> None:
        """Write the mark of a machine or sensor, with its height and tilt below."""
        below = when or self._height_and_tilt(mark)
        width = max(text_width(mark.tag, TAG) * 1.08, text_width(below, BELOW)) + 1.0
        height = TAG * LINE + (BELOW * LINE if below else 0.0) + 0.6
        anchor = (0.5 * (body[0] + body[2]), 0.5 * (body[1] + body[3]))
        x, y = self.space.near(anchor, width, height, 1.0)
        self._join(_nearest(body, (x, y)), (x, y), (width, height))
        top = y - 0.5 * height + 0.3
        self.drawn.append(svg.text(x, top + 0.5 * TAG * LINE, mark.tag, TAG, is_bold=True))
        if below:
            self.drawn.append(svg.text(x, top + (TAG + 0.5 * BELOW) * LINE, below, BELOW))

    def room(self, room: Room) -> None:
        """Write a room's name and size, in as many lines as there is room for."""
        sides = [format_length(length, self.units) for length in room.size]
        flat, up = f"{sides[0]} x {sides[1]}", _up(room.size[2], self.units)
        box = self.view.box(room.low, room.high)
        for below in ([f"{flat}, {up}"], [flat, up], [sides[0], f"x {sides[1]}", up], []):
            widths = [text_width(line, BELOW) for line in below]
            width = max(text_width(room.name, ROOM) * 1.08, *widths, 0.0) + 0.8
            height = (ROOM + len(below) * BELOW) * LINE + 0.6
            place = self.space.anywhere_in(box, width, height, is_forced=not below)
            if place is not None:
                break
        assert place is not None
        x, top = place[0], place[1] - 0.5 * height + 0.3
        self.drawn.append(svg.text(x, top + 0.5 * ROOM * LINE, room.name, ROOM, is_bold=True))
        for number, line in enumerate(below):
            middle = top + (ROOM + (number + 0.5) * BELOW) * LINE
            self.drawn.append(svg.text(x, middle, line, BELOW))

    def furniture(self, outline: Outline) -> None:
        """Write the name of a piece in its outline, or a letter in it or beside it."""
        left, top, right, bottom = outline.bounds
        for size in FURNITURE:
            lines = _wrapped(outline.name, right - left - 0.8, size)
            if not lines:
                continue
            width = max(text_width(line, size) for line in lines)
            height = len(lines) * size * LINE
            place = self.space.within(outline.bounds, width, height)
            if place is not None:
                first = place[1] - 0.5 * height + 0.5 * size * LINE
                self.drawn += [
                    svg.text(place[0], first + index * size * LINE, line, size, fill="#222222")
                    for index, line in enumerate(lines)
                ]
                return
        self.letter(outline.name, (0.5 * (left + right), 0.5 * (top + bottom)), outline.bounds)

    def letter(
        self, name: str, at: Point, bounds: Rectangle | None = None, reach: float = 0.2
    ) -> None:
        """Write a letter for a name, within ``bounds`` if there is room, else beside the point."""
        letter = _letter(len(self.letters))
        self.letters[letter] = name
        width, height = text_width(letter, LETTER) + 0.4, LETTER * LINE
        place = None if bounds is None else self.space.within(bounds, width, height)
        if place is None:
            place = self.space.near(at, width, height, reach)
            self._join(at, place, (width, height))
        x, y = place
        letters = {"font_style": "italic", "font_weight": "bold"}
        self.drawn.append(
            svg.element(
                "text",
                letter,
                x=x,
                y=y + 0.35 * LETTER,
                font_size=LETTER,
                text_anchor="middle",
                **letters,
            )
        )

    def _height_and_tilt(self, mark: Mark) -> str:
        """Return the height of a machine's stream or of a sensor, and its tilt."""
        if mark.outlet is not None:
            return ""
        blower = mark.blower
        if blower is None:
            assert mark.probe is not None
            return _up(mark.probe.position[2] - mark.room.low[2], self.units)
        height = _up(blower.centre[2] - mark.room.low[2], self.units)
        tilt = math.degrees(math.asin(max(-1.0, min(1.0, blower.direction[2]))))
        return height if abs(tilt) < 0.5 else f"{height}, {tilt:+.0f}°".replace("-", "−")

    def _join(self, point: Point, middle: Point, size: tuple[float, float]) -> None:
        """Draw a line from a label to its point if it stands away from it."""
        edge = (
            min(max(point[0], middle[0] - 0.5 * size[0]), middle[0] + 0.5 * size[0]),
            min(max(point[1], middle[1] - 0.5 * size[1]), middle[1] + 0.5 * size[1]),
        )
        if math.dist(point, edge) > JOINED:
            self.drawn.append(svg.line(*point, *edge, width=0.15))


def _nearest(body: Rectangle, point: Point) -> Point:
    """Return the point of a rectangle that is nearest to another point."""
    return (min(max(point[0], body[0]), body[2]), min(max(point[1], body[1]), body[3]))


def _up(height: float, units: System) -> str:
    return f"h {format_length(height, units)}"


def _letter(number: int) -> str:
    """Return a, b, …, z, aa, ab, …"""
    first, second = divmod(number, 26)
    return (chr(96 + first) if first else "") + chr(97 + second)


def _wrapped(name: str, width: float, size: float) -> list[str]:
    """Return a name in lines that are no wider than ``width`` [mm]; none if a word is too long."""
    lines: list[str] = []
    for word in name.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if text_width(word, size) > width:
            return []
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
