"""Each machine and sensor of a layout with the short mark that stands for it on plan and lists."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Equipment
from simulator.case.parts import AirMover, AirOutlet, HeatedJet, Probe
from simulator.case.pieces import Pieces

#: The letter of each sort, and what it means.
LETTERS = {
    "F": "fan",
    "H": "heater",
    "D": "end of a hot-air duct",
    "E": "exhaust",
    "S": "sensor",
}

_NUMBER = re.compile(r"^\D*(\d+)$")


@dataclass(frozen=True, slots=True)
class Mark:
    """A piece of equipment: its mark ("F3"), what it is in words, and where it stands."""

    tag: str
    entry: Equipment
    room: Room
    pieces: Pieces

    @property
    def letter(self) -> str:
        """The letter of its sort."""
        return self.tag[0]

    @property
    def name(self) -> str:
        """Its name in the case."""
        return self.entry.name

    @property
    def blower(self) -> AirMover | HeatedJet | None:
        """What it blows with, or None."""
        for part in self.pieces.parts:
            if isinstance(part, AirMover | HeatedJet):
                return part
        return None

    @property
    def outlet(self) -> AirOutlet | None:
        """The opening that it is, or None."""
        return next((part for part in self.pieces.parts if isinstance(part, AirOutlet)), None)

    @property
    def probe(self) -> Probe | None:
        """The point that it watches, or None."""
        return next(iter(self.pieces.probes), None)


def marks_of(case: Case) -> tuple[Mark, ...]:
    """Return all equipment of a case in the order of its layout, each with its mark."""
    rooms = {room.name: room for room in case.dwelling.rooms}
    found = []
    for entry in equipment_of(case):
        room = rooms[entry.room]
        pieces = entry.compile(room)
        found.append((_letter(pieces), entry, room, pieces))
    numbers = _numbers((letter, entry.name) for letter, entry, _, _ in found)
    return tuple(
        Mark(f"{letter}{numbers[entry.name]}", entry, room, pieces)
        for letter, entry, room, pieces in found
    )


def _letter(pieces: Pieces) -> str:
    for part in pieces.parts:
        if isinstance(part, AirMover):
            return "F"
        if isinstance(part, HeatedJet):
            return "D" if part.intake is None else "H"
        if isinstance(part, AirOutlet):
            return "E"
    return "S"


def _numbers(named: Iterable[tuple[str, str]]) -> Mapping[str, int]:
    """Return a number for each name: its own if all of its letter have different ones."""
    by_letter: dict[str, list[str]] = {}
    for letter, name in named:
        by_letter.setdefault(letter, []).append(name)
    numbers: dict[str, int] = {}
    for names in by_letter.values():
        own = [int(match[1]) for name in names if (match := _NUMBER.match(name))]
        is_own = len(own) == len(names) == len(set(own))
        numbers.update(zip(names, own if is_own else range(1, len(names) + 1), strict=True))
    return numbers
