"""The refrigerator."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import Flag, NotNegativeLength, PositiveLength, Power, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.standing import Standing
from simulator.case.workbench import Workbench

#: Air kept free behind it, where the heat of the compressor rises [m] (common practice, no source).
AIR_BEHIND = 0.05
#: Height up to which the compressor's heat is given off behind it [m] (estimate).
COMPRESSOR_HEIGHT = 0.40


class Refrigerator(Furniture):
    """Refrigerator with foamed walls; while it runs, its compressor heats the air behind it.

    In a hot room a compressor runs without pause; estimate: 150 W. That its inside is kept cold is
    left out: the inside starts at the room's temperature and warms through the walls.
    """

    words: ClassVar[str] = "refrigerator"

    kind: Literal["refrigerator"] = "refrigerator"
    width: PositiveLength = Field(0.75, description="side to side; estimate: 30 in (0.75 m)")
    depth: PositiveLength = Field(0.70, description="front to back; estimate: 28 in (0.70 m)")
    height: PositiveLength = Field(1.70, description="floor to top; estimate: 67 in (1.70 m)")
    wall: PositiveLength = Field(0.05, description="thickness of its walls; estimate: 2 in (5 cm)")
    feet: NotNegativeLength = Field(
        0.03, description="free height under it, on feet or rollers; estimate: 1 1/4 in (3 cm)"
    )
    running: Flag = Field(True, description="true while it is plugged in and runs")
    compressor_power: Power = Field(
        150.0, description="what it draws while running; estimate: 150 W"
    )

    @model_validator(mode="after")
    def _walls_leave_an_inside(self) -> Self:
        if min(self.width, self.depth, self.height - self.feet) <= 2.0 * self.wall:
            raise refusal("wall", "walls leave no inside; make them thinner")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: empty and unplug it."""
        if not self.running:
            return super().advice(room)
        unplugged = Advice(
            "running",
            f"{self.name}: empty it, unplug it, leave its door open",
            "in a hot room it runs without pause and fails, and its food spoils",
            Standing.PRACTICE,
            When.BEFORE,
            {"running": False},
        )
        return (unplugged, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw six walls, what is inside, and the heat behind."""
        x, front = 0.5 * self.width, -0.5 * (self.depth + AIR_BEHIND)
        back, low, top, t = front + self.depth, self.feet, self.height, self.wall
        stuff, surface = stuffing.REFRIGERATOR_WALL, Refuge.SURFACE
        bench.solid("bottom", (-x, front, low), (x, back, low + t), stuff, surface)
        bench.solid("top", (-x, front, top - t), (x, back, top), stuff, surface)
        bench.solid("door", (-x, front, low + t), (x, front + t, top - t), stuff, surface)
        bench.solid("back", (-x, back - t, low + t), (x, back, top - t), stuff, surface)
        for west in (-x, x - t):
            side = (west, front + t, low + t), (west + t, back - t, top - t)
            bench.solid("side", *side, stuff, surface)
        inside = (-x + t, front + t, low + t), (x - t, back - t, top - t)
        bench.solid("inside", *inside, stuffing.FOOD, Refuge.NOWHERE)
        if self.running and self.compressor_power > 0.0:
            behind = (-x, back, 0.0), (x, back + AIR_BEHIND, min(COMPRESSOR_HEIGHT, top))
            bench.heat("compressor", *behind, self.compressor_power)
        bench.claim((-x, front, 0.0), (x, back + AIR_BEHIND, top))
