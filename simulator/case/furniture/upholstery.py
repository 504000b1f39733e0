"""What sofa and armchair share: a base, loose seat cushions, a back, two arms and legs."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, open_up
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import ON_EDGE, UPRIGHT, Refuge
from simulator.case.workbench import Workbench

#: Side of a square foot of an upholstered seat [m] (estimate).
FOOT = 0.05


class UpholsteredSeat(Furniture):
    """An upholstered seat; its back is at the back end. Not a kind of its own."""

    stands_off: ClassVar[bool] = True

    width: PositiveLength
    cushions: int
    depth: PositiveLength = Field(0.90, description="front to back; estimate: 35 in (0.90 m)")
    height: PositiveLength = Field(0.85, description="floor to top of the back; estimate: 33 in")
    seat_height: PositiveLength = Field(
        0.45, description="floor to top of the cushions; estimate: 18 in (0.45 m)"
    )
    cushion_height: PositiveLength = Field(
        0.15, description="thickness of a seat cushion; estimate: 6 in (0.15 m)"
    )
    clearance: PositiveLength = Field(0.08, description="free height under the seat; 3 in (8 cm)")
    back_thickness: PositiveLength = Field(0.22, description="back cushion and frame; 9 in (22 cm)")
    arm_width: PositiveLength = Field(0.18, description="width of an arm; 7 in (18 cm)")
    arm_height: PositiveLength = Field(0.60, description="floor to top of the arms; 24 in (60 cm)")
    cushions_are: Literal["in_place", "on_edge"] = Field(
        "in_place",
        description="in_place, or on_edge: seat cushions stood up so that air gets between",
    )

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        inside = self.width - 2.0 * self.arm_width
        has_seat = inside > 0.0 and self.depth > self.back_thickness
        if not has_seat or min(self.width, self.depth) <= 2.0 * FOOT:
            raise refusal("width", "arms and back leave no seat; make it wider or deeper")
        base_top = self.seat_height - self.cushion_height
        if not self.clearance < base_top < self.seat_height < self.height:
            raise refusal("seat_height", "heights must rise: clearance, base, seat_height, height")
        if not base_top < self.arm_height:
            raise refusal("arm_height", "arm_height must be above the base of the seat")
        if self.cushions * self.cushion_height > inside and self.cushions_are == "on_edge":
            raise refusal("cushions_are", "the cushions are too thick to stand side by side")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: stand the cushions up, pull it off."""
        found = []
        if self.cushions_are == "in_place":
            what = "stand its seat cushions on edge, apart"
            found.append(open_up(self.name, "cushions", what, {"cushions_are": "on_edge"}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw base, back, arms, cushions and feet."""
        x, y = 0.5 * self.width, 0.5 * self.depth
        low, base_top = self.clearance, self.seat_height - self.cushion_height
        inner, back = x - self.arm_width, y - self.back_thickness
        hides = Refuge.THROUGHOUT
        bench.solid(
            "base under the seat",
            (-inner, -y, low),
            (inner, y, base_top),
            stuffing.SEAT_BASE,
            hides,
        )
        bench.solid(
            "back", (-inner, back, base_top), (inner, y, self.height), stuffing.SEAT_BACK, hides
        )
        for west in (-x, inner):
            low_corner = (west, -y, low)
            high_corner = (west + self.arm_width, y, self.arm_height)
            bench.solid("arm", low_corner, high_corner, stuffing.SEAT_ARM, hides)
        self._feet(bench, x, y)
        top = self._cushions(bench, inner, -y, back)
        bench.claim((-x, -y, 0.0), (x, y, max(top, self.height, self.arm_height)))

    def _feet(self, bench: Workbench, x: float, y: float) -> None:
        for west in (-x, x - FOOT):
            for south in (-y, y - FOOT):
                corner = (west + FOOT, south + FOOT, self.clearance)
                bench.solid("foot", (west, south, 0.0), corner, stuffing.HARDWOOD, Refuge.SURFACE)

    def _cushions(self, bench: Workbench, inner: float, front: float, back: float) -> float:
        """Draw the cushions between the arms; on edge, each stands on its front-to-back edge."""
        pitch = 2.0 * inner / self.cushions
        low = self.seat_height - self.cushion_height
        if self.cushions_are == "in_place":
            width, height, lie = pitch, self.cushion_height, UPRIGHT
        else:
            width, height, lie = self.cushion_height, pitch, ON_EDGE
        for number in range(self.cushions):
            west = -inner + (number + 0.5) * pitch - 0.5 * width
            low_corner, high_corner = (west, front, low), (west + width, back, low + height)
            stuff, refuge = stuffing.CUSHION, Refuge.THROUGHOUT
            bench.solid("cushion", low_corner, high_corner, stuff, refuge, lie)
        return low + height
