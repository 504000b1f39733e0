"""The bookcase."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, thin_out
from simulator.case.dwelling import Room
from simulator.case.fields import NotNegativeLength, PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: Thickness of the thin back [m] (estimate: hardboard).
BACK = 0.005
#: Free height above a row of books [m] (estimate).
ABOVE_BOOKS = 0.05

#: Share of a shelf that books may fill before they stand tight [-] (estimate).
TIGHT = 0.5


class Bookcase(Furniture):
    """Open bookcase: boards, a thin back, and a row of books on each shelf from its left end."""

    words: ClassVar[str] = "bookcase"
    stands_off: ClassVar[bool] = True

    kind: Literal["bookcase"] = "bookcase"
    width: PositiveLength = Field(0.80, description="side to side; estimate: 31 1/2 in (0.80 m)")
    depth: PositiveLength = Field(0.30, description="front to back; estimate: 12 in (0.30 m)")
    height: PositiveLength = Field(1.80, description="floor to top; estimate: 71 in (1.80 m)")
    shelves: int = Field(
        5, strict=True, ge=1, le=10, description="number of shelves that hold books"
    )
    board: PositiveLength = Field(
        0.018, description="thickness of the boards; estimate: 3/4 in (18 mm) particleboard"
    )
    plinth: NotNegativeLength = Field(
        0.06, description="free height under the lowest shelf; estimate: 2 1/2 in (6 cm)"
    )
    book_depth: PositiveLength = Field(
        0.20, description="depth of the books; estimate: 8 in (20 cm)"
    )
    fill: Share = Field(0.7, description="share of each shelf's length that holds books")

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if self._bay_height <= 2.0 * ABOVE_BOOKS or self.width <= 2.5 * self.board:
            raise refusal("board", "boards leave no room for books; take shelves out")
        if self.book_depth > self.depth - BACK:
            raise refusal("book_depth", "book_depth must be less than depth")
        return self

    @property
    def _bay_height(self) -> float:
        return (self.height - self.plinth - (self.shelves + 1) * self.board) / self.shelves

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: space out the books, pull it off."""
        found = []
        if self.fill > TIGHT:
            what = "take out books until the rest stand apart; the others are treated elsewhere"
            found.append(thin_out(self.name, "books", what, {"fill": TIGHT}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw sides, back, shelves and books."""
        x, y, t = 0.5 * self.width, 0.5 * self.depth, self.board
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        for west in (-x, x - t):
            bench.solid("side", (west, -y, 0.0), (west + t, y, self.height), wood, surface)
        back, inner = y - BACK, x - t
        low, high = (-inner, back, self.plinth), (inner, y, self.height)
        bench.solid("back", low, high, stuffing.FIBREBOARD, surface)
        for number in range(self.shelves + 1):
            level = self.plinth + number * (self._bay_height + t)
            low, high = (-inner, -y, level), (inner, back, level + t)
            bench.solid("shelf", low, high, wood, surface)
            if number < self.shelves and self.fill > 0.0:
                low = (-inner, back - self.book_depth, level + t)
                east = -inner + self.fill * 2.0 * inner
                high = (east, back, level + t + self._bay_height - ABOVE_BOOKS)
                bench.solid("books", low, high, stuffing.BOOKS, Refuge.THROUGHOUT)
        bench.claim((-x, -y, 0.0), (x, y, self.height))
