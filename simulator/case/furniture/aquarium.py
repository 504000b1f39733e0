"""The aquarium: a heavy exception."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.hazards import FISH
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench


class Aquarium(Furniture):
    """Glass tank on a stand of boards. Fish never stay; drain it, or it stays cold for a day.

    Stirring of the water is left out, so its rim is rather too warm and its core too cold.
    """

    words: ClassVar[str] = "aquarium"

    kind: Literal["aquarium"] = "aquarium"
    width: PositiveLength = Field(
        0.91, description="side to side; a 55 gal tank is 48 in, a 40 gal 36 in"
    )
    depth: PositiveLength = Field(0.45, description="front to back; estimate: 18 in (0.45 m)")
    height: PositiveLength = Field(0.42, description="of the tank; estimate: 16 1/2 in (0.42 m)")
    glass: PositiveLength = Field(0.008, description="thickness of the glass; estimate: 8 mm")
    stand: PositiveLength = Field(0.70, description="height of the stand; estimate: 28 in (0.70 m)")
    board: PositiveLength = Field(0.018, description="thickness of the stand's boards; 3/4 in")
    state: Literal["full", "drained"] = Field("full", description="full, or drained")
    water_level: Share = Field(0.9, description="share of the tank's height that holds water")

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if min(self.width, self.depth) <= 2.0 * max(self.glass, self.board):
            raise refusal("width", "glass and boards leave no room inside")
        if self.height <= self.glass or self.stand <= 2.0 * self.board:
            raise refusal("height", "the tank or its stand is too low")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: fish out, tank drained."""
        if self.state == "drained":
            return super().advice(room)
        drained = Advice(
            "water",
            f"{self.name}: {FISH.advice}",
            "living things never stay in the heat, and the water keeps its stand cold for a day",
            FISH.standing,
            When.BEFORE,
            {"state": "drained"},
            is_hazard=True,
        )
        return (drained, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the stand, the five panes and the water."""
        x, y = 0.5 * self.width, 0.5 * self.depth
        self._stand(bench, x, y)
        g, base, top = self.glass, self.stand + self.glass, self.stand + self.height
        pane, nowhere = stuffing.GLASS, Refuge.NOWHERE
        bench.solid("bottom pane", (-x, -y, self.stand), (x, y, base), pane, nowhere)
        for south in (-y, y - g):
            bench.solid("pane", (-x, south, base), (x, south + g, top), pane, nowhere)
        for west in (-x, x - g):
            bench.solid("pane", (west, -y + g, base), (west + g, y - g, top), pane, nowhere)
        if self.state == "full" and self.water_level > 0.0:
            level = base + self.water_level * (top - base)
            low, high = (-x + g, -y + g, base), (x - g, y - g, level)
            bench.solid("water", low, high, stuffing.WATER, nowhere)
            bench.watch("water", (0.0, 0.0, 0.5 * (base + level)), FISH)
        bench.claim((-x, -y, 0.0), (x, y, top))

    def _stand(self, bench: Workbench, x: float, y: float) -> None:
        t, wood, surface = self.board, stuffing.PARTICLEBOARD, Refuge.SURFACE
        for west in (-x, x - t):
            high = (west + t, y, self.stand - t)
            bench.solid("stand, side", (west, -y, 0.0), high, wood, surface)
        low, high = (-x, -y, self.stand - t), (x, y, self.stand)
        bench.solid("stand, top", low, high, wood, surface)
        low, high = (-x + t, -y, 0.0), (x - t, y, t)
        bench.solid("stand, bottom", low, high, wood, surface)
