"""Long-wave exchange between all surfaces of the dwelling: total-exchange areas by ray casting.

The air is transparent, surfaces are grey and diffuse. Rays start from every surface by the cosine
law (loose stuff: any way), run through open cells, are stopped by blocked and void cells and by
faces that thin boards shut, and may be caught within a cell that holds loose stuff or a part of a
solid: there the chance a metre is the area shown to the ray over the cell's volume (its mean over
all directions is A/4V). What catches a ray absorbs it with its emissivity or sends it on diffusely,
so that the counts contain all inter-reflection. They are then made reciprocal and exactly closed.

Patches are isothermal and uniformly lit: grouping at 0.3 m moves single solids by up to 1 K (rms
below 0.1 K) against face by face, as much as the noise of 64 instead of 256 rays a face.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array, triu

from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import BoolArray, FloatArray, Grid, IndexArray, IntArray
from simulator.physics.radiation.closing import close_exchange, share_counts
from simulator.physics.radiation.kernels import (
    HOLDS_STUFF,
    PatchArray,
    Ray,
    Scene,
    cast_rays,
    linearise,
)
from simulator.physics.radiation.patches import group_surfaces

# One compiled call casts about this many rays, so that it stays under 0.2 s.
_RAYS_PER_CALL = 100_000

# Area of a row that casts all its rays [m²], and the fewest rays of a row.
_FULL_ROW = 0.01
_FEWEST_RAYS = 16

# A ray that was reflected so often goes back to where it came from.
_MOST_FLIGHTS = 200


@dataclass(frozen=True, slots=True)
class PatchPairs:
    """Pairs of different patches, each in the row of the lower number, and each with itself."""

    row_start: IndexArray  # (P + 1,)
    column: PatchArray
    area: FloatArray  # total-exchange area G of each pair [m²]
    own: FloatArray  # (P,) of each patch with itself [m²]


@dataclass(frozen=True, slots=True)
class RadiationExchange:
    """What ``radiation_exchange`` returns. S surfaces, P patches.

    The net heat that leaves patch i is q_i = σ Σ_j G_ij (T_i⁴ - T_j⁴), temperatures in kelvin.

    Attributes
    ----------
    patch_of_surface : (S,) patch of each surface row; -1: does not radiate.
    area : (P,) sum of the members' areas [m²].
    exchange : (P, P) total-exchange areas G [m²], symmetric, rows sum to ε A of the patch.
    pairs : the same, each pair of different patches once.
    closure_error : rms error of the row sums before closing over the rms of ε A [-]: the noise.
    """

    patch_of_surface: IntArray
    area: FloatArray
    exchange: csr_array
    pairs: PatchPairs
    closure_error: float


#: No surface radiates.
NO_RADIATION = RadiationExchange(
    patch_of_surface=np.zeros(0, dtype=np.int64),
    area=np.zeros(0),
    exchange=csr_array((0, 0), dtype=np.float64),
    pairs=PatchPairs(
        np.zeros(1, dtype=np.uint32), np.zeros(0, dtype=np.uint32), np.zeros(0), np.zeros(0)
    ),
    closure_error=0.0,
)


def radiation_exchange(
    grid: Grid, *, rays: int = 256, patch_size: float = 0.3, seed: int = 1
) -> RadiationExchange:
    """Return the long-wave exchange between the surfaces of a grid.

    Parameters
    ----------
    grid : the grid with its surfaces.
    rays : number cast from each surface row of 0.01 m² or more, the face of a cell of 0.1 m;
        smaller ones cast fewer in proportion.
    patch_size : width of the patches that surfaces are grouped into [m].
    seed : of the random numbers.
    """
    surfaces = grid.surfaces
    patch = group_surfaces(grid, patch_size)
    patches = int(patch.max(initial=-1)) + 1
    if patches == 0:
        return NO_RADIATION
    scene = _scene(grid, patch)
    area = _sum_by_patch(patch, surfaces.area, patches)
    target = _sum_by_patch(patch, surfaces.area * surfaces.emissivity, patches)
    members = np.bincount(patch, minlength=patches)
    from_row = np.ceil(rays * np.minimum(1.0, area / members / _FULL_ROW)).astype(np.int64)
    cast = members * np.maximum(min(rays, _FEWEST_RAYS), from_row)
    raw = _cast(scene, cast, np.random.default_rng(seed))
    shared = share_counts(raw, target / cast)
    error = shared.sum(axis=1) - target
    noise = float(np.sqrt(np.sum(error**2) / np.sum(target**2)))
    closed = close_exchange(shared, target)
    return RadiationExchange(patch, area, closed, pairs_of(closed), noise)


def conductances(
    exchange: RadiationExchange, patch_temperature: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the conductance of each of ``exchange.pairs`` and of each patch to itself [W/K].

    Parameters
    ----------
    exchange : of the grid.
    patch_temperature : temperatures to linearise about [°C], shape (P,).

    Notes
    -----
    K_ij = σ G_ij (T_i² + T_j²)(T_i + T_j), which is 4 σ G T³ for equal temperatures and gives the
    exact flow, q_i = Σ_j K_ij (T_i - T_j), at the temperatures themselves.
    """
    pairs = exchange.pairs
    kelvin = patch_temperature + ZERO_CELSIUS
    between = np.empty(pairs.column.size)
    linearise(pairs.row_start, pairs.column, pairs.area, kelvin, STEFAN_BOLTZMANN, between)
    return between, 4.0 * STEFAN_BOLTZMANN * pairs.own * kelvin**3


def pairs_of(exchange: csr_array) -> PatchPairs:
    """Return a symmetric exchange (P, P) [m²] with each pair of different patches once."""
    upper = csr_array(triu(exchange, k=1, format="csr"))
    return PatchPairs(
        upper.indptr.astype(np.uint32),
        upper.indices.astype(np.uint16 if upper.shape[0] <= 2**16 else np.uint32),
        upper.data,
        exchange.diagonal(),
    )


def _sum_by_patch(patch: IntArray, quantity: FloatArray, patches: int) -> FloatArray:
    total = np.zeros(patches)
    np.add.at(total, patch, quantity)
    return total


def _scene(grid: Grid, patch: IntArray) -> Scene:
    surfaces = grid.surfaces
    stops = _stopping_faces(grid)
    has_axis = surfaces.axis >= 0
    back = np.where(has_axis, 2 * surfaces.axis.astype(np.int64) + (surfaces.sign < 0), 0)
    is_on_face = has_axis & stops[surfaces.air_cell, back]
    cells = grid.is_open.size
    face_start, face_rows = _rows_by(6 * surfaces.air_cell + back, is_on_face, 6 * cells)
    stuff_start, stuff_rows = _rows_by(surfaces.air_cell, ~is_on_face, cells)
    walls = np.sum(stops << np.arange(6), axis=1)
    walls += np.where(np.diff(stuff_start) > 0, HOLDS_STUFF, 0)
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    return Scene(
        planes=np.concatenate(edges),
        first_plane=np.cumsum([0, edges[0].size, edges[1].size]),
        shape=np.array(grid.shape, dtype=np.int64),
        walls=walls.astype(np.uint8),
        face_start=face_start,
        face_rows=face_rows,
        stuff_start=stuff_start,
        stuff_rows=stuff_rows,
        cell=surfaces.air_cell,
        axis=surfaces.axis,
        sign=surfaces.sign,
        area=surfaces.area,
        emissivity=surfaces.emissivity,
        is_on_face=is_on_face,
        patch=patch,
    )


def _stopping_faces(grid: Grid) -> BoolArray:
    """Return which of the six faces of each cell stop rays, shape (cells, 6)."""
    stops = np.ones((*grid.shape, 6), dtype=np.bool_)
    for axis, closed in enumerate((grid.closed_x, grid.closed_y, grid.closed_z)):
        moved = np.moveaxis(grid.is_open, axis, 0)
        passes = moved[1:] & moved[:-1] & ~np.moveaxis(closed, axis, 0)[1:-1]
        by_axis = np.moveaxis(stops, axis, 0)
        by_axis[1:, ..., 2 * axis] = ~passes
        by_axis[:-1, ..., 2 * axis + 1] = ~passes
    return stops.reshape(-1, 6)


def _rows_by(key: IntArray, keep: BoolArray, keys: int) -> tuple[IntArray, IntArray]:
    """Return starts and rows such that those of key n are rows[starts[n] : starts[n + 1]]."""
    rows = np.flatnonzero(keep)
    order = rows[np.argsort(key[rows], kind="stable")]
    starts = np.concatenate(([0], np.cumsum(np.bincount(key[rows], minlength=keys))))
    return starts.astype(np.int64), order.astype(np.int64)


def _cast(scene: Scene, cast: IntArray, chance: np.random.Generator) -> csr_array:
    """Return the raw exchange: what each patch absorbs of the rays of each other, (P, P) [m²].

    ``cast`` is the number of rays of each patch, a multiple of its member rows.
    """
    patches = cast.size
    member_start, member = _rows_by(scene.patch, scene.patch >= 0, patches)
    ray_start = np.concatenate(([0], np.cumsum(cast)))
    seed = chance.integers(1, 2**31 - 2, patches)
    ray = Ray(np.zeros(3, dtype=np.int64), np.zeros(3), np.zeros(3), np.zeros(1, dtype=np.int64))
    received = np.zeros(patches)
    columns, values, counts = [], [], []
    first = 0
    while first < patches:
        quota = ray_start[first] + _RAYS_PER_CALL
        last = max(first + 1, int(np.searchsorted(ray_start, quota, side="right")) - 1)
        room = min((last - first) * patches, int(ray_start[last] - ray_start[first]))
        column = np.empty(room, dtype=np.int64)
        value = np.empty(room)
        count = np.empty(last - first, dtype=np.int64)
        cast_rays(
            scene,
            ray,
            first,
            last,
            member_start,
            member,
            ray_start,
            _MOST_FLIGHTS,
            seed,
            received,
            column,
            value,
            count,
        )
        filled = int(count.sum())
        columns.append(column[:filled].copy())
        values.append(value[:filled].copy())
        counts.append(count)
        first = last
    starts = np.concatenate(([0], np.cumsum(np.concatenate(counts))))
    return csr_array(
        (np.concatenate(values), np.concatenate(columns), starts), shape=(patches, patches)
    )
