"""The built-in closet."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, open_up
from simulator.case.dwelling import Room
from simulator.case.fields import NotNegativeLength, PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.clothes import (
    HANGING_DEPTH,
    HANGING_LENGTH,
    clothes_advice,
    hang_clothes,
    heap,
)
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench
from simulator.errors import CaseError

#: Thickness of a folding door's leaf [m] (common practice, no source: 1 3/8 in).
LEAF = 0.035
#: Height of the rail and of the shelf above it [m] (common practice, no source: 66 and 68 in).
RAIL_HEIGHT, SHELF_HEIGHT = 1.68, 1.73
#: The shelf: thickness and depth [m] (estimate).
SHELF, SHELF_DEPTH = 0.018, 0.35


class Closet(Furniture):
    """Built-in closet from floor to ceiling: stud walls at the sides, folding doors, clothes.

    The room's own wall is its back, so set it against a wall. Doors shut: a closed shell; air moves
    inside it but not through it. Doors open: the leaves are folded flat together at both sides.
    """

    words: ClassVar[str] = "closet"

    kind: Literal["closet"] = "closet"
    width: PositiveLength = Field(1.80, description="outside, with its walls; estimate: 71 in")
    depth: PositiveLength = Field(0.70, description="outside, wall to front; estimate: 28 in")
    wall: PositiveLength = Field(
        0.10, description="thickness of its stud walls; estimate: 4 in (0.10 m)"
    )
    side_walls: Literal["both", "left", "right", "none"] = Field(
        "both", description="both, left, right or none: its own walls, as one faces its back"
    )
    door_height: PositiveLength = Field(2.03, description="common practice, no source: 80 in")
    doors: Literal["shut", "open"] = Field("shut", description="shut, or open: folded to the sides")
    fill: Share = Field(0.8, description="share of the rail that is hung with clothes")
    clothes: Literal["loose", "crowded"] = Field(
        "loose", description="loose, with air between, or crowded together"
    )
    heap_height: NotNegativeLength = Field(
        0.30, description="height of the heap on its floor, 0 in for none; estimate: 12 in (0.30 m)"
    )
    shelf_load: NotNegativeLength = Field(
        0.30, description="height of the things on its shelf, 0 in for none; estimate: 12 in"
    )

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if self.depth < HANGING_DEPTH + LEAF:
            raise refusal("depth", "depth must be at least 0.54 m for clothes on hangers")
        if self.width <= 2.0 * self.wall + 4.0 * LEAF:
            raise refusal("width", "walls leave no room inside; make it wider")
        if self.heap_height >= RAIL_HEIGHT - HANGING_LENGTH:
            raise refusal("heap_height", "the heap reaches into the clothes; at most 0.57 m")
        if self.door_height <= SHELF_HEIGHT:
            raise refusal("door_height", "door_height must be above the shelf, 1.75 m")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: thin out rail and heap, open the doors."""
        found = clothes_advice(self.name, self.clothes, self.heap_height)
        if self.doors == "shut":
            found.append(open_up(self.name, "doors", "open its doors wide", {"doors": "open"}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw walls, doors, shelf and contents up to the ceiling of ``room``."""
        top = room.size[2] - self.elevation
        if top <= max(self.door_height, SHELF_HEIGHT + SHELF + self.shelf_load):
            raise CaseError(f"{self.name}: the room is too low for this closet")
        x, y = 0.5 * self.width, 0.5 * self.depth
        west = -x + (self.wall if self.side_walls in ("both", "left") else 0.0)
        east = x - (self.wall if self.side_walls in ("both", "right") else 0.0)
        wood, surface = stuffing.STUD_WALL, Refuge.SURFACE
        if west > -x:
            bench.solid("left wall", (-x, -y, 0.0), (west, y, top), wood, surface)
        if east < x:
            bench.solid("right wall", (east, -y, 0.0), (x, y, top), wood, surface)
        front = -y + LEAF
        low, high = (west, -y, self.door_height), (east, front, top)
        bench.solid("wall above the doors", low, high, stuffing.STUD_WALL, surface)
        self._doors(bench, west, east)
        self._contents(bench, west, east)
        bench.claim((-x, -y, 0.0), (x, y, top))

    def _doors(self, bench: Workbench, west: float, east: float) -> None:
        """Draw four leaves, two folding to each side."""
        front, leaf = -0.5 * self.depth, 0.25 * (east - west)
        door, surface = stuffing.HOLLOW_DOOR, Refuge.SURFACE
        for number in range(4):
            if self.doors == "shut":
                low = (west + number * leaf, front, 0.0)
                high = (low[0] + leaf, front + LEAF, self.door_height)
            else:
                x = (west, west + LEAF, east - 2.0 * LEAF, east - LEAF)[number]
                low = (x, front + LEAF - leaf, 0.0)
                high = (x + LEAF, front + LEAF, self.door_height)
                bench.claim(low, high)
            bench.solid("door", low, high, door, surface)

    def _contents(self, bench: Workbench, west: float, east: float) -> None:
        back = 0.5 * self.depth
        hang_clothes(
            bench,
            (west, back - HANGING_DEPTH, RAIL_HEIGHT - HANGING_LENGTH),
            (east, back, RAIL_HEIGHT),
            self.fill,
            is_crowded=self.clothes == "crowded",
        )
        shelf = SHELF_HEIGHT + SHELF
        low, high = (west, back - SHELF_DEPTH, SHELF_HEIGHT), (east, back, shelf)
        bench.solid("shelf", low, high, stuffing.PARTICLEBOARD, Refuge.SURFACE)
        if self.shelf_load > 0.0:
            low, high = (west, back - SHELF_DEPTH, shelf), (east, back, shelf + self.shelf_load)
            heap(bench, "things on the shelf", low, high)
        if self.heap_height > 0.0:
            low, high = (west, back - HANGING_DEPTH, 0.0), (east, back, self.heap_height)
            heap(bench, "heap on its floor", low, high)
