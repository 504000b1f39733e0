"""Conduction between solid nodes through cell faces, and across gaps too thin for air cells."""

import numpy as np

from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.exposure import Slits
from simulator.grid.faces import Tiles
from simulator.grid.fill import Fill
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: Sections below this are no contact [m²].
LEAST_AREA = 1e-10

#: Convection in a thin closed air layer, at least [W/(m² K)] (ISO 6946:2017 annex D, horizontal
#: heat flow, from memory).
GAP_CONVECTION = 1.25

#: Radiation across an air layer between surfaces of emissivity 0.9: 0.82 times 4 sigma T³ at 40 °C,
#: 6.97 [W/(m² K)] (ISO 6946:2017 annex D form, from memory).
GAP_RADIATION = 5.7


def join_nodes(
    blocks: tuple[PartBlock, ...],
    covered: Tiles,
    slits: Slits,
    fill: Fill,
    lattice: Lattice,
) -> tuple[IntArray, FloatArray]:
    """Return the pairs of solid nodes (P, 2) and their conductances [W/K].

    A contact's area is the section of the stuff in the cell face: of one box across it, or of two
    that touch in it (``covered`` tiles). Conductance is area over the two half thicknesses in
    series, G = A / (d1/k1 + d2/k2), d = min(cell size, extent / A) / 2. Tiles that face each other
    across a slit add the same with the slit's air in between.
    """
    pairs, conductances = [], []
    contact = _contact_areas(blocks, covered, lattice)
    gap, width = _gaps(slits, lattice)
    conductivity = bulk_conductivity(fill)
    for axis in range(3):
        low, high = _sides(axis)
        area = np.minimum(contact[axis], lattice.face_areas(axis)[low])
        gap_area = np.minimum(gap[axis], lattice.face_areas(axis)[low] - area)
        joined = (fill.node[low] >= 0) & (fill.node[high] >= 0)
        joined &= (area > LEAST_AREA) | (gap_area > LEAST_AREA)
        cells = np.nonzero(joined)
        beyond = list(cells)
        beyond[axis] = cells[axis] + 1
        one = _Half(axis, cells, fill, lattice, conductivity)
        two = _Half(axis, tuple(beyond), fill, lattice, conductivity)
        touch, apart = area[cells], gap_area[cells]
        conductance = touch / (one.resistance(touch) + two.resistance(touch))
        conductance += apart / (
            one.resistance(apart) + two.resistance(apart) + gap_resistance(width[axis][cells])
        )
        pairs.append(np.stack([fill.node[cells], fill.node[tuple(beyond)]], axis=1))
        conductances.append(conductance)
    return np.concatenate(pairs), np.concatenate(conductances)


def bulk_conductivity(fill: Fill) -> FloatArray:
    """Return the conductivity of the parts' boxes in each cell [W/(m K)].

    Loose stuff conducts as its solid share in parallel, (1 - air fraction) k: the upper bound for
    the solid phase of a two-temperature medium; its air has a node of its own.
    """
    extent = fill.extent
    return fill.stuff_conductance / np.where(extent > 0.0, extent, 1.0)


def gap_resistance(thickness: FloatArray) -> FloatArray:
    """Return the resistance of a closed air layer [m² K/W]: conduction or convection, radiation."""
    convection = np.maximum(AIR_CONDUCTIVITY / np.maximum(thickness, 1e-4), GAP_CONVECTION)
    return 1.0 / (convection + GAP_RADIATION)


def half_thickness(extent: FloatArray, area: FloatArray, cell_size: FloatArray) -> FloatArray:
    """Return the distance from a contact of an area to the middle of the stuff behind it [m]."""
    return 0.5 * np.minimum(cell_size, extent / np.maximum(area, LEAST_AREA))


class _Half:
    """The stuff on one side of some contacts: how far its middle is, how well it conducts."""

    def __init__(
        self,
        axis: int,
        cells: tuple[IntArray, ...],
        fill: Fill,
        lattice: Lattice,
        conductivity: FloatArray,
    ) -> None:
        self._size = lattice.sizes[axis][cells[axis]]
        self._extent = fill.extent[cells]
        self._conductivity = conductivity[cells]

    def resistance(self, area: FloatArray) -> FloatArray:
        """Return the resistance from the contact to the middle of the stuff [m² K/W]."""
        return half_thickness(self._extent, area, self._size) / self._conductivity


def _contact_areas(
    blocks: tuple[PartBlock, ...], covered: Tiles, lattice: Lattice
) -> list[FloatArray]:
    """Return the contact area between each cell and the next along x, y, z [m²]."""
    areas = [np.zeros(lattice.shape) for _ in range(3)]
    for block in blocks:
        for axis, section in enumerate(block.sections):
            index = list(block.index)
            index[axis] = slice(index[axis].start, index[axis].stop - 1)
            areas[axis][tuple(index)] += section
    # Both boxes report the contact that they share, each for one half.
    for axis, (cell, area) in enumerate(
        _by_axis(covered.cell, covered.beyond, 0.5 * covered.area, lattice)
    ):
        np.add.at(areas[axis].reshape(-1), cell, area)
    return [area[_sides(axis)[0]] for axis, area in enumerate(areas)]


def _gaps(slits: Slits, lattice: Lattice) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return area [m²] and width [m] of the slits across each inner cell face along x, y, z.

    Both sides report a slit: the area is their mean, the width the sum of their mean distances.
    """
    areas, widths = [], []
    for axis in range(3):
        sides = []
        for sign in (-1, 1):
            area, reach = np.zeros((2, *lattice.shape))
            on_side = (slits.axis == axis) & (slits.sign == sign) & (slits.beyond >= 0)
            low = np.minimum(slits.cell[on_side], slits.beyond[on_side])
            np.add.at(area.reshape(-1), low, slits.area[on_side])
            np.add.at(reach.reshape(-1), low, (slits.area * slits.distance)[on_side])
            sides.append((area, reach / np.maximum(area, LEAST_AREA)))
        inner = _sides(axis)[0]
        areas.append(0.5 * (sides[0][0] + sides[1][0])[inner])
        widths.append((sides[0][1] + sides[1][1])[inner])
    return areas, widths


def _by_axis(
    one: IntArray, other: IntArray, area: FloatArray, lattice: Lattice
) -> list[tuple[IntArray, FloatArray]]:
    """Return, for each axis, the lower cell and the area of pairs of neighbouring cells."""
    first = np.stack(np.unravel_index(one, lattice.shape))
    second = np.stack(np.unravel_index(np.maximum(other, 0), lattice.shape))
    step = np.abs(second - first)
    is_neighbour = (other >= 0) & (step.sum(axis=0) == 1)
    low = np.minimum(one, other)
    return [
        (low[is_neighbour & (step[axis] == 1)], area[is_neighbour & (step[axis] == 1)])
        for axis in range(3)
    ]


def _sides(axis: int) -> tuple[tuple[slice, ...], tuple[slice, ...]]:
    low, high = [slice(None)] * 3, [slice(None)] * 3
    low[axis], high[axis] = slice(None, -1), slice(1, None)
    return tuple(low), tuple(high)
