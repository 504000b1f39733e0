"""The free-standing wardrobe."""

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

#: Thickness of the thin back [m] (estimate: hardboard).
BACK = 0.005
#: Distance from the inside of the top to the rail [m] (estimate).
RAIL_DROP = 0.08


class Wardrobe(Furniture):
    """Free-standing wardrobe of boards with two hinged doors, clothes on a rail, a heap below.

    Doors shut: a closed shell of boards; air moves inside it but not through it. Doors open: they
    stand straight out at both sides.
    """

    words: ClassVar[str] = "wardrobe"
    stands_off: ClassVar[bool] = True

    kind: Literal["wardrobe"] = "wardrobe"
    width: PositiveLength = Field(1.20, description="side to side; estimate: 47 in (1.20 m)")
    depth: PositiveLength = Field(0.60, description="front to back; estimate: 24 in (0.60 m)")
    height: PositiveLength = Field(2.00, description="floor to top; estimate: 79 in (2.0 m)")
    board: PositiveLength = Field(
        0.018, description="thickness of boards and doors; estimate: 3/4 in (18 mm) particleboard"
    )
    plinth: NotNegativeLength = Field(
        0.06, description="free height under its floor board; estimate: 2 1/2 in (6 cm)"
    )
    doors: Literal["shut", "open"] = Field("shut", description="shut, or open wide")
    fill: Share = Field(0.8, description="share of the rail that is hung with clothes")
    clothes: Literal["loose", "crowded"] = Field(
        "loose", description="loose, with air between, or crowded together"
    )
    heap_height: NotNegativeLength = Field(
        0.25, description="height of the heap on its floor, 0 in for none; estimate: 10 in (0.25 m)"
    )

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        hem = self.height - self.board - RAIL_DROP - HANGING_LENGTH
        if hem <= self.plinth + self.board + self.heap_height:
            raise refusal("height", "too low for hanging clothes above the heap; raise height")
        if self.width <= 2.5 * self.board:
            raise refusal("width", "boards leave no room inside; make it wider")
        if self.depth < HANGING_DEPTH + BACK + self.board:
            raise refusal("depth", "depth must be at least 0.53 m for clothes on hangers")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: thin out rail and heap, open the doors, pull it off."""
        found = clothes_advice(self.name, self.clothes, self.heap_height)
        if self.doors == "shut":
            found.append(open_up(self.name, "doors", "open its doors wide", {"doors": "open"}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the shell, the doors and the clothes."""
        self._shell(bench)
        self._doors(bench)
        x, back = 0.5 * self.width - self.board, 0.5 * self.depth - BACK
        rail = self.height - self.board - RAIL_DROP
        hang_clothes(
            bench,
            (-x, back - HANGING_DEPTH, rail - HANGING_LENGTH),
            (x, back, rail),
            self.fill,
            is_crowded=self.clothes == "crowded",
        )
        if self.heap_height > 0.0:
            floor = self.plinth + self.board
            low = (-x, back - HANGING_DEPTH, floor)
            heap(bench, "heap on its floor", low, (x, back, floor + self.heap_height))
        x, y = 0.5 * self.width, 0.5 * self.depth
        bench.claim((-x, -y, 0.0), (x, y, self.height))

    def _shell(self, bench: Workbench) -> None:
        x, y, t, top = 0.5 * self.width, 0.5 * self.depth, self.board, self.height
        front, low_board = -y + t, self.plinth
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        for west in (-x, x - t):
            bench.solid("side", (west, front, 0.0), (west + t, y, top), wood, surface)
        bench.solid("top", (-x + t, front, top - t), (x - t, y, top), wood, surface)
        low, high = (-x + t, front, low_board), (x - t, y, low_board + t)
        bench.solid("floor board", low, high, wood, surface)
        low, high = (-x + t, y - BACK, low_board + t), (x - t, y, top - t)
        bench.solid("back", low, high, stuffing.FIBREBOARD, surface)

    def _doors(self, bench: Workbench) -> None:
        x, y, t = 0.5 * self.width, 0.5 * self.depth, self.board
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        if self.doors == "shut":
            for west in (-x, 0.0):
                high = (west + x, -y + t, self.height)
                bench.solid("door", (west, -y, self.plinth), high, wood, surface)
            return
        for west in (-x, x - t):
            low = (west, -y + t - x, self.plinth)
            high = (west + t, -y + t, self.height)
            bench.solid("door", low, high, wood, surface)
            bench.claim(low, high)
