"""Where in a room a new piece can stand: the first free place of a raster, walls first."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from simulator.case.dwelling import Doorway, Dwelling, Room
from simulator.case.entries import kind_name
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.placement import Furniture
from simulator.case.overlap import corners, overlap_depth
from simulator.case.parts import Box
from simulator.case.placing import SLACK, Placed
from simulator.errors import CaseError
from simulator.units import System, format_quantity, parse_quantity

#: Raster of places that are tried, and what is kept free along walls and between pieces [m].
RASTER, CLEAR = 0.25, 0.05

#: Depth kept free before a doorway [m] (estimate: the swing of its leaf).
PASSAGE = 0.8

_KINDS: Mapping[str, type[Furniture] | type[Equipment]] = {
    **{kind_name(kind): kind for kind in FURNITURE},
    **{kind_name(kind): kind for kind in EQUIPMENT},
}
_TURNS = (0, 90, 180, 270)


def with_place(
    entry: Mapping[str, Any], dwelling: Dwelling, placed: Sequence[Placed], units: System = "si"
) -> dict[str, Any]:
    """Return an entry of a list with a place for it: ``at``, and the turn that it needs.

    A piece is put along a wall and faces, or blows at, the middle of the room; what may stand in
    other pieces' space, or hangs above them, is put in the middle.

    Parameters
    ----------
    entry : the table of a new piece, as a case file has it, without ``at``.
    dwelling, placed : what is there.
    units : in which the place is written.

    Raises
    ------
    CaseError
        Its kind or room is not known, or no place of the raster is free.
    """
    kind = _KINDS.get(str(entry.get("kind")))
    room = next((room for room in dwelling.rooms if room.name == entry.get("room")), None)
    if kind is None or room is None:
        raise CaseError("choose a kind and a room for the new piece")
    if "at" not in kind.model_fields:
        return dict(entry)
    middle = (0.5 * room.size[0], 0.5 * room.size[1])
    if "turn" not in kind.model_fields:
        return {**entry, "at": _written((*middle, min(1.5, 0.6 * room.size[2])), units)}
    taken = [
        box for piece in placed if not piece.entry.may_overlap for box in piece.pieces.footprint
    ]
    taken += [_before(door) for door in dwelling.doorways if room.name in door.rooms]
    front = -90.0 if issubclass(kind, Furniture) else 0.0
    candidates = []
    for turn in [entry["turn"]] if "turn" in entry else [f"{turn} deg" for turn in _TURNS]:
        turned = {**entry, "turn": turn}
        boxes = _claimed(kind, turned, room)
        facing = math.radians(parse_quantity(turn, "angle") + front)
        for at in _places(room, boxes):
            away = [at[axis] - middle[axis] for axis in (0, 1)]
            far = max(abs(away[0]), abs(away[1]))
            looks = -(away[0] * math.cos(facing) + away[1] * math.sin(facing))
            is_turned_away = looks < 0.5 * math.hypot(*away)
            key = (far, 0.0) if kind.may_overlap else (float(is_turned_away), -far)
            candidates.append((key, at, turned, boxes))
    for _, at, turned, boxes in sorted(candidates, key=lambda row: (row[0], row[1][1], row[1][0])):
        if kind.may_overlap or _is_free(boxes, at, taken):
            return {**turned, "at": _written(at, units)}
    raise CaseError(
        f"there is no free place for '{entry.get('name')}' in room '{room.name}'; "
        "move something, or take something out"
    )


def _written(place: Sequence[float], units: System) -> list[str]:
    """Return a place as a file has it."""
    if units == "us":
        return [format_quantity(value, "length", units) for value in place]
    return [f"{value:.2f} m" for value in place]


def _before(door: Doorway) -> Box:
    """Return the space on both sides of a doorway in which nothing is put."""
    across = 0 if door.high[0] - door.low[0] < door.high[1] - door.low[1] else 1
    size = [high - low for low, high in zip(door.low, door.high, strict=True)]
    size[across] += 2.0 * PASSAGE
    x, y, z = (0.5 * (low + high) for low, high in zip(door.low, door.high, strict=True))
    return Box((x, y, z), (size[0], size[1], size[2]))


def _claimed(kind: Any, entry: Mapping[str, Any], room: Room) -> list[Box]:
    """Return what the piece would claim with its origin at the room's south-west corner."""
    try:
        record = kind.model_validate({**entry, "at": ["0 m", "0 m"]})
        return list(record.compile(room).footprint)
    except ValueError as error:
        raise CaseError(f"'{entry.get('name')}': {str(error).splitlines()[0]}") from None


def _places(room: Room, boxes: Sequence[Box]) -> Iterator[tuple[float, float]]:
    """Yield the places at which the piece lies within the room."""
    points = [point for box in boxes for point in corners(box)]
    if not points:
        yield round(0.5 * room.size[0], 2), round(0.5 * room.size[1], 2)
        return
    spans = []
    for axis in (0, 1):
        low = min(point[axis] for point in points) - room.low[axis]
        high = max(point[axis] for point in points) - room.low[axis]
        first, last = CLEAR - low, room.size[axis] - CLEAR - high
        if last < first:
            return
        count = int((last - first) / RASTER)
        spans.append([first + number * RASTER for number in range(count + 1)])
        spans[-1].append(last)
    yield from ((round(x, 2), round(y, 2)) for x in spans[0] for y in spans[1])


def _is_free(boxes: Sequence[Box], at: tuple[float, float], taken: Sequence[Box]) -> bool:
    moved = [
        Box((box.centre[0] + at[0], box.centre[1] + at[1], box.centre[2]), box.size, box.turn)
        for box in boxes
    ]
    return all(overlap_depth(one, other) <= -CLEAR + SLACK for one in moved for other in taken)
