"""The six parts that all furniture and equipment compile to: the narrow waist to grid and physics.

Grid and physics never learn what a sofa is: they see boxes of stuff, sources of heat, movers of
air, heated jets and openings through which displaced air leaves. Axes: x east, y north, z up;
metres; one origin for the whole dwelling.
"""

from dataclasses import dataclass
from enum import Enum

from simulator.case.hazards import Hazard
from simulator.case.materials import Material

Vector = tuple[float, float, float]

#: A thing that lies along its box's own axes; a half turn about its length puts its top down.
UPRIGHT = (1, 2, 3)
UPSIDE_DOWN = (-1, 2, -3)
#: Stood on its long edge, its top to the west of the piece.
ON_EDGE = (3, 2, -1)

#: Static pressure of a shut-off axial fan over the dynamic pressure of its free delivery, rho U0²/2
#: [-]. By the fan laws it is the same for similar fans of any size and rate. Common practice, no
#: source: propeller fans without a duct span about 2 to 5.
AXIAL_SHUT_OFF = 3.0


class Refuge(Enum):
    """Where in a part a bed bug or an egg can hide, and so where the dose must be reached."""

    NOWHERE = "nowhere"
    SURFACE = "surface"
    THROUGHOUT = "throughout"


@dataclass(frozen=True, slots=True)
class Box:
    """A box turned about its vertical centre line and then tilted about its own length axis.

    Attributes
    ----------
    centre : position of the box's centre [m].
    size : extent along the box's own axes, before turning [m].
    turn : anticlockwise turn seen from above [deg].
    tilt : rotation about the box's own (turned) x axis [deg].
    lie : how the thing lies in its box: along which of the box's axes (1, 2, 3; negative: against
        it) its own length, width and height run. It moves no stuff, but warm sides turn with it.
    """

    centre: Vector
    size: Vector
    turn: float = 0.0
    tilt: float = 0.0
    lie: tuple[int, int, int] = UPRIGHT

    @property
    def volume(self) -> float:
        """Exact volume [m³]."""
        return self.size[0] * self.size[1] * self.size[2]


@dataclass(frozen=True, slots=True)
class SolidPart:
    """Stuff that air cannot pass: a board, a mattress, a shut drawer's load with its still air.

    ``owner`` is the furniture's name in the case, ``name`` the part in words a crew uses.
    ``material`` is the effective material of the whole box (mixes are made before: materials.mix).
    """

    owner: str
    name: str
    box: Box
    material: Material
    refuge: Refuge


@dataclass(frozen=True, slots=True)
class PorousPart:
    """Loose stuff that air passes with resistance: hanging clothes, clutter, an open drawer's load.

    ``air_fraction`` [-] is the share of the box that is air; ``piece_size`` [m] the size of the
    pieces, which sets resistance (Ergun) and surface; ``material`` the solid stuff itself.
    """

    owner: str
    name: str
    box: Box
    material: Material
    air_fraction: float
    piece_size: float
    refuge: Refuge


@dataclass(frozen=True, slots=True)
class HeatSource:
    """A thing that always gives off heat to the air in its box: a refrigerator, a lamp [W]."""

    owner: str
    name: str
    box: Box
    power: float


@dataclass(frozen=True, slots=True)
class AirMover:
    """A fan: a disc that pushes air along ``direction``; its motor's power ends as heat.

    ``flow`` [m³/s] is the free delivery Q; the free thrust over density is K = Q²/A, A the disc's
    area. ``shut_off`` [-] is the static pressure at no flow over the dynamic pressure rho (Q/A)²/2
    of the free delivery: between the two the pressure falls with the square of the flow.
    """

    owner: str
    name: str
    centre: Vector
    direction: Vector
    diameter: float
    flow: float
    power: float
    shut_off: float = AXIAL_SHUT_OFF


@dataclass(frozen=True, slots=True)
class HeatedJet:
    """A heater's outlet: ``flow`` [m³/s] of air leaves at intake temperature + P/(density flow c).

    ``intake`` is the box where a recirculating heater draws room air; ``None`` means ducted outdoor
    air, which displaces room air through the leaks and the exhausts. ``power`` [W] is the most it
    gives to the air, ``outlet_limit`` [°C] the highest outlet temperature. ``sensor`` names the
    sensor that it obeys; without a name it follows the layout's thermostat, else its own
    intake, or the mean of the dwelling's air if it is ducted.
    """

    owner: str
    name: str
    centre: Vector
    direction: Vector
    diameter: float
    flow: float
    power: float
    outlet_limit: float
    intake: Box | None
    sensor: str = ""


@dataclass(frozen=True, slots=True)
class AirOutlet:
    """An opening to outdoors through which air leaves that ducted air displaces.

    ``box`` is the air in front of it that it draws from, ``area`` [m²] the opening's.
    """

    owner: str
    name: str
    box: Box
    area: float


Part = SolidPart | PorousPart | HeatSource | AirMover | HeatedJet | AirOutlet


@dataclass(frozen=True, slots=True)
class Probe:
    """A point that is watched: a sensor of the layout, or a thing that heat can harm or trip.

    ``limit`` [°C] is the highest temperature allowed there (None: only watched); ``basis`` says
    where the limit comes from; ``hazard`` what to do about it. Heaters obey a probe that
    ``guards_air_limit``: none of them heats while it reads the treatment's air limit.
    """

    owner: str
    name: str
    position: Vector
    limit: float | None = None
    basis: str = ""
    is_thermostat: bool = False
    hazard: Hazard | None = None
    guards_air_limit: bool = False
