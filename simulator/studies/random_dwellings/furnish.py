"""Rooms furnished by lot: which pieces a room of each kind gets, and in which order."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from simulator.studies.random_dwellings import pieces
from simulator.studies.random_dwellings.floor_plans import FloorPlan, RoomPlan
from simulator.studies.random_dwellings.floor_space import FloorSpace, Place, Shape
from simulator.studies.random_dwellings.pieces import Clutter, Piece
from simulator.studies.random_dwellings.surroundings import WindowPlan

#: Room that a curtain takes along the wall beyond its window, and off the wall [m].
CURTAIN_SIDE, CURTAIN_DEPTH = 0.10, 0.24

#: Where the heads of the nightstands of a bed may stand beside it [m].
BESIDE = 0.04

#: Rooms that get no heater while others have none.
UNHEATED = ("corridor", "bathroom")


@dataclass(slots=True)
class Furnished:
    """What was put into the rooms: entries as a case file says them, and what is done to them."""

    furniture: list[dict[str, Any]] = field(default_factory=list)
    heaters: list[dict[str, Any]] = field(default_factory=list)
    changes: dict[str, dict[str, Any]] = field(default_factory=dict)
    removed: list[str] = field(default_factory=list)

    def add(self, piece: Piece, room: str, place: Place) -> None:
        """Note a piece that was put in its place, and what rides on it."""
        entry = {"kind": piece.kind, "name": piece.name, "room": room, "at": _at(place.at)}
        if piece.kind == "electric_heater":
            self.heaters.append({**entry, "turn": f"{(place.turn + 270) % 360} deg"})
            return
        self.furniture.append({**entry, "turn": f"{place.turn} deg", **piece.values})
        change = dict(piece.prepared)
        if piece.pulled:
            change["at"] = _at(place.ahead(piece.pulled))
        if piece.is_removed:
            self.removed.append(piece.name)
        elif change:
            self.changes[piece.name] = change
        if piece.rides is not None:
            self.add(piece.rides, room, _backed(piece, piece.rides, place))


def _at(spot: tuple[float, float]) -> list[str]:
    return [pieces.metres(spot[0]), pieces.metres(spot[1])]


def _backed(below: Piece, above: Piece, place: Place) -> Place:
    """Return where a piece stands over another one, their backs in one plane if it hangs."""
    if above.kind != "cabinet":
        return place
    return Place(place.ahead(0.5 * (above.shape.depth - below.shape.depth)), place.turn)


def furnish(
    plan: FloorPlan,
    windows: tuple[WindowPlan, ...],
    clutter: Clutter,
    heaters: int,
    lots: np.random.Generator,
) -> Furnished:
    """Return all rooms furnished, with heaters in the largest, and piles where floor is left."""
    done = Furnished()
    spaces = {room.name: _space(room, plan) for room in plan.rooms}
    for window in windows:
        _curtain(window, spaces[window.room], done)
    has_kitchen = any(room.kind == "kitchen" for room in plan.rooms)

    def putting(room: RoomPlan) -> _Putting:
        return _Putting(room, spaces[room.name], clutter, lots, done, has_kitchen)

    by_area = sorted(plan.rooms, key=lambda room: (room.kind in UNHEATED, -room.area))
    rest = {}
    for room in plan.rooms:
        steps = _STEPS[room.kind](putting(room))
        next(steps, None)  # what the room cannot do without comes before the heaters
        rest[room.name] = steps
    heated = sum(room.kind not in UNHEATED for room in plan.rooms)
    for number in range(heaters):
        first = number % heated
        for room in (*by_area[first:], *by_area[:first]):
            if _heater(f"heater {number + 1}", room, spaces[room.name], done, lots):
                break
    for room in plan.rooms:
        for _ in rest[room.name]:
            pass
    for room in plan.rooms:
        _piles(putting(room))
    return done


def _space(room: RoomPlan, plan: FloorPlan) -> FloorSpace:
    """Return a room's floor with the ways through its doors kept free."""
    space = FloorSpace(room.size)
    opposite = {"west": "east", "east": "west", "south": "north", "north": "south"}
    places = {other.name: other for other in plan.rooms}
    for door in plan.doors:
        first, second = (places[name] for name in door.rooms)
        axis = 1 if door.side in ("west", "east") else 0
        if room is first:
            space.keep_door(door.side, door.along, door.width)
        elif room is second:
            along = door.along + first.at[axis] - second.at[axis]
            space.keep_door(opposite[door.side], along, door.width)
    return space


def _curtain(window: WindowPlan, space: FloorSpace, done: Furnished) -> None:
    """Hang a curtain before a window if nothing is in its way."""
    along, width = window.along - CURTAIN_SIDE, window.width + 2.0 * CURTAIN_SIDE
    if not window.has_curtain or not space.take_at_wall(window.side, along, width, CURTAIN_DEPTH):
        return
    middle, away = along + 0.5 * width, 0.5 * CURTAIN_DEPTH
    at, turn = {
        "south": ((middle, away), 180),
        "north": ((middle, space.size[1] - away), 0),
        "west": ((away, middle), 90),
        "east": ((space.size[0] - away, middle), 270),
    }[window.side]
    values = {
        "elevation": pieces.metres(0.20),
        "width": pieces.metres(width),
        "height": pieces.metres(2.0),
    }
    name = f"curtain of the {window.room}, {window.side}"
    piece = Piece("curtain", name, Shape(width, CURTAIN_DEPTH), values, {"drawn": "parted"})
    done.add(piece, window.room, Place(at, turn))


def _heater(
    name: str, room: RoomPlan, space: FloorSpace, done: Furnished, lots: np.random.Generator
) -> bool:
    """Put a heater with its intake to a wall, or in the open; return whether there was floor."""
    for zone in (0.60, 0.30):
        piece = pieces.narrower(pieces.heater(name), zone)
        place = space.put_at_wall(piece.shape, lots) or space.put_anywhere(piece.shape, lots)
        if place is not None:
            done.add(piece, room.name, place)
            return True
    return False


@dataclass(frozen=True, slots=True)
class _Putting:
    """A room being furnished."""

    room: RoomPlan
    space: FloorSpace
    clutter: Clutter
    lots: np.random.Generator
    done: Furnished
    has_kitchen: bool

    def chance(self, share: float) -> bool:
        return bool(self.lots.random() < share)

    def at_wall(self, *candidates: Piece) -> Place | None:
        """Put the first of some pieces that fits along a wall."""
        for piece in candidates:
            place = self.space.put_at_wall(piece.shape, self.lots)
            if place is not None:
                self.done.add(piece, self.room.name, place)
                return place
        return None

    def anywhere(self, piece: Piece) -> None:
        place = self.space.put_anywhere(piece.shape, self.lots)
        if place is not None:
            self.done.add(piece, self.room.name, place)

    def named(self, what: str) -> str:
        return f"{what}, {self.room.name}"


def _bedroom(putting: _Putting) -> Iterator[None]:
    lots, clutter, named = putting.lots, putting.clutter, putting.named
    _bed(putting)
    yield
    _storage(putting, 0.5)
    if putting.chance(0.7):
        putting.at_wall(pieces.dresser(named("dresser"), lots, clutter))
    if putting.chance(0.35):
        putting.at_wall(pieces.desk(named("desk")))
    if putting.chance(0.3):
        putting.at_wall(pieces.bookcase(named("bookcase"), lots, clutter))
    if putting.chance(0.2):
        putting.at_wall(pieces.armchair(named("armchair")))


def _storage(putting: _Putting, wardrobes: float) -> None:
    """Put a wardrobe, with this chance, or a closet; where it does not fit, the other one."""
    found = [
        pieces.wardrobe(putting.named("wardrobe"), putting.lots, putting.clutter),
        pieces.closet(putting.named("closet"), putting.lots, putting.clutter),
    ]
    putting.at_wall(*(found if putting.chance(wardrobes) else reversed(found)))


def _bed(putting: _Putting) -> None:
    """Put a bed, and nightstands at its head."""
    sizes = pieces.beds(putting.named("bed"), putting.lots, putting.clutter)
    cramped = [pieces.narrower(piece, 0.0) for piece in sizes[-1:]]
    place = putting.at_wall(*sizes, *cramped)
    if place is None:
        return
    bed = next(entry for entry in putting.done.furniture if entry["name"] == putting.named("bed"))
    width = float(str(bed["width"]).split()[0]) + pieces.BOARDS
    length = float(str(bed["length"]).split()[0]) + pieces.BOARDS
    for side, name in ((-1.0, "nightstand, left"), (1.0, "nightstand, right")):
        piece = pieces.nightstand(f"{name}, {putting.room.name}", putting.lots, putting.clutter)
        across = side * (0.5 * (width + piece.shape.width) + BESIDE)
        back = Place(place.at, place.turn).ahead(0.5 * (piece.shape.depth - length))
        x, y = Place((0.0, 0.0), place.turn + 90).ahead(-across)
        spot = putting.space.try_at(piece.shape, (back[0] + x, back[1] + y), place.turn)
        if spot is not None and putting.chance(0.8):
            putting.done.add(piece, putting.room.name, spot)


def _living(putting: _Putting) -> Iterator[None]:
    lots, clutter = putting.lots, putting.clutter
    putting.at_wall(pieces.sofa(lots))
    yield
    if not putting.has_kitchen:
        _kitchenette(putting)
    yield from _lounge(putting)
    if putting.chance(0.5):
        putting.anywhere(pieces.dining_table("dining table", 4))
    if putting.chance(0.6):
        putting.at_wall(pieces.bookcase(putting.named("bookcase"), lots, clutter))


def _lounge(putting: _Putting) -> Iterator[None]:
    putting.at_wall(pieces.sideboard(putting.lots, putting.clutter))
    if putting.chance(0.5):
        putting.at_wall(pieces.armchair(putting.named("armchair")))
    if putting.chance(0.05):
        putting.at_wall(pieces.aquarium())
    if putting.chance(0.5):
        x, y = (0.5 * side for side in putting.room.size)
        rug = pieces.rug(putting.named("rug"), putting.lots)
        putting.done.add(rug, putting.room.name, Place((round(x, 3), round(y, 3)), 0))
    yield


def _studio(putting: _Putting) -> Iterator[None]:
    lots, clutter = putting.lots, putting.clutter
    _bed(putting)
    yield
    _kitchenette(putting)
    if putting.chance(0.6):
        putting.at_wall(pieces.sofa(lots))
    _storage(putting, 0.6)
    yield from _lounge(putting)
    if putting.chance(0.5):
        putting.anywhere(pieces.dining_table("table", 2))
    if putting.chance(0.4):
        putting.at_wall(pieces.bookcase("bookcase", lots, clutter))


def _kitchenette(putting: _Putting) -> None:
    _cabinets(putting, 2)
    putting.at_wall(pieces.refrigerator())


def _kitchen(putting: _Putting) -> Iterator[None]:
    _cabinets(putting, 3)
    yield
    putting.at_wall(pieces.refrigerator())
    if putting.chance(0.5):
        putting.anywhere(pieces.dining_table("kitchen table", 2))


def _cabinets(putting: _Putting, number: int) -> None:
    for nth in range(number):
        name = f"kitchen cabinet {nth + 1}"
        has_wall_one = putting.chance(0.7)
        putting.at_wall(
            pieces.cabinet(name, putting.lots, putting.clutter, has_wall_one=has_wall_one)
        )


def _bathroom(putting: _Putting) -> Iterator[None]:
    putting.at_wall(pieces.vanity(putting.lots, putting.clutter))
    yield


def _corridor(putting: _Putting) -> Iterator[None]:
    if putting.chance(0.5):
        putting.at_wall(pieces.shoe_cabinet(putting.lots, putting.clutter))
    yield


_STEPS: dict[str, Callable[[_Putting], Iterator[None]]] = {
    "bedroom": _bedroom,
    "living room": _living,
    "studio": _studio,
    "kitchen": _kitchen,
    "bathroom": _bathroom,
    "corridor": _corridor,
}


def _piles(putting: _Putting) -> None:
    """Put piles of things along walls and in the open, as many as the clutter asks for."""
    expected = putting.clutter.piles * putting.room.area / 10.0
    for number in range(int(putting.lots.poisson(expected))):
        piece = pieces.pile(
            f"pile {number + 1}, {putting.room.name}", putting.lots, putting.clutter
        )
        if putting.chance(0.6):
            putting.at_wall(piece)
        else:
            putting.anywhere(piece)
