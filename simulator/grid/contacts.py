"""Conduction between solid nodes: within a part, where two parts touch, across gaps of air."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.bodies import Bodies
from simulator.grid.faces import Tiles, dominant_axis
from simulator.grid.gaps import Gaps
from simulator.grid.grid import BoolArray, FloatArray, IntArray
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


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of solid nodes that conduct to each other, as in ``Solids`` (length P)."""

    pair: IntArray  # (P, 2) on the low side, on the high side
    axis: IntArray
    conductance: FloatArray  # [W/K]
    area: FloatArray  # [m²] of a touch with a layer; else 0
    depth: FloatArray  # (P, 2) [m] of such a touch; else 0
    place: FloatArray  # (P, 3) middle of a touch [m]; else 0


def join_nodes(
    blocks: tuple[PartBlock, ...], covered: Tiles, gaps: Gaps, bodies: Bodies, lattice: Lattice
) -> Pairs:
    """Return all pairs of solid nodes with their conductances.

    A contact's area is the section of a part in the cell plane, or that of two faces that touch
    (``covered`` tiles). Conductance is area over the two half thicknesses in series,
    G = A / (d1/k1 + d2/k2), d = half of the lesser of reach and extent / A. Tiles that face each
    other across a gap add the same with the gap's air in between.
    """
    pieces = [
        *(_within(block, axis, bodies, lattice) for block in blocks for axis in range(3)),
        _touching(covered, bodies),
        _across_gaps(gaps, bodies),
    ]
    names = Pairs.__slots__
    return Pairs(*(np.concatenate([getattr(piece, name) for piece in pieces]) for name in names))


def gap_resistance(thickness: FloatArray) -> FloatArray:
    """Return the resistance of a closed air layer [m² K/W]: conduction or convection, radiation."""
    convection = np.maximum(AIR_CONDUCTIVITY / np.maximum(thickness, 1e-4), GAP_CONVECTION)
    return 1.0 / (convection + GAP_RADIATION)


def half_thickness(extent: FloatArray, area: FloatArray, reach: FloatArray) -> FloatArray:
    """Return the distance from a contact of an area to the middle of the stuff behind it [m]."""
    return 0.5 * np.minimum(reach, extent / np.maximum(area, LEAST_AREA))


def _within(block: PartBlock, axis: int, bodies: Bodies, lattice: Lattice) -> Pairs:
    """Return the pairs of one part along one axis, through its sections in the cell planes."""
    section = block.sections[axis]
    low = list(np.nonzero(section > LEAST_AREA))
    area = section[tuple(low)]
    high = low.copy()
    high[axis] = low[axis] + 1
    held = (block.volume[tuple(low)] > 0.0) & (block.volume[tuple(high)] > 0.0)
    one, two = (_nodes(block, place, held, bodies, lattice) for place in (low, high))
    pair, area = _merged(one, two, area[held])
    one, two = pair.T
    ways = [
        half_thickness(bodies.extent[node], area, bodies.span[node, axis])
        / bodies.bulk_conductivity[node]
        for node in (one, two)
    ]
    return Pairs(
        pair=pair,
        axis=np.full(area.size, axis, dtype=np.int64),
        conductance=area / (ways[0] + ways[1]),
        area=np.zeros(area.size),
        depth=np.zeros((area.size, 2)),
        place=np.zeros((area.size, 3)),
    )


def _nodes(
    block: PartBlock,
    place: Sequence[IntArray],
    held: np.ndarray,
    bodies: Bodies,
    lattice: Lattice,
) -> IntArray:
    index = [at[held] + first for at, first in zip(place, block.block[:, 0], strict=True)]
    cell = np.ravel_multi_index(index, lattice.shape).astype(np.int64)
    return bodies.node(np.full(cell.size, block.part, dtype=np.int64), cell)


def _merged(one: IntArray, two: IntArray, area: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return each pair of different nodes once, with the sum of its areas."""
    apart = one != two
    pair, row = np.unique(np.stack([one[apart], two[apart]], axis=1), axis=0, return_inverse=True)
    total = np.bincount(row.reshape(-1), area[apart], len(pair))
    return pair.reshape(-1, 2), np.asarray(total, dtype=np.float64)


def _touching(tiles: Tiles, bodies: Bodies) -> Pairs:
    """Return the pairs of parts that touch; both report the contact, each for one half."""
    tiles = tiles.where(tiles.area > LEAST_AREA)
    axis, sign = dominant_axis(tiles.normal)
    own, other = bodies.node(tiles.part, tiles.cell), bodies.node(tiles.touched, tiles.beyond)
    is_low: BoolArray = np.asarray(sign > 0)  # the own node lies on the low side
    pair, along, row = _oriented(own, other, is_low, axis)
    count = along.size
    area: FloatArray = np.asarray(np.bincount(row, 0.5 * tiles.area, count), dtype=np.float64)
    depth = np.stack(
        [_mean_depth(tiles, row, count, side, bodies.span[node, along])
         for side, node in ((is_low, pair[:, 0]), (~is_low, pair[:, 1]))],
        axis=1,
    )  # fmt: skip
    weighted = [np.bincount(row, 0.5 * tiles.area * tiles.centre[:, w], count) for w in range(3)]
    place = np.stack(weighted, axis=1) / area[:, None]
    way = half_thickness(bodies.extent[pair], area[:, None], depth) / bodies.bulk_conductivity[pair]
    has_layer: BoolArray = np.asarray(bodies.is_layer[pair, along[:, None]].any(axis=1))
    return Pairs(
        pair=pair,
        axis=along,
        conductance=area / way.sum(axis=1),
        area=np.where(has_layer, area, 0.0),
        depth=np.where(has_layer[:, None], depth, 0.0),
        place=place,
    )


def _oriented(
    own: IntArray, other: IntArray, is_low: BoolArray, axis: IntArray
) -> tuple[IntArray, IntArray, IntArray]:
    """Return each pair once, its low side first, its axis, and which pair each report is of.

    ``is_low`` tells where the own node lies on the low side.
    """
    key = np.stack([np.where(is_low, own, other), np.where(is_low, other, own), axis], axis=1)
    found, row = np.unique(key.reshape(-1, 3), axis=0, return_inverse=True)
    return found[:, :2], found[:, 2], row.reshape(-1)


def _mean_depth(
    tiles: Tiles, row: IntArray, count: int, side: np.ndarray, otherwise: FloatArray
) -> FloatArray:
    """Return the mean depth of one side's tiles for each pair; ``otherwise`` where it has none."""
    area = np.bincount(row[side], tiles.area[side], count)
    total = np.bincount(row[side], (tiles.area * tiles.depth)[side], count)
    return np.asarray(np.where(area > 0.0, total / np.maximum(area, 1e-300), otherwise))


def _across_gaps(gaps: Gaps, bodies: Bodies) -> Pairs:
    """Return the pairs that face each other across a gap; both report it, each for one half."""
    seen = gaps.other >= 0
    own, other, axis = gaps.node[seen], gaps.other[seen], gaps.axis[seen]
    pair, along, row = _oriented(own, other, gaps.sign[seen] > 0, axis)
    count = along.size
    area = np.asarray(np.bincount(row, 0.5 * gaps.area[seen], count), dtype=np.float64)
    width = np.bincount(row, 0.5 * (gaps.area * gaps.width)[seen], count) / area
    way = gap_resistance(width)
    for side in range(2):
        node = pair[:, side]
        reach = half_thickness(bodies.extent[node], area, bodies.span[node, along])
        way = way + reach / bodies.bulk_conductivity[node]
    return Pairs(
        pair=pair,
        axis=along,
        conductance=area / way,
        area=np.zeros(count),
        depth=np.zeros((count, 2)),
        place=np.zeros((count, 3)),
    )
