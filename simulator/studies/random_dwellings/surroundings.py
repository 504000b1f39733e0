"""What is around a dwelling, by lot: walls, neighbours, climate, leaks, windows, outlets."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.studies.random_dwellings.floor_plans import FloorPlan, RoomPlan

SIDES = ("west", "east", "south", "north")

#: Constructions of outer walls, floors on the ground, floors above a flat or outdoor air, ceilings
#: under the roof, ceilings under a flat; and how often each set is drawn. Floors: bare, carpeted.
_FRAME = (
    ("slab_on_ground", "carpeted_slab_on_ground"),
    ("wood_floor", "carpeted_wood_floor"),
    "attic_ceiling",
    "wood_ceiling",
    "interior_wall",
)
_MASSIVE = (
    ("slab_on_ground", "carpeted_slab_on_ground"),
    ("concrete_floor", "carpeted_concrete_floor"),
    "attic_ceiling",
    "concrete_ceiling",
    "brick_wall",
)
BUILDINGS: Mapping[str, tuple[tuple[Any, ...], float]] = {
    "frame_wall": (_FRAME, 0.45),
    "brick_wall": (_MASSIVE, 0.20),
    "insulated_brick_wall": (_MASSIVE, 0.20),
    "concrete_wall": (_MASSIVE, 0.15),
}

#: Outdoor temperatures [°C], and how often each climate is drawn.
CLIMATES = {
    "cold": ((-12.0, 0.0), 0.25),
    "cool": ((0.0, 10.0), 0.35),
    "mild": ((10.0, 20.0), 0.25),
    "warm": ((20.0, 32.0), 0.15),
}

#: Rooms with windows, and the least distance of a window from a corner [m].
LIGHT = ("living room", "bedroom", "studio", "kitchen")
WINDOW_REVEAL = 0.40


@dataclass(frozen=True, slots=True)
class WindowPlan:
    """A window in a wall of a room; lengths in m."""

    room: str
    side: str
    along: float
    width: float
    height: float
    sill: float
    has_curtain: bool


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What ``draw_surroundings`` returns: the dwelling file's tables, and the windows.

    ``words`` names wall, climate and outdoor temperature.
    """

    tables: Mapping[str, Any]
    sides: Mapping[str, Mapping[str, str]]  # of the sides that are not outdoors
    windows: tuple[WindowPlan, ...]
    height: float
    words: Mapping[str, str]


def draw_surroundings(plan: FloorPlan, lots: np.random.Generator) -> Surroundings:
    """Return what is around a floor plan; its distributions stand in the package's docstring."""
    wall = _drawn({name: share for name, (_, share) in BUILDINGS.items()}, lots)
    grounds, floors, roof, under_flat, party = BUILDINGS[wall][0]
    climate = _drawn({name: share for name, (_, share) in CLIMATES.items()}, lots)
    outside = lots.uniform(*CLIMATES[climate][0])
    inside = lots.uniform(18.0, 23.0)
    below = _drawn({"ground": 0.3, "flat below": 0.5, "outdoors": 0.2}, lots)
    above = _drawn({"outdoors": 0.4, "flat above": 0.6}, lots)
    carpet = int(lots.random() < 0.5)
    open_sides = [side for side in SIDES if lots.random() < 0.6] or [str(lots.choice(SIDES))]
    neighbour = {"construction": party, "behind": "neighbours"}
    height = float(lots.choice([2.4, 2.5, 2.6, 2.7], p=[0.35, 0.35, 0.20, 0.10]))
    flat = {"temperature": _degrees(lots.uniform(18.0, 22.0))}
    tables = {
        "start": _degrees(max(inside, outside, 24.0) if climate == "warm" else inside),
        "outdoors": {"temperature": _degrees(outside), "ground": _degrees(lots.uniform(8.0, 16.0))},
        "leakage": {"n50": f"{lots.uniform(2.0, 12.0):.1f} 1/h"},
        "shell": {
            "walls": {"construction": wall, "behind": "outdoors"},
            "floor": {
                "construction": (grounds if below == "ground" else floors)[carpet],
                "behind": below,
            },
            "ceiling": {
                "construction": roof if above == "outdoors" else under_flat,
                "behind": above,
            },
        },
        "behind": [
            {"name": "neighbours", **flat},
            {"name": "flat below", **flat, "resistance": "0.17 m2 K/W"},
            {"name": "flat above", **flat, "resistance": "0.10 m2 K/W"},
        ],
    }
    sides = {side: neighbour for side in SIDES if side not in open_sides}
    windows = tuple(
        window
        for room in plan.rooms
        if room.kind in LIGHT
        for side in room.outer
        if side in open_sides
        for window in _window(room, side, height, lots)
    )
    words = {"wall": wall, "climate": climate, "outdoors": _degrees(outside)}
    return Surroundings(tables, sides, windows, height, words)


def _window(
    room: RoomPlan, side: str, height: float, lots: np.random.Generator
) -> tuple[WindowPlan, ...]:
    """Return the window of an outer wall, or none if the wall is too short for one."""
    run = room.size[0 if side in ("south", "north") else 1]
    width = round(float(lots.uniform(0.9, 2.0)), 2)
    if run < width + 2.0 * WINDOW_REVEAL:
        return ()
    last = max(run - width - WINDOW_REVEAL, WINDOW_REVEAL)  # round-off may put it below
    along = round(float(lots.uniform(WINDOW_REVEAL, last)), 2)
    sill = round(float(lots.uniform(0.7, 1.0)), 2)
    tall = round(min(float(lots.uniform(1.0, 1.4)), height - sill - 0.2), 2)
    return (WindowPlan(room.name, side, along, width, tall, sill, bool(lots.random() < 0.7)),)


def _drawn(shares: Mapping[str, float], lots: np.random.Generator) -> str:
    return str(lots.choice(list(shares), p=list(shares.values())))


def _degrees(temperature: float) -> str:
    return f"{temperature:.1f} degC"
