"""Surfaces: one row a patch that air touches, of solids, loose stuff and walls."""

import numpy as np

from simulator.case.dwelling import Construction
from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.bodies import Bodies
from simulator.grid.columns import WallRows
from simulator.grid.exposure import Exposure
from simulator.grid.fill import Fill, solid_share
from simulator.grid.grid import BoolArray, FloatArray, IntArray, Surfaces
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock
from simulator.grid.wall_contacts import WallContact

#: Surfaces below this have no row [m²].
LEAST_AREA = 1e-9


def specific_surface(part: PorousPart) -> float:
    """Return the surface of loose stuff in its box [m²/m³]: spheres of the piece size.

    The same convention as Ergun's, 6 (1 - air fraction) / piece size.
    """
    return 6.0 * (1.0 - part.air_fraction) / part.piece_size


def gather_surfaces(
    parts: tuple[Part, ...],
    blocks: tuple[PartBlock, ...],
    bodies: Bodies,
    exposure: Exposure,
    walls: tuple[WallRows, WallContact, tuple[Construction, ...]],
    fill: Fill,
    lattice: Lattice,
) -> tuple[Surfaces, FloatArray]:
    """Return the surfaces and the place of each (S, 3) [m]: solid faces, loose stuff, walls."""
    pieces = [
        _solid_rows(parts, exposure, bodies),
        *(_porous_rows(parts, block, bodies, fill, lattice) for block in blocks),
        _wall_rows(*walls, lattice),
    ]
    surfaces = Surfaces(
        *(
            np.concatenate([getattr(piece, name) for piece, _ in pieces])
            for name in Surfaces.__slots__
        )
    )
    return surfaces, np.concatenate([place for _, place in pieces])


def _solid_rows(
    parts: tuple[Part, ...], exposure: Exposure, bodies: Bodies
) -> tuple[Surfaces, FloatArray]:
    """Return exposed tiles, those alike in all but place merged into one row."""
    tiles = exposure.tiles
    node = bodies.node(tiles.part, tiles.cell)
    key = np.stack([tiles.part, node, exposure.air_cell, exposure.axis, exposure.sign])
    _, first, row = np.unique(key, axis=1, return_index=True, return_inverse=True)
    row, count = row.reshape(-1), first.size
    area: FloatArray = np.asarray(np.bincount(row, tiles.area, count), dtype=np.float64)

    def mean(values: FloatArray) -> FloatArray:
        return np.bincount(row, tiles.area * values, count) / np.where(area > 0.0, area, 1.0)

    emissivity = np.array(
        [p.material.emissivity if isinstance(p, SolidPart | PorousPart) else 0.0 for p in parts]
    )
    part = tiles.part[first]
    surfaces = Surfaces(
        air_cell=exposure.air_cell[first],
        solid=node[first],
        column=np.full(count, -1, dtype=np.int64),
        area=area,
        axis=exposure.axis[first].astype(np.int8),
        sign=exposure.sign[first].astype(np.int8),
        depth=mean(tiles.depth),
        emissivity=emissivity[part] if count else np.zeros(0),
        length=mean(tiles.length),
        part=part,
    )
    place = np.stack([mean(tiles.centre[:, w]) for w in range(3)], axis=1)
    keep = area > LEAST_AREA
    return _chosen(surfaces, keep), place[keep]


def _porous_rows(
    parts: tuple[Part, ...], block: PartBlock, bodies: Bodies, fill: Fill, lattice: Lattice
) -> tuple[Surfaces, FloatArray]:
    """Return one row for each open cell that a loose part reaches; none for a solid part."""
    part = parts[block.part]
    if not isinstance(part, PorousPart):
        empty = _uniform(
            np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0), 0.0, 0.0, 0.0, 0
        )
        return empty, np.zeros((0, 3))
    local = np.nonzero((block.volume > 0.0) & fill.is_open[block.index])
    cells = tuple(found + first for found, first in zip(local, block.block[:, 0], strict=True))
    volume = block.volume[local]
    cell = np.ravel_multi_index(cells, lattice.shape).astype(np.int64)
    surfaces = _uniform(
        air_cell=cell,
        solid=bodies.node(np.full(cell.size, block.part, dtype=np.int64), cell),
        area=specific_surface(part) * volume,
        # Stuff behind a unit of surface: a sphere's volume over its surface.
        depth=solid_share(part) / specific_surface(part),
        emissivity=part.material.emissivity,
        length=part.piece_size,
        part=block.part,
    )
    place = block.centroid[:, local[0], local[1], local[2]].T
    keep = surfaces.area > LEAST_AREA
    return _chosen(surfaces, keep), place[keep]


def _uniform(
    air_cell: IntArray,
    solid: IntArray,
    area: FloatArray,
    depth: float,
    emissivity: float,
    length: float,
    part: int,
) -> Surfaces:
    count = air_cell.size
    return Surfaces(
        air_cell=air_cell,
        solid=solid,
        column=np.full(count, -1, dtype=np.int64),
        area=area,
        axis=np.full(count, -1, dtype=np.int8),
        sign=np.zeros(count, dtype=np.int8),
        depth=np.full(count, depth),
        emissivity=np.full(count, emissivity),
        length=np.full(count, length),
        part=np.full(count, part, dtype=np.int64),
    )


def _wall_rows(
    rows: WallRows,
    contact: WallContact,
    constructions: tuple[Construction, ...],
    lattice: Lattice,
) -> tuple[Surfaces, FloatArray]:
    """Return the uncovered part of each wall column; its normal points into the room."""
    column = np.flatnonzero(contact.uncovered > LEAST_AREA)
    emissivity = np.array([c.layers[0].material.emissivity for c in constructions])
    count = column.size
    surfaces = Surfaces(
        air_cell=rows.cell[column],
        solid=np.full(count, -1, dtype=np.int64),
        column=column,
        area=contact.uncovered[column],
        axis=rows.axis[column].astype(np.int8),
        sign=(-rows.sign[column]).astype(np.int8),
        depth=np.zeros(count),
        emissivity=emissivity[rows.construction[column]],
        length=rows.length[column],
        part=np.full(count, -1, dtype=np.int64),
    )
    return surfaces, wall_places(rows, lattice)[column]


def wall_places(rows: WallRows, lattice: Lattice) -> FloatArray:
    """Return the middle of the cell face of each wall row (C, 3) [m]."""
    index = np.unravel_index(rows.cell, lattice.shape)
    place = np.stack([lattice.centres[w][index[w]] for w in range(3)], axis=1)
    for w in range(3):
        normal = rows.axis == w
        face = index[w] + (rows.sign > 0)
        place[normal, w] = lattice.edges[w][face[normal]]
    return place


def _chosen(surfaces: Surfaces, keep: BoolArray) -> Surfaces:
    return Surfaces(*(getattr(surfaces, name)[keep] for name in Surfaces.__slots__))
