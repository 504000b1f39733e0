"""Where each surface reads its air speed, what still air lies before it, which jets hit it."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.physics.convection.jet_impact import impact_coefficients
from simulator.physics.convection.kernels import gather_near_cells

#: Distance within which the speed near a surface is averaged [m] (estimate: beyond the boundary
#: layer, within the wall jet). One physical distance on every grid, so that the answer does not
#: follow the first cell's thickness; on cells of 0.2 m the speed found is still some 10 % low.
SAMPLING_DISTANCE = 0.2

#: A pocket that no fan, jet or leak reaches limits natural convection where the free width in front
#: of the surface is less than this [m] (estimate: above it plates in open air describe it better).
WIDEST_GAP = 0.5

# One compiled call handles at most this many surfaces, so that it stays under 0.2 s.
_CELLS_PER_CALL = 1_000_000


@dataclass(frozen=True, slots=True)
class SurfaceSampling:
    """The geometry that convection needs, found once a grid. S surfaces, U cells that face them.

    Attributes
    ----------
    weights : (U, cells) share of each open cell in the mean near a facing cell; rows sum to one.
    row : (S,) which row of ``weights`` each surface reads.
    half_cell : (S,) distance from the surface to the centre of the cell it faces [m].
    gap : (S,) free width in front of surfaces of sealed pockets [m]; inf: no limit.
    impact : (S,) least forced coefficient by the jets that hit it [W/(m² K)]; 0: none does.
    """

    weights: csr_array
    row: IntArray
    half_cell: FloatArray
    gap: FloatArray
    impact: FloatArray

    def near_speed(self, speed: FloatArray) -> FloatArray:
        """Return the mean speed near each surface, shape (S,) [m/s]."""
        near: FloatArray = (self.weights @ speed.ravel())[self.row]
        return near

    def with_equipment(self, grid: Grid) -> "SurfaceSampling":
        """Return the sampling of a grid whose fans, jets and leaks alone may differ."""
        return replace(self, gap=_gaps(grid), impact=impact_coefficients(grid))


def sample_surfaces(grid: Grid) -> SurfaceSampling:
    """Return the sampling of a grid: mean over open cells within 0.2 m of the cell a surface faces.

    Cells are reached from the facing cell through open faces only, and weighted by their air.
    Porous rows read the superficial speed of their own cell alone.
    """
    surfaces = grid.surfaces
    porous = surfaces.axis < 0
    cells = grid.is_open.size
    key = np.where(porous, surfaces.air_cell + cells, surfaces.air_cell)
    unique, row = np.unique(key, return_inverse=True)
    weights = _near_weights(grid, unique % cells, unique >= cells)
    return SurfaceSampling(
        weights, row.astype(np.int64), _half_cells(grid), _gaps(grid), impact_coefficients(grid)
    )


def _near_weights(grid: Grid, facing: IntArray, alone: BoolArray) -> csr_array:
    """Return ``SurfaceSampling.weights``; rows marked ``alone`` read just their cell."""
    x, y, z = grid.centres
    finest = min(
        float(np.diff(edges).min()) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)
    )
    steps = int(SAMPLING_DISTANCE / finest)
    window = (2 * steps + 1) ** 3
    mark = np.full(grid.is_open.size, -1, dtype=np.int64)
    columns, counts = [], []
    rows = max(1, _CELLS_PER_CALL // window)
    for first in range(0, facing.size, rows):
        start = facing[first : first + rows]
        found = np.zeros((start.size, window), dtype=np.int64)
        count = np.zeros(start.size, dtype=np.int64)
        gather_near_cells(
            start,
            grid.is_open,
            grid.closed_x,
            grid.closed_y,
            grid.closed_z,
            x,
            y,
            z,
            SAMPLING_DISTANCE * (1.0 + 1e-9),
            mark,
            found,
            count,
        )
        count[alone[first : first + rows]] = 1
        columns.append(found[np.arange(window) < count[:, None]])
        counts.append(count)
    column = np.concatenate([np.zeros(0, dtype=np.int64), *columns])
    count = np.concatenate([np.zeros(0, dtype=np.int64), *counts])
    start_of_row = np.concatenate(([0], np.cumsum(count)))
    air = grid.air_volume.ravel()[column]
    row = np.repeat(np.arange(facing.size), count)
    share = air / np.bincount(row, weights=air, minlength=facing.size)[row]
    column, start_of_row = column.astype(np.int32), start_of_row.astype(np.int32)
    return csr_array((share, column, start_of_row), shape=(facing.size, grid.is_open.size))


def _half_cells(grid: Grid) -> FloatArray:
    surfaces = grid.surfaces
    index = np.unravel_index(surfaces.air_cell, grid.shape)
    half = np.empty(surfaces.area.size)
    for axis, edges in enumerate((grid.x_edges, grid.y_edges, grid.z_edges)):
        rows = surfaces.axis == axis
        half[rows] = 0.5 * np.diff(edges)[index[axis][rows]]
    half[surfaces.axis < 0] = 0.5 * surfaces.length[surfaces.axis < 0]
    return half


def _gaps(grid: Grid) -> FloatArray:
    """Return the free width in front of each surface that faces a sealed pocket; inf elsewhere."""
    surfaces = grid.surfaces
    gap = np.full(surfaces.area.size, np.inf)
    sealed = sealed_cells(grid)[surfaces.air_cell]
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    for axis, closed in enumerate((grid.closed_x, grid.closed_y, grid.closed_z)):
        for sign in (-1, 1):
            rows = np.flatnonzero(sealed & (surfaces.axis == axis) & (surfaces.sign == sign))
            place = np.stack(np.unravel_index(surfaces.air_cell[rows], grid.shape))
            width = _free_width(grid.is_open, closed, edges[axis], place, axis, sign)
            gap[rows] = np.where(width <= WIDEST_GAP, width, np.inf)
    return gap


def _free_width(
    is_open: BoolArray, closed: BoolArray, edges: FloatArray, place: IntArray, axis: int, sign: int
) -> FloatArray:
    """Return how far air reaches from each open cell in ``place`` (3, n) along one axis [m].

    The walk ends where the width is known to exceed ``WIDEST_GAP``.
    """
    size = np.diff(edges)
    width: FloatArray = size[place[axis]]
    walking = np.ones(width.size, dtype=np.bool_)
    here = place.copy()
    while walking.any():
        face = here.copy()
        face[axis] += sign > 0
        ahead = here.copy()
        ahead[axis] += sign
        walking &= (ahead[axis] >= 0) & (ahead[axis] < size.size) & (width <= WIDEST_GAP)
        ahead[axis] = np.clip(ahead[axis], 0, size.size - 1)
        walking &= ~closed[tuple(face)] & is_open[tuple(ahead)]
        width = np.where(walking, width + size[ahead[axis]], width)
        here = ahead
    return width


def sealed_cells(grid: Grid) -> BoolArray:
    """Return which cells lie in connected air that holds no fan, jet, intake or leak, flat."""
    flat = np.arange(grid.is_open.size).reshape(grid.shape)
    pairs = []
    for axis, closed in enumerate((grid.closed_x, grid.closed_y, grid.closed_z)):
        inner = np.take(closed, range(1, grid.shape[axis]), axis=axis)
        low = np.take(flat, range(grid.shape[axis] - 1), axis=axis)
        high = np.take(flat, range(1, grid.shape[axis]), axis=axis)
        joined = grid.is_open.ravel()[low] & grid.is_open.ravel()[high] & ~inner
        pairs.append(np.stack((low[joined], high[joined])))
    low, high = np.concatenate(pairs, axis=1)
    links = csr_array((np.ones(low.size), (low, high)), shape=(flat.size, flat.size))
    _, label = connected_components(links, directed=False)
    driven = [fan.motor.cells for fan in grid.fans]
    for jet in grid.jets:
        driven += [jet.outlet.cells] if jet.intake is None else [jet.outlet.cells, jet.intake.cells]
    for leak in grid.leaks:
        driven += [leak.inlets.cells, leak.outlets.cells]
    cells = np.concatenate([np.zeros(0, dtype=np.int64), *driven])
    sealed: BoolArray = ~np.isin(label, label[cells]) & grid.is_open.ravel()
    return sealed
