"""Which nodes hold the skins of each face of a solid, from its surface inwards."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.skins import Faces, skins
from simulator.physics.heat.touches import skin_chains


@dataclass(frozen=True, slots=True)
class SkinLayers:
    """The layers of all faces (F faces of at most 3 layers, N solids).

    A node between two touching parts belongs to a face of each; ``capacity`` is the share of this
    face. Layers that a face lacks have the node -1 and no capacity.
    """

    faces: Faces
    node: IntArray  # (F, 3)
    capacity: FloatArray  # (F, 3) [J/K]
    core_node: IntArray  # (N,)
    core_capacity: FloatArray  # (N,) [J/K]
    storage: FloatArray  # (N,) heat capacity of a volume of stuff [J/(m³ K)]
    count: int  # nodes of the layout

    @property
    def slot(self) -> IntArray:
        """Solid, axis and sign of each face as one number: 6 solid + 2 axis + (1 if high)."""
        faces = self.faces
        number: IntArray = 6 * faces.solid + 2 * faces.axis + (faces.sign > 0)
        return number

    def heat(self, state: FloatArray) -> FloatArray:
        """Return the heat in each solid, skins and core, counted from 0 °C (N,) [J]."""
        layered = (self.capacity * state[self.node]).sum(axis=1)
        skin = np.bincount(self.faces.solid, layered, self.core_node.size)
        heat: FloatArray = self.core_capacity * state[self.core_node] + skin
        return heat

    def slot_ends(self) -> FloatArray:
        """Return how deep each layer reaches, by slot (6 N, 3) [m]; zero where none is."""
        faces, slots = self.faces, 6 * self.core_node.size
        swept = np.bincount(self.slot, faces.area * self.storage[faces.solid], slots)
        ends = np.zeros((slots, 3))
        reach = np.cumsum(self.capacity, axis=1)
        for layer in range(3):
            held = np.bincount(self.slot, reach[:, layer], slots)
            ends[:, layer] = held / np.where(swept > 0.0, swept, 1.0)
        return ends

    def slot_capacities(self) -> FloatArray:
        """Return the heat capacity of each layer, by slot (6 N, 3) [J/K]."""
        slots = 6 * self.core_node.size
        layers = [np.bincount(self.slot, self.capacity[:, n], slots) for n in range(3)]
        return np.stack(layers, axis=1)

    def slot_means(self, state: FloatArray) -> FloatArray:
        """Return the temperature of each layer, by slot (6 N, 3) [°C]; nan where none is."""
        total = self.slot_capacities()
        means = np.full(total.shape, np.nan)
        for layer in range(3):
            weight = self.capacity[:, layer] * state[self.node[:, layer]]
            heat = np.bincount(self.slot, weight, total.shape[0])
            held = total[:, layer] > 0.0
            means[held, layer] = heat[held] / total[held, layer]
        return means


def skin_layers(grid: Grid, layout: NodeLayout) -> SkinLayers:
    """Return the layers of a grid's solids on the nodes of its layout."""
    all_skins = skins(grid)
    faces = all_skins.faces
    face_node = layout.air_cell.size + np.arange(faces.row.size)
    chains = skin_chains(grid, all_skins, face_node, layout.solid_node, layout.column_node)
    first = layout.size - chains.size
    inner = first + chains.inner
    is_thick = all_skins.is_thick
    outer = np.full(faces.solid.size, -1, dtype=np.int64)
    outer[: faces.row.size] = face_node
    outer[faces.low_side] = outer[faces.high_side] = first + chains.interface
    between = inner - 1  # of chains that run inwards
    between[faces.low_side] = inner[faces.low_side] + 1
    between[faces.on_walls] = inner[faces.on_walls] + 1
    node = np.stack([outer, between, inner], axis=1)
    capacity = all_skins.capacity.copy()
    walls = faces.on_walls  # surface and first skin are one node there
    capacity[walls, 1] += capacity[walls, 0]
    capacity[walls, 0] = 0.0
    node[~is_thick, 1:] = -1
    capacity[~is_thick, 1:] = 0.0
    node[walls, 0] = -1
    thin = np.arange(faces.solid.size)[walls][~is_thick[walls]]
    capacity[thin] = 0.0
    return SkinLayers(
        faces=faces,
        node=node,
        capacity=capacity,
        core_node=layout.solid_node,
        core_capacity=all_skins.core_capacity,
        storage=grid.solids.heat_capacity / grid.solids.volume,
        count=layout.size,
    )
