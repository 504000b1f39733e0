"""How a piece of equipment is put in a room, and which way it blows.

In its own frame a piece blows along +x, has y to its left, and its origin on the floor below its
middle. ``turn`` is therefore its compass aim: 0 deg blows east, 90 deg north, 180 deg west, 270 deg
south.
"""

import math
from typing import ClassVar

from pydantic import Field

from simulator.case.dwelling import Room
from simulator.case.fields import Angle, FloorPoint, Name, Record
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

    def compile(self, room: Room) -> Pieces:
        """Return the parts, probes and claimed space of this piece in ``room``."""
        raise NotImplementedError


class Blower(Equipment):
    """A piece that stands on the floor and blows. Not a kind of its own."""

    at: FloorPoint = Field(description="its middle, from the room's south-west floor corner")
    turn: Angle = Field(
        description="where it blows, anticlockwise from east: 0 deg east, 90 deg north"
    )
    tilt: Angle = Field(default=0.0, description="upward tilt of its blow; below 0 deg: downward")

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
