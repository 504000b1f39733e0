"""Carry the temperatures of solids over: faces that stay to the bit, what moves by its own points.

Steps: (1) nodes of faces that are the same before and after are copied. (2) Each thing of which
anything is left gets temperatures at points in its own coordinates: those of the skin or core that
the point was in, pulled so that each old node has its heat. (3) The points are gathered by new
nodes. (4) A node between two touching things takes the mean of both; each core then takes what its
solid's heat leaves, and at last the cores of a thing together what is missing to its heat.
"""

from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.body_frames import BodyFrame, ShareIndex, body_frame, match_parts, share_index
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.physics.heat.bounded import extremes, pulled
from simulator.physics.heat.kept_faces import Kept, kept_faces
from simulator.physics.heat.material_points import layers_at, material_points, nodes_at
from simulator.physics.heat.skin_layers import SkinLayers

Solid = tuple[Grid, SkinLayers]

#: A bound passed by less than this is met [K].
ROUND_OFF = 1e-9


def carry_solids(
    before: Solid, state: FloatArray, after: Solid, enters_at: float, new: FloatArray
) -> None:
    """Write the temperatures of all solid nodes of the new grid into ``new``."""
    matched = match_parts(before[0].parts, after[0].parts)
    kept = kept_faces(before, after, matched)
    _copy(before[1], state, after[1], kept, new)
    source, gathered = _source(before, state), _Gathered(after, kept)
    for part in np.unique(after[0].solids.part[~kept.core]).tolist():
        nodes = np.flatnonzero((after[0].solids.part == part) & ~kept.core)
        if matched[part] < 0:
            gathered.fill(nodes, enters_at)
        else:
            gathered.take(part, nodes, source, int(matched[part]), kept.old_node[nodes])
    gathered.settle(new)


def _copy(
    old: SkinLayers, state: FloatArray, layers: SkinLayers, kept: Kept, new: FloatArray
) -> None:
    faces = np.flatnonzero(kept.face >= 0)
    node, old_node = layers.node[faces], old.node[kept.face[faces]]
    there = node >= 0
    new[node[there]] = state[old_node[there]]
    new[layers.core_node[kept.core]] = state[old.core_node[kept.old_node[kept.core]]]


@dataclass(frozen=True, slots=True)
class _Source:
    """The temperatures of things before the change (N solids)."""

    grid: Grid
    index: ShareIndex
    heat: FloatArray  # (N,) [J]
    core: FloatArray  # (N,) [°C]
    layer: FloatArray  # (6 N, 3) by slot; nan: none [°C]
    ends: FloatArray  # (6 N, 3) [m]
    core_capacity: FloatArray  # (N,) [J/K]
    layer_capacity: FloatArray  # (6 N, 3) [J/K]

    @property
    def capacity(self) -> FloatArray:
        """Heat capacity of each solid [J/K]."""
        return self.grid.solids.heat_capacity

    def at(
        self, node: IntArray, slot: IntArray, layer: IntArray, weight: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the temperature of points, and weights by which those of a node hold its heat.

        The points in a skin or core together weigh as much of the node as that holds of its heat
        capacity; what is missing where no point fell is made up for by all points of the node.
        """
        skin = self.layer[np.maximum(slot, 0), layer]
        is_skin = (slot >= 0) & np.isfinite(skin)
        temperature = np.where(is_skin, skin, self.core[node])
        where = np.where(is_skin, 3 * slot + layer, 18 * self.core.size + node)
        stored = np.concatenate([self.layer_capacity.ravel(), self.core_capacity])[where]
        fallen = np.bincount(where, weight, 19 * self.core.size)[where]
        weight = weight * stored / np.where(fallen > 0.0, fallen, 1.0)
        low, high = extremes(temperature, node, self.core.size)
        mean = self.heat / self.capacity
        return pulled(temperature, weight, node, mean, low, high), weight


def _source(before: Solid, state: FloatArray) -> _Source:
    grid, layers = before
    return _Source(
        grid=grid,
        index=share_index(grid),
        heat=layers.heat(state),
        core=state[layers.core_node],
        layer=layers.slot_means(state),
        ends=layers.slot_ends(),
        core_capacity=layers.core_capacity,
        layer_capacity=layers.slot_capacities(),
    )


class _Gathered:
    """What the new nodes are to get, thing by thing."""

    def __init__(self, after: Solid, kept: Kept) -> None:
        self._grid, self._layers = after
        self._index = share_index(self._grid)
        self._ends = self._layers.slot_ends()
        self._is_new_face = kept.face < 0
        count, parts = self._grid.solids.cell.size, len(self._grid.parts)
        self._mean = np.full(count, np.nan)  # of touched solids [°C]
        self._wanted = np.full(self._layers.node.shape, np.nan)  # by face and layer [°C]
        self._low, self._high = np.full(parts, np.inf), np.full(parts, -np.inf)

    def fill(self, nodes: IntArray, temperature: float) -> None:
        """Give all of some solids one temperature [°C]."""
        self._mean[nodes] = temperature
        part = self._grid.solids.part[nodes[0]]
        self._low[part] = self._high[part] = temperature
        self._wanted[np.isin(self._layers.faces.solid, nodes)] = temperature

    def take(
        self, part: int, nodes: IntArray, source: _Source, old: int, old_nodes: IntArray
    ) -> None:
        """Give some solids of a thing what it had there in its own coordinates.

        ``old_nodes`` are the same solids before, or -1 throughout when the thing has moved.
        """
        frames = _frame(source.grid.parts[old]), _frame(self._grid.parts[part])
        points = material_points(frames[0], source.grid, frames[1], self._grid)
        node = nodes_at(points, frames[0], old, source.grid, source.index)
        if (old_nodes < 0).any():
            old_nodes = np.flatnonzero(source.grid.solids.part == old)
        inside = np.flatnonzero(np.isin(node, old_nodes))
        points, node = points.where(inside), node[inside]
        slot, layer = layers_at(points, frames[0], node, source.ends)
        temperature, weight = source.at(node, slot, layer, points.weight)
        means = source.heat[old_nodes] / source.capacity[old_nodes]
        self._low[part] = min(temperature.min(initial=np.inf), means.min())
        self._high[part] = max(temperature.max(initial=-np.inf), means.max())

        new_node = nodes_at(points, frames[1], part, self._grid, self._index)
        slot, layer = layers_at(points, frames[1], new_node, self._ends)
        asked = float(source.heat[old_nodes].sum() / source.capacity[old_nodes].sum())
        self._gather_means(part, nodes, _mean(new_node, temperature, weight), asked)
        self._gather_layers(nodes, _mean(3 * slot + layer, temperature, weight))

    def _gather_means(
        self, part: int, nodes: IntArray, found: dict[int, float], asked: float
    ) -> None:
        mean = np.array([found.get(node, asked) for node in nodes.tolist()])
        low, high = self._low[[part]], self._high[[part]]
        weight, group = self._grid.solids.heat_capacity[nodes], np.zeros(nodes.size, np.int64)
        self._mean[nodes] = pulled(mean, weight, group, np.array([asked]), low, high)

    def _gather_layers(self, nodes: IntArray, found: dict[int, float]) -> None:
        """Note what the layers want; one that no point has met takes what is next inwards."""
        face = np.flatnonzero(np.isin(self._layers.faces.solid, nodes) & self._is_new_face)
        slot = self._layers.slot[face]
        inner = self._mean[self._layers.faces.solid[face]]
        for layer in (2, 1, 0):
            met = [found.get(key, np.nan) for key in (3 * slot + layer).tolist()]
            inner = np.where(np.isfinite(met), met, inner)
            self._wanted[face, layer] = inner

    def settle(self, new: FloatArray) -> None:
        """Write skins, then cores, into ``new``."""
        layers = self._layers
        node = np.where(np.isfinite(self._wanted), layers.node, -1)
        node = np.where((node >= 0) & np.isnan(new[node]), node, -1)
        there = node >= 0
        weight = layers.capacity[there] + 1e-300
        total = np.bincount(node[there], weight, layers.count)
        heat = np.bincount(node[there], weight * self._wanted[there], layers.count)
        set_now = total > 0.0
        new[set_now] = heat[set_now] / total[set_now]
        self._settle_cores(new, there)

    def _settle_cores(self, new: FloatArray, is_shared: BoolArray) -> None:
        """Write the cores. Things that touch exchange no heat, unless one could not pay.

        The node between them has the mean of what both want, ``is_shared`` (F, 3). A thing that is
        all of one temperature cannot make up for that in its cores without a new extreme: it and
        what it touches keep their cores, and the heat of their two shares of the node is exchanged.
        """
        layers, solids = self._layers, self._grid.solids
        touched = np.flatnonzero(np.isfinite(self._mean))
        part, capacity = solids.part[touched], layers.core_capacity[touched]
        given = np.where(layers.node >= 0, new[layers.node], 0.0)
        exchanged = np.zeros(layers.faces.solid.size, dtype=np.bool_)
        heat = solids.heat_capacity[touched] * self._mean[touched]
        while True:
            taken = np.where(is_shared & exchanged[:, None], self._wanted, given)
            skins = np.bincount(
                layers.faces.solid, (layers.capacity * taken).sum(axis=1), solids.cell.size
            )
            left = heat - skins[touched]
            mean = self._core_means(part, left, capacity)
            cannot = (mean > self._high + ROUND_OFF) | (mean < self._low - ROUND_OFF)
            cannot &= np.isfinite(self._low)
            more = self._touching(cannot) & ~exchanged & is_shared[:, 0]
            if not more.any():
                break
            exchanged |= more
        core = np.clip(left / capacity, self._low[part], self._high[part])
        new[layers.core_node[touched]] = pulled(core, capacity, part, mean, self._low, self._high)

    def _core_means(self, part: IntArray, heat: FloatArray, capacity: FloatArray) -> FloatArray:
        parts = len(self._grid.parts)
        total = np.bincount(part, capacity, parts)
        mean: FloatArray = np.bincount(part, heat, parts) / np.where(total > 0.0, total, 1.0)
        return mean

    def _touching(self, parts: BoolArray) -> BoolArray:
        """Return the faces (F,) between two things of which one is among some parts."""
        faces = self._layers.faces
        is_one = parts[self._grid.solids.part[faces.solid]]
        either = is_one[faces.low_side] | is_one[faces.high_side]
        touching = np.zeros(is_one.size, dtype=np.bool_)
        touching[faces.low_side] = touching[faces.high_side] = either
        return touching


def _frame(part: Part) -> BodyFrame:
    assert isinstance(part, SolidPart | PorousPart)
    return body_frame(part.box)


def _mean(key: IntArray, values: FloatArray, weight: FloatArray) -> dict[int, float]:
    """Return the weighted mean of the values of each key; negative keys are left out."""
    found, group = np.unique(np.maximum(key, -1), return_inverse=True)
    group = group.reshape(-1)
    means = np.bincount(group, weight * values) / np.bincount(group, weight)
    return {k: mean for k, mean in zip(found.tolist(), means.tolist(), strict=True) if k >= 0}
