"""The curtain."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, open_up
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: Share of the curtain's width that each of the two bundles takes when it is parted (estimate).
BUNDLE = 0.12

#: Size of the pieces that a parted curtain's folds act as [m] (estimate: width of a fold).
FOLD_SPACING = 0.03


class Curtain(Furniture):
    """Pair of curtains hanging in folds along a wall; `elevation` is the hem above the floor.

    Shut, it is one screen that air does not pass; parted, two bundles of the same cloth at the
    ends, whose folds stand apart so that air seeps through.
    """

    words: ClassVar[str] = "curtain"

    kind: Literal["curtain"] = "curtain"
    width: PositiveLength = Field(1.80, description="of the shut pair; estimate: 71 in (1.8 m)")
    height: PositiveLength = Field(2.00, description="hem to rail; estimate: 79 in (2.0 m)")
    folds: PositiveLength = Field(
        0.05, description="depth of the folds while shut; estimate: 2 in (5 cm)"
    )
    drawn: Literal["shut", "parted"] = Field("shut", description="shut, or parted")

    @model_validator(mode="after")
    def _folds_are_thin(self) -> Self:
        if self.folds >= 0.5 * self.width:
            raise refusal("folds", "folds must be thinner than half the width")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: part it."""
        if self.drawn == "parted":
            return super().advice(room)
        parted = open_up(self.name, "drawn", "part it", {"drawn": "parted"})
        return (parted, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw one screen or two bundles; both hold the same cloth in the same volume."""
        x, y = 0.5 * self.width, 0.5 * self.folds
        if self.drawn == "shut":
            low, high = (-x, -y, 0.0), (x, y, self.height)
            bench.solid("curtain", low, high, stuffing.CURTAIN_FOLDS, Refuge.THROUGHOUT)
            bench.claim(low, high)
            return
        bundle, y = BUNDLE * self.width, y / (2.0 * BUNDLE)
        for west, east in ((-x, -x + bundle), (x - bundle, x)):
            low, high = (west, -y, 0.0), (east, y, self.height)
            bench.porous(
                "curtain",
                low,
                high,
                stuffing.TEXTILE,
                air_fraction=1.0 - stuffing.CURTAIN_CLOTH,
                piece_size=FOLD_SPACING,
            )
            bench.claim(low, high)
