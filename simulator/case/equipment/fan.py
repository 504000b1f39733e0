"""The axial fan on the floor or on a stand."""

from math import pi
from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Blower
from simulator.case.fields import Flow, PositiveLength, Power, Pressure, refusal
from simulator.case.parts import AXIAL_SHUT_OFF, AirMover
from simulator.case.pieces import Pieces

#: Depth of a fan with its cage [m] (estimate).
CAGE_DEPTH = 0.30

#: Density of the air that fans are rated in [kg/m³]; ISO 5801, from memory.
RATED_AIR = 1.2

#: Shut-off pressure over the dynamic pressure of the free delivery that is let through [-]. Common
#: practice, no source: propeller fans 2 to 5, ducted axial fans to 10, centrifugal ones to 30.
SHUT_OFF_RANGE = (1.0, 50.0)


class Fan(Blower):
    """Axial circulation fan on the floor or a stand, aimed by `turn` and `tilt`.

    `flow` is its free delivery, as on its plate; it drags much more air along. Where something
    stands close behind or before it, it gives less, by its fan curve from free delivery to
    `shut_off_pressure`. All that its motor draws ends as heat in the room. Its body is too small to
    store heat worth counting and is left out.
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

    shut_off_pressure: Pressure | None = Field(
        None,
        description="static pressure that it gives without any flow, as on its data sheet, e.g."
        f" 50 Pa (0.2 inH2O); left out: {AXIAL_SHUT_OFF:g} times the dynamic pressure of its free"
        " delivery, common practice, no source; allowed:"
        f" {SHUT_OFF_RANGE[0]:g} to {SHUT_OFF_RANGE[1]:g} times",
    )

    @model_validator(mode="after")
    def _blades_are_above_the_floor(self) -> Self:
        if self.height < 0.5 * self.diameter:
            raise refusal("height", "the blades reach into the floor; raise height")
        return self

    @model_validator(mode="after")
    def _shut_off_is_that_of_a_fan(self) -> Self:
        least, most = SHUT_OFF_RANGE
        if not least <= self.shut_off <= most:
            unit = self._dynamic_pressure
            raise refusal(
                "shut_off_pressure",
                f"{self.shut_off_pressure:g} Pa is not that of a fan of this flow and diameter;"
                f" use {least * unit:.1f} to {most * unit:.0f} Pa",
            )
        return self

    @property
    def _dynamic_pressure(self) -> float:
        """Dynamic pressure of its free delivery in the air that it is rated in [Pa]."""
        speed = self.flow / (0.25 * pi * self.diameter**2)
        return 0.5 * RATED_AIR * speed**2

    @property
    def shut_off(self) -> float:
        """Shut-off pressure over the dynamic pressure of the free delivery [-]."""
        if self.shut_off_pressure is None:
            return AXIAL_SHUT_OFF
        return self.shut_off_pressure / self._dynamic_pressure

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
                shut_off=self.shut_off,
            )
        )
        half, depth = 0.5 * self.diameter, 0.5 * CAGE_DEPTH
        bench.claim((-depth, -half, self.height - half), (depth, half, self.height + half))
        return bench.pieces(self.words)
