"""The hot-air inlet: outdoor air from a burner outside, through a duct."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Blower
from simulator.case.fields import Flow, Name, PositiveLength, Power, Temperature, refusal
from simulator.case.parts import HeatedJet
from simulator.case.pieces import Pieces

#: Length of duct in the room that the end of the duct claims [m] (estimate).
DUCT_LENGTH = 0.50


class HotAirInlet(Blower):
    """End of a duct that blows clean outdoor air, heated by a burner outdoors, into the room.

    The air it brings displaces room air through exhausts and leaks. The burner never gives more
    than heats the flow to the outlet limit; what it could give beyond that is not used. While the
    set point is reached its blower goes on, with outdoor air; it stands still in a phase of the
    treatment whose heaters are off, unless that phase says that heater fans run.
    """

    words: ClassVar[str] = "hot-air inlet"
    is_cord_in_heat: ClassVar[bool] = False

    kind: Literal["hot_air_inlet"] = "hot_air_inlet"
    flow: Flow = Field(0.50, description="air through it; 1060 cfm (0.5 m³/s); common: 0.3 to 1.5")
    burner_power: Power = Field(
        40000.0, description="most heat given to that air; 136,000 BTU/h (40 kW)"
    )
    outlet_limit: Temperature = Field(
        75.0, description="hottest air it blows; 167 degF (75 °C); common practice, no source"
    )
    duct_diameter: PositiveLength = Field(0.40, description="of the duct; 16 in (0.40 m); estimate")
    height: PositiveLength = Field(
        0.50, description="floor to the middle of the duct's end; 20 in (0.50 m); estimate"
    )
    blower_power: Power = Field(
        750.0, description="draw of the blower outdoors; estimate; none of it heats the room"
    )

    sensor: Name | None = Field(
        None,
        description="name of the sensor that it obeys; left out: the layout's thermostat or, "
        "without one, the dwelling's mean air",
    )

    @model_validator(mode="after")
    def _duct_is_above_the_floor(self) -> Self:
        if self.height < 0.5 * self.duct_diameter:
            raise refusal("height", "the duct reaches into the floor; raise height")
        return self

    @property
    def electrical_power(self) -> float:
        """Power that its blower draws from a circuit [W]."""
        return self.blower_power

    def compile(self, room: Room) -> Pieces:
        """Return its jet, which has no intake in the room."""
        bench = self.bench(room)
        bench.part(
            HeatedJet(
                owner=self.name,
                name=self.words,
                centre=bench.point((0.0, 0.0, self.height)),
                direction=self.direction,
                diameter=self.duct_diameter,
                flow=self.flow,
                power=self.burner_power,
                outlet_limit=self.outlet_limit,
                intake=None,
                sensor=self.sensor or "",
            )
        )
        half = 0.5 * self.duct_diameter
        bench.claim((-DUCT_LENGTH, -half, self.height - half), (0.0, half, self.height + half))
        return bench.pieces(self.words)
