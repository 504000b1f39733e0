"""What surrounds a hiding place: the things, walls, surfaces and late air about it."""

import numpy as np

from simulator.case.parts import Box, Refuge, SolidPart
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray, RefugeKind
from simulator.physics.convection.surface_sampling import sealed_cells
from simulator.physics.neutral_states import BARE, REACH, Surroundings

#: A load is packed if less than this share of its sides meets air [-] (choice).
LEAST_BARE = 0.05


def find_surroundings(grid: Grid, refuge: int, is_late: BoolArray) -> Surroundings:
    """Return the surroundings of a hiding place.

    Parameters
    ----------
    is_late : which cells hold late air, flat.
    """
    solids, columns, surfaces = grid.solids, grid.columns, grid.surfaces
    own_solids, own_columns = _own(grid, refuge)
    is_near = _is_near(grid, grid.refuges.position[refuge])
    owner = np.unique([part.owner for part in grid.parts], return_inverse=True)[1]
    near_solid = is_near[solids.cell] | np.isin(owner[solids.part], owner[solids.part[own_solids]])
    near_column = is_near[columns.cell]
    near_column[own_columns] = True
    near_column[columns.contact_column[near_solid[columns.contact_solid]]] = True
    is_within = RefugeKind(grid.refuges.kind[refuge]) is RefugeKind.CAVITY
    is_cold = np.isfinite(columns.temperature) & (columns.partner < 0)
    row = np.flatnonzero(
        (near_solid[surfaces.solid] & (surfaces.solid >= 0))
        | (near_column[surfaces.column] & (surfaces.column >= 0))
    )
    cells = is_near.copy()
    cells[surfaces.air_cell[row]] = True
    load, load_flow = _packed_loads(grid, near_solid)
    return Surroundings(
        solid=np.flatnonzero(near_solid),
        cold_column=np.flatnonzero(near_column & is_cold),
        inner_column=np.flatnonzero(near_column & ~is_cold),
        cavity=own_columns[is_cold[own_columns] & is_within],
        surface=row,
        is_shut=sealed_cells(grid)[surfaces.air_cell[row]],
        pocket=np.flatnonzero(cells & is_late & grid.is_open.ravel()),
        load=load,
        load_flow=load_flow,
    )


def _is_near(grid: Grid, place: FloatArray) -> BoolArray:
    """Return which cells have their middle within reach of a place, flat."""
    x, y, z = (
        (centres - at) ** 2 for centres, at in zip(grid.centres, place.tolist(), strict=True)
    )
    distance = x[:, None, None] + y[None, :, None] + z[None, None, :]
    near: BoolArray = (distance <= REACH**2).ravel()
    return near


def _packed_loads(grid: Grid, near_solid: BoolArray) -> tuple[IntArray, FloatArray]:
    """Return the nodes of packed loads that touch other parts, and the flow to bare air [W/K].

    A packed load hides bugs throughout and meets next to no air.
    """
    solids, surfaces = grid.solids, grid.surfaces
    of_solid = surfaces.solid >= 0
    bare = np.bincount(surfaces.part[of_solid], surfaces.area[of_solid], minlength=len(grid.parts))
    is_load = np.array(
        [
            isinstance(part, SolidPart)
            and part.refuge is Refuge.THROUGHOUT
            and bare[number] < LEAST_BARE * _area(part.box)
            for number, part in enumerate(grid.parts)
        ],
        dtype=np.bool_,
    )
    touch = np.flatnonzero(solids.pair_area > 0.0)
    pair, depth = solids.pair.reshape(-1, 2)[touch], solids.pair_depth.reshape(-1, 2)[touch]
    flow = np.zeros(solids.cell.size)
    for side in (0, 1):
        solid, other = pair[:, side], pair[:, 1 - side]
        ours = is_load[solids.part[solid]] & ~is_load[solids.part[other]]
        way = 1.0 / BARE + 0.5 * depth[:, side] / solids.conductivity[solid]
        np.add.at(flow, solid[ours], (solids.pair_area[touch] / way)[ours])
    load = np.flatnonzero((flow > 0.0) & near_solid)
    return load, flow[load]


def _area(box: Box) -> float:
    a, b, c = box.size
    return 2.0 * (a * b + b * c + c * a)


def _own(grid: Grid, refuge: int) -> tuple[IntArray, IntArray]:
    """Return the solids and the wall columns that a hiding place is in or on."""
    none = np.zeros(0, dtype=np.int64)
    kind, index = RefugeKind(grid.refuges.kind[refuge]), grid.refuges.index[[refuge]]
    if kind is RefugeKind.SOLID:
        return index, none
    if kind is RefugeKind.SURFACE:
        solid, column = grid.surfaces.solid[index], grid.surfaces.column[index]
        return solid[solid >= 0], column[column >= 0]
    if kind is RefugeKind.TOUCH:
        return grid.solids.pair.reshape(-1, 2)[index[0]], none
    partner = grid.columns.partner[index]
    return none, np.concatenate([index, partner[partner >= 0]])
