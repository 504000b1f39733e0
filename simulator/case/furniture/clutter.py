"""Piles of things."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, Size
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.workbench import Workbench

#: Air share and piece size [m] by packing. estimate: loose about 70 kg/m³ and packed about 150
#: kg/m³ of mixed household goods; movers reckon 7 lb/ft³ (112 kg/m³) for a loaded van (common
#: practice, no source).
PACKINGS = {"loose": (0.75, 0.10), "packed": (0.45, 0.20)}

#: What piles are made of.
STUFF = {
    "mixed": stuffing.HOUSEHOLD_GOODS,
    "clothes": stuffing.TEXTILE,
    "paper": stuffing.PAPER_GOODS,
}


class Clutter(Furniture):
    """Pile of loose or packed things: bags, boxes, toys, laundry, papers. Air seeps through it."""

    words: ClassVar[str] = "clutter"

    kind: Literal["clutter"] = "clutter"
    size: Size = Field(
        (0.80, 0.60, 0.60), description="side to side, front to back, height; 32 by 24 by 24 in"
    )
    packing: Literal["loose", "packed"] = Field(
        "loose", description="loose, three quarters air, or packed, under half air"
    )
    stuff: Literal["mixed", "clothes", "paper"] = Field(
        "mixed", description="mixed, clothes or paper"
    )
    air_fraction: float | None = Field(
        None,
        strict=True,
        gt=0.05,
        lt=0.98,
        description="share of air in the pile, if not that of its packing",
    )
    piece_size: PositiveLength | None = Field(
        None, description="size of the pieces, if not that of its packing"
    )

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw one box of loose stuff."""
        air, piece = PACKINGS[self.packing]
        x, y = 0.5 * self.size[0], 0.5 * self.size[1]
        low, high = (-x, -y, 0.0), (x, y, self.size[2])
        bench.porous(
            f"{self.packing} pile",
            low,
            high,
            STUFF[self.stuff],
            air_fraction=air if self.air_fraction is None else self.air_fraction,
            piece_size=piece if self.piece_size is None else self.piece_size,
        )
        bench.claim(low, high)
