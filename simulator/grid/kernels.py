"""Compiled loops of the grid: polygons cut by cells, boards that part the centres of cells."""

import numpy as np

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import BoolArray, FloatArray, IntArray


@per_face
def _clip(
    points: FloatArray, count: int, axis: int, bound: float, sign: float, out: FloatArray
) -> int:
    """Keep the part of a convex polygon where sign (x[axis] - bound) >= 0 (Sutherland-Hodgman)."""
    kept = 0
    for index in range(count):
        following = index + 1 if index + 1 < count else 0
        here = sign * (points[index, axis] - bound)
        there = sign * (points[following, axis] - bound)
        if here >= 0.0:
            out[kept, 0] = points[index, 0]
            out[kept, 1] = points[index, 1]
            kept += 1
        if (here > 0.0 and there < 0.0) or (here < 0.0 and there > 0.0):
            share = here / (here - there)
            for other in range(2):
                start = points[index, other]
                out[kept, other] = start + share * (points[following, other] - start)
            out[kept, axis] = bound
            kept += 1
    return kept


@cell_loop
def clip_polygon_by_cells(
    polygon: FloatArray, first_edges: FloatArray, second_edges: FloatArray, out: FloatArray
) -> None:
    """Write area and first moments of a convex polygon within each cell to ``out`` (n, m, 3)."""
    one = np.empty((16, 2))
    two = np.empty((16, 2))
    for i in range(first_edges.size - 1):
        for j in range(second_edges.size - 1):
            count = polygon.shape[0]
            one[:count] = polygon
            count = _clip(one, count, 0, first_edges[i], 1.0, two)
            count = _clip(two, count, 0, first_edges[i + 1], -1.0, one)
            count = _clip(one, count, 1, second_edges[j], 1.0, two)
            count = _clip(two, count, 1, second_edges[j + 1], -1.0, one)
            # Shoelace about a corner of the cell, so that small areas keep their digits.
            x0 = first_edges[i]
            y0 = second_edges[j]
            area = 0.0
            moment_x = 0.0
            moment_y = 0.0
            for index in range(count):
                following = index + 1 if index + 1 < count else 0
                xa = one[index, 0] - x0
                ya = one[index, 1] - y0
                xb = one[following, 0] - x0
                yb = one[following, 1] - y0
                cross = xa * yb - xb * ya
                area += 0.5 * cross
                moment_x += cross * (xa + xb) / 6.0
                moment_y += cross * (ya + yb) / 6.0
            turn = -1.0 if area < 0.0 else 1.0
            out[i, j, 0] = turn * area
            out[i, j, 1] = turn * moment_x + turn * area * x0
            out[i, j, 2] = turn * moment_y + turn * area * y0


@per_face
def _crosses(
    start: FloatArray, end: FloatArray, centre: FloatArray, half: FloatArray, axes: FloatArray
) -> bool:
    """Return whether a segment passes through the inside of a box (slab method)."""
    enter = 0.0
    leave = 1.0
    for own in range(3):
        here = 0.0
        there = 0.0
        for w in range(3):
            here += axes[w, own] * (start[w] - centre[w])
            there += axes[w, own] * (end[w] - centre[w])
        step = there - here
        if abs(step) < 1e-12:
            if abs(here) >= half[own]:
                leave = -1.0
        else:
            one = (-half[own] - here) / step
            two = (half[own] - here) / step
            enter = max(enter, min(one, two))
            leave = min(leave, max(one, two))
    return leave - enter > 1e-9


@cell_loop
def mark_parted_centres(
    centre: FloatArray,
    half: FloatArray,
    axes: FloatArray,
    axis: int,
    block: IntArray,
    x: FloatArray,
    y: FloatArray,
    z: FloatArray,
    closed: BoolArray,
) -> None:
    """Close each face normal to ``axis`` whose neighbours' centres a box parts.

    Faces are numbered by the cell on their high side; ``block`` (3, 2) bounds those cells; ``x``,
    ``y``, ``z`` are the cells' centres.
    """
    start = np.empty(3)
    end = np.empty(3)
    for i in range(block[0, 0], block[0, 1]):
        for j in range(block[1, 0], block[1, 1]):
            for k in range(block[2, 0], block[2, 1]):
                end[0] = x[i]
                end[1] = y[j]
                end[2] = z[k]
                start[:] = end
                if axis == 0:
                    start[0] = x[i - 1]
                elif axis == 1:
                    start[1] = y[j - 1]
                else:
                    start[2] = z[k - 1]
                if _crosses(start, end, centre, half, axes):
                    closed[i, j, k] = True


@cell_loop
def find_first_seen(
    starts: FloatArray,
    targets: FloatArray,
    is_candidate: BoolArray,
    body: IntArray,
    near_start: IntArray,
    near: IntArray,
    centre: FloatArray,
    half: FloatArray,
    axes: FloatArray,
    seen: IntArray,
) -> None:
    """Write to ``seen`` (n,) the first candidate target that no board hides, or -1.

    ``starts`` (n, 3) and ``targets`` (n, m, 3) are points; ``body`` (n,) is the box that each start
    lies on, ``near[near_start[b]:near_start[b + 1]]`` the boards that may hide things from box b.
    """
    for row in range(starts.shape[0]):
        seen[row] = -1
        for option in range(targets.shape[1]):
            if is_candidate[row, option]:
                is_hidden = False
                for entry in range(near_start[body[row]], near_start[body[row] + 1]):
                    board = near[entry]
                    if _crosses(
                        starts[row], targets[row, option], centre[board], half[board], axes[board]
                    ):
                        is_hidden = True
                        break
                if not is_hidden:
                    seen[row] = option
                    break
