"""The kitchen cabinet."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, open_up
from simulator.case.dwelling import Room
from simulator.case.fields import NotNegativeLength, PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: Thickness of the thin back [m] (estimate: hardboard).
BACK = 0.005
#: Air share and piece size [m] of plates, tins and packets on a shelf (estimate).
GOODS_AIR, GOODS_PIECE = 0.45, 0.10


class Cabinet(Furniture):
    """Kitchen cabinet under a counter top, with dishes, tins and packets; doors shut or taken open.

    Open doors stand straight out at both sides. A wall cabinet is the same with `elevation`.
    """

    words: ClassVar[str] = "cabinet"

    kind: Literal["cabinet"] = "cabinet"
    width: PositiveLength = Field(1.20, description="side to side; estimate: 47 in (1.20 m)")
    depth: PositiveLength = Field(0.60, description="front to back; common: 24 in (0.60 m)")
    height: PositiveLength = Field(0.90, description="floor to counter; common: 36 in (0.90 m)")
    board: PositiveLength = Field(
        0.018, description="thickness of boards and doors; 3/4 in (18 mm)"
    )
    counter: PositiveLength = Field(0.038, description="thickness of the counter top; 1 1/2 in")
    plinth: NotNegativeLength = Field(
        0.10, description="free height under its bottom board; common: 4 in (0.10 m)"
    )
    doors: Literal["shut", "open"] = Field("shut", description="shut, or open wide")
    fill: Share = Field(0.5, description="share of the inside's height that holds goods")

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if (
            self.height <= self.plinth + self.counter + 3.0 * self.board
            or self.width <= 4.0 * self.board
        ):
            raise refusal("board", "boards leave no inside; make it larger")
        if self.depth <= 2.0 * self.board + BACK:
            raise refusal("depth", "depth leaves no inside")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: open its doors."""
        if self.doors == "open":
            return super().advice(room)
        opened = open_up(self.name, "doors", "open its doors wide", {"doors": "open"})
        return (opened, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the shell, the counter, the doors and the goods."""
        x, y, t = 0.5 * self.width, 0.5 * self.depth, self.board
        front, under, low_board = -y + t, self.height - self.counter, self.plinth
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        bench.solid("counter top", (-x, -y, under), (x, y, self.height), wood, surface)
        for west in (-x, x - t):
            bench.solid("side", (west, front, 0.0), (west + t, y, under), wood, surface)
        low, high = (-x + t, front, low_board), (x - t, y, low_board + t)
        bench.solid("bottom", low, high, wood, surface)
        back, floor = y - BACK, low_board + t
        low, high = (-x + t, back, floor), (x - t, y, under)
        bench.solid("back", low, high, stuffing.FIBREBOARD, surface)
        self._doors(bench, under)
        if self.fill > 0.0:
            high = (x - t, back, floor + self.fill * (under - floor))
            bench.porous(
                "dishes and food",
                (-x + t, front, floor),
                high,
                stuffing.KITCHEN_GOODS,
                air_fraction=GOODS_AIR,
                piece_size=GOODS_PIECE,
                refuge=Refuge.SURFACE,
            )
        bench.claim((-x, -y, 0.0), (x, y, self.height))

    def _doors(self, bench: Workbench, top: float) -> None:
        x, y, t = 0.5 * self.width, 0.5 * self.depth, self.board
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        if self.doors == "shut":
            for west in (-x, 0.0):
                low, high = (west, -y, self.plinth), (west + x, -y + t, top)
                bench.solid("door", low, high, wood, surface)
            return
        for west in (-x, x - t):
            low, high = (west, -y + t - x, self.plinth), (west + t, -y + t, top)
            bench.solid("door", low, high, wood, surface)
            bench.claim(low, high)
