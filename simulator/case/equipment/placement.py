"""How a piece of equipment is put in a room, and which way it blows.

In its own frame a piece blows along +x, has y to its left, and its origin on the floor below its
middle. ``turn`` is therefore its compass aim: 0 deg blows east, 90 deg north, 180 deg west, 270 deg
south.
"""

import math
from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.electrical import CORD_INSULATIONS, CORD_RATINGS, Cord, ElectricalLoad
from simulator.case.fields import Angle, Current, FloorPoint, Name, Record, Voltage, refusal
from simulator.case.parts import Vector
from simulator.case.pieces import Pieces
from simulator.case.workbench import Workbench, cosine_and_sine


class Equipment(Record):
    """A piece of equipment: a name, a room, and what each kind adds.

    ``may_overlap`` says that it takes no space of its own (a sensor).
    """

    may_overlap: ClassVar[bool] = False
    words: ClassVar[str]

    name: Name = Field(description="name of the piece, unique in the layout")
    room: Name = Field(description="name of the room it is in")

    @property
    def electrical_power(self) -> float:
        """Power that it draws from a circuit [W]."""
        return 0.0

    @property
    def electrical_load(self) -> ElectricalLoad | None:
        """What it is on a load sheet, or None if it draws nothing."""
        return None

    def compile(self, room: Room) -> Pieces:
        """Return the parts, probes and claimed space of this piece in ``room``."""
        raise NotImplementedError


class Blower(Equipment):
    """A piece that stands on the floor and blows. Not a kind of its own.

    ``is_cord_in_heat`` says whether its cord lies in the heated air.
    """

    is_cord_in_heat: ClassVar[bool] = True

    at: FloorPoint = Field(description="its middle, from the room's south-west floor corner")
    turn: Angle = Field(
        description="where it blows, anticlockwise from east: 0 deg east, 90 deg north"
    )
    tilt: Angle = Field(default=0.0, description="upward tilt of its blow; below 0 deg: downward")
    voltage: Voltage | None = Field(
        default=None, description="that it is made for; left out: that of its circuit"
    )
    cord_gauge: (
        Literal["18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG"] | None
    ) = Field(default=None, description="size of its cord, such as '12 AWG'")
    cord_rating: Current | None = Field(
        default=None, description="current that its cord carries in air of 30 °C, if not by gauge"
    )
    cord_insulation: Literal["60 degC", "75 degC", "90 degC"] = Field(
        default="60 degC", description="what the cord's insulation bears: 60 degC, 75 degC, 90 degC"
    )

    @model_validator(mode="after")
    def _one_cord_only(self) -> Self:
        if self.cord_gauge is not None and self.cord_rating is not None:
            raise refusal("cord_rating", "give either cord_gauge or cord_rating, not both")
        return self

    @property
    def cord(self) -> Cord | None:
        """Its cord, or None if not given."""
        insulation = CORD_INSULATIONS[self.cord_insulation]
        if self.cord_gauge is not None:
            basis = f"{self.cord_gauge}, NEC Table 400.5(A)(1), column B (from memory)"
            return Cord(CORD_RATINGS[self.cord_gauge], insulation, basis)
        if self.cord_rating is not None:
            return Cord(self.cord_rating, insulation, "as given in the case")
        return None

    @property
    def electrical_load(self) -> ElectricalLoad | None:
        """What it is on a load sheet, or None if it draws nothing."""
        if self.electrical_power <= 0.0:
            return None
        return ElectricalLoad(
            self.name,
            self.words,
            self.room,
            self.electrical_power,
            self.voltage,
            self.cord,
            self.is_cord_in_heat,
        )

    def bench(self, room: Room) -> Workbench:
        """Return a bench at its place, turned to its aim."""
        origin = (room.low[0] + self.at[0], room.low[1] + self.at[1], room.low[2])
        return Workbench(self.name, origin, self.turn)

    @property
    def direction(self) -> Vector:
        """Unit vector along which it blows."""
        cosine, sine = cosine_and_sine(self.turn)
        along, up = math.cos(math.radians(self.tilt)), math.sin(math.radians(self.tilt))
        return (along * cosine, along * sine, up)
