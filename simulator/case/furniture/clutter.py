"""Piles of things."""

import dataclasses
from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.advice import Advice, thin_out
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

#: Air share from which hot air finds its way through a pile [-] (estimate).
LOOSE = 0.7


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

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: take out what is washed, open and loosen the rest."""
        found = []
        if self.stuff == "clothes":
            washed = thin_out(self.name, "wash", "take it out and wash or tumble it hot", {})
            found.append(dataclasses.replace(washed, removes=True))
        air = PACKINGS[self.packing][0] if self.air_fraction is None else self.air_fraction
        if air < LOOSE:
            loose = PACKINGS["loose"][0]
            changes: dict[str, object] = {"packing": "loose"}
            if self.air_fraction is not None:
                changes["air_fraction"] = loose
            what = "open boxes and bags and spread what is in them"
            found.append(thin_out(self.name, "packing", what, changes))
        return (*found, *super().advice(room))

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
