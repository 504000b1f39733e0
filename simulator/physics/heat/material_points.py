"""Points that fill a thing, fine at its skins, so that its temperatures can move with it."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.body_frames import BodyFrame, ShareIndex, cells_at
from simulator.grid.grid import FloatArray, Grid, IntArray

#: Planes near a side of a thing, as shares of a cell: fine enough to meet every skin (choice).
NEAR_SIDE = (0.02, 0.05, 0.09, 0.14, 0.2, 0.28, 0.4, 0.6, 0.8, 1.0)

#: Points along a cell where a thing's axis is oblique to the grid [-] (choice).
OBLIQUE = 4


@dataclass(frozen=True, slots=True)
class MaterialPoints:
    """Points of a thing in its own coordinates (n, 3) and the share of it that each stands for."""

    own: FloatArray
    weight: FloatArray

    def where(self, kept: FloatArray | IntArray) -> "MaterialPoints":
        """Return some of the points."""
        return MaterialPoints(self.own[kept], self.weight[kept])


def material_points(
    before: BodyFrame, grid_before: Grid, after: BodyFrame, grid_after: Grid
) -> MaterialPoints:
    """Return points of a thing such that no two cells, before or after, share one.

    Between cell planes of both grids where the thing's axes are parallel to theirs, so that the
    overlaps of cells are exact; evenly spaced where they are oblique.
    """
    planes = []
    for axis in range(3):
        sides = [
            _planes(frame, grid, axis)
            for frame, grid in ((before, grid_before), (after, grid_after))
        ]
        both = np.unique(np.concatenate([[-1.0, 1.0], *sides]).clip(-1.0, 1.0))
        planes.append(both[np.concatenate([[True], np.diff(both) > 1e-9])])
    middles = [0.5 * (p[1:] + p[:-1]) for p in planes]
    x, y, z = (0.5 * np.diff(p) for p in planes)
    weight = x[:, None, None] * y[None, :, None] * z[None, None, :]
    own = np.stack(np.meshgrid(*middles, indexing="ij"), axis=-1)
    return MaterialPoints(own.reshape(-1, 3), weight.ravel())


def _planes(frame: BodyFrame, grid: Grid, axis: int) -> FloatArray:
    """Return where a grid cuts an axis of a thing, in its own coordinates."""
    near = np.array(NEAR_SIDE) * grid.cell_size / frame.half[axis]
    near = near[near < 2.0]
    direction = np.round(frame.axes[:, axis], 9)
    along = int(np.argmax(np.abs(direction)))
    if abs(direction[along]) == 1.0:
        edges = (grid.x_edges, grid.y_edges, grid.z_edges)[along]
        cuts = direction[along] * (edges - frame.centre[along]) / frame.half[axis]
    else:
        count = int(np.ceil(2.0 * OBLIQUE * frame.half[axis] / grid.cell_size)) + 1
        cuts = np.linspace(-1.0, 1.0, count)
    return np.concatenate([cuts, near - 1.0, 1.0 - near])


def nodes_at(
    points: MaterialPoints, frame: BodyFrame, part: int, grid: Grid, index: ShareIndex
) -> IntArray:
    """Return the solid node of a thing at each of its points; -1 where the grid gives it none."""
    return index.node(part, cells_at(grid, frame.to_world(points.own)))


def layers_at(
    points: MaterialPoints, frame: BodyFrame, node: IntArray, ends: FloatArray
) -> tuple[IntArray, IntArray]:
    """Return the slot (6 node + side) and layer of each point; slot -1: it is in a core.

    Where skins of two sides cross, as along an edge, the nearer side has the point.
    """
    slot = np.full(node.size, -1, dtype=np.int64)
    layer = np.zeros(node.size, dtype=np.int64)
    nearest = np.full(node.size, np.inf)
    known = np.maximum(node, 0)
    for axis in range(3):
        for sign in (-1, 1):
            along, outward = frame.outward(axis, sign)
            here = 6 * known + 2 * along + (outward > 0)
            depth = frame.half[axis] * (1.0 - sign * points.own[:, axis])
            found = (depth[:, None] >= ends[here]).sum(axis=1)
            is_skin = (found < 3) & (depth < nearest) & (node >= 0)
            slot[is_skin], layer[is_skin] = here[is_skin], found[is_skin]
            nearest[is_skin] = depth[is_skin]
    return slot, layer
