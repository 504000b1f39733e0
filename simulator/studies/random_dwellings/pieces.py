"""Pieces of furniture as they are drawn: what is written in the dwelling, and once prepared."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from simulator.studies.random_dwellings.floor_space import Shape

#: How far a bed is pulled off its wall before the heat [m].
PULLED = 0.12
#: Outer size of a bed beyond its mattress [m]: boards.
BOARDS = 0.05

#: Mattresses: width and length [m] (38 by 75, 54 by 75, 60 by 80, 76 by 80 in), and how often each
#: is drawn.
MATTRESSES = {
    "twin": (0.97, 1.91, 0.20),
    "full": (1.37, 1.91, 0.25),
    "queen": (1.52, 2.03, 0.40),
    "king": (1.93, 2.03, 0.15),
}


@dataclass(frozen=True, slots=True)
class Clutter:
    """How full a dwelling is. Shares are 0 to 1.

    Attributes
    ----------
    name : in words.
    under : the most that may be stuffed under a bed, and how often anything is.
    fill : least and greatest share of drawers, rails and shelves that is filled.
    crowded : how often clothes hang crowded.
    piles : piles of things for each 10 m² of floor.
    packed : how often a pile is packed.
    """

    name: str
    under: float
    fill: tuple[float, float]
    crowded: float
    piles: float
    packed: float


#: Levels of clutter and how often each is drawn.
CLUTTER = (
    (Clutter("tidy", 0.3, (0.3, 0.6), 0.1, 0.3, 0.2), 0.25),
    (Clutter("lived in", 0.7, (0.4, 0.8), 0.3, 0.8, 0.3), 0.40),
    (Clutter("cluttered", 1.0, (0.6, 0.95), 0.6, 2.0, 0.5), 0.25),
    (Clutter("stuffed", 1.0, (0.8, 1.0), 0.9, 4.0, 0.6), 0.10),
)


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece to be put in a room.

    Attributes
    ----------
    kind, name : as a dwelling file says them.
    values : its other keys, but for room, place and turn.
    shape : what it needs of the floor.
    prepared : keys that differ once the dwelling is prepared.
    pulled : how far it is then moved to its front [m].
    is_removed : whether it is then taken out.
    rides : a piece that stands on or hangs over this one, in the same place and turn.
    """

    kind: str
    name: str
    shape: Shape
    values: Mapping[str, Any] = field(default_factory=dict)
    prepared: Mapping[str, Any] = field(default_factory=dict)
    pulled: float = 0.0
    is_removed: bool = False
    rides: "Piece | None" = None


def metres(length: float) -> str:
    """Return a length as a case file says it."""
    return f"{length:.3f} m"


def _share(lots: np.random.Generator, clutter: Clutter) -> float:
    return round(float(lots.uniform(*clutter.fill)), 2)


def beds(name: str, lots: np.random.Generator, clutter: Clutter) -> list[Piece]:
    """Return a bed of a drawn size, and smaller ones to try if it does not fit."""
    sizes = list(MATTRESSES)
    drawn = int(lots.choice(len(sizes), p=[row[2] for row in MATTRESSES.values()]))
    under = round(float(lots.uniform(0.0, clutter.under)), 2) if lots.random() < 0.7 else 0.0
    heaped = lots.random() < clutter.crowded
    found = []
    for size in reversed(sizes[: drawn + 1]):
        width, length, _ = MATTRESSES[size]
        values: dict[str, Any] = {"width": metres(width), "length": metres(length)}
        values["pillows"] = 1 if size == "twin" else 2
        values["stuffed_under"] = under
        if heaped:
            values["bedding"] = "heaped"
        shape = Shape(width + BOARDS, length + BOARDS, front=PULLED, zone=0.45)
        prepared = {"mattress": "on_edge", "bedding": "stripped", "stuffed_under": 0.0}
        found.append(Piece("bed", name, shape, values, prepared, PULLED))
    return found


def nightstand(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a nightstand."""
    values = {"fill": _share(lots, clutter)}
    shape = Shape(0.50, 0.40, opens=0.22)
    return Piece("nightstand", name, shape, values, {"drawers_are": "open"})


def wardrobe(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a wardrobe of 0.9, 1.2 or 1.5 m."""
    width = float(lots.choice([0.9, 1.2, 1.5]))
    shape = Shape(width, 0.60, opens=0.5 * width + 0.05)
    values = {"width": metres(width), **_clothes(lots, clutter, 0.4)}
    return Piece("wardrobe", name, shape, values, {"doors": "open"})


def closet(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a built-in closet of U(1.4, 2.1) m."""
    width = round(float(lots.uniform(1.4, 2.1)), 2)
    shape = Shape(width, 0.70, opens=0.25 * width + 0.10, gap=0.0)
    shelf = round(0.4 * _share(lots, clutter), 2)
    values = {"width": metres(width), **_clothes(lots, clutter, 0.5), "shelf_load": metres(shelf)}
    return Piece("closet", name, shape, values, {"doors": "open"})


def _clothes(lots: np.random.Generator, clutter: Clutter, heap: float) -> dict[str, Any]:
    return {
        "fill": _share(lots, clutter),
        "clothes": "crowded" if lots.random() < clutter.crowded else "loose",
        "heap_height": metres(round(heap * _share(lots, clutter), 2)),
    }


def dresser(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a dresser of 0.8 to 1.2 m."""
    width = float(lots.choice([0.8, 0.9, 1.2]))
    values = {"width": metres(width), "fill": _share(lots, clutter)}
    return Piece("dresser", name, Shape(width, 0.45, opens=0.30), values, {"drawers_are": "open"})


def sideboard(lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a low chest of drawers, most times with a television on it."""
    shape = Shape(1.10, 0.45, opens=0.30)
    values = {"width": metres(1.10), "height": metres(0.80), "fill": _share(lots, clutter)}
    television = None
    if lots.random() < 0.8:
        on_top = {"elevation": metres(0.80), "width": metres(1.00)}
        television = Piece("television", "television", Shape(1.0, 0.4), on_top)
    return Piece("dresser", "sideboard", shape, values, {"drawers_are": "open"}, rides=television)


def bookcase(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a bookcase."""
    return Piece("bookcase", name, Shape(0.80, 0.30, zone=0.35), {"fill": _share(lots, clutter)})


def desk(name: str) -> Piece:
    """Return a desk with a chair; its knee side is to the room."""
    values = {"width": metres(1.10), "depth": metres(0.60), "chairs": 1}
    return Piece("table", name, Shape(1.10, 0.60, front=0.20, zone=0.25), values)


def dining_table(name: str, seats: int) -> Piece:
    """Return a table for two or four that stands free."""
    width = 1.20 if seats > 2 else 0.80
    values = {"width": metres(width), "depth": metres(0.70), "chairs": seats}
    return Piece("table", name, Shape(width, 0.70, front=0.20, behind=0.20), values)


def sofa(lots: np.random.Generator) -> Piece:
    """Return a sofa for three or two."""
    is_long = lots.random() < 0.6
    values = {"width": metres(2.0 if is_long else 1.5), "cushions": 3 if is_long else 2}
    shape = Shape(2.0 if is_long else 1.5, 0.90, zone=0.50, gap=0.05)
    return Piece("sofa", "sofa", shape, values, {"cushions_are": "on_edge"})


def armchair(name: str) -> Piece:
    """Return an armchair."""
    shape = Shape(0.90, 0.90, zone=0.40, gap=0.05)
    return Piece("armchair", name, shape, {}, {"cushions_are": "on_edge"})


def cabinet(name: str, lots: np.random.Generator, clutter: Clutter, *, has_wall_one: bool) -> Piece:
    """Return a kitchen cabinet of 0.9 or 1.2 m, with or without one on the wall above it."""
    width = float(lots.choice([0.9, 1.2]))
    above = None
    values: dict[str, Any] = {"width": metres(width), "fill": _share(lots, clutter)}
    if has_wall_one:
        hung = {
            "elevation": metres(1.45),
            "width": metres(width),
            "depth": metres(0.33),
            "height": metres(0.70),
            "counter": metres(0.018),
            "plinth": metres(0.0),
            "fill": _share(lots, clutter),
        }
        shape = Shape(width, 0.33)
        above = Piece("cabinet", f"{name}, on the wall", shape, hung, {"doors": "open"})
    shape = Shape(width, 0.60, opens=0.5 * width + 0.05)
    return Piece("cabinet", name, shape, values, {"doors": "open"}, rides=above)


def vanity(lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a bathroom vanity."""
    values = {"width": metres(0.80), "depth": metres(0.45), "height": metres(0.85)}
    shape = Shape(0.80, 0.45, opens=0.45)
    return Piece(
        "cabinet", "vanity", shape, {**values, "fill": _share(lots, clutter)}, {"doors": "open"}
    )


def shoe_cabinet(lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a shallow cabinet for a corridor."""
    values = {"width": metres(0.70), "depth": metres(0.32), "height": metres(0.80)}
    shape = Shape(0.70, 0.32, opens=0.36)
    return Piece(
        "cabinet",
        "shoe cabinet",
        shape,
        {**values, "fill": _share(lots, clutter)},
        {"doors": "open"},
    )


def refrigerator() -> Piece:
    """Return a refrigerator; its depth counts the air that its kind keeps behind it."""
    return Piece(
        "refrigerator", "refrigerator", Shape(0.75, 0.85, zone=0.50), {}, {"running": False}
    )


def aquarium() -> Piece:
    """Return an aquarium, drained for the heat."""
    return Piece("aquarium", "aquarium", Shape(0.91, 0.45, zone=0.20), {}, {"state": "drained"})


def rug(name: str, lots: np.random.Generator) -> Piece:
    """Return a rug, taken up for the heat; other pieces may stand on it."""
    width, depth = round(float(lots.uniform(1.4, 2.4)), 2), round(float(lots.uniform(1.0, 1.6)), 2)
    values = {"width": metres(width), "depth": metres(depth)}
    return Piece("rug", name, Shape(width, depth), values, is_removed=True)


def pile(name: str, lots: np.random.Generator, clutter: Clutter) -> Piece:
    """Return a pile of things; clothes are taken out for the heat, packed things are spread."""
    width, depth = (round(float(lots.uniform(0.40, 0.90)), 2) for _ in range(2))
    height = round(float(lots.uniform(0.30, 1.00)), 2)
    stuff = str(lots.choice(["mixed", "clothes", "paper"], p=[0.5, 0.35, 0.15]))
    is_packed = lots.random() < clutter.packed
    values = {
        "size": [metres(width), metres(depth), metres(height)],
        "packing": "packed" if is_packed else "loose",
        "stuff": stuff,
    }
    prepared = {"packing": "loose"} if is_packed else {}
    return Piece(
        "clutter", name, Shape(width, depth), values, prepared, is_removed=stuff == "clothes"
    )


def heater(name: str) -> Piece:
    """Return an electric heater, its intake to the wall: in its own frame it blows to its front."""
    shape = Shape(0.40, 0.50, behind=0.20, zone=0.60, gap=0.15)
    return Piece("electric_heater", name, shape)


def narrower(piece: Piece, zone: float) -> Piece:
    """Return a piece that asks for less free floor before it."""
    return replace(piece, shape=replace(piece.shape, zone=zone))
