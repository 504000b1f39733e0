"""The grid: cells, what fills them, the surfaces and wall columns that face them, the refuges.

Arrays over cells are indexed ``[i, j, k]`` for x, y, z; "flat" indices are their C order. The grid
is rectilinear: cell planes lie on every room plane, so no room is ever stretched or shrunk.

Three kinds of cell:
* *open*: air flows through it. It has an air node, and also a solid node for each part in it (a
  bed leg, a rug, a drawer front and what is behind it, hanging clothes).
* *blocked*: solid for at least half of its volume, or the core of a board in a sealed row of cells
  whose air touches nothing. It has solid nodes and no air node.
* *void*: outside every room and doorway (walls, partitions, outdoors). It has no node.

Air passes between two neighbours if both are open and their face is not *closed*: a board thinner
than a cell leaves its cells open but shuts the faces it stands across (``closed_x`` and its kin).
"""

from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from simulator.case.dwelling import Construction
from simulator.case.parts import AirMover, AirOutlet, HeatedJet, HeatSource, Part

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
IndexArray = NDArray[np.uint32]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class CellSet:
    """Some cells with weights that sum to one: where a source, an outlet or an intake is."""

    cells: IntArray  # flat indices of open cells
    weights: FloatArray  # [-]


@dataclass(frozen=True, slots=True)
class Solids:
    """The solid nodes: one for each part in a cell, in ascending order of cell and part (length N).

    A thin slice that a cell plane cuts off the end of a part belongs to the node beside it, so a
    node may reach into a cell that is not its own; ``PartShare.solid`` has them all.
    """

    cell: IntArray  # flat index of the cell that holds most of it; several nodes may share one
    part: IntArray  # index into Grid.parts
    volume: FloatArray  # solid volume [m³] (porous parts: the solid stuff alone)
    extent: FloatArray  # volume of the part's box [m³] (porous parts: with their air)
    mass: FloatArray  # [kg]
    heat_capacity: FloatArray  # [J/K]
    conductivity: FloatArray  # of the stuff [W/(m K)]
    span: FloatArray  # (N, 3) reach of the node along each axis [m]
    # pairs of solid nodes that conduct to each other (length P)
    pair: IntArray  # (P, 2) indices of solid nodes: on the low side, on the high side
    pair_axis: NDArray[np.int8]
    pair_conductance: FloatArray  # [W/K], from exact contact area and half thicknesses
    pair_area: FloatArray  # [m²] where a layer touches another part; else 0
    pair_depth: FloatArray  # (P, 2) thickness of stuff on both sides of such a touch [m]; else 0


@dataclass(frozen=True, slots=True)
class Surfaces:
    """Everything that air touches, one row a patch within one cell (length S).

    A row belongs either to a solid node (``solid`` >= 0, ``column`` = -1) or to a wall column
    (``column`` >= 0, ``solid`` = -1). Rows of porous parts have ``axis`` = -1: no direction.
    """

    air_cell: IntArray  # flat index of the open cell it faces (porous: its own)
    solid: IntArray  # index of the solid node, or -1
    column: IntArray  # index of the wall column, or -1
    area: FloatArray  # [m²]
    axis: NDArray[np.int8]  # 0 x, 1 y, 2 z; -1 for porous stuff
    sign: NDArray[np.int8]  # +1: the outward normal (into the air) points along +axis
    depth: FloatArray  # thickness of solid behind it within its node [m]; 0 for columns
    emissivity: FloatArray  # [-]
    length: FloatArray  # characteristic length for convection [m]; porous: the piece size
    part: IntArray  # index into Grid.parts, or -1 for the envelope


@dataclass(frozen=True, slots=True)
class Columns:
    """Wall columns: one-dimensional layers behind a patch of the envelope (length C).

    ``partner`` >= 0 joins the two faces of a partition: the construction lies between them and only
    the row with the lower index is to be built; then ``temperature`` is not used.
    """

    cell: IntArray  # flat index of the room cell at the face (open or blocked)
    axis: NDArray[np.int8]
    sign: NDArray[np.int8]  # +1: the wall lies on the high side of the cell
    area: FloatArray  # whole area of the patch [m²]
    construction: IntArray  # index into Grid.constructions
    temperature: FloatArray  # behind it [°C]; nan: adiabatic
    resistance: FloatArray  # between the outermost layer and that temperature [m² K/W]
    partner: IntArray
    # solids that lie on a column (length Q): bed legs, a plinth, a rug, a blocked cell
    contact_column: IntArray
    contact_solid: IntArray
    contact_conductance: FloatArray  # [W/K], surface to solid node
    contact_area: FloatArray  # [m²] where a layer touches the wall; else 0
    contact_depth: FloatArray  # thickness of such a layer [m]; else 0


class Touched(IntEnum):
    """What a draught gives its heat to."""

    SOLID = 0  # index = solid node
    COLUMN = 1  # index = wall column: its room-side surface
    AIR = 2  # index = flat cell: the air of a gap one cell wide


@dataclass(frozen=True, slots=True)
class Draughts:
    """What room air reaches in gaps of a cell's width or less (length L; see draughts.py)."""

    kind: NDArray[np.int8]  # ``Touched``
    index: IntArray
    air_cell: IntArray  # flat cell of the main space where the gap opens nearest
    area: FloatArray  # [m²]
    behind: FloatArray  # from the face to the solid's node [m² K/W]
    opposite: FloatArray  # of walls: from the face across to its solid's node [m² K/W]; nan: none
    width: FloatArray  # of the gap [m]
    length: FloatArray  # of the way out [m]
    rise: FloatArray  # how far that way goes up or down [m]


def _no_draughts() -> Draughts:
    none, nothing = np.zeros(0, dtype=np.int64), np.zeros(0)
    return Draughts(np.zeros(0, dtype=np.int8), none, none, *([nothing] * 6))


class RefugeKind(IntEnum):
    """Which temperature a refuge reads."""

    SOLID = 0  # index = solid node
    SURFACE = 1  # index = row of Surfaces (the surface's own temperature)
    COLUMN = 2  # index = wall column: its room-side surface (baseboard, floor under the bed)
    CAVITY = 3  # index = wall column: behind its first layer (behind a wall socket)
    TOUCH = 4  # index = row of Solids.pair: between two parts (under a blanket, under a mattress)


@dataclass(frozen=True, slots=True)
class RefugeGroup:
    """Refuges that a crew would name together.

    ``owner`` is the furniture's name or the room's; ``words`` say the place: "mattress, inside",
    "floor under the bed", "baseboard, north wall".
    """

    owner: str
    words: str
    room: str


@dataclass(frozen=True, slots=True)
class Refuges:
    """Every place where the dose must be reached (length R)."""

    kind: NDArray[np.int8]  # RefugeKind
    index: IntArray
    cell: IntArray  # flat index of the cell it is in
    position: FloatArray  # (R, 3) [m]
    volume: FloatArray  # [m³]; surfaces count their first centimetre
    group: IntArray  # index into ``groups``
    groups: tuple[RefugeGroup, ...]


@dataclass(frozen=True, slots=True)
class GridJet:
    """A heated jet on the grid; ``intake`` is None for ducted outdoor air."""

    part: HeatedJet
    outlet: CellSet
    intake: CellSet | None


@dataclass(frozen=True, slots=True)
class GridFan:
    """A fan on the grid: ``motor`` is where its power ends as heat."""

    part: AirMover
    motor: CellSet


@dataclass(frozen=True, slots=True)
class GridSource:
    """A constant source of heat on the grid."""

    part: HeatSource
    cells: CellSet


@dataclass(frozen=True, slots=True)
class GridExhaust:
    """An opening on the grid through which displaced air leaves the cells before it."""

    part: AirOutlet
    cells: CellSet


@dataclass(frozen=True, slots=True)
class Leak:
    """The cracks of one room: ``inlets`` low, ``outlets`` high, ``flow`` [m³/s] both ways."""

    room: str
    flow: float
    inlets: CellSet
    outlets: CellSet


@dataclass(frozen=True, slots=True)
class GridWindow:
    """An open window: the cells at its lower and upper half."""

    room: int  # index into Grid.room_names
    area: float  # that is open [m²]
    height: float  # [m]
    low: CellSet
    high: CellSet


@dataclass(frozen=True, slots=True)
class PartShare:
    """How much of each part is in each cell, as coordinate triples (solid and porous parts)."""

    part: IntArray  # index into Grid.parts
    cell: IntArray  # flat index
    volume: FloatArray  # exact box-cell overlap [m³]
    solid: IntArray  # index of the solid node that it belongs to


@dataclass(frozen=True, slots=True)
class Grid:
    """What ``voxelise`` returns."""

    x_edges: FloatArray  # cell planes [m]
    y_edges: FloatArray
    z_edges: FloatArray
    cell_size: float  # nominal [m]
    is_open: BoolArray  # [i, j, k]
    is_blocked: BoolArray
    room: NDArray[np.int16]  # index into room_names, doorways after the rooms; -1 void
    room_names: tuple[str, ...]
    air_volume: FloatArray  # [m³]; zero outside open cells
    # faces between two open cells that a thin board shuts, shaped as face velocities
    closed_x: BoolArray  # (nx + 1, ny, nz)
    closed_y: BoolArray  # (nx, ny + 1, nz)
    closed_z: BoolArray  # (nx, ny, nz + 1)
    darcy: FloatArray  # 1/K, viscous resistance [1/m²]
    forchheimer: FloatArray  # inertial resistance beta in dp/dx = rho beta |V| V [1/m]
    parts: tuple[Part, ...]
    shares: PartShare
    solids: Solids
    surfaces: Surfaces
    columns: Columns
    constructions: tuple[Construction, ...]
    refuges: Refuges
    fans: tuple[GridFan, ...]
    jets: tuple[GridJet, ...]
    sources: tuple[GridSource, ...]
    leaks: tuple[Leak, ...]
    start_temperature: float  # [°C]
    outdoor_temperature: float  # [°C]
    exhausts: tuple[GridExhaust, ...] = ()
    windows: tuple[GridWindow, ...] = ()  # those that are open
    draughts: Draughts = field(default_factory=_no_draughts)

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of cells along x, y, z."""
        return self.is_open.shape

    @property
    def centres(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Cell centres along x, y, z [m]."""
        return (
            0.5 * (self.x_edges[1:] + self.x_edges[:-1]),
            0.5 * (self.y_edges[1:] + self.y_edges[:-1]),
            0.5 * (self.z_edges[1:] + self.z_edges[:-1]),
        )
