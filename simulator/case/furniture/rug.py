"""The rug."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.standing import Standing
from simulator.case.workbench import Workbench


class Rug(Furniture):
    """Rug on the floor.

    Furniture may stand on it; its feet then reach through the rug. To avoid that, lift the
    furniture by `elevation`.
    """

    words: ClassVar[str] = "rug"
    may_overlap: ClassVar[bool] = True

    kind: Literal["rug"] = "rug"
    width: PositiveLength = Field(2.40, description="side to side; common: 8 ft (2.4 m)")
    depth: PositiveLength = Field(1.50, description="front to back; common: 5 ft (1.5 m)")
    thickness: PositiveLength = Field(
        0.012, description="with its underlay; estimate: 1/2 in (12 mm)"
    )

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done: lift it off the floor."""
        lifted = Advice(
            "lift",
            f"{self.name}: take it up and hang it over something",
            "below a rug the floor stays cold",
            Standing.PRACTICE,
            When.ARRIVAL,
            removes=True,
        )
        return (lifted, *super().advice(room))

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw one flat box."""
        x, y = 0.5 * self.width, 0.5 * self.depth
        low, high = (-x, -y, 0.0), (x, y, self.thickness)
        bench.solid("rug", low, high, stuffing.CARPET, Refuge.THROUGHOUT)
        bench.claim(low, high)
