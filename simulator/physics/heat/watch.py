"""What is watched while heat is marched in time: refuges, probes, fields, as nodes and weights."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.case.parts import Probe, Vector
from simulator.grid.grid import FloatArray, Grid, IntArray, RefugeKind
from simulator.physics.heat.core_profiles import CoreProfiles
from simulator.physics.heat.nodes import NodeLayout


@dataclass(frozen=True, slots=True)
class NodeMean:
    """A weighted mean over nodes."""

    node: IntArray
    weight: FloatArray  # sums to one [-]

    def of(self, state: FloatArray) -> float:
        """Return the mean of a state [°C]."""
        return float(self.weight @ state[self.node])


@dataclass(frozen=True, slots=True)
class Watch:
    """What ``watch`` returns (R refuges, B probes, N solids)."""

    refuge_node: IntArray  # (R,) every refuge reads one node ...
    refuge_solid: IntArray  # ... and, where it is a solid (else -1), its coldest point
    core_profiles: CoreProfiles
    start_temperature: float  # [°C]
    probes: tuple[NodeMean, ...]  # (B,)
    solid_node: IntArray  # (N,) cores
    face_node: IntArray  # surfaces of solids ...
    face_solid: IntArray  # ... and whose they are
    air_share: FloatArray  # (air nodes,) share of the volume of all air [-]
    field_cell: IntArray  # flat cells of the field: air of open cells, cores of blocked ones
    field_node: IntArray
    shape: tuple[int, int, int]

    def refuges(self, state: FloatArray) -> NDArray[np.float32]:
        """Return the temperature of every refuge (R,) [°C].

        Inside a solid it is that of the coldest point, which a warming solid has farther from its
        exposed faces than its mean; never colder than at the start of the run.
        """
        temperature = state[self.refuge_node]
        if self.refuge_solid.size:
            inside = self.refuge_solid >= 0
            drop = self.core_profiles.drops(state)[self.refuge_solid[inside]]
            mean = temperature[inside]
            floor = np.minimum(mean, self.start_temperature)
            temperature[inside] = np.maximum(mean - drop, floor)
        return temperature.astype(np.float32)

    def solid_peaks(self, state: FloatArray) -> FloatArray:
        """Return the hottest node of every solid, its surfaces included (N,) [°C]."""
        peak = state[self.solid_node]
        np.maximum.at(peak, self.face_solid, state[self.face_node])
        return peak

    def field(self, state: FloatArray) -> NDArray[np.float32]:
        """Return air of open cells, cores of blocked ones, nan in the void [i, j, k] [°C]."""
        field = np.full(int(np.prod(self.shape)), np.nan, dtype=np.float32)
        field[self.field_cell] = state[self.field_node]
        return field.reshape(self.shape)

    def coldest(self, state: FloatArray) -> tuple[float, int]:
        """Return the temperature and index of the coldest refuge; of any node, -1 if none."""
        if not self.refuge_node.size:
            return float(state.min()), -1
        refuges = self.refuges(state)
        index = int(refuges.argmin())
        return float(refuges[index]), index


def watch(grid: Grid, layout: NodeLayout, probes: Sequence[Probe]) -> Watch:
    """Return which nodes the refuges and the probes read."""
    refuges = grid.refuges
    node_of_kind = {
        RefugeKind.SOLID: layout.solid_node,
        RefugeKind.SURFACE: layout.surface_node,
        RefugeKind.COLUMN: layout.column_node,
        RefugeKind.CAVITY: layout.cavity_node,
        RefugeKind.TOUCH: layout.touch_node,
    }
    refuge_node = np.full(refuges.kind.size, -1, dtype=np.int64)
    for kind, node in node_of_kind.items():
        ours = refuges.kind == kind
        refuge_node[ours] = node[refuges.index[ours]]
    faces = np.flatnonzero((grid.surfaces.solid >= 0) & (grid.surfaces.axis >= 0))
    air_capacity = layout.capacity[layout.air]
    blocked = np.flatnonzero(grid.is_blocked)
    return Watch(
        refuge_node=refuge_node,
        refuge_solid=np.where(refuges.kind == RefugeKind.SOLID, refuges.index, -1),
        core_profiles=layout.core_profiles,
        start_temperature=grid.start_temperature,
        probes=tuple(point_mean(grid, layout, probe.position) for probe in probes),
        solid_node=layout.solid_node,
        face_node=layout.surface_node[faces],
        face_solid=grid.surfaces.solid[faces],
        air_share=air_capacity / air_capacity.sum(),
        field_cell=np.concatenate([layout.air_cell, blocked]),
        field_node=np.concatenate(
            [np.arange(layout.air_cell.size), layout.solid_node[main_solid(grid)[blocked]]]
        ),
        shape=grid.shape,
    )


def main_solid(grid: Grid) -> IntArray:
    """Return the solid that fills most of each flat cell; -1 where none is."""
    solid = np.full(grid.is_open.size, -1, dtype=np.int64)
    for cell, volume, node in (
        (grid.solids.cell, np.zeros(grid.solids.cell.size), np.arange(grid.solids.cell.size)),
        (grid.shares.cell, grid.shares.volume, grid.shares.solid),
    ):
        order = np.argsort(volume, kind="stable")
        solid[cell[order]] = node[order]
    return solid


def point_mean(grid: Grid, layout: NodeLayout, position: Vector) -> NodeMean:
    """Return the nodes that give the temperature at a point.

    In a blocked cell the solid's core; else the air, interpolated linearly between those of the
    eight nearest cell centres that hold air; outside every room the nearest air.
    """
    cell = _cell_at(grid, position)
    if grid.is_blocked[cell]:
        flat = int(np.ravel_multi_index(cell, grid.shape))
        solid = int(main_solid(grid)[flat])
        return NodeMean(layout.solid_node[[solid]], np.ones(1))
    corners, weights = _corners(grid, position)
    node = layout.air_node[corners]
    has_air = (node >= 0) & (weights > 0.0)
    if not has_air.any():
        return NodeMean(np.array([_nearest_air(grid, layout, position)]), np.ones(1))
    weight = weights[has_air]
    return NodeMean(node[has_air], weight / weight.sum())


def _edges(grid: Grid) -> tuple[FloatArray, FloatArray, FloatArray]:
    return grid.x_edges, grid.y_edges, grid.z_edges


def _cell_at(grid: Grid, position: Vector) -> tuple[int, int, int]:
    i, j, k = (
        int(np.clip(np.searchsorted(edges, at, side="right") - 1, 0, edges.size - 2))
        for edges, at in zip(_edges(grid), position, strict=True)
    )
    return i, j, k


def _corners(grid: Grid, position: Vector) -> tuple[IntArray, FloatArray]:
    """Flat cells around a point and their linear weights (8,)."""
    low, share = [], []
    for centres, at in zip(grid.centres, position, strict=True):
        index = int(np.clip(np.searchsorted(centres, at) - 1, 0, max(centres.size - 2, 0)))
        high = min(index + 1, centres.size - 1)
        width = centres[high] - centres[index]
        part = float(np.clip((at - centres[index]) / width, 0.0, 1.0)) if width > 0.0 else 0.0
        low.append((index, high))
        share.append((1.0 - part, part))
    cells, weights = [], []
    for corner in np.ndindex(2, 2, 2):
        cells.append(np.ravel_multi_index([low[a][corner[a]] for a in range(3)], grid.shape))
        weights.append(np.prod([share[a][corner[a]] for a in range(3)]))
    return np.array(cells, dtype=np.int64), np.array(weights)


def _nearest_air(grid: Grid, layout: NodeLayout, position: Vector) -> int:
    index = np.unravel_index(layout.air_cell, grid.shape)
    distance = sum(
        (centres[i] - at) ** 2 for centres, i, at in zip(grid.centres, index, position, strict=True)
    )
    return int(np.argmin(distance))
