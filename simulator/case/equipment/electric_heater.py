"""The electric heater: it draws air of the room, heats it and blows it back."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Blower
from simulator.case.fields import Flow, Name, PositiveLength, Power, Temperature, refusal
from simulator.case.parts import HeatedJet
from simulator.case.pieces import Pieces
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.units import kilowatts

#: Temperature of the coldest air that a heater is checked with [°C]: a room at the start.
COLD_INTAKE = 20.0

#: Depth of the zone behind a heater where it draws air [m] (estimate).
INTAKE_DEPTH = 0.20


class ElectricHeater(Blower):
    """Electric heater with its own blower in the room: draws air behind, blows it in front.

    All that it draws ends as heat in its jet. The default, 5.6 kW, is 97 % of what a 30 A circuit
    of 240 V carries all day. Its casing is too small to store heat worth counting and is left out.
    """

    words: ClassVar[str] = "electric heater"

    kind: Literal["electric_heater"] = "electric_heater"
    power: Power = Field(5600.0, description="draw, all of it heat; common: 1.4 to 5.7 kW")
    flow: Flow = Field(
        0.28, description="air through it; 600 cfm (0.28 m³/s); common practice, no source"
    )
    outlet_limit: Temperature = Field(
        80.0, description="hottest air it blows; 176 degF (80 °C); estimate, see its plate"
    )
    outlet_diameter: PositiveLength = Field(
        0.30, description="of the outlet; 12 in (0.30 m); estimate"
    )
    outlet_height: PositiveLength = Field(
        0.40, description="floor to the middle of the outlet; 16 in (0.40 m); estimate"
    )
    length: PositiveLength = Field(0.50, description="intake to outlet; 20 in (0.50 m); estimate")
    width: PositiveLength = Field(0.40, description="side to side; 16 in (0.40 m); estimate")

    sensor: Name | None = Field(
        None,
        description="name of the sensor that it obeys; left out: the layout's thermostat or, "
        "without one, its own intake air",
    )

    @model_validator(mode="after")
    def _flow_carries_the_power(self) -> Self:
        if self.outlet_height < 0.5 * self.outlet_diameter:
            raise refusal("outlet_height", "the outlet reaches into the floor; raise outlet_height")
        if self.outlet_limit <= COLD_INTAKE:
            raise refusal("outlet_limit", f"outlet_limit must be above {COLD_INTAKE:g} °C")
        carried = AIR_VOLUMETRIC_HEAT_CAPACITY * self.flow * (self.outlet_limit - COLD_INTAKE)
        if self.power > carried:
            raise refusal(
                "power",
                f"power is more than the flow carries from {COLD_INTAKE:g} °C to outlet_limit: "
                f"at most {kilowatts(carried)}; raise flow or outlet_limit",
            )
        return self

    @property
    def electrical_power(self) -> float:
        """Power that it draws from a circuit [W]."""
        return self.power

    def compile(self, room: Room) -> Pieces:
        """Return its jet; the intake is a box behind it, from near the floor to its top."""
        bench = self.bench(room)
        x, y = 0.5 * self.length, 0.5 * self.width
        top = self.outlet_height + 0.5 * self.outlet_diameter
        intake = (-x - INTAKE_DEPTH, -y, 0.0), (-x, y, top)
        bench.part(
            HeatedJet(
                owner=self.name,
                name=self.words,
                centre=bench.point((x, 0.0, self.outlet_height)),
                direction=self.direction,
                diameter=self.outlet_diameter,
                flow=self.flow,
                power=self.power,
                outlet_limit=self.outlet_limit,
                intake=bench.box(*intake),
                sensor=self.sensor or "",
            )
        )
        bench.claim((-x - INTAKE_DEPTH, -y, 0.0), (x, y, top))
        return bench.pieces(self.words)
