"""What dresser and nightstand share: a carcass of boards with one column of drawers."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.advice import Advice, open_up, thin_out
from simulator.case.dwelling import Room
from simulator.case.fields import NotNegativeLength, PositiveLength, Share, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.materials import Material, mix
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: Thickness of the thin back and of a drawer's bottom [m] (estimate: hardboard).
THIN = 0.005
#: Size of a folded garment's layers, which sets how air finds its way through a drawer [m]
#: (estimate).
FOLDED_GARMENT = 0.03

#: Share of a drawer that clothes may fill before air no longer finds its way [-] (estimate), and
#: what is left when a part is taken out.
FULL, THINNED = 0.7, 0.6


class Chest(Furniture):
    """A chest of drawers; drawer fronts face the front. Not a kind of its own.

    A shut drawer is an effective solid of clothes and still air that fills its bay; sides of
    drawers are counted with the carcass. An open drawer's load is loose stuff that air passes. Open
    drawers stand out like stairs, the lowest by the whole ``pull``.
    """

    stands_off: ClassVar[bool] = True

    width: PositiveLength
    depth: PositiveLength
    height: PositiveLength
    drawers: int
    pull: PositiveLength
    board: PositiveLength = Field(
        0.018, description="thickness of the boards; estimate: 3/4 in (18 mm) particleboard"
    )
    plinth: NotNegativeLength = Field(
        0.06, description="free height under the carcass, between its sides; estimate: 2 1/2 in"
    )
    drawers_are: Literal["shut", "open"] = Field("shut", description="shut, or open: pulled out")
    fill: Share = Field(0.6, description="share of the drawers' volume taken by folded clothes")

    @model_validator(mode="after")
    def _measures_agree(self) -> Self:
        if self._bay_height <= THIN + 0.02 or self.width <= 2.5 * self.board:
            raise refusal("board", "boards leave no room for the drawers; make it larger")
        if self.depth <= self.board + THIN + 0.05:
            raise refusal("depth", "depth leaves no room for the drawers")
        if self.drawers_are == "open" and self.pull >= self.depth - self.board - THIN:
            raise refusal("pull", "pull must be less than the depth of the drawers")
        return self

    @property
    def _bay_height(self) -> float:
        return (self.height - self.plinth - 2.0 * self.board) / self.drawers

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: thin out full drawers, open them, pull it off."""
        found = []
        if self.fill > FULL:
            what = "take out a part of the clothes and wash or tumble them hot"
            found.append(thin_out(self.name, "fill", what, {"fill": THINNED}))
        if self.drawers_are == "shut" and self.fill > 0.0:
            what = "pull out all drawers like stairs, the lowest farthest"
            found.append(open_up(self.name, "drawers", what, {"drawers_are": "open"}))
        return (*found, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the carcass, then each drawer in its bay."""
        self._carcass(bench)
        for number in range(self.drawers):
            self._drawer(bench, number)
        x, y = 0.5 * self.width, 0.5 * self.depth
        reach = self.pull if self.drawers_are == "open" else 0.0
        bench.claim((-x, -y - reach, 0.0), (x, y, self.height))

    def _carcass(self, bench: Workbench) -> None:
        x, y, t = 0.5 * self.width, 0.5 * self.depth, self.board
        wood, surface = stuffing.PARTICLEBOARD, Refuge.SURFACE
        for west in (-x, x - t):
            low_corner, high_corner = (west, -y, 0.0), (west + t, y, self.height - t)
            bench.solid("side", low_corner, high_corner, wood, surface)
        bench.solid("top", (-x, -y, self.height - t), (x, y, self.height), wood, surface)
        low, high = (-x + t, -y, self.plinth), (x - t, y, self.plinth + t)
        bench.solid("bottom", low, high, wood, surface)
        low, high = (-x + t, y - THIN, self.plinth + t), (x - t, y, self.height - t)
        bench.solid("back", low, high, stuffing.FIBREBOARD, surface)

    def _drawer(self, bench: Workbench, number: int) -> None:
        """Draw drawer ``number`` from the bottom: front board, bottom and load."""
        x, t = 0.5 * self.width - self.board, self.board
        low = self.plinth + self.board + number * self._bay_height
        high = low + self._bay_height
        shift = self._shift(number)
        front, back = -0.5 * self.depth - shift, 0.5 * self.depth - THIN - shift
        surface = Refuge.SURFACE
        bench.solid(
            "drawer front", (-x, front, low), (x, front + t, high), stuffing.PARTICLEBOARD, surface
        )
        load_low = (-x, front + t, low + THIN)
        bench.solid(
            "drawer bottom",
            (-x, front + t, low),
            (x, back, low + THIN),
            stuffing.FIBREBOARD,
            surface,
        )
        if self.drawers_are == "shut":
            load = self._shut_load()
            bench.solid("drawer contents", load_low, (x, back, high), load, Refuge.THROUGHOUT)
        elif self.fill > 0.0:
            bench.porous(
                "drawer contents",
                load_low,
                (x, back, high),
                stuffing.TEXTILE,
                air_fraction=1.0 - self.fill,
                piece_size=FOLDED_GARMENT,
            )

    def _shift(self, number: int) -> float:
        if self.drawers_are == "shut":
            return 0.0
        return self.pull * (self.drawers - number) / self.drawers

    def _shut_load(self) -> Material:
        if self.fill == 0.0:
            return stuffing.STILL_AIR
        shares = {stuffing.TEXTILE: self.fill, stuffing.SMALL_HOLLOWS: 1.0 - self.fill}
        return mix(f"shut drawer, {self.fill:.0%} full", shares)
