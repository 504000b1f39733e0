"""Compiled loops of the preconditioner: the order of the air, incomplete factors, blocks of air."""

import numpy as np

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import FloatArray, IndexArray
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
def reorder_rows(
    row_start: IndexArray,
    column: IndexArray,
    order: IndexArray,
    position: IndexArray,
    start: IndexArray,
    middle: IndexArray,
    new_column: IndexArray,
    source: IndexArray,
) -> None:
    """Lay the rows out in an order, each row's columns sorted by their positions in it.

    ``middle`` is where each row's diagonal stands; ``source`` where each entry stood before.
    """
    filled = 0
    for k in range(order.size):
        i = order[k]
        start[k] = filled
        for p in range(row_start[i], row_start[i + 1]):
            at, place = filled, position[column[p]]
            while at > start[k] and position[new_column[at - 1]] > place:
                new_column[at], source[at] = new_column[at - 1], source[at - 1]
                at -= 1
            new_column[at], source[at] = column[p], p
            filled += 1
        for p in range(start[k], filled):
            if new_column[p] == i:
                middle[k] = p
    start[order.size] = filled


@cell_loop
def factor_incomplete(
    start: IndexArray,
    middle: IndexArray,
    column: IndexArray,
    order: IndexArray,
    position: IndexArray,
    value: FloatArray,
    place: IndexArray,
) -> None:
    """Replace ``value`` by its incomplete LU factors on the same pattern; the diagonal is inverted.

    ``place`` is work space, filled with zeros: one more than where a column stands in the row.
    """
    for k in range(order.size):
        for p in range(start[k], start[k + 1]):
            place[column[p]] = p + 1
        for p in range(start[k], middle[k]):
            row = position[column[p]]
            factor = value[p] * value[middle[row]]
            value[p] = factor
            for q in range(middle[row] + 1, start[row + 1]):
                target = place[column[q]]
                if target > 0:
                    value[target - 1] -= factor * value[q]
        value[middle[k]] = 1.0 / value[middle[k]]
        for p in range(start[k], start[k + 1]):
            place[column[p]] = 0


@cell_loop
def solve_incomplete(
    start: IndexArray,
    middle: IndexArray,
    column: IndexArray,
    order: IndexArray,
    value: SingleArray,
    x: FloatArray | SingleArray,
) -> None:
    """Replace ``x`` by the solution of L U z = x."""
    for k in range(order.size):
        i = order[k]
        total = x[i]
        for p in range(start[k], middle[k]):
            total -= value[p] * x[column[p]]
        x[i] = total
    for k in range(order.size - 1, -1, -1):
        i = order[k]
        total = x[i]
        for p in range(middle[k] + 1, start[k + 1]):
            total -= value[p] * x[column[p]]
        x[i] = total * value[middle[k]]


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
    storage: FloatArray,
    correction: FloatArray,
    x: FloatArray | SingleArray,
    out: FloatArray | SingleArray,
) -> None:
    """out = x - A P e: the residual after the coarse correction e."""
    for i in range(x.size):
        total = x[i]
        for p in range(row_start[i], row_start[i + 1]):
            total -= value[p] * correction[column[p]]
        if i < block.size:
            total -= storage[i] * correction[block[i]]
        out[i] = total


@cell_loop
def add_blocks(block: IndexArray, correction: FloatArray, out: FloatArray | SingleArray) -> None:
    """out += the coarse correction of each air node's block."""
    for i in range(block.size):
        out[i] += correction[block[i]]
