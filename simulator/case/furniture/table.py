"""The table with its chairs."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: A chair: side of its square seat, seat height, height of its back, thickness of the seat [m].
SEAT, SEAT_HEIGHT, CHAIR_HEIGHT, SEAT_THICKNESS = 0.42, 0.45, 0.90, 0.05
#: Thickness of a chair's back and side of its legs [m]. All of these are estimates.
CHAIR_BACK, CHAIR_LEG = 0.025, 0.035
#: How far a chair is pushed under the table [m].
TUCKED = 0.25


class Table(Furniture):
    """Wooden table on four legs, with padded chairs pushed halfway under its front and back.

    Chairs stand at the front side first, then at the back; none makes it a desk or a coffee table.
    The footprint's centre is the table's. Other things may lie under the table.
    """

    words: ClassVar[str] = "table"

    kind: Literal["table"] = "table"
    width: PositiveLength = Field(1.20, description="side to side; estimate: 47 in (1.20 m)")
    depth: PositiveLength = Field(0.80, description="front to back; estimate: 31 in (0.80 m)")
    height: PositiveLength = Field(0.74, description="floor to top; common: 29 in (0.74 m)")
    top: PositiveLength = Field(0.025, description="thickness of the top; estimate: 1 in (25 mm)")
    leg: PositiveLength = Field(0.06, description="side of a square leg; estimate: 2 3/8 in (6 cm)")
    chairs: int = Field(
        4, strict=True, ge=0, le=8, description="number of chairs at its long sides"
    )

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if self.top >= self.height or self.width <= 2.0 * self.leg or self.depth <= 2.0 * self.leg:
            raise refusal("leg", "top and legs do not fit the table's size")
        front, back = self._chairs_by_side
        if front * SEAT > self.width - 2.0 * self.leg:
            raise refusal("chairs", f"{front} chairs do not fit between the legs on one side")
        if back and self.depth < 2.0 * TUCKED:
            raise refusal("depth", "chairs meet under the table; make it 0.5 m deep")
        if front and self.height - self.top <= SEAT_HEIGHT:
            raise refusal("chairs", "chairs do not fit under this table; write chairs = 0")
        return self

    @property
    def _chairs_by_side(self) -> tuple[int, int]:
        return (self.chairs + 1) // 2, self.chairs // 2

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the top, the legs and the chairs."""
        x, y = 0.5 * self.width, 0.5 * self.depth
        under = self.height - self.top
        surface = Refuge.SURFACE
        bench.solid("top", (-x, -y, under), (x, y, self.height), stuffing.HARDWOOD, surface)
        for west in (-x, x - self.leg):
            for south in (-y, y - self.leg):
                corner = (west + self.leg, south + self.leg, under)
                bench.solid("leg", (west, south, 0.0), corner, stuffing.HARDWOOD, surface)
        for side, number in zip((-1.0, 1.0), self._chairs_by_side, strict=True):
            for place in range(number):
                pitch = (self.width - 2.0 * self.leg) / number
                self._chair(bench, -x + self.leg + (place + 0.5) * pitch, side)
        bench.claim_parts()

    def _chair(self, bench: Workbench, x: float, side: float) -> None:
        """Draw one chair at ``x``; ``side`` -1 stands in front of the table and faces it."""
        inner = side * (0.5 * self.depth - TUCKED)
        outer = inner + side * SEAT
        half, under = 0.5 * SEAT, SEAT_HEIGHT - SEAT_THICKNESS
        y_low, y_high = min(inner, outer), max(inner, outer)
        low, high = (x - half, y_low, under), (x + half, y_high, SEAT_HEIGHT)
        bench.solid("chair seat", low, high, stuffing.CHAIR_SEAT, Refuge.THROUGHOUT)
        back_inner = outer - side * CHAIR_BACK
        low = (x - half, min(outer, back_inner), SEAT_HEIGHT)
        high = (x + half, max(outer, back_inner), CHAIR_HEIGHT)
        bench.solid("chair back", low, high, stuffing.PLYWOOD, Refuge.SURFACE)
        for west in (x - half, x + half - CHAIR_LEG):
            for south in (y_low, y_high - CHAIR_LEG):
                corner = (west + CHAIR_LEG, south + CHAIR_LEG, under)
                bench.solid(
                    "chair leg", (west, south, 0.0), corner, stuffing.HARDWOOD, Refuge.SURFACE
                )
