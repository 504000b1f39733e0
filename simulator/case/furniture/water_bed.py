"""The water bed: a heavy exception."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, When, thin_out
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.standing import Standing
from simulator.case.workbench import Workbench

#: Thickness of the deck and of the folded bag's vinyl [m] (estimate).
DECK, BAG = 0.018, 0.003
#: How far the pedestal stands back from the frame [m] (estimate).
SET_BACK = 0.10


class WaterBed(Furniture):
    """Water bed: a wooden frame on a pedestal around a bag of water, 600 to 800 kg when full.

    Full, it stores more heat than all else in a bedroom and lags for days; drain it before a
    treatment. Stirring of the water is left out, so its top is rather too warm and its core too
    cold.
    """

    words: ClassVar[str] = "water bed"

    kind: Literal["water_bed"] = "water_bed"
    width: PositiveLength = Field(1.52, description="of the bag; queen 60 in (1.52 m)")
    length: PositiveLength = Field(2.13, description="of the bag; queen 84 in (2.13 m)")
    water_height: PositiveLength = Field(
        0.22, description="depth of water; estimate: 9 in (0.22 m)"
    )
    pedestal: PositiveLength = Field(0.22, description="height of the pedestal; estimate: 9 in")
    board: PositiveLength = Field(0.04, description="thickness of the frame's boards; 1 1/2 in")
    state: Literal["full", "drained"] = Field("full", description="full, or drained")
    bedding: Literal["made", "stripped"] = Field(
        "made", description="made: quilt and blankets on top; or stripped"
    )
    bedding_thickness: PositiveLength = Field(0.03, description="estimate: 1 1/4 in (3 cm)")

    @model_validator(mode="after")
    def _pedestal_fits(self) -> Self:
        if min(self.width, self.length) <= 2.0 * (SET_BACK + self.board):
            raise refusal("width", "too small for its pedestal")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: drain it, strip it."""
        found = []
        if self.state == "full":
            found.append(
                Advice(
                    "water",
                    f"{self.name}: drain it",
                    "its water stores more heat than all else in a bedroom and stays cold for days",
                    Standing.DERIVED,
                    When.BEFORE,
                    {"state": "drained"},
                )
            )
        if self.bedding == "made":
            what = "strip it and wash or tumble the bedding hot"
            found.append(thin_out(self.name, "bedding", what, {"bedding": "stripped"}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw pedestal, deck, frame, bag, water and bedding."""
        x, y = 0.5 * self.width, 0.5 * self.length
        t, deck = self.board, self.pedestal + DECK
        surface = Refuge.SURFACE
        self._ring(bench, "pedestal board", x - SET_BACK, y - SET_BACK, 0.0, self.pedestal)
        low, high = (-x - t, -y - t, self.pedestal), (x + t, y + t, deck)
        bench.solid("deck", low, high, stuffing.PARTICLEBOARD, surface)
        top = deck + self.water_height + BAG
        self._ring(bench, "frame board", x + t, y + t, deck, top)
        level = deck
        if self.state == "full":
            level += self.water_height
            low, high = (-x, -y, deck), (x, y, level)
            bench.solid("water", low, high, stuffing.WATER, Refuge.NOWHERE)
        low, high = (-x, -y, level), (x, y, level + BAG)
        bench.solid("bag", low, high, stuffing.VINYL, surface)
        level += BAG
        if self.bedding == "made":
            low, high = (-x, -y, level), (x, y, level + self.bedding_thickness)
            bench.solid("bedding", low, high, stuffing.BEDDING, Refuge.THROUGHOUT)
            top = max(top, level + self.bedding_thickness)
        bench.claim((-x - t, -y - t, 0.0), (x + t, y + t, top))

    def _ring(
        self, bench: Workbench, name: str, x: float, y: float, low: float, high: float
    ) -> None:
        """Draw four boards on edge inside the rectangle ±x, ±y."""
        t, wood, surface = self.board, stuffing.SOFTWOOD, Refuge.SURFACE
        for south in (-y, y - t):
            bench.solid(name, (-x, south, low), (x, south + t, high), wood, surface)
        for west in (-x, x - t):
            bench.solid(name, (west, -y + t, low), (west + t, y - t, high), wood, surface)
