"""The moves that a crew can make where places stay cold: each is a few values of the case.

Moves of preparation are what the furniture itself advises (``Furniture.advice``), shut doors, and
piles that can go out. Moves of equipment aim at the worst places: a fan or a heater turned to
face one, a fan more beside one, a board over a window.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.assessment.plugging import allowed_power, is_same_voltage
from simulator.assessment.readiness import readiness
from simulator.assessment.readiness_item import Topic
from simulator.case.as_written import equipment_tables
from simulator.case.case import Case
from simulator.case.constructions import CONSTRUCTIONS
from simulator.case.dwelling import Room
from simulator.case.parts import AirMover, HeatedJet, Vector
from simulator.studies.fan_layout import FAN_VOLTAGE
from simulator.studies.free_floor import free_floor, in_words, reach
from simulator.studies.layout import fan_voltage
from simulator.units import length_in_both

#: Worst places that fans and heaters are turned to, and that a fan more is set beside.
MOST_AIMS, MOST_FANS_MORE = 3, 2

#: A turn smaller than this is no move worth making [deg] (choice).
LEAST_TURN = 15.0

#: Fans and heaters are tilted no farther than this [deg] (choice: what their stands allow).
MOST_TILT = 30.0

#: How far from a cold place a fan more is set, floor permitting [m] (estimate).
STAND_OFF = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """One thing that a crew can do; every move is itself alone.

    Attributes
    ----------
    words : as an order.
    about : what it handles; two moves about one thing, or about a piece and one of its own
        things, are not combined.
    values : dotted keys and their values, as for ``varied``.
    remove : furniture that goes out.
    item : key of the readiness item that it is, or nothing.
    """

    words: str
    about: tuple[str, ...]
    values: Mapping[str, Any] = field(default_factory=dict)
    remove: tuple[str, ...] = ()
    item: str = ""

    def goes_with(self, other: "Move") -> bool:
        """Tell whether both can be made."""
        shared = min(len(self.about), len(other.about))
        return self.about[:shared] != other.about[:shared]


Source = Callable[[Case, Assessment], Iterator[Move]]


def moves_for(case: Case, answer: Assessment) -> tuple[Move, ...]:
    """Return every move worth trying, those of preparation first."""
    return tuple(move for source in SOURCES for move in source(case, answer))


def preparation(case: Case, answer: Assessment) -> Iterator[Move]:
    """Yield what the readiness lists say is yet to be done and the case can say."""
    for item in readiness(case).items:
        if item.topic is not Topic.PREPARATION or not item.overrides:
            continue
        owner, _, what = item.key.partition(": ")
        removed = _taken_out(case, item.overrides)
        if removed:
            yield Move(item.words, (owner,), remove=removed, item=item.key)
        else:
            yield Move(item.words, (owner, what), item.overrides, item=item.key)


def _taken_out(case: Case, overrides: Mapping[str, object]) -> tuple[str, ...]:
    """Return the furniture that overrides take out."""
    out = overrides.get("preparation.remove", ())
    names = out if isinstance(out, Sequence) else ()
    return tuple(name for name in names if name in case.furniture_words)


def piles(case: Case, answer: Assessment) -> Iterator[Move]:
    """Yield each pile, to be taken out and treated elsewhere."""
    known = {row.owner for row in case.advice if row.advice.removes}
    for name, words in case.furniture_words.items():
        if words == "clutter" and name not in known:
            yield Move(f"{name}: take it out and treat it elsewhere", (name,), remove=(name,))


def aims(case: Case, answer: Assessment) -> Iterator[Move]:
    """Yield fans and heaters turned to face the worst places of their room."""
    entries = {str(entry.get("name")): entry for entry in equipment_tables(case)}
    for part in case.parts:
        if not isinstance(part, AirMover | HeatedJet) or not _can_say(part.owner, entries):
            continue
        room = str(entries[part.owner].get("room"))
        for spot in _worst(answer, room, case)[:MOST_AIMS]:
            turn, tilt = _aim(part.centre, spot.centre)
            if _apart(part.direction, turn, tilt) < LEAST_TURN:
                continue
            values = {
                f"layout.equipment.{part.owner}.turn": f"{turn:.0f} deg",
                f"layout.equipment.{part.owner}.tilt": f"{tilt:.0f} deg",
            }
            words = f"{part.owner}: turn it to {turn:.0f}°{_tilted(tilt)}, at {_short(spot)}"
            yield Move(words, (part.owner, "aim"), values)


def fans_more(case: Case, answer: Assessment) -> Iterator[Move]:
    """Yield one fan more beside each of the worst places, if a circuit has room for it."""
    entries = equipment_tables(case)
    fans = [entry for entry in entries if entry.get("kind") == "fan"]
    power = float(next((load.power for load in case.loads if load.words == "fan"), 200.0))
    for spot in [spot for spot in answer.cold_spots if spot.room][:MOST_FANS_MORE]:
        room = _room(case, spot.room)
        circuit = _circuit_with_room(case, spot.room, power)
        if room is None or (case.circuits and circuit is None):
            continue
        wished = _beside(room, spot)
        at = free_floor(case, room.name).nearest(wished, reach(0.50))
        if at is None:
            continue
        height = 0.40
        turn, tilt = _aim(
            (room.low[0] + at[0], room.low[1] + at[1], room.low[2] + height), spot.centre
        )
        name = _new_name("fan", [str(entry.get("name")) for entry in entries])
        fan = {
            **(dict(fans[0]) if fans else {"kind": "fan"}),
            "name": name,
            "room": room.name,
            "at": [f"{at[0]:.2f} m", f"{at[1]:.2f} m"],
            "turn": f"{turn:.0f} deg",
            "tilt": f"{tilt:.0f} deg",
            "height": f"{height:.2f} m",
        }
        values: dict[str, Any] = {"layout.equipment": [*(dict(entry) for entry in entries), fan]}
        plugged = ""
        if circuit is not None:
            index, loads = circuit
            values[f"layout.circuit.{case.circuits[index].name}.loads"] = [*loads, name]
            plugged = f", plugged into {case.circuits[index].name}"
        words = (
            f"set up {name} in the {room.name}, {in_words(room, at, length_in_both)}, turned to "
            f"{turn:.0f}°{_tilted(tilt)}, at {_short(spot)}{plugged}"
        )
        yield Move(words, ("equipment",), values)


def windows(case: Case, answer: Assessment) -> Iterator[Move]:
    """Yield a board over each window whose glazing has such a construction ready."""
    for window in case.dwelling.windows:
        boarded = f"boarded_{window.envelope.construction.name}"
        if boarded in CONSTRUCTIONS and "." not in window.name and window.opening == 0.0:
            yield Move(
                f"{window.name}: cover it with a 25 mm (1 in) foil-faced foam board, taped at "
                "its edges (a board that its maker allows this heat)",
                (window.name,),
                {f"dwelling.window.{window.name}.construction": boarded},
            )


#: Where moves come from, in the order in which they are listed.
SOURCES: tuple[Source, ...] = (preparation, piles, aims, fans_more, windows)


def _can_say(name: str, entries: Mapping[str, Any]) -> bool:
    return name in entries and "." not in name


def _worst(answer: Assessment, room: str, case: Case) -> list[ColdSpot]:
    """Return the cold spots of a room, the worst first; a dwelling of one room names none."""
    only = len(case.dwelling.rooms) == 1
    return [spot for spot in answer.cold_spots if only or spot.room == room]


def _room(case: Case, name: str) -> Room | None:
    return next((room for room in case.dwelling.rooms if room.name == name), None)


def _aim(start: Vector, end: Vector) -> tuple[float, float]:
    """Return the compass turn and the tilt from one point to another [deg]."""
    dx, dy, dz = (b - a for a, b in zip(start, end, strict=True))
    turn = math.degrees(math.atan2(dy, dx)) % 360.0
    tilt = math.degrees(math.atan2(dz, math.hypot(dx, dy)))
    return round(turn) % 360.0, float(round(min(max(tilt, -MOST_TILT), MOST_TILT)))


def _apart(direction: Vector, turn: float, tilt: float) -> float:
    """Return the angle between a direction and an aim [deg]."""
    along, up = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    x, y = along * math.cos(math.radians(turn)), along * math.sin(math.radians(turn))
    cosine = direction[0] * x + direction[1] * y + direction[2] * up
    return math.degrees(math.acos(min(max(cosine, -1.0), 1.0)))


def _tilted(tilt: float) -> str:
    if tilt == 0.0:
        return ""
    return f", tilted {abs(tilt):.0f}° {'up' if tilt > 0.0 else 'down'}"


def _short(spot: ColdSpot) -> str:
    """Return a cold spot's words without what else lies in it."""
    return spot.words.split(" (and ")[0]


def _beside(room: Room, spot: ColdSpot) -> tuple[float, float]:
    """Return the spot on the floor that is ``STAND_OFF`` from a place, towards the middle [m]."""
    x, y = (spot.centre[axis] - room.low[axis] for axis in (0, 1))
    to_middle = (0.5 * room.size[0] - x, 0.5 * room.size[1] - y)
    away = max(math.hypot(*to_middle), 1e-6)
    return (x + STAND_OFF * to_middle[0] / away, y + STAND_OFF * to_middle[1] / away)


def _new_name(word: str, taken: Sequence[str]) -> str:
    number = 1
    while f"{word} {number}" in taken:
        number += 1
    return f"{word} {number}"


def _circuit_with_room(case: Case, room: str, power: float) -> tuple[int, tuple[str, ...]] | None:
    """Return the circuit that can best carry so much more [W], and its loads; None: none can."""
    draws = {load.name: load.power for load in case.loads}
    voltage = fan_voltage(case) or FAN_VOLTAGE
    best: tuple[float, int] | None = None
    for index, circuit in enumerate(case.circuits):
        if "." in circuit.name or not is_same_voltage(circuit.voltage, voltage):
            continue
        if circuit.rooms and room not in circuit.rooms:
            continue
        left = allowed_power(circuit) - sum(draws.get(name, 0.0) for name in circuit.loads)
        if left >= power and (best is None or left > best[0]):
            best = (left, index)
    return None if best is None else (best[1], case.circuits[best[1]].loads)
