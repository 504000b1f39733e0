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


@per_face
def _hit(
    start: FloatArray, step: FloatArray, centre: FloatArray, half: FloatArray, axes: FloatArray
) -> float:
    """Return how far along a unit ``step`` a ray enters a box (slab method); inf: it misses it."""
    enter = 0.0
    leave = np.inf
    for own in range(3):
        here = 0.0
        along = 0.0
        for w in range(3):
            here += axes[w, own] * (start[w] - centre[w])
            along += axes[w, own] * step[w]
        if abs(along) < 1e-12:
            if abs(here) >= half[own]:
                leave = -1.0
        else:
            one = (-half[own] - here) / along
            two = (half[own] - here) / along
            enter = max(enter, min(one, two))
            leave = min(leave, max(one, two))
    return enter if leave - enter > 1e-9 else np.inf


@cell_loop
def find_ways_out(
    starts: FloatArray,
    axis: IntArray,
    directions: FloatArray,
    farthest: float,
    spacing: float,
    is_wide: BoolArray,
    x_edges: FloatArray,
    y_edges: FloatArray,
    z_edges: FloatArray,
    centre: FloatArray,
    half: FloatArray,
    axes: FloatArray,
    low: FloatArray,
    high: FloatArray,
    cell: IntArray,
    length: FloatArray,
    rise: FloatArray,
) -> None:
    """Find from each start the shortest straight way along its gap to a wide air cell.

    A way keeps to the plane normal to ``axis`` (n,), in one of ``directions`` (D, 2) on its other
    two axes, passes no box, and ends at the first of its points, ``spacing`` apart, that lies in
    such a cell and sees its centre. Written are the flat ``cell`` (-1: no way), the ``length`` of
    the way and how far it ``rise``s [m].
    """
    step = np.empty(3)
    point = np.empty(3)
    middle = np.empty(3)
    near = np.empty(centre.shape[0], dtype=np.int64)
    ny, nz = y_edges.size - 1, z_edges.size - 1
    for row in range(starts.shape[0]):
        cell[row] = -1
        length[row] = farthest
        rise[row] = 0.0
        start = starts[row]
        count = 0
        for box in range(centre.shape[0]):
            meets = True
            for w in range(3):
                if low[box, w] > start[w] + farthest or high[box, w] < start[w] - farthest:
                    meets = False
            if meets:
                near[count] = box
                count += 1
        u = (axis[row] + 1) % 3
        v = (axis[row] + 2) % 3
        for option in range(directions.shape[0]):
            step[axis[row]] = 0.0
            step[u] = directions[option, 0]
            step[v] = directions[option, 1]
            free = length[row]
            for entry in range(count):
                box = near[entry]
                free = min(free, _hit(start, step, centre[box], half[box], axes[box]))
            points = int(free / spacing)
            for number in range(1, points + 1):
                t = number * spacing
                for w in range(3):
                    point[w] = start[w] + t * step[w]
                i = np.searchsorted(x_edges, point[0], side="right") - 1
                j = np.searchsorted(y_edges, point[1], side="right") - 1
                k = np.searchsorted(z_edges, point[2], side="right") - 1
                if i < 0 or j < 0 or k < 0:
                    break
                if i >= x_edges.size - 1 or j >= ny or k >= nz:
                    break
                if not is_wide[i, j, k]:
                    continue
                middle[0] = 0.5 * (x_edges[i] + x_edges[i + 1])
                middle[1] = 0.5 * (y_edges[j] + y_edges[j + 1])
                middle[2] = 0.5 * (z_edges[k] + z_edges[k + 1])
                is_hidden = False
                for entry in range(count):
                    box = near[entry]
                    if _crosses(point, middle, centre[box], half[box], axes[box]):
                        is_hidden = True
                        break
                if not is_hidden:
                    cell[row] = (i * ny + j) * nz + k
                    length[row] = t
                    rise[row] = abs(t * step[2])
                    break
