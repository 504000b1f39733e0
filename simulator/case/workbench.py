"""The bench where a piece is drawn box by box in its own frame and placed in the dwelling."""

import math

from simulator.case.hazards import Hazard
from simulator.case.materials import Material
from simulator.case.parts import (
    UPRIGHT,
    AirMover,
    Box,
    HeatedJet,
    HeatSource,
    Part,
    PorousPart,
    Probe,
    Refuge,
    SolidPart,
    Vector,
)
from simulator.case.pieces import Pieces
from simulator.errors import CaseError

#: Cosine and sine of the quarter turns, exact, so that a quarter turn moves no face by round-off.
_QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


class Workbench:
    """Collects the parts of one piece, drawn in the piece's own frame, and places them.

    Parameters
    ----------
    owner : the piece's name in the case.
    origin : where the origin of the piece's frame lies in the dwelling [m].
    turn : anticlockwise turn seen from above [deg].
    """

    def __init__(self, owner: str, origin: Vector, turn: float) -> None:
        self._owner = owner
        self._origin = origin
        self._turn = turn % 360.0
        self._parts: list[Part] = []
        self._probes: list[Probe] = []
        self._claims: list[Box] = []
        self._notes: list[str] = []

    def solid(
        self,
        name: str,
        low: Vector,
        high: Vector,
        material: Material,
        refuge: Refuge,
        lie: tuple[int, int, int] = UPRIGHT,
    ) -> None:
        """Add a solid box between two corners [m]; ``lie``: as in ``Box``, in the piece's frame."""
        box = self.box(low, high, lie)
        self._parts.append(SolidPart(self._owner, name, box, material, refuge))

    def porous(
        self,
        name: str,
        low: Vector,
        high: Vector,
        material: Material,
        *,
        air_fraction: float,
        piece_size: float,
        refuge: Refuge = Refuge.THROUGHOUT,
    ) -> None:
        """Add a box of loose stuff between two corners [m]."""
        box = self.box(low, high)
        self._parts.append(
            PorousPart(self._owner, name, box, material, air_fraction, piece_size, refuge)
        )

    def heat(self, name: str, low: Vector, high: Vector, power: float) -> None:
        """Add a source of heat [W] to the air between two corners [m]."""
        self._parts.append(HeatSource(self._owner, name, self.box(low, high), power))

    def part(self, part: AirMover | HeatedJet) -> None:
        """Add a part that is already placed in the dwelling."""
        self._parts.append(part)

    def probe(
        self,
        name: str,
        position: Vector,
        limit: float | None = None,
        basis: str = "",
        *,
        is_thermostat: bool = False,
        guards_air_limit: bool = False,
    ) -> None:
        """Add a watched point [m] with its highest allowed temperature [°C]."""
        place = self.point(position)
        self._probes.append(
            Probe(
                self._owner,
                name,
                place,
                limit,
                basis,
                is_thermostat,
                guards_air_limit=guards_air_limit,
            )
        )

    def watch(self, name: str, position: Vector, hazard: Hazard) -> None:
        """Add a watched point [m] at a thing that heat harms."""
        place, limit = self.point(position), hazard.limit
        self._probes.append(
            Probe(self._owner, name, place, limit, _with_standing(hazard), hazard=hazard)
        )

    def note(self, words: str) -> None:
        """Add what a user should know about how the piece was understood."""
        self._notes.append(f"{self._owner}: {words}")

    def claim(self, low: Vector, high: Vector) -> None:
        """Claim the space between two corners [m] for this piece alone."""
        self._claims.append(self.box(low, high))

    def claim_parts(self) -> None:
        """Claim the boxes of all parts added so far, and no more."""
        self._claims.extend(
            part.box for part in self._parts if isinstance(part, SolidPart | PorousPart)
        )

    def point(self, local: Vector) -> Vector:
        """Return a point of the piece's frame in the dwelling [m]."""
        cosine, sine = cosine_and_sine(self._turn)
        x, y, z = local
        return (
            self._origin[0] + cosine * x - sine * y,
            self._origin[1] + sine * x + cosine * y,
            self._origin[2] + z,
        )

    def box(self, low: Vector, high: Vector, lie: tuple[int, int, int] = UPRIGHT) -> Box:
        """Return the box between two corners of the piece's frame; quarter turns stay upright."""
        size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
        if min(size) <= 0.0:
            raise CaseError(f"'{self._owner}' has a part without volume; its measures do not fit")
        centre = self.point(
            (0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), 0.5 * (low[2] + high[2]))
        )
        quarters, rest = divmod(self._turn, 90.0)
        if rest == 0.0:
            whole = size if quarters % 2 == 0 else (size[1], size[0], size[2])
            return Box(centre, whole, lie=_turned(lie, int(quarters)))
        return Box(centre, size, self._turn, lie=lie)

    def pieces(self, words: str) -> Pieces:
        """Return all that was added."""
        return Pieces(
            tuple(self._parts),
            tuple(self._probes),
            tuple(self._claims),
            words,
            tuple(self._notes),
        )


def _with_standing(hazard: Hazard) -> str:
    return f"{hazard.basis}; {hazard.standing.value}"


def _turned(lie: tuple[int, int, int], quarters: int) -> tuple[int, int, int]:
    """Return a lie after quarter turns anticlockwise: what ran along x then runs along y."""
    for _ in range(quarters % 4):
        one, two, three = ({1: 2, 2: -1, 3: 3}[abs(axis)] * (1 if axis > 0 else -1) for axis in lie)
        lie = (one, two, three)
    return lie


def cosine_and_sine(turn: float) -> tuple[float, float]:
    """Return cosine and sine of an angle [deg], exact for quarter turns."""
    quarters, rest = divmod(turn % 360.0, 90.0)
    if rest == 0.0:
        return _QUARTERS[int(quarters) % 4]
    return math.cos(math.radians(turn)), math.sin(math.radians(turn))
