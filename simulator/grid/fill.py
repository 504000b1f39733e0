"""What fills the cells: solid extent, blocked and open cells, the air left, resistance to flow."""

from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.cells import Labels
from simulator.grid.grid import BoolArray, FloatArray
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: A cell with at least this share of solid extent is blocked [-].
BLOCKED_SHARE = 0.5

#: Air never falls below this share of an open cell [-] (choice: parts that overlap by mistake).
LEAST_AIR = 0.02

#: Below this share of solid an open cell has no drag: thin boards and legs act by closed faces or
#: not at all; the drag grows to its full value over as much again [-] (choice).
DRAG_SHARE = 0.1

#: Drag coefficient of a bluff body across the flow [-] (Hoerner 1965, from memory: 1.05 to 2.0).
BLUFF_DRAG = 1.2


@dataclass(frozen=True, slots=True)
class Fill:
    """What is in each cell (nx, ny, nz)."""

    solid_extent: FloatArray  # volume of SolidParts' boxes [m³]
    porous_extent: FloatArray  # volume of PorousParts' boxes, with their air [m³]
    stuff: FloatArray  # solid volume: SolidParts, and the solid share of PorousParts [m³]
    is_blocked: BoolArray
    is_open: BoolArray
    air_volume: FloatArray  # [m³]

    @property
    def extent(self) -> FloatArray:
        """Volume of all parts' boxes [m³]."""
        return self.solid_extent + self.porous_extent


def fill_cells(
    parts: tuple[Part, ...], blocks: tuple[PartBlock, ...], lattice: Lattice, labels: Labels
) -> Fill:
    """Return what the parts put into each cell."""
    solid, porous, stuff = np.zeros((3, *lattice.shape))
    for block in blocks:
        part = parts[block.part]
        assert isinstance(part, SolidPart | PorousPart)
        is_porous = isinstance(part, PorousPart)
        (porous if is_porous else solid)[block.index] += block.volume
        stuff[block.index] += block.volume * solid_share(part)
    volumes = lattice.volumes
    is_room = labels.room >= 0
    is_blocked = is_room & (solid >= BLOCKED_SHARE * (1.0 - 1e-9) * volumes)
    is_open = is_room & ~is_blocked
    air = np.where(is_open, np.maximum(volumes - stuff, LEAST_AIR * volumes), 0.0)
    return Fill(solid, porous, stuff, is_blocked, is_open, air)


def solid_share(part: SolidPart | PorousPart) -> float:
    """Return the share of a part's box that is solid stuff [-]."""
    return 1.0 - part.air_fraction if isinstance(part, PorousPart) else 1.0


def resist_flow(
    parts: tuple[Part, ...], blocks: tuple[PartBlock, ...], fill: Fill, lattice: Lattice
) -> tuple[FloatArray, FloatArray]:
    """Return 1/K [1/m²] and beta [1/m] of each open cell.

    Porous parts follow Ergun, scaled by the share of the cell that they fill, so that moving one
    changes the drag smoothly. Other solid stuff beyond ``DRAG_SHARE`` drags as a bluff body that
    blocks s^(2/3) of the cell: beta = C_d s^(2/3) / (2 h), s the share of the cell.

    References
    ----------
    Ergun S. (1952), Fluid flow through packed columns, Chem. Eng. Prog. 48, 89-94.
    """
    volumes = lattice.volumes
    darcy, forchheimer = np.zeros((2, *lattice.shape))
    for block in blocks:
        part = parts[block.part]
        if isinstance(part, PorousPart):
            share = block.volume / volumes[block.index]
            viscous, inertial = ergun(part.air_fraction, part.piece_size)
            darcy[block.index] += share * viscous
            forchheimer[block.index] += share * inertial
    share = fill.solid_extent / volumes
    ramp = np.clip(share / DRAG_SHARE - 1.0, 0.0, 1.0)
    forchheimer += ramp * BLUFF_DRAG * share ** (2.0 / 3.0) / (2.0 * lattice.cell_size)
    return np.where(fill.is_open, darcy, 0.0), np.where(fill.is_open, forchheimer, 0.0)


def ergun(air_fraction: float, piece_size: float) -> tuple[float, float]:
    """Return 1/K [1/m²] and beta [1/m] of loose pieces of a size [m], taken as spheres.

    Examples
    --------
    >>> [round(x, 1) for x in ergun(0.4, 0.01)]
    [8437500.0, 1640.6]
    """
    e, d = air_fraction, piece_size
    return 150.0 * (1.0 - e) ** 2 / (d**2 * e**3), 1.75 * (1.0 - e) / (d * e**3)
