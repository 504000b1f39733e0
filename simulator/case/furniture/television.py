"""The television."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, Temperature
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.hazards import television
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: The foot: height and depth [m] (estimate).
FOOT_HEIGHT, FOOT_DEPTH = 0.05, 0.22


class Television(Furniture):
    """Flat television on its foot, switched off; set it on a dresser by `elevation`.

    Watched as a thing that heat can harm: makers' limits run from 45 to 60 °C (secondary pages);
    the default is the upper end, unplugged. The set's own label comes first.
    """

    words: ClassVar[str] = "television"

    kind: Literal["television"] = "television"
    width: PositiveLength = Field(
        1.10, description="width of the screen; a 49 in set 43 in (1.1 m)"
    )
    height: PositiveLength = Field(0.65, description="height of the screen; 26 in (0.65 m)")
    thickness: PositiveLength = Field(0.05, description="thickness of the set; 2 in (5 cm)")
    limit: Temperature = Field(60.0, description="highest temperature allowed, from its label")

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: unplug it, mind its label."""
        thing = television(self.limit)
        unplugged = Advice(
            "unplug",
            f"{self.name}: {thing.advice}",
            thing.basis,
            thing.standing,
            When.ARRIVAL,
            removes=True,
        )
        return (unplugged, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the set and its foot, and watch the middle of the set."""
        x, y, base = 0.5 * self.width, 0.5 * self.thickness, FOOT_HEIGHT
        top = base + self.height
        surface = Refuge.SURFACE
        bench.solid("set", (-x, -y, base), (x, y, top), stuffing.TELEVISION, surface)
        low, high = (-0.5 * x, -0.5 * FOOT_DEPTH, 0.0), (0.5 * x, 0.5 * FOOT_DEPTH, base)
        bench.solid("foot", low, high, stuffing.TELEVISION, surface)
        bench.watch("television", (0.0, 0.0, base + 0.5 * self.height), television(self.limit))
        depth = max(y, 0.5 * FOOT_DEPTH)
        bench.claim((-x, -depth, 0.0), (x, depth, top))
