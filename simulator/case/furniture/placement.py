"""How a piece of furniture is put in a room: its own frame, turned, set on the floor.

In its own frame a piece has its origin on the floor below the centre of its footprint, x to the
right and y to the back as one faces it: its back or head end lies to the north (+y), its front to
the south. Pieces are drawn there as boxes from corner to corner; ``Workbench`` turns them into the
room.
"""

from typing import ClassVar

from pydantic import Field

from simulator.case.advice import Advice, When
from simulator.case.dwelling import Room
from simulator.case.fields import Angle, FloorPoint, Name, NotNegativeLength, Record
from simulator.case.overlap import corners
from simulator.case.parts import Vector
from simulator.case.pieces import Pieces
from simulator.case.standing import Standing
from simulator.case.workbench import Workbench

#: Gap to a wall from which air moves behind a piece [m] (common practice, no source: a hand).
WALL_GAP = 0.10


class Furniture(Record):
    """A piece of furniture: a name, a place in a room, and what each kind adds.

    Kinds draw themselves in ``assemble`` and say in ``advice`` what is yet to be done to them.
    ``may_overlap`` says that other pieces may stand in the space it claims (a rug, a thing under
    the ceiling), ``stands_off`` that bugs hide in it and it belongs off the wall.
    """

    may_overlap: ClassVar[bool] = False
    stands_off: ClassVar[bool] = False
    words: ClassVar[str]

    name: Name = Field(description="name of the piece, unique in the dwelling")
    room: Name = Field(description="name of the room it is in")
    at: FloorPoint = Field(
        description="centre of its footprint from the room's south-west floor corner"
    )
    turn: Angle = Field(
        default=0.0, description="anticlockwise seen from above; at 0 deg its back or head is north"
    )
    elevation: NotNegativeLength = Field(
        default=0.0, description="height of its underside above the floor (a set on a dresser)"
    )

    def compile(self, room: Room) -> Pieces:
        """Return the parts, probes and claimed space of this piece in ``room``."""
        bench = Workbench(self.name, self._origin(room), self.turn)
        self.assemble(bench, room)
        return bench.pieces(self.words)

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the piece on ``bench`` in its own frame."""
        raise NotImplementedError

    def advice(self, room: Room) -> tuple[Advice, ...]:
        """Return what is yet to be done to the piece as it stands in ``room``."""
        shift = self._way_off_the_walls(room)
        if not self.stands_off or shift == (0.0, 0.0):
            return ()
        return (
            Advice(
                "off the wall",
                f"{self.name}: pull it {100.0 * WALL_GAP:.0f} cm (4 in) or more off the walls",
                "the side towards a wall and the wall behind it get no moving air",
                Standing.PRACTICE,
                When.ARRIVAL,
                {"at": [f"{at + by:.3f} m" for at, by in zip(self.at, shift, strict=True)]},
            ),
        )

    def _way_off_the_walls(self, room: Room) -> tuple[float, float]:
        """Return how far it moves along both axes to stand off every wall [m].

        A piece that fills its room from wall to wall goes off the low one.
        """
        points = [point for box in self.compile(room).footprint for point in corners(box)]
        moves = []
        for axis in (0, 1):
            low = min(point[axis] for point in points) - room.low[axis]
            high = room.high[axis] - max(point[axis] for point in points)
            off_low, off_high = (round(max(WALL_GAP - gap, 0.0), 3) for gap in (low, high))
            moves.append(off_low or -off_high)
        return (moves[0], moves[1])

    def _origin(self, room: Room) -> Vector:
        x, y = self.at
        return (room.low[0] + x, room.low[1] + y, room.low[2] + self.elevation)
