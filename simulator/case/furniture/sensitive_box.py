"""A box of things that heat harms."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import Size
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.hazards import THINGS, Verdict
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: How deep under the lid the watched thing lies [m].
UNDER_LID = 0.01


class SensitiveBox(Furniture):
    """Box of things that heat harms: medicines, aerosol cans, candles and so on.

    The hottest of them lies just under the lid and is watched. Remove the box before the day:
    cans, gas, ammunition, lighters, oxygen, solvents, fuel, medicines and living things never stay
    in, whatever the temperature.
    """

    words: ClassVar[str] = "box of heat-sensitive things"

    kind: Literal["sensitive_box"] = "sensitive_box"
    contents: Literal[
        "aerosol_cans",
        "medicines",
        "candles",
        "chocolate",
        "soft_plastics",
        "vinyl_records",
        "lithium_batteries",
        "fire_extinguisher",
        "gas_cartridges",
        "ammunition",
        "lighters",
        "oxygen",
        "solvents_and_fuel",
        "plants",
        "musical_instruments",
    ] = Field(
        "aerosol_cans", description="what is in it, which sets the limit: " + ", ".join(THINGS)
    )
    size: Size = Field((0.35, 0.25, 0.25), description="of the box; 14 by 10 by 10 in")

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: take it out."""
        thing = THINGS[self.contents]
        is_hazard = thing.verdict is Verdict.STOP
        out = Advice(
            "out",
            f"{self.name} ({thing.what}): {thing.advice}",
            thing.basis,
            thing.standing,
            When.BEFORE,
            removes=True,
            is_hazard=is_hazard,
        )
        return (out, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw one box and watch the thing under its lid."""
        x, y, top = 0.5 * self.size[0], 0.5 * self.size[1], self.size[2]
        low, high = (-x, -y, 0.0), (x, y, top)
        bench.solid("box", low, high, stuffing.HOUSEHOLD_GOODS, Refuge.SURFACE)
        thing, depth = THINGS[self.contents], min(UNDER_LID, 0.5 * top)
        bench.watch(thing.what, (0.0, 0.0, top - depth), thing)
        bench.claim(low, high)
