"""Temperatures on the outside of things in a picture: of the hiding place nearest to each point."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.grid.grid import FloatArray, Grid
from simulator.history import History, nearest_index

#: A hiding place farther away than this says nothing about a point [m] (estimate: three cells).
REACH = 0.30


@dataclass(frozen=True, slots=True)
class SurfaceTint:
    """Looks up temperatures at points [°C] at one moment of a history."""

    grid: Grid
    field: FloatArray  # (nx, ny, nz) temperatures of the frame nearest in time [°C]
    trees: dict[str, tuple[Any, FloatArray]]  # by owner: search tree of its refuges, temperatures

    def of_thing(self, owner: str, points: FloatArray) -> FloatArray:
        """Return temperatures (N,) [°C] at points (N, 3) [m] on the outside of ``owner``."""
        around = self.of_field(points)
        if owner not in self.trees:
            return around
        tree, temperature = self.trees[owner]
        count = min(4, temperature.size)
        distance, nearest = tree.query(points, k=np.arange(1, count + 1))
        weight = 1.0 / (distance + 0.02) ** 2
        near = np.sum(weight * temperature[nearest], axis=1) / np.sum(weight, axis=1)
        return np.where(distance[:, 0] <= REACH, near, around)

    def of_field(self, points: FloatArray) -> FloatArray:
        """Return the field (N,) [°C] in the cells that hold the points (N, 3) [m]; nan outside."""
        edges = (self.grid.x_edges, self.grid.y_edges, self.grid.z_edges)
        i, j, k = (
            np.clip(np.searchsorted(edge, points[:, axis], side="right") - 1, 0, edge.size - 2)
            for axis, edge in enumerate(edges)
        )
        return self.field[i, j, k]


def surface_tint(grid: Grid, history: History, time: float) -> SurfaceTint:
    """Return the tint of all things at ``time`` [s]."""
    from scipy.spatial import cKDTree

    frame = nearest_index(history.frame_time, time)
    moment = nearest_index(history.time, time)
    refuges = grid.refuges
    owners = np.array([group.owner for group in refuges.groups])
    temperature = history.refuge_temperature[moment].astype(float)
    trees = {}
    for owner in np.unique(owners):
        mine = np.flatnonzero(np.isin(refuges.group, np.flatnonzero(owners == owner)))
        if mine.size:
            trees[str(owner)] = (cKDTree(refuges.position[mine]), temperature[mine])
    field = np.where(grid.room >= 0, history.frame_temperature[frame].astype(float), np.nan)
    return SurfaceTint(grid, field, trees)
