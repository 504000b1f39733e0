"""Where in a room a new piece can stand: the first free place of a raster, walls first."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from simulator.case.dwelling import Dwelling, Room
from simulator.case.entries import kind_name
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.placement import Furniture
from simulator.case.overlap import corners, overlap_depth
from simulator.case.parts import Box
from simulator.case.placing import SLACK, Placed
from simulator.errors import CaseError

#: Raster of places that are tried, and what is kept free along walls and between pieces [m].
RASTER, CLEAR = 0.25, 0.05

_KINDS: Mapping[str, type[Furniture] | type[Equipment]] = {
    **{kind_name(kind): kind for kind in FURNITURE},
    **{kind_name(kind): kind for kind in EQUIPMENT},
}
_TURNS = (0, 90, 180, 270)


def with_place(
    entry: Mapping[str, Any], dwelling: Dwelling, placed: Sequence[Placed]
) -> dict[str, Any]:
    """Return an entry of a list with a place for it: ``at``, and the turn that it needs.

    Parameters
    ----------
    entry : the table of a new piece, as a case file has it, without ``at``.
    dwelling, placed : what is there.

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
    if not issubclass(kind, Furniture) and "turn" not in kind.model_fields:
        middle = [f"{0.5 * room.size[axis]:.2f} m" for axis in (0, 1)]
        return {**entry, "at": [*middle, f"{min(1.5, 0.6 * room.size[2]):.2f} m"]}
    taken = [
        box for piece in placed if not piece.entry.may_overlap for box in piece.pieces.footprint
    ]
    for turn in _TURNS if "turn" not in entry else (None,):
        turned = dict(entry) if turn is None else {**entry, "turn": f"{turn} deg"}
        boxes = _claimed(kind, turned, room)
        for x, y in _places(room, boxes):
            if kind.may_overlap or _is_free(boxes, (x, y), taken):
                return {**turned, "at": [f"{x:.2f} m", f"{y:.2f} m"]}
    raise CaseError(
        f"there is no free place for '{entry.get('name')}' in room '{room.name}'; "
        "move something, or take something out"
    )


def _claimed(kind: Any, entry: Mapping[str, Any], room: Room) -> list[Box]:
    """Return what the piece would claim with its origin at the room's south-west corner."""
    try:
        record = kind.model_validate({**entry, "at": ["0 m", "0 m"]})
        return list(record.compile(room).footprint)
    except ValueError as error:
        raise CaseError(f"'{entry.get('name')}': {str(error).splitlines()[0]}") from None


def _places(room: Room, boxes: Sequence[Box]) -> Iterator[tuple[float, float]]:
    """Yield the places at which the piece lies within the room, those along the walls first."""
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
    middle = [0.5 * (span[0] + span[-1]) for span in spans]
    found = [(x, y) for x in spans[0] for y in spans[1]]
    found.sort(key=lambda p: (-max(abs(p[0] - middle[0]), abs(p[1] - middle[1])), p[1], p[0]))
    yield from ((round(x, 2), round(y, 2)) for x, y in found)


def _is_free(boxes: Sequence[Box], at: tuple[float, float], taken: Sequence[Box]) -> bool:
    moved = [
        Box((box.centre[0] + at[0], box.centre[1] + at[1], box.centre[2]), box.size, box.turn)
        for box in boxes
    ]
    return all(overlap_depth(one, other) <= -CLEAR + SLACK for one in moved for other in taken)
