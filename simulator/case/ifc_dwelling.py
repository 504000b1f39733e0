"""A building model's boxes as the text of a dwelling file, with notes on what was left open."""

import json
import math
from dataclasses import dataclass

from simulator.case.ifc_import import BOX_SHARE, BuildingModel, ModelBox

#: Spaces farther apart than this are no neighbours [m]: the thickest partition of a dwelling file.
THICKEST = 0.60

#: Openings may stick out of a room's side by this [m] (choice: frames, thresholds).
SLACK = 0.02

_SIDES = (("west", 0, -1), ("east", 0, 1), ("south", 1, -1), ("north", 1, 1))


@dataclass(frozen=True, slots=True)
class Assumed:
    """What a building model does not tell, as a dwelling file writes it."""

    start: str = "20 degC"
    outdoors: str = "5 degC"
    walls: str = "frame_wall"
    floor: str = "carpeted_wood_floor"
    ceiling: str = "attic_ceiling"
    floor_behind: str = "mirror"
    ceiling_behind: str = "outdoors"


def dwelling_text(model: BuildingModel, source: str, assumed: Assumed) -> tuple[str, list[str]]:
    """Return the text of a dwelling file, and a line for each thing that was left out or assumed.

    Parameters
    ----------
    source : name of the model's file, for the first line.
    """
    notes = [
        "not in the model, assumed: "
        f"walls {assumed.walls}, floors {assumed.floor}, ceilings {assumed.ceiling}, "
        f"{assumed.start} at the start, {assumed.outdoors} outdoors"
    ]
    if model.turned:
        notes.append(f"the building was turned by {-model.turned:.2f} deg to stand straight")
    origin = [min(space.low(axis) for space in model.spaces) for axis in range(3)]
    lines = [
        f"# Read from {_one_line(source)}. Constructions, temperatures and what is in the",
        "# furniture are no part of a building model: check each of them.",
        f"name = {_quoted(model.name[:60])}",
        f"start = {_quoted(assumed.start)}",
        f"outdoors = {{ temperature = {_quoted(assumed.outdoors)} }}",
        "",
        "[shell]",
        f"walls = {_side(assumed.walls, 'outdoors')}",
        f"floor = {_side(assumed.floor, assumed.floor_behind)}",
        f"ceiling = {_side(assumed.ceiling, assumed.ceiling_behind)}",
    ]
    inner = {space.name: _inner_sides(space, model) for space in model.spaces}
    if any(inner.values()):
        lines += ["", "[[behind]]", 'name = "next door"', f"temperature = {_quoted(assumed.start)}"]
        notes.append("behind walls that are not external: 'next door', held at the start")
    for space in model.spaces:
        lines += _room(space, origin, inner[space.name], notes)
    for door in model.doors:
        lines += _doorway(door, model, notes)
    for window in model.windows:
        lines += _window(window, model, notes)
    for piece in model.furniture:
        lines += _furniture(piece, model, notes)
    return "\n".join(lines) + "\n", notes


def _room(space: ModelBox, origin: list[float], inner: list[str], notes: list[str]) -> list[str]:
    if space.fills < BOX_SHARE:
        notes.append(
            f"room '{space.name}' is no box: the box around it is {1.0 / space.fills:.2f} times as "
            "large; draw it as several rooms"
        )
    corner = [space.low(axis) - origin[axis] for axis in range(3)]
    lines = [
        "",
        "[[room]]",
        f"name = {_quoted(space.name)}",
        f"at = {_lengths(corner[:2])}",
        f"elevation = {_length(corner[2])}",
        f"size = {_lengths(list(space.size))}",
    ]
    return lines + [f"{side} = {_side('interior_wall', 'next door')}" for side in inner]


def _inner_sides(space: ModelBox, model: BuildingModel) -> list[str]:
    """Return the sides of a room behind which no other room lies and whose wall is not external."""
    return [
        name
        for name, axis, sign in _SIDES
        if not any(_faces(space, other, axis, sign) for other in model.spaces)
        and any(_faces(space, wall, axis, sign) for wall in model.inner_walls)
    ]


def _faces(space: ModelBox, other: ModelBox, axis: int, sign: int) -> bool:
    """Return whether a box lies before a side of a room, within a wall's thickness."""
    if other is space:
        return False
    own = space.high(axis) if sign > 0 else space.low(axis)
    near = other.low(axis) if sign > 0 else other.high(axis)
    gap = sign * (near - own)
    return -SLACK <= gap <= THICKEST and all(
        _overlap(space, other, across) > 0.1 for across in {0, 1, 2} - {axis}
    )


def _overlap(one: ModelBox, other: ModelBox, axis: int) -> float:
    return min(one.high(axis), other.high(axis)) - max(one.low(axis), other.low(axis))


def _doorway(door: ModelBox, model: BuildingModel, notes: list[str]) -> list[str]:
    """Return the doorway between the two rooms that a door joins."""
    for first in model.spaces:
        for _, axis, sign in _SIDES[1::2]:
            for second in model.spaces:
                if not _faces(first, second, axis, sign):
                    continue
                between = first.high(axis) - 0.1 <= door.centre[axis] <= second.low(axis) + 0.1
                if (
                    not between
                    or min(_overlap(door, room, 1 - axis) for room in (first, second)) <= 0
                ):
                    continue
                along, width = _span(door, first, 1 - axis, second)
                sill, height = _span(door, first, 2, second)
                return [
                    "",
                    "[[doorway]]",
                    f"name = {_quoted(door.name)}",
                    f"between = [{_quoted(first.name)}, {_quoted(second.name)}]",
                    f"along = {_length(along)}",
                    f"width = {_length(width)}",
                    f"height = {_length(height)}",
                    f"sill = {_length(sill)}",
                ]
    notes.append(f"door '{door.name}' joins no two rooms and was left out: it counts as wall")
    return []


def _window(window: ModelBox, model: BuildingModel, notes: list[str]) -> list[str]:
    for space in model.spaces:
        for side, axis, sign in _SIDES:
            own = space.high(axis) if sign > 0 else space.low(axis)
            gap = sign * (window.centre[axis] - own)
            inside = min(_overlap(window, space, across) for across in (1 - axis, 2))
            if not -0.1 <= gap <= THICKEST or inside < 0.1:
                continue
            along, width = _span(window, space, 1 - axis)
            sill, height = _span(window, space, 2)
            return [
                "",
                "[[window]]",
                f"name = {_quoted(window.name)}",
                f"room = {_quoted(space.name)}",
                f"side = {_quoted(side)}",
                f"along = {_length(along)}",
                f"sill = {_length(sill)}",
                f"width = {_length(width)}",
                f"height = {_length(height)}",
            ]
    notes.append(f"window '{window.name}' is in no room's wall and was left out")
    return []


def _span(
    opening: ModelBox, room: ModelBox, axis: int, other: ModelBox | None = None
) -> tuple[float, float]:
    """Return where an opening begins, from the first room's low end, and its length [m]."""
    rooms = (room,) if other is None else (room, other)
    low = max(opening.low(axis), *(r.low(axis) for r in rooms))
    high = min(opening.high(axis), *(r.high(axis) for r in rooms))
    return max(0.0, low - room.low(axis)), high - low


def _furniture(piece: ModelBox, model: BuildingModel, notes: list[str]) -> list[str]:
    """Return a piece as a box of packed goods: a model does not say what is in it."""
    for space in model.spaces:
        if all(space.low(a) <= piece.centre[a] <= space.high(a) for a in range(3)):
            lift = max(0.0, piece.low(2) - space.low(2))
            at = [piece.centre[axis] - space.low(axis) for axis in (0, 1)]
            size = " x ".join(f"{length:.2f}" for length in piece.size)
            notes.append(
                f"furniture '{piece.name}' became a box of packed goods of {size} m; "
                "give it the kind that it is"
            )
            return [
                "",
                "[[furniture]]",
                'kind = "clutter" # the model does not say what it is made of',
                f"name = {_quoted(piece.name)}",
                f"room = {_quoted(space.name)}",
                f"at = {_lengths(at)}",
                f'turn = "{piece.turn:g} deg"',
                f"elevation = {_length(lift)}",
                f"size = {_lengths(list(piece.size))}",
                'packing = "packed"',
            ]
    notes.append(f"furniture '{piece.name}' stands in no room and was left out")
    return []


def _side(construction: str, behind: str) -> str:
    return f"{{ construction = {_quoted(construction)}, behind = {_quoted(behind)} }}"


def _length(value: float) -> str:
    return f'"{0.0 if math.isclose(value, 0.0, abs_tol=5e-4) else value:.3f} m"'


def _lengths(values: list[float]) -> str:
    return f"[{', '.join(_length(value) for value in values)}]"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _one_line(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text)
