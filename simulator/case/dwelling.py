"""The dwelling as geometry and constructions: rooms, what is behind them, openings, leaks."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from simulator.case.materials import Material
from simulator.case.parts import Vector


class Side(Enum):
    """The six sides of a room, by compass: +x is east, +y is north. Values are (axis, sign)."""

    WEST = (0, -1)
    EAST = (0, 1)
    SOUTH = (1, -1)
    NORTH = (1, 1)
    FLOOR = (2, -1)
    CEILING = (2, 1)

    @property
    def axis(self) -> int:
        """Axis normal to the side: 0 x, 1 y, 2 z."""
        return self.value[0]

    @property
    def sign(self) -> int:
        """-1 for the low side of the room along its axis, +1 for the high side."""
        return self.value[1]


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a construction: a material of a thickness [m]."""

    material: Material
    thickness: float


@dataclass(frozen=True, slots=True)
class Construction:
    """A wall, floor, ceiling, window or partition: layers from the room side outwards.

    The inner surface's emissivity is that of the first layer's material.
    """

    name: str
    layers: tuple[Layer, ...]


@dataclass(frozen=True, slots=True)
class Behind:
    """What lies behind a construction.

    ``temperature`` [°C] is held constant for the run; None means adiabatic (a mirror-image room).
    ``resistance`` [m² K/W] lies between the outermost layer and that temperature.
    """

    name: str
    temperature: float | None
    resistance: float


@dataclass(frozen=True, slots=True)
class Envelope:
    """A construction and what is behind it."""

    construction: Construction
    behind: Behind


@dataclass(frozen=True, slots=True)
class Room:
    """A room as a box: ``low`` corner and ``size`` [m]; the envelope of each side."""

    name: str
    low: Vector
    size: Vector
    envelope: Mapping[Side, Envelope]

    @property
    def high(self) -> Vector:
        """The corner opposite to ``low`` [m]."""
        return (
            self.low[0] + self.size[0],
            self.low[1] + self.size[1],
            self.low[2] + self.size[2],
        )


@dataclass(frozen=True, slots=True)
class Doorway:
    """An opening through the partition between two rooms, a box of air [m]; shut, it is solid.

    ``is_ever_open`` is set where a change of the case opens or shuts it: cell planes then follow it
    although it may be shut now.
    """

    name: str
    rooms: tuple[str, str]
    low: Vector
    high: Vector
    is_open: bool
    is_ever_open: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of another construction in a room's side.

    ``low`` and ``high`` [m] are dwelling coordinates of its opposite corners, equal along the
    side's axis. ``opening`` is the share of its area that is open to the air outdoors [-].
    """

    name: str
    room: str
    side: Side
    low: Vector
    high: Vector
    envelope: Envelope
    opening: float = 0.0


@dataclass(frozen=True, slots=True)
class WallSocket:
    """An electrical outlet in a wall: the cavity behind it is a refuge."""

    room: str
    side: Side
    position: Vector


@dataclass(frozen=True, slots=True)
class Leakage:
    """Air that leaks in and out of one room: ``flow`` [m³/s] both ways while no duct is blowing.

    ``sides`` are the outside sides whose cracks carry it. Cold air enters low, hot air leaves high.
    """

    room: str
    flow: float
    sides: tuple[Side, ...]


@dataclass(frozen=True, slots=True)
class Dwelling:
    """Everything that does not move: the shell of the home and the air around it.

    ``partition`` is the construction in the gaps between rooms, shared by both of them.
    """

    name: str
    rooms: tuple[Room, ...]
    partition: Construction
    doorways: tuple[Doorway, ...]
    windows: tuple[Window, ...]
    sockets: tuple[WallSocket, ...]
    leakage: tuple[Leakage, ...]
    start_temperature: float
    outdoor_temperature: float
