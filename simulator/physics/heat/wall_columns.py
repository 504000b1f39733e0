"""Where the layers of a wall are cut: fine near a room, every layer interface on a node."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.case.dwelling import Construction, Layer
from simulator.grid.grid import FloatArray

#: Thickness of the slice at a room surface [m] and its growth with depth [-]. estimate: in 30 s
#: a temperature step reaches 2 to 6 mm into cloth and concrete; the growth keeps 20 cm below a
#: dozen slices.
FIRST_SLICE = 0.004
GROWTH = 0.25

#: Least number of slices in a layer.
SLICES_PER_LAYER = 2


@dataclass(frozen=True, slots=True)
class WallMesh:
    """A construction cut into slices between nodes, from the room side outwards (n slices).

    Node 0 lies at the room surface, node n at the outer face; each slice gives half of its heat
    capacity to either node, so layers in series are exact in steady state on any mesh.
    """

    conductance: FloatArray  # (n,) of each slice for one square metre [W/(m² K)]
    capacity: FloatArray  # (n + 1,) of each node for one square metre [J/(m² K)]
    depth: FloatArray  # (n + 1,) of each node [m]
    first_interface: int  # node behind the layer next to the room
    last_interface: int  # node before the layer farthest from it


def wall_mesh(construction: Construction, *, faces_rooms_on_both_sides: bool) -> WallMesh:
    """Return the mesh of a construction, refined at each face that a room touches."""
    layers = construction.layers
    if not layers:
        raise ValueError(f"construction {construction.name!r} has no layer")
    thickness = sum(layer.thickness for layer in layers)
    planes = np.concatenate([[0.0], np.cumsum([layer.thickness for layer in layers])])
    slices: list[FloatArray] = [
        _slices(planes[i], planes[i + 1], thickness, faces_rooms_on_both_sides)
        for i in range(len(layers))
    ]
    width = np.concatenate(slices)
    conductivity = _spread([layer.material.conductivity for layer in layers], slices)
    storage = _spread(_storage(layers), slices) * width
    capacity = np.zeros(width.size + 1)
    capacity[:-1] += 0.5 * storage
    capacity[1:] += 0.5 * storage
    return WallMesh(
        conductance=conductivity / width,
        capacity=capacity,
        depth=np.concatenate([[0.0], np.cumsum(width)]),
        first_interface=slices[0].size,
        last_interface=width.size - slices[-1].size,
    )


def _slices(low: float, high: float, thickness: float, both_sides: bool) -> FloatArray:
    """Widths of a layer's slices: near to FIRST_SLICE + GROWTH x distance from the nearest room."""
    fine = np.linspace(low, high, 257)
    distance = np.minimum(fine, thickness - fine) if both_sides else fine
    density = 1.0 / (FIRST_SLICE + GROWTH * np.maximum(distance, 0.0))
    step = (high - low) / 256.0
    count = np.concatenate([[0.0], np.cumsum(0.5 * step * (density[1:] + density[:-1]))])
    number = max(SLICES_PER_LAYER, int(np.ceil(count[-1])))
    planes = np.interp(np.linspace(0.0, count[-1], number + 1), count, fine)
    return np.diff(planes)


def _storage(layers: Sequence[Layer]) -> list[float]:
    return [layer.material.volumetric_heat_capacity for layer in layers]


def _spread(values: Sequence[float], slices: Sequence[FloatArray]) -> FloatArray:
    """Return one value a slice from one value a layer."""
    return np.repeat(np.asarray(values, dtype=np.float64), [s.size for s in slices])
