"""The temperature sensor."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.dwelling import Room
from simulator.case.equipment.placement import Equipment
from simulator.case.fields import Flag, RoomPoint
from simulator.case.pieces import Pieces
from simulator.case.workbench import Workbench


class Sensor(Equipment):
    """Temperature sensor, in the air or pushed into a thing; as thermostat of one heater or all.

    Sensors tell most in slow places: under cushions, in full drawers, low in outside corners.
    """

    words: ClassVar[str] = "sensor"
    may_overlap: ClassVar[bool] = True

    kind: Literal["sensor"] = "sensor"
    at: RoomPoint = Field(description="[x east, y north, z up] from the room's south-west corner")
    thermostat: Flag = Field(
        False, description="true for the one that heaters obey which name no other sensor"
    )
    guards_air_limit: Flag = Field(
        False, description="true: no heater heats while it reads the treatment's air_limit"
    )

    def compile(self, room: Room) -> Pieces:
        """Return one watched point."""
        bench = Workbench(self.name, room.low, 0.0)
        bench.probe(
            self.words,
            self.at,
            is_thermostat=self.thermostat,
            guards_air_limit=self.guards_air_limit,
        )
        return bench.pieces(self.words)
