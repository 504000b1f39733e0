"""Compiled loops of the preconditioner: the order of the air, incomplete factors, blocks of air."""

import numpy as np

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import BoolArray, FloatArray, IndexArray
from simulator.physics.heat.kernels import SingleArray

#: Buckets for the share of a node that is still to come.
BUCKETS = 256


@cell_loop
def downstream_order(
    row_start: IndexArray, column: IndexArray, diagonal: IndexArray, value: FloatArray, air: int
) -> IndexArray:
    """Number the air nodes so that each comes after most of what it follows; the rest stay behind.

    Next is always one of those whose row has least left, over its diagonal, in columns without a
    number: no more than a BUCKETS-th more than the least. Returns the nodes in their new order.
    """
    rows = diagonal.size
    order = np.arange(rows).astype(np.uint32)
    # who follows a node: the pattern of the air by columns
    start = np.zeros(air + 1, dtype=np.int64)
    for i in range(air):
        for p in range(row_start[i], row_start[i + 1]):
            if column[p] < air:
                start[column[p] + 1] += 1
    for i in range(air):
        start[i + 1] += start[i]
    follower = np.empty(start[air], dtype=np.uint32)
    weight = np.empty(start[air], dtype=np.float32)
    filled = start[:air].copy()
    left = np.zeros(air)
    for i in range(air):
        own = value[diagonal[i]]
        scale = 1.0 / own if own > 0.0 else 0.0
        for p in range(row_start[i], row_start[i + 1]):
            j = column[p]
            if j < air and p != diagonal[i]:
                follower[filled[j]] = i
                weight[filled[j]] = abs(value[p]) * scale
                left[i] += weight[filled[j]]
                filled[j] += 1
    # buckets are stacks; a node that has moved to a lower one stays in the upper ones as a ghost
    head = np.full(BUCKETS, -1, dtype=np.int64)
    entry_node = np.empty(air + follower.size, dtype=np.uint32)
    below = np.empty(air + follower.size, dtype=np.int64)
    bucket = np.empty(air, dtype=np.int64)
    entries = 0
    for n in range(air):
        i = air - 1 - n
        bucket[i] = _bucket(left[i])
        entry_node[entries], below[entries] = i, head[bucket[i]]
        head[bucket[i]] = entries
        entries += 1
    numbered, lowest = 0, 0
    while numbered < air:
        while head[lowest] < 0:
            lowest += 1
        entry = head[lowest]
        head[lowest] = below[entry]
        i = entry_node[entry]
        if bucket[i] != lowest:
            continue
        bucket[i] = -1
        order[numbered] = i
        numbered += 1
        for p in range(start[i], filled[i]):
            j = follower[p]
            if bucket[j] < 0:
                continue
            left[j] -= weight[p]
            now = _bucket(left[j])
            if now < bucket[j]:
                bucket[j] = now
                entry_node[entries], below[entries] = j, head[now]
                head[now] = entries
                entries += 1
                lowest = min(lowest, now)
    return order


@per_face
def _bucket(share: float) -> int:
    """The bucket of a share; the highest also of what is no number."""
    if share < 1.0:
        return int(max(share, 0.0) * BUCKETS)
    return BUCKETS - 1


@cell_loop
def part_rows(
    row_start: IndexArray,
    column: IndexArray,
    is_kept: BoolArray,
    order: IndexArray,
    position: IndexArray,
    lower_start: IndexArray,
    lower_column: IndexArray,
    lower_source: IndexArray,
    upper_start: IndexArray,
    upper_column: IndexArray,
    upper_source: IndexArray,
) -> None:
    """Lay the rows out in an order, each parted at its diagonal and sorted.

    Columns are positions in that order. ``source`` is where each entry stood before.
    """
    lower = upper = 0
    for k in range(order.size):
        lower_start[k], upper_start[k] = lower, upper
        i = order[k]
        for p in range(row_start[i], row_start[i + 1]):
            place = position[column[p]]
            if place == k or not is_kept[p]:
                continue
            if place < k:
                _insert(lower_column, lower_source, lower_start[k], lower, place, p)
                lower += 1
            else:
                _insert(upper_column, upper_source, upper_start[k], upper, place, p)
                upper += 1
    lower_start[order.size], upper_start[order.size] = lower, upper


@per_face
def _insert(
    column: IndexArray, source: IndexArray, first: int, at: int, place: int, came_from: int
) -> None:
    """Put an entry into a sorted row that begins at ``first`` and ends before ``at``."""
    while at > first and column[at - 1] > place:
        column[at], source[at] = column[at - 1], source[at - 1]
        at -= 1
    column[at], source[at] = place, came_from


@cell_loop
def factor_incomplete(
    lower_start: IndexArray,
    lower_column: IndexArray,
    upper_start: IndexArray,
    upper_column: IndexArray,
    lower: FloatArray,
    upper: FloatArray,
    diagonal: FloatArray,
    place: IndexArray,
) -> None:
    """Replace a matrix in parts by its incomplete LU factors on its pattern.

    ``diagonal`` becomes the inverse of that of U. ``place`` is work space, filled with zeros: one
    more than where a column stands in its part.
    """
    for k in range(diagonal.size):
        for p in range(lower_start[k], lower_start[k + 1]):
            place[lower_column[p]] = p + 1
        for p in range(upper_start[k], upper_start[k + 1]):
            place[upper_column[p]] = p + 1
        pivot = diagonal[k]
        for p in range(lower_start[k], lower_start[k + 1]):
            row = lower_column[p]
            factor = lower[p] * diagonal[row]
            lower[p] = factor
            for q in range(upper_start[row], upper_start[row + 1]):
                target = place[upper_column[q]]
                if upper_column[q] == k:
                    pivot -= factor * upper[q]
                elif target == 0:
                    continue
                elif upper_column[q] < k:
                    lower[target - 1] -= factor * upper[q]
                else:
                    upper[target - 1] -= factor * upper[q]
        diagonal[k] = 1.0 / pivot
        for p in range(lower_start[k], lower_start[k + 1]):
            place[lower_column[p]] = 0
        for p in range(upper_start[k], upper_start[k + 1]):
            place[upper_column[p]] = 0


@cell_loop
def solve_incomplete(
    lower_start: IndexArray,
    lower_column: IndexArray,
    lower: SingleArray,
    upper_start: IndexArray,
    upper_column: IndexArray,
    upper: SingleArray,
    inverse: SingleArray,
    x: FloatArray | SingleArray,
) -> None:
    """Replace ``x`` by the solution of L U z = x.

    Two sums a row: half of the additions need not wait for the one before.
    """
    rows = inverse.size
    end = lower_start[0]
    for k in range(rows):
        one, other = x[k], np.float32(0.0)
        p, end = end, lower_start[k + 1]
        while p + 1 < end:
            one -= lower[p] * x[lower_column[p]]
            other -= lower[p + 1] * x[lower_column[p + 1]]
            p += 2
        if p < end:
            one -= lower[p] * x[lower_column[p]]
        x[k] = one + other
    start = upper_start[rows]
    for k in range(rows - 1, -1, -1):
        one, other = x[k], np.float32(0.0)
        start, end = upper_start[k], start
        p = start
        while p + 1 < end:
            one -= upper[p] * x[upper_column[p]]
            other -= upper[p + 1] * x[upper_column[p + 1]]
            p += 2
        if p < end:
            one -= upper[p] * x[upper_column[p]]
        x[k] = (one + other) * inverse[k]


@cell_loop
def gather_blocks(block: IndexArray, x: FloatArray | SingleArray, out: FloatArray) -> None:
    """out = sum of ``x`` over the air nodes of each block."""
    out[:] = 0.0
    for i in range(block.size):
        out[block[i]] += x[i]


@cell_loop
def subtract_blocks(
    row_start: IndexArray,
    column: IndexArray,
    value: SingleArray,
    block: IndexArray,
    storage: SingleArray,
    position: IndexArray,
    correction: FloatArray | SingleArray,
    x: FloatArray | SingleArray,
    out: FloatArray | SingleArray,
) -> None:
    """out = x - A P e, in the factors' order: the residual after the coarse correction e."""
    for i in range(x.size):
        total = x[i]
        for p in range(row_start[i], row_start[i + 1]):
            total -= value[p] * correction[column[p]]
        if i < block.size:
            total -= storage[i] * correction[block[i]]
        out[position[i]] = total


@cell_loop
def add_blocks(
    block: IndexArray,
    position: IndexArray,
    correction: FloatArray | SingleArray,
    x: FloatArray | SingleArray,
    out: FloatArray | SingleArray,
) -> None:
    """out = x out of the factors' order + the coarse correction of each air node's block."""
    for i in range(block.size):
        out[i] = x[position[i]] + correction[block[i]]
    for i in range(block.size, out.size):
        out[i] = x[position[i]]
