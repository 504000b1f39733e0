"""The exhaust: an opening through which air leaves that ducted air displaces."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.dwelling import Room, Side
from simulator.case.dwelling_file import WallName
from simulator.case.equipment.placement import Equipment
from simulator.case.fields import NotNegativeLength, PositiveLength
from simulator.case.openings import WALLS, opening_in_wall
from simulator.case.parts import AirOutlet, Box, Vector
from simulator.case.pieces import Pieces

#: Depth of the air in front of an exhaust that it draws from [m] (estimate).
EXHAUST_DEPTH = 0.10


class Exhaust(Equipment):
    """Opening to outdoors in a wall, a window or a door gap, for the air that ducts displace.

    It takes no power. Displaced air leaves through exhausts before it presses out through leaks;
    what an opening would exchange by itself, by wind or by warm air rising, is left out.
    """

    words: ClassVar[str] = "exhaust"
    may_overlap: ClassVar[bool] = True

    kind: Literal["exhaust"] = "exhaust"
    side: WallName = Field(description="the wall it is in")
    along: NotNegativeLength = Field(
        description="from the wall's south or west end to the opening's near edge"
    )
    sill: NotNegativeLength = Field(0.9, description="its foot above the floor; estimate")
    width: PositiveLength = Field(
        0.60, description="of the opening; 24 in (0.6 m), a sash raised a little; estimate"
    )
    height: PositiveLength = Field(0.20, description="of the opening; 8 in (0.2 m); estimate")

    @property
    def wall(self) -> Side:
        """The wall it is in."""
        return WALLS[self.side]

    def opening(self, room: Room) -> tuple[Vector, Vector]:
        """Return opposite corners of the opening, in the plane of the wall's inner face [m]."""
        return opening_in_wall(room, self.wall, self.along, self.sill, self.width, self.height)

    def compile(self, room: Room) -> Pieces:
        """Return its opening with the air in front of it."""
        side = self.wall
        low, high = self.opening(room)
        centre = [0.5 * (a + b) for a, b in zip(low, high, strict=True)]
        size = [b - a for a, b in zip(low, high, strict=True)]
        centre[side.axis] -= 0.5 * side.sign * EXHAUST_DEPTH
        size[side.axis] = EXHAUST_DEPTH
        air = Box((centre[0], centre[1], centre[2]), (size[0], size[1], size[2]))
        outlet = AirOutlet(self.name, self.words, air, self.width * self.height)
        return Pieces((outlet,), (), (), self.words)
