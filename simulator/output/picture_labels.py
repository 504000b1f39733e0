"""Labels in the drawing of a room: numbers of cold spots, names of machines and rooms."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.parts import AirMover, HeatedJet, Vector
from simulator.output.label_places import Label, Rectangle, place_labels
from simulator.output.pen import FAN, HEATER, INK, SPOT_BADGE, Pen
from simulator.output.stage import Stage

#: More numbers than this would cover the room.
MOST_BADGES = 12

#: Width of the disc around a number [pixels].
BADGE = 30.0


@dataclass(frozen=True, slots=True)
class Name:
    """A name to be written near ``anchor`` [pixels of the stage]; ``size`` [pixels]."""

    text: str
    anchor: tuple[float, float]
    colour: str
    size: float
    style: str
    reach: float  # distance to keep from the anchor [pixels]


def draw_labels(pen: Pen, case: Case, assessment: Assessment, stage: Stage) -> None:
    """Draw numbers on the cold spots, then names where there is space for them."""
    spots = assessment.cold_spots[:MOST_BADGES]
    anchors = [_pixel(stage, spot.centre) for spot in spots]
    names = [*_machine_names(case, stage), *_room_names(case, stage)]
    texts = [_written(pen, name) for name in names]
    renderer = pen.axes.figure.canvas.get_renderer()
    labels = [Label(anchor, BADGE * pen.unit, BADGE * pen.unit) for anchor in anchors]
    for name, text in zip(names, texts, strict=True):
        box = text.get_window_extent(renderer)
        labels.append(Label(name.anchor, box.width + 4.0, box.height + 2.0, name.reach, True))
    middles = place_labels(labels, stage.size, tuple(_machine_outlines(case, stage)))
    # The first rank is drawn last, on top.
    for spot, anchor, middle in reversed(list(zip(spots, anchors, middles, strict=False))):
        _draw_badge(pen, spot.rank, anchor, middle)
    for text, middle in zip(texts, middles[len(spots) :], strict=True):
        text.set_position(middle)


def _written(pen: Pen, name: Name) -> Any:
    """Return the name as text with a white rim, not yet in its place."""
    from matplotlib import patheffects

    text = pen.write(0.0, 0.0, name.text, name.size, name.colour, align="center")
    text.set(style=name.style, zorder=6)
    text.set_path_effects([patheffects.withStroke(linewidth=3.0 * pen.unit, foreground="white")])
    return text


def _draw_badge(
    pen: Pen, rank: int, anchor: tuple[float, float], middle: tuple[float, float]
) -> None:
    """Draw a number, and a line to its spot if it had to give way."""
    if np.hypot(middle[0] - anchor[0], middle[1] - anchor[1]) > 4.0:
        pen.axes.plot(
            [anchor[0], middle[0]], [anchor[1], middle[1]], color=SPOT_BADGE, lw=2.0 * pen.unit
        )
    pen.badge(middle[0] / pen.unit, middle[1] / pen.unit, rank)


def _machine_names(case: Case, stage: Stage) -> list[Name]:
    return [
        Name(
            text=part.owner,
            anchor=_pixel(stage, part.centre),
            colour=FAN if isinstance(part, AirMover) else HEATER,
            size=15.0,
            style="normal",
            reach=_radius(stage, part),
        )
        for part in case.parts
        if isinstance(part, AirMover | HeatedJet)
    ]


def _room_names(case: Case, stage: Stage) -> list[Name]:
    """Return the names of the rooms of a flat; a single room needs none."""
    if len(case.dwelling.rooms) == 1:
        return []
    names = []
    for room in case.dwelling.rooms:
        x, y, z = room.low
        place = (x + 0.5 * room.size[0], y + 0.25 * room.size[1], z)
        names.append(Name(room.name, _pixel(stage, place), INK, 17.0, "italic", 0.0))
    return names


def _machine_outlines(case: Case, stage: Stage) -> list[Rectangle]:
    """Return what fans and heaters with their arrows cover in the drawing."""
    outlines = []
    for part in case.parts:
        if isinstance(part, AirMover | HeatedJet):
            direction = np.asarray(part.direction) / np.linalg.norm(part.direction)
            tip = np.asarray(part.centre) + 1.1 * part.diameter * direction
            ends = stage.project(np.array([part.centre, tip]))
            rim = np.array([0.4, 0.6]) * _radius(stage, part)
            left, top = ends.min(axis=0) - rim
            right, bottom = ends.max(axis=0) + rim
            outlines.append((float(left), float(top), float(right), float(bottom)))
    return outlines


def _radius(stage: Stage, part: AirMover | HeatedJet) -> float:
    """Return the radius of an outlet in the drawing [pixels]."""
    x, y, z = part.centre
    rim = (x, y, z), (x, y, z + 0.5 * part.diameter), (x + 0.5 * part.diameter, y, z)
    here, above, east = stage.project(np.array(rim))
    return float(max(np.linalg.norm(above - here), np.linalg.norm(east - here)))


def _pixel(stage: Stage, point: Vector) -> tuple[float, float]:
    x, y = stage.project(np.array([point]))[0]
    return float(x), float(y)
