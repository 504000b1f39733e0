"""The drawing of a case as plain numbers: rooms, openings, and what everything covers from above.

Metres, in the dwelling's own axes: x east, y north, z up.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from simulator.case.attached_files import supply
from simulator.case.case import Case
from simulator.case.documents import Spot, Table
from simulator.case.dwelling import Dwelling
from simulator.case.entries import kind_name, read_entries
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.placement import Furniture
from simulator.case.layout_file import PreparationFile
from simulator.case.overlap import corners
from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, PorousPart, SolidPart
from simulator.case.placing import Placed, place
from simulator.case.sections import Sections
from simulator.workspace.operations import Texts

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Layout:
    """The pieces of a case where they stand, and the tables that they were read from."""

    placed: tuple[Placed, ...]
    tables: tuple[Table, ...]
    removed: tuple[str, ...]


def laid_out(texts: Texts, main: str, dwelling: Dwelling) -> Layout:
    """Return the pieces of a case that loads; ``texts`` hold its attached files too."""
    sections = Sections(texts, main, "")
    state = (
        sections.record(PreparationFile, sections.section("preparation").without("furniture"))
        or PreparationFile()
    )
    furniture, equipment = sections.furniture(state), sections.equipment()
    pieces = read_entries(furniture, FURNITURE, sections.problems)
    entries: list[tuple[Furniture | Equipment, Spot]] = [
        *supply(pieces, texts, "", sections.used),
        *read_entries(equipment, EQUIPMENT, sections.problems),
    ]
    placed = place(entries, dwelling)
    return Layout(placed, (*furniture, *equipment), state.remove)


def drawing(case: Case, layout: Layout) -> dict[str, Any]:
    """Return all that the plan draws."""
    dwelling = case.dwelling
    return {
        "rooms": [
            {"name": room.name, "low": room.low, "size": room.size} for room in dwelling.rooms
        ],
        "doorways": [
            {"name": door.name, "low": door.low, "high": door.high, "open": door.is_open}
            for door in dwelling.doorways
        ],
        "windows": [
            {
                "name": window.name,
                "room": window.room,
                "side": window.side.name.lower(),
                "low": window.low,
                "high": window.high,
                "open": window.opening,
            }
            for window in dwelling.windows
        ],
        "sockets": [
            {"room": socket.room, "side": socket.side.name.lower(), "at": socket.position}
            for socket in dwelling.sockets
        ],
        "pieces": [_piece(piece) for piece in layout.placed],
        "removed": list(layout.removed),
    }


def _piece(piece: Placed) -> dict[str, Any]:
    entry = piece.entry
    parts = [part for part in piece.pieces.parts if isinstance(part, SolidPart | PorousPart)]
    low = piece.room.low
    drawn: dict[str, Any] = {
        "name": entry.name,
        "role": "furniture" if isinstance(entry, Furniture) else "equipment",
        "kind": kind_name(type(entry)),
        "words": piece.pieces.words,
        "room": entry.room,
        "may_overlap": entry.may_overlap,
        "parts": [
            {
                "name": part.name,
                "outline": outline([part.box]),
                "low": min(point[2] for point in corners(part.box)) - low[2],
                "high": max(point[2] for point in corners(part.box)) - low[2],
                "is_loose": isinstance(part, PorousPart),
            }
            for part in sorted(parts, key=lambda part: part.box.centre[2])
        ],
        "claim": outline(piece.pieces.footprint) if piece.pieces.footprint else [],
        "jets": [
            _jet(part) for part in piece.pieces.parts if isinstance(part, AirMover | HeatedJet)
        ],
        "openings": [
            outline([part.box]) for part in piece.pieces.parts if isinstance(part, AirOutlet)
        ],
        "points": [probe.position for probe in piece.pieces.probes],
    }
    for key in ("at", "turn", "tilt", "elevation", "height"):
        value = getattr(entry, key, None)
        if value is not None:
            drawn[key] = value
    return drawn


def _jet(part: AirMover | HeatedJet) -> dict[str, Any]:
    return {
        "centre": part.centre,
        "direction": part.direction,
        "diameter": part.diameter,
        "is_hot": isinstance(part, HeatedJet),
    }


def outline(boxes: Iterable[Box]) -> list[Point]:
    """Return the corners of what boxes together cover from above, anticlockwise and convex."""
    points = sorted({(round(p[0], 4), round(p[1], 4)) for box in boxes for p in corners(box)})
    return [*_half(points), *_half(points[::-1])] if len(points) > 2 else points


def _half(points: list[Point]) -> list[Point]:
    """Return one side of a convex hull without its last point (Andrew 1979, from memory)."""
    side: list[Point] = []
    for point in points:
        while len(side) > 1 and _turns_right(side[-2], side[-1], point):
            side.pop()
        side.append(point)
    return side[:-1]


def _turns_right(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0.0
