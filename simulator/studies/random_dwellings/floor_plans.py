"""Floor plans by lot: rooms as boxes, and the doors between them."""

from dataclasses import dataclass

import numpy as np

#: Thickness of all partitions [m].
PARTITION = 0.10
#: Least distance of a door from a corner [m].
DOOR_REVEAL = 0.25

#: Least and greatest width of a room in its row [m], before the rows are stretched to one length.
WIDTHS = {
    "living room": (4.0, 6.0),
    "bedroom": (3.0, 4.4),
    "kitchen": (2.2, 3.2),
    "bathroom": (1.6, 2.2),
}
#: Width below which a room is not what it is called, after stretching [m].
LEAST_WIDTHS = {"living room": 3.4, "bedroom": 2.7, "kitchen": 1.9, "bathroom": 1.5}

#: How often each size is drawn.
SIZES = {
    "studio": 0.30,
    "one-bedroom flat": 0.35,
    "two-bedroom flat": 0.25,
    "three-bedroom flat": 0.1,
}


@dataclass(frozen=True, slots=True)
class RoomPlan:
    """A room: its south-west corner and its size on the floor [m].

    ``outer`` are the sides with no room behind them that may have windows.
    """

    name: str
    kind: str
    at: tuple[float, float]
    size: tuple[float, float]
    outer: tuple[str, ...]

    @property
    def area(self) -> float:
        """Its floor [m²]."""
        return self.size[0] * self.size[1]


@dataclass(frozen=True, slots=True)
class DoorPlan:
    """A doorway on a side of the first room, ``along`` from its south or west end [m]."""

    rooms: tuple[str, str]
    side: str
    along: float
    width: float


@dataclass(frozen=True, slots=True)
class FloorPlan:
    """What ``draw_floor_plan`` returns."""

    kind: str
    rooms: tuple[RoomPlan, ...]
    doors: tuple[DoorPlan, ...]

    @property
    def area(self) -> float:
        """Floor of all rooms [m²]."""
        return sum(room.area for room in self.rooms)


def draw_floor_plan(lots: np.random.Generator) -> FloorPlan:
    """Return a floor plan; its distributions stand in the package's docstring."""
    kind = str(lots.choice(list(SIZES), p=list(SIZES.values())))
    if kind == "studio":
        return _mirrored(_studio(lots), lots)
    while True:
        south, north = _rows(kind, lots)
        plan = _along_a_corridor(kind, south, north, lots)
        if plan is not None:
            return _mirrored(plan, lots)


def _studio(lots: np.random.Generator) -> FloorPlan:
    """Return one room with a bathroom at its east side."""
    area, aspect = lots.uniform(16.0, 30.0), lots.uniform(1.1, 1.6)
    width = _cm((area / aspect) ** 0.5)
    length = _cm(area / width)
    bath = (_cm(lots.uniform(1.6, 2.2)), _cm(lots.uniform(1.9, min(2.8, width))))
    rooms = (
        RoomPlan("main room", "studio", (0.0, 0.0), (length, width), ("south", "west", "north")),
        RoomPlan("bathroom", "bathroom", (length + PARTITION, 0.0), bath, ("south", "east")),
    )
    door = _door("bathroom", "main room", "west", bath[1], 0.71, lots)
    return FloorPlan("studio", rooms, (door,))


def _rows(kind: str, lots: np.random.Generator) -> tuple[list[str], list[str]]:
    """Return the kinds of the rooms south and north of the corridor, from west to east."""
    if kind == "one-bedroom flat":
        south, north = ["living room"], ["bedroom", "bathroom"]
        if lots.random() < 0.5:
            (south if lots.random() < 0.5 else north).append("kitchen")
    elif kind == "two-bedroom flat":
        south, north = ["living room", "bedroom"], ["kitchen", "bathroom", "bedroom"]
    else:
        south, north = ["living room", "bedroom", "bedroom"], ["kitchen", "bathroom", "bedroom"]
    return [south[i] for i in lots.permutation(len(south))], [
        north[i] for i in lots.permutation(len(north))
    ]


def _along_a_corridor(
    kind: str, south: list[str], north: list[str], lots: np.random.Generator
) -> FloorPlan | None:
    """Return two rows of rooms on both sides of a corridor, or None if they do not fit together."""
    widths = [[lots.uniform(*WIDTHS[room]) for room in row] for row in (south, north)]
    lengths = [sum(row) + PARTITION * (len(row) - 1) for row in widths]
    length = _cm(0.5 * sum(lengths))
    depths = (_cm(lots.uniform(3.2, 4.3)), _cm(lots.uniform(2.9, 4.0)))
    corridor = _cm(lots.uniform(1.0, 1.4))
    starts = (0.0, depths[0] + corridor + 2.0 * PARTITION)
    rooms: list[RoomPlan] = []
    doors: list[DoorPlan] = []
    numbers = {"bedroom": 0}
    for row, kinds in enumerate((south, north)):
        stretched = _stretched(widths[row], length)
        side, inner = (("south", "north"), ("north", "south"))[row]
        x = 0.0
        for place, (room, width) in enumerate(zip(kinds, stretched, strict=True)):
            if width < LEAST_WIDTHS[room]:
                return None
            name = room
            if room == "bedroom":
                numbers[room] += 1
                name = f"bedroom {numbers[room]}"
            outer = [side]
            outer += ["west"] if place == 0 else []
            outer += ["east"] if place == len(kinds) - 1 else []
            size = (width, depths[row])
            rooms.append(RoomPlan(name, room, (_cm(x), _cm(starts[row])), size, tuple(outer)))
            leaf = {"living room": 0.91, "bathroom": 0.71}.get(room, 0.81)
            doors.append(_door(name, "corridor", inner, width, leaf, lots))
            x += width + PARTITION
    at = (0.0, _cm(depths[0] + PARTITION))
    rooms.append(RoomPlan("corridor", "corridor", at, (length, corridor), ("west", "east")))
    return FloorPlan(kind, tuple(rooms), tuple(doors))


def _stretched(widths: list[float], length: float) -> list[float]:
    """Return the widths of a row scaled to fill a length with its partitions, to the centimetre."""
    inner = length - PARTITION * (len(widths) - 1)
    scaled = [_cm(width * inner / sum(widths)) for width in widths]
    scaled[-1] = _cm(inner - sum(scaled[:-1]))
    return scaled


def _door(
    room: str, other: str, side: str, run: float, width: float, lots: np.random.Generator
) -> DoorPlan:
    """Return a door on a side of this length: near either corner, or anywhere."""
    last = run - width - DOOR_REVEAL
    near = (DOOR_REVEAL, last, lots.uniform(DOOR_REVEAL, last))
    return DoorPlan((room, other), side, _cm(near[int(lots.integers(3))]), width)


def _mirrored(plan: FloorPlan, lots: np.random.Generator) -> FloorPlan:
    """Return the plan mirrored or not along each axis."""
    for axis, (low, high) in enumerate((("west", "east"), ("south", "north"))):
        swap = {low: high, high: low}
        if lots.random() < 0.5:
            plan = _mirror(plan, axis, swap)
    return plan


def _mirror(plan: FloorPlan, axis: int, swap: dict[str, str]) -> FloorPlan:
    far = max(room.at[axis] + room.size[axis] for room in plan.rooms)
    sizes = {room.name: room.size for room in plan.rooms}
    rooms = []
    for room in plan.rooms:
        at = list(room.at)
        at[axis] = _cm(far - room.at[axis] - room.size[axis])
        outer = tuple(swap.get(side, side) for side in room.outer)
        rooms.append(RoomPlan(room.name, room.kind, (at[0], at[1]), room.size, outer))
    doors = []
    for door in plan.doors:
        along = door.along
        runs_along = 1 if door.side in ("west", "east") else 0
        if runs_along == axis:
            along = _cm(sizes[door.rooms[0]][axis] - door.along - door.width)
        doors.append(DoorPlan(door.rooms, swap.get(door.side, door.side), along, door.width))
    return FloorPlan(plan.kind, tuple(rooms), tuple(doors))


def _cm(length: float) -> float:
    """Return a length rounded to the centimetre [m]."""
    return round(float(length), 2)
