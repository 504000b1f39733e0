"""The same things in two grids: which part is which, and where each of their points has gone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Box, Part, PorousPart, SolidPart
from simulator.grid.boxes import body_axes
from simulator.grid.grid import FloatArray, Grid, IntArray


@dataclass(frozen=True, slots=True)
class BodyFrame:
    """The frame of a thing in a grid; its own coordinates run from -1 to 1 over its length."""

    centre: FloatArray  # (3,) [m]
    axes: FloatArray  # (3, 3) columns: its own axes as unit vectors
    half: FloatArray  # (3,) half sizes along them [m]

    def to_world(self, own: FloatArray) -> FloatArray:
        """Return points (n, 3) [m] from own coordinates (n, 3) [-]."""
        points: FloatArray = self.centre + (own * self.half) @ self.axes.T
        return points

    def to_own(self, points: FloatArray) -> FloatArray:
        """Return own coordinates (n, 3) [-] of points (n, 3) [m]."""
        own: FloatArray = ((points - self.centre) @ self.axes) / self.half
        return own

    def outward(self, axis: int, sign: int) -> tuple[int, int]:
        """Return the grid axis and sign that a side of the thing faces most."""
        normal = sign * np.round(self.axes[:, axis], 9)
        along = int(np.argmax(np.abs(normal)))
        return along, 1 if normal[along] > 0.0 else -1


def body_frame(box: Box) -> BodyFrame:
    """Return the frame of the thing that lies in a box."""
    axes, half = body_axes(box)
    return BodyFrame(np.asarray(box.centre, dtype=np.float64), axes, half)


def match_parts(before: Sequence[Part], after: Sequence[Part]) -> IntArray:
    """Return for each part its index among those before, or -1: by owner, name and order.

    Only solid and porous parts are matched: the others hold no heat.
    """
    known: dict[tuple[str, str, int], int] = {}
    for index, key in enumerate(_keys(before)):
        if key is not None:
            known[key] = index
    return np.array(
        [-1 if key is None else known.get(key, -1) for key in _keys(after)], dtype=np.int64
    )


def _keys(parts: Sequence[Part]) -> list[tuple[str, str, int] | None]:
    count: dict[tuple[str, str], int] = {}
    keys: list[tuple[str, str, int] | None] = []
    for part in parts:
        if not isinstance(part, SolidPart | PorousPart):
            keys.append(None)
            continue
        name = (part.owner, part.name)
        keys.append((*name, count.get(name, 0)))
        count[name] = count.get(name, 0) + 1
    return keys


@dataclass(frozen=True, slots=True)
class ShareIndex:
    """Finds the solid node of a part in a cell."""

    cells: int
    key: IntArray  # ascending: part times cells plus cell
    solid: IntArray

    def node(self, part: IntArray | int, cell: IntArray) -> IntArray:
        """Return the solid node of a part in each cell, or -1."""
        if not self.key.size:
            return np.full(cell.size, -1, dtype=np.int64)
        key = part * self.cells + cell
        place = np.minimum(np.searchsorted(self.key, key), self.key.size - 1)
        return np.where((self.key[place] == key) & (cell >= 0), self.solid[place], -1)


def share_index(grid: Grid) -> ShareIndex:
    """Return the index of a grid's shares."""
    key = grid.shares.part * grid.is_open.size + grid.shares.cell
    order = np.argsort(key, kind="stable")
    return ShareIndex(grid.is_open.size, key[order], grid.shares.solid[order])


def cells_at(grid: Grid, points: FloatArray) -> IntArray:
    """Return the flat cell of each point (n, 3) [m]; -1 outside the grid."""
    inside = np.ones(len(points), dtype=np.bool_)
    index = []
    for axis, edges in enumerate((grid.x_edges, grid.y_edges, grid.z_edges)):
        at = np.searchsorted(edges, points[:, axis], side="right") - 1
        inside &= (at >= 0) & (at < edges.size - 1)
        index.append(np.clip(at, 0, edges.size - 2))
    flat = np.ravel_multi_index(tuple(index), grid.shape)
    return np.where(inside, flat, -1)


def node_places(grid: Grid) -> FloatArray:
    """Return the middle of each solid node's cells, weighted by its stuff (N, 3) [m]."""
    shares, count = grid.shares, grid.solids.cell.size
    total = np.bincount(shares.solid, shares.volume, count)
    index = np.unravel_index(shares.cell, grid.shape)
    places = [
        np.bincount(shares.solid, shares.volume * centres[at], count) / total
        for centres, at in zip(grid.centres, index, strict=True)
    ]
    return np.stack(places, axis=1)
