"""The bed: frame, slats, box spring, mattress, headboard, bedding, and what is stuffed under it."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, When, thin_out
from simulator.case.dwelling import Room
from simulator.case.fields import NotNegativeLength, PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import ON_EDGE, UPRIGHT, UPSIDE_DOWN, Refuge
from simulator.case.standing import Standing
from simulator.case.workbench import Workbench

#: Section of a slat: width and thickness [m] (estimate: 1 by 4 boards).
SLAT_WIDTH, SLAT_THICKNESS = 0.09, 0.02
#: Heights of the box spring's wadded top and slatted bottom [m] (estimate).
BOX_SPRING_TOP, BOX_SPRING_BOTTOM = 0.015, 0.02
#: Free height kept above what is stuffed under a bed [m].
UNDER_GAP = 0.02
#: A pillow lying flat: width, depth, height [m].
PILLOW_SIZE = (0.65, 0.45, 0.12)
#: Heaped bedding: share of the bed's width, air between the folds, size of a fold (estimates).
HEAP_WIDTH, HEAP_AIR, HEAP_FOLD = 0.6, 0.3, 0.06

#: How a mattress lies in its box.
_LIES = {"flat": UPRIGHT, "turned": UPSIDE_DOWN, "on_edge": ON_EDGE}


class Bed(Furniture):
    """Bed with a wooden frame, slats, box spring and mattress; headboard at its back end.

    Defaults make a queen (60 in by 80 in, 1.52 m by 2.03 m). Other common mattresses: twin 38 by 75
    in, full 54 by 75 in, king 76 by 80 in. A platform bed has `box_spring_height = "0 in"`.
    Blankets are layers on the mattress, with the place under them a refuge. Prepared for heat:
    mattress on edge, bedding stripped, nothing under the bed, pulled from the wall by its `at`.
    """

    words: ClassVar[str] = "bed"
    stands_off: ClassVar[bool] = True

    kind: Literal["bed"] = "bed"
    width: PositiveLength = Field(1.52, description="width of the mattress; queen 60 in (1.52 m)")
    length: PositiveLength = Field(2.03, description="length of the mattress; queen 80 in (2.03 m)")
    clearance: PositiveLength = Field(
        0.18, description="floor to the underside of the frame; estimate: 7 in (0.18 m)"
    )
    board: PositiveLength = Field(
        0.025, description="thickness of side, foot and head boards; estimate: 1 in (25 mm)"
    )
    side_board_height: PositiveLength = Field(
        0.14, description="height of the side and foot boards; estimate: 5 1/2 in (0.14 m)"
    )
    headboard_height: NotNegativeLength = Field(
        1.10, description="top of the headboard above the floor, 0 in for none; estimate: 43 in"
    )
    leg: PositiveLength = Field(0.06, description="side of a square leg; estimate: 2 3/8 in (6 cm)")
    slats: int = Field(
        5, strict=True, ge=2, le=30, description="slats across the frame; 5 under a box spring"
    )
    box_spring_height: NotNegativeLength = Field(
        0.20, description="height of the box spring, 0 in for none; 8 in (0.20 m) is common"
    )
    mattress_height: PositiveLength = Field(
        0.25, description="thickness of the mattress; 10 in (0.25 m) is common"
    )
    mattress: Literal["flat", "turned", "on_edge"] = Field(
        "flat",
        description="flat; turned: flat, its top down; or on_edge: stood along the middle of the"
        " bed, its top to the left as one faces its head",
    )
    bedding: Literal["made", "heaped", "stripped"] = Field(
        "made",
        description="made: blankets spread over the mattress; heaped: the same in a loose heap "
        "towards the foot; or stripped: taken off, with the pillows",
    )
    bedding_thickness: PositiveLength = Field(
        0.03, description="sheets, blanket and quilt together; estimate: 1 1/4 in (3 cm)"
    )
    bedding_hang: NotNegativeLength = Field(
        0.0,
        description="how far a made bed's blankets hang down its sides and foot, 0 in: not at all",
    )
    pillows: int = Field(
        2, strict=True, ge=0, le=6, description="pillows at the head end unless it is stripped"
    )
    stuffed_under: Share = Field(
        0.0, description="share of the space under the bed that is stuffed, from the head end"
    )

    @model_validator(mode="after")
    def _bedding_needs_a_flat_mattress(self) -> Self:
        if self.mattress == "on_edge" and self.bedding != "stripped":
            raise refusal("bedding", "a mattress on edge holds no bedding; write 'stripped'")
        if (
            self.bedding != "stripped"
            and self.pillows * PILLOW_SIZE[0] > self.width + 0.25 * PILLOW_SIZE[0]
        ):
            raise refusal("pillows", f"{self.pillows} pillows do not fit side by side")
        if self.bedding == "heaped" and self.length < 0.5 * self.length + PILLOW_SIZE[1]:
            raise refusal("bedding", "the bed is too short for a heap beside the pillows")
        if self.bedding_hang > 0.0 and self.bedding_hang > self._free_side:
            raise refusal(
                "bedding_hang",
                f"blankets would lie on the side boards; at most {max(0.0, self._free_side):.2f} m",
            )
        if 0.0 < self.box_spring_height <= BOX_SPRING_TOP + BOX_SPRING_BOTTOM:
            raise refusal("box_spring_height", "a box spring is above 35 mm, or 0 in for none")
        if 0.0 < self.headboard_height <= self.clearance:
            raise refusal(
                "headboard_height",
                "must be above clearance, or 0 in for none",
            )
        if self.slats * SLAT_WIDTH > self.length:
            raise refusal("slats", f"{self.slats} slats do not fit side by side")
        if 2.0 * self.leg > min(self.width, self.length) or self.clearance <= UNDER_GAP:
            raise refusal("leg", "legs leave no space under the bed; thinner or longer legs")
        if self.side_board_height <= SLAT_THICKNESS:
            raise refusal("side_board_height", "side boards are higher than the slats, 20 mm")
        return self

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: strip it, stand the mattress up, clear below, pull off."""
        found = []
        if self.stuffed_under > 0.0:
            found.append(
                thin_out(
                    self.name,
                    "under",
                    "take out everything under it, bagged",
                    {"stuffed_under": 0.0},
                )
            )
        if self.bedding != "stripped":
            found.append(
                thin_out(
                    self.name,
                    "bedding",
                    "strip it and wash or tumble the bedding hot",
                    {"bedding": "stripped"},
                )
            )
        if self.mattress != "on_edge":
            found.append(
                Advice(
                    "mattress",
                    f"{self.name}: stand the mattress on edge along the middle",
                    "heat from one side does not cross a mattress: 85 °C above, never over 35 °C "
                    "below in 9 h (Doggett 2006); on edge both sides are reached",
                    Standing.READ,
                    When.ARRIVAL,
                    {"mattress": "on_edge", "bedding": "stripped", "bedding_hang": "0 m"},
                )
            )
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw frame, slats, box spring, mattress, bedding and the load underneath."""
        self._frame(bench)
        top = self._box_spring(bench, self.clearance + SLAT_THICKNESS)
        top = self._mattress(bench, top)
        if self.bedding != "stripped":
            top = max(self._bedding(bench, top), self._pillows(bench, top))
        if self.stuffed_under > 0.0:
            self._under(bench)
        x, y = self._half_width, self._half_length
        spread = self.bedding_thickness - self.board if self._hangs else 0.0
        x, south = x + max(0.0, spread), y + max(0.0, spread)
        highest = max(top, self.headboard_height, self.clearance + self.side_board_height)
        bench.claim((-x, -south, 0.0), (x, y, highest))

    @property
    def _half_width(self) -> float:
        return 0.5 * self.width + self.board

    @property
    def _half_length(self) -> float:
        return 0.5 * (self.length + self.board + self._head_thickness)

    @property
    def _head_thickness(self) -> float:
        return self.board if self.headboard_height > 0.0 else 0.0

    @property
    def _head(self) -> float:
        """Where the mattress ends at the head [m]."""
        return self._half_length - self._head_thickness

    @property
    def _foot(self) -> float:
        """Where the mattress ends at the foot [m]."""
        return self._half_length - self._head_thickness - self.length

    @property
    def _hangs(self) -> bool:
        return self.bedding == "made" and self.bedding_hang > 0.0

    @property
    def _free_side(self) -> float:
        """Height of the mattress' top over the side boards [m]."""
        top = self.clearance + SLAT_THICKNESS + self.box_spring_height + self.mattress_height
        return top - self.clearance - self.side_board_height

    def _frame(self, bench: Workbench) -> None:
        x, y, low = self._half_width, self._half_length, self.clearance
        high = low + self.side_board_height
        wood, surface = stuffing.SOFTWOOD, Refuge.SURFACE
        for west in (-x, x - self.board):
            east = west + self.board
            bench.solid(
                "side board", (west, self._foot, low), (east, self._head, high), wood, surface
            )
        bench.solid("foot board", (-x, -y, low), (x, self._foot, high), wood, surface)
        if self.headboard_height > 0.0:
            top = self.headboard_height
            bench.solid("headboard", (-x, self._head, low), (x, y, top), wood, surface)
        for west in (-x, x - self.leg):
            for south in (-y, y - self.leg):
                corner = (west + self.leg, south + self.leg, low)
                bench.solid("leg", (west, south, 0.0), corner, stuffing.HARDWOOD, surface)
        step = (self.length - SLAT_WIDTH) / (self.slats - 1)
        half = 0.5 * self.width
        for number in range(self.slats):
            south = self._foot + number * step
            corner = (half, south + SLAT_WIDTH, low + SLAT_THICKNESS)
            bench.solid("slat", (-half, south, low), corner, wood, surface)

    def _box_spring(self, bench: Workbench, low: float) -> float:
        if self.box_spring_height == 0.0:
            return low
        top = low + self.box_spring_height
        levels = (low, low + BOX_SPRING_BOTTOM, top - BOX_SPRING_TOP, top)
        layers = (
            ("box spring, bottom", stuffing.BOX_SPRING_BOTTOM),
            ("box spring, inside", stuffing.BOX_SPRING_INSIDE),
            ("box spring, top", stuffing.BOX_SPRING_TOP),
        )
        x = 0.5 * self.width
        for (name, stuff), under, over in zip(layers, levels[:-1], levels[1:], strict=True):
            low_corner, high_corner = (-x, self._foot, under), (x, self._head, over)
            bench.solid(name, low_corner, high_corner, stuff, Refuge.THROUGHOUT)
        return top

    def _mattress(self, bench: Workbench, low: float) -> float:
        if self.mattress == "on_edge":
            x, top = 0.5 * self.mattress_height, low + self.width
        else:
            x, top = 0.5 * self.width, low + self.mattress_height
        corners = (-x, self._foot, low), (x, self._head, top)
        lie = _LIES[self.mattress]
        bench.solid("mattress", *corners, stuffing.MATTRESS, Refuge.THROUGHOUT, lie)
        return top

    def _bedding(self, bench: Workbench, low: float) -> float:
        """Draw the blankets on the mattress, whose top is at ``low``; return their top."""
        if self.bedding == "heaped":
            return self._heap(bench, low)
        x, top = 0.5 * self.width, low + self.bedding_thickness
        corners = (-x, self._foot, low), (x, self._head, top)
        bench.solid("bedding", *corners, stuffing.BEDDING, Refuge.THROUGHOUT)
        if not self._hangs:
            return top
        hem, t = low - self.bedding_hang, self.bedding_thickness
        sides = (
            ((-x - t, self._foot, hem), (-x, self._head, top)),
            ((x, self._foot, hem), (x + t, self._head, top)),
            ((-x, self._foot - t, hem), (x, self._foot, top)),
        )
        for corners in sides:
            bench.solid("hanging bedding", *corners, stuffing.BEDDING, Refuge.THROUGHOUT)
        return top

    def _heap(self, bench: Workbench, low: float) -> float:
        """Draw the same blankets crumpled in a heap."""
        x = 0.5 * HEAP_WIDTH * self.width
        south = self._foot + 0.1 * self.length
        north = self._foot + 0.5 * self.length
        cloth = self.width * self.length * self.bedding_thickness
        height = cloth / (1.0 - HEAP_AIR) / (2.0 * x * (north - south))
        bench.porous(
            "bedding",
            (-x, south, low),
            (x, north, low + height),
            stuffing.BEDDING,
            air_fraction=HEAP_AIR,
            piece_size=HEAP_FOLD,
        )
        return low + height

    def _pillows(self, bench: Workbench, low: float) -> float:
        """Draw the pillows on the made bed, or on the mattress; return their top."""
        if self.pillows == 0:
            return low
        low += self.bedding_thickness if self.bedding == "made" else 0.0
        x, pitch = 0.5 * self.width, self.width / self.pillows
        width = min(PILLOW_SIZE[0], pitch)
        depth, height = PILLOW_SIZE[1:]
        for number in range(self.pillows):
            west = -x + (number + 0.5) * pitch - 0.5 * width
            low_corner = (west, self._head - depth, low)
            high_corner = (west + width, self._head, low + height)
            bench.solid("pillow", low_corner, high_corner, stuffing.PILLOW, Refuge.THROUGHOUT)
        return low + height

    def _under(self, bench: Workbench) -> None:
        x = self._half_width - self.leg
        north = self._half_length - self.leg
        south = north - self.stuffed_under * 2.0 * (self._half_length - self.leg)
        bench.porous(
            "things under the bed",
            (-x, south, 0.0),
            (x, north, self.clearance - UNDER_GAP),
            stuffing.HOUSEHOLD_GOODS,
            air_fraction=0.5,
            piece_size=0.15,
        )
