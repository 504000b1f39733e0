"""What lies on the walls: solids that touch them or face them across air; air meets the rest."""

from dataclasses import dataclass, replace

import numpy as np

from simulator.case.parts import Part, SolidPart
from simulator.grid.bodies import Bodies
from simulator.grid.columns import LEAST_PATCH, WallRows
from simulator.grid.contacts import gap_resistance, half_thickness
from simulator.grid.faces import Tiles, dominant_axis
from simulator.grid.fill import Fill
from simulator.grid.gaps import Gaps
from simulator.grid.grid import BoolArray, Columns, FloatArray, IntArray
from simulator.grid.planes import Lattice

#: What is at least so wide both ways lies broad on a wall [m] (estimate: in a treatment heat goes
#: some 0.1 m sideways into wood or concrete, sqrt(a t) for 4 h; narrower things share the patch).
BROAD = 0.2

#: ... and so does what covers this share of a patch beside something else: the two would conduct to
#: each other through the surface of the wall as if that were metal [-] (choice).
BROAD_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class WallContact:
    """How each row (length C) meets air and stuff."""

    uncovered: FloatArray  # area that faces air [m²]; zero at blocked cells
    untouched: FloatArray  # area that nothing lies on [m²]
    columns: Columns


def meet_contents(
    rows: WallRows,
    on_walls: Tiles,
    gaps: Gaps,
    bodies: Bodies,
    parts: tuple[Part, ...],
    fill: Fill,
    lattice: Lattice,
) -> tuple[WallRows, WallContact]:
    """Return the rows, some of them divided, and the columns with the solids that lie on them.

    What lies broad on an outer side has the wall behind it to itself: the patch is divided into
    the area that it covers and the rest, so a rug is a layer over its exact share of the floor. A
    leg or the edge of a board shares the patch, whose layers spread its heat sideways. A face
    across a gap from the wall conducts through the gap's air, and so does all that is left of a
    patch behind a blocked cell, which has no air to face.
    """
    touch = _touches(rows, on_walls, bodies, parts)
    rows, touch = _divide(rows, touch)
    left = rows.area - np.bincount(touch.row, touch.area, rows.area.size)
    untouched = np.maximum(left, 0.0)
    across = _across_gaps(rows, gaps, bodies, left)
    left = left - np.bincount(across.row, across.area, rows.area.size)
    bare = _behind_blocked(rows, left, bodies, fill, lattice)
    conductance = [_touch_conductance(touch, bodies), across.conductance, bare.conductance]
    is_layer = bodies.is_layer[touch.node, rows.axis[touch.row]]
    none = np.zeros(across.row.size + bare.row.size)
    is_open = fill.is_open.reshape(-1)[rows.cell]
    return rows, WallContact(
        uncovered=np.where(is_open, np.maximum(left, 0.0), 0.0),
        untouched=untouched,
        columns=Columns(
            cell=rows.cell,
            axis=rows.axis.astype(np.int8),
            sign=rows.sign.astype(np.int8),
            area=rows.area,
            construction=rows.construction,
            temperature=rows.temperature,
            resistance=rows.resistance,
            partner=_partners(rows),
            contact_column=np.concatenate([touch.row, across.row, bare.row]),
            contact_solid=np.concatenate([touch.node, across.node, bare.node]),
            contact_conductance=np.concatenate(conductance),
            contact_area=np.concatenate([is_layer * touch.area, none]),
            contact_depth=np.concatenate([is_layer * touch.depth, none]),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Touch:
    """Solid nodes that touch wall rows."""

    row: IntArray
    node: IntArray
    part: IntArray
    area: FloatArray  # [m²]
    depth: FloatArray  # of the stuff [m]
    is_broad: BoolArray


@dataclass(frozen=True, slots=True)
class _AirBetween:
    """Solid nodes that face wall rows across air."""

    row: IntArray
    node: IntArray
    area: FloatArray  # [m²]
    conductance: FloatArray  # [W/K]


def _touches(rows: WallRows, on_walls: Tiles, bodies: Bodies, parts: tuple[Part, ...]) -> _Touch:
    """Return every touch of a node and a row; together they cover no patch twice."""
    slot = _slot(*dominant_axis(on_walls.normal))
    node = bodies.node(on_walls.part, on_walls.cell)
    tile, row = _meet(rows, slot, on_walls.cell)
    real = on_walls.area[tile] > LEAST_PATCH
    tile, row = tile[real], row[real]
    key, place = np.unique(np.stack([row, node[tile]], axis=1), axis=0, return_inverse=True)
    place = place.reshape(-1)
    weight = (on_walls.area[tile] * rows.area[row]) / rows.patch_area[row]
    area: FloatArray = np.asarray(np.bincount(place, weight, len(key)), dtype=np.float64)
    depth = np.bincount(place, weight * on_walls.depth[tile], len(key)) / area
    row, node = key.reshape(-1, 2).T
    total = np.bincount(row, area, rows.area.size)
    area *= np.minimum(1.0, rows.area / np.maximum(total, 1e-300))[row]
    part = bodies.part[node]
    broad = np.array([_is_broad(p) for p in parts], dtype=np.bool_)
    is_broad = broad[part] if part.size else np.zeros(0, dtype=np.bool_)
    neighbours = np.bincount(row, minlength=rows.area.size)[row]
    is_broad |= (area > BROAD_SHARE * rows.area[row]) & (neighbours > 1)
    return _Touch(row, node, part, area, depth, is_broad & (rows.across[row] < 0))


def _is_broad(part: Part) -> bool:
    return isinstance(part, SolidPart) and sorted(part.box.size)[1] >= BROAD


def _meet(rows: WallRows, slot: IntArray, cell: IntArray) -> tuple[IntArray, IntArray]:
    """Return all pairs of a tile and a row of its patch: several if a window divides the patch."""
    cells = int(max(rows.cell.max(initial=0), cell.max(initial=0))) + 1
    key_of_row = _slot(rows.axis, rows.sign) * cells + rows.cell
    key = slot * cells + cell
    order = np.argsort(key_of_row, kind="stable")
    first = np.searchsorted(key_of_row[order], key, side="left")
    count = np.searchsorted(key_of_row[order], key, side="right") - first
    tile = np.repeat(np.arange(key.size), count)
    within = np.arange(tile.size) - np.repeat(np.cumsum(count) - count, count)
    return tile, order[np.repeat(first, count) + within]


def _divide(rows: WallRows, touch: _Touch) -> tuple[WallRows, _Touch]:
    """Give each broad touch a row of its own; rows keep their order, the rest of each first."""
    broad = np.flatnonzero(touch.is_broad)
    covered = np.bincount(touch.row[broad], touch.area[broad], rows.area.size)
    rest = rows.area - covered
    is_left = rest > 1e-6 * rows.area
    rest = np.where(is_left, rest, 0.0)
    source = np.concatenate([np.flatnonzero(is_left), touch.row[broad]])
    area = np.concatenate([rest[is_left], touch.area[broad]])
    part = np.concatenate([np.full(is_left.sum(), -1, dtype=np.int64), touch.part[broad]])
    order = np.argsort(source, kind="stable")
    rank = np.empty(order.size, dtype=np.int64)
    rank[order] = np.arange(order.size)
    divided = WallRows(*(getattr(rows, name)[source[order]] for name in WallRows.__slots__))
    divided = replace(divided, area=area[order], covered_by=part[order])
    new_row = np.full(rows.area.size, -1, dtype=np.int64)
    new_row[is_left] = rank[: int(is_left.sum())]
    row = new_row[touch.row]
    row[broad] = rank[int(is_left.sum()) :]
    kept = row >= 0  # a leg on a patch that something broad covers to a hair
    touch = _Touch(*(getattr(touch, name)[kept] for name in _Touch.__slots__))
    return divided, replace(touch, row=row[kept])


def _touch_conductance(touch: _Touch, bodies: Bodies) -> FloatArray:
    return touch.area * bodies.bulk_conductivity[touch.node] / (0.5 * touch.depth)


def _across_gaps(rows: WallRows, gaps: Gaps, bodies: Bodies, left: FloatArray) -> _AirBetween:
    """Return the nodes that face the wall across a slit, at most over what is left of each row."""
    at_wall = np.flatnonzero(gaps.cell >= 0)
    tile, row = _meet(rows, _slot(gaps.axis[at_wall], gaps.sign[at_wall]), gaps.cell[at_wall])
    tile = at_wall[tile]
    bare = rows.covered_by[row] < 0
    tile, row = tile[bare], row[bare]
    area = gaps.area[tile] * rows.area[row] / rows.patch_area[row]
    total = np.bincount(row, area, rows.area.size)
    area *= np.minimum(1.0, np.maximum(left, 0.0) / np.maximum(total, 1e-300))[row]
    node = gaps.node[tile]
    behind = half_thickness(
        bodies.extent[node], gaps.area[tile], bodies.span[node, gaps.axis[tile]]
    )
    way = gap_resistance(gaps.width[tile]) + behind / bodies.bulk_conductivity[node]
    kept = area > LEAST_PATCH
    return _AirBetween(row[kept], node[kept], area[kept], (area / way)[kept])


def _behind_blocked(
    rows: WallRows, left: FloatArray, bodies: Bodies, fill: Fill, lattice: Lattice
) -> _AirBetween:
    """Return what is left of the patches behind blocked cells, through the air left in them."""
    index = np.unravel_index(rows.cell, lattice.shape)
    node = bodies.main_node()[rows.cell]
    row = np.flatnonzero(fill.is_blocked[index] & (left > LEAST_PATCH) & (node >= 0))
    index, node, area = tuple(at[row] for at in index), node[row], left[row]
    size = _along(rows.axis[row], index, lattice)
    free = size * np.maximum(0.0, 1.0 - fill.extent[index] / lattice.volumes[index])
    behind = half_thickness(
        fill.extent[index], rows.patch_area[row], bodies.span[node, rows.axis[row]]
    )
    way = gap_resistance(free) + behind / bodies.bulk_conductivity[node]
    return _AirBetween(row, node, area, area / way)


def _along(axis: IntArray, index: tuple[IntArray, ...], lattice: Lattice) -> FloatArray:
    """Return the size of each cell along its row's axis [m]."""
    sizes = np.stack([lattice.sizes[w][index[w]] for w in range(3)])
    return np.asarray(sizes[axis, np.arange(axis.size)])


def _slot(axis: IntArray, sign: IntArray) -> IntArray:
    return 2 * axis.astype(np.int64) + (sign > 0)


def _partners(rows: WallRows) -> IntArray:
    """Return the row on the other face of the partition, or -1."""
    partner = np.full(rows.cell.size, -1, dtype=np.int64)
    shared = np.flatnonzero(rows.across >= 0)
    row_of = {
        (int(rows.cell[row]), int(rows.axis[row]), int(rows.sign[row])): int(row) for row in shared
    }
    for row in shared:
        key = (int(rows.across[row]), int(rows.axis[row]), -int(rows.sign[row]))
        partner[row] = row_of[key]
    return partner
