"""The axial fan on the floor or on a stand."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Blower
from simulator.case.fields import Flow, PositiveLength, Power, refusal
from simulator.case.parts import AirMover
from simulator.case.pieces import Pieces

#: Depth of a fan with its cage [m] (estimate).
CAGE_DEPTH = 0.30


class Fan(Blower):
    """Axial circulation fan on the floor or a stand, aimed by `turn` and `tilt`.

    `flow` is its free delivery, as on its plate; it drags much more air along. All that its motor
    draws ends as heat in the room. Its body is too small to store heat worth counting and is left
    out.
    """

    words: ClassVar[str] = "fan"

    kind: Literal["fan"] = "fan"
    diameter: PositiveLength = Field(0.50, description="of the blades; 20 in (0.50 m); common")
    flow: Flow = Field(
        1.0, description="free delivery; 2100 cfm (1.0 m³/s); common: 0.5 to 2, no source"
    )
    power: Power = Field(200.0, description="draw of its motor; common: 150 to 400 W, no source")
    height: PositiveLength = Field(
        0.40, description="floor to the hub; 16 in (0.40 m) on the floor"
    )

    @model_validator(mode="after")
    def _blades_are_above_the_floor(self) -> Self:
        if self.height < 0.5 * self.diameter:
            raise refusal("height", "the blades reach into the floor; raise height")
        return self

    @property
    def electrical_power(self) -> float:
        """Power that its motor draws from a circuit [W]."""
        return self.power

    def compile(self, room: Room) -> Pieces:
        """Return its disc as a mover of air."""
        bench = self.bench(room)
        bench.part(
            AirMover(
                owner=self.name,
                name=self.words,
                centre=bench.point((0.0, 0.0, self.height)),
                direction=self.direction,
                diameter=self.diameter,
                flow=self.flow,
                power=self.power,
            )
        )
        half, depth = 0.5 * self.diameter, 0.5 * CAGE_DEPTH
        bench.claim((-depth, -half, self.height - half), (depth, half, self.height + half))
        return bench.pieces(self.words)
