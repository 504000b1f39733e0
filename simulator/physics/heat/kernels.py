"""Compiled loops of the heat solver: sparse products, chains, incomplete factors, long wave."""

import numpy as np
from numpy.typing import NDArray

from simulator.compiled import cell_loop
from simulator.grid.grid import FloatArray, IntArray

IndexArray = NDArray[np.int32]
SingleArray = NDArray[np.float32]


@cell_loop
def multiply(
    row_start: IndexArray, column: IndexArray, value: FloatArray, x: FloatArray, out: FloatArray
) -> None:
    """out = A x for a matrix stored by rows."""
    for i in range(out.size):
        total = 0.0
        for p in range(row_start[i], row_start[i + 1]):
            total += value[p] * x[column[p]]
        out[i] = total


@cell_loop
def subtract_long_wave(
    node: IntArray,
    patch: IntArray,
    weight: FloatArray,
    row_start: IndexArray,
    column: IndexArray,
    conductance: FloatArray,
    patch_temperature: FloatArray,
    received: FloatArray,
    x: FloatArray,
    out: FloatArray,
) -> None:
    """out -= what each surface receives: its share of its patch's exchange with others' means."""
    patch_temperature[:] = 0.0
    for s in range(node.size):
        patch_temperature[patch[s]] += weight[s] * x[node[s]]
    for i in range(received.size):
        total = 0.0
        for p in range(row_start[i], row_start[i + 1]):
            total += conductance[p] * patch_temperature[column[p]]
        received[i] = total
    for s in range(node.size):
        out[node[s]] -= weight[s] * received[patch[s]]


@cell_loop
def factor_chains(
    start: IntArray,
    link: FloatArray,
    storage: FloatArray,
    pivot: FloatArray,
    near_response: FloatArray,
    far_response: FloatArray,
) -> None:
    """Factor the tridiagonal matrix of every chain and find its responses to its two ends.

    ``storage`` is capacity over the time constant [W/K]; the responses are the temperatures of the
    chain's nodes when its near (far) end is at one and all else is zero.
    """
    for c in range(start.size - 1):
        first, last = start[c], start[c + 1] - 1
        g = first + c  # first link of this chain: one more link than nodes
        for i in range(first, last + 1):
            pivot[i] = storage[i] + link[g + i - first] + link[g + i - first + 1]
            if i > first:
                coupling = link[g + i - first]
                pivot[i] -= coupling * coupling / pivot[i - 1]
        y = link[g]
        near_response[first] = y
        for i in range(first + 1, last + 1):
            y *= link[g + i - first] / pivot[i - 1]
            near_response[i] = y
        far_response[last] = link[g + last - first + 1] / pivot[last]
        near_response[last] /= pivot[last]
        for i in range(last - 1, first - 1, -1):
            coupling = link[g + i - first + 1]
            near_response[i] = (near_response[i] + coupling * near_response[i + 1]) / pivot[i]
            far_response[i] = coupling * far_response[i + 1] / pivot[i]


@cell_loop
def condense_chains(
    start: IntArray,
    near: IntArray,
    far: IntArray,
    link: FloatArray,
    near_response: FloatArray,
    far_response: FloatArray,
    diagonal: IndexArray,
    near_far: IndexArray,
    far_near: IndexArray,
    value: FloatArray,
) -> None:
    """Add what the eliminated chains do to the matrix of the retained nodes."""
    for c in range(near.size):
        first, last = start[c], start[c + 1] - 1
        near_link, far_link = link[first + c], link[last + 1 + c]
        value[diagonal[near[c]]] += near_link * (1.0 - near_response[first])
        if far[c] >= 0:
            value[diagonal[far[c]]] += far_link * (1.0 - far_response[last])
            coupling = near_link * far_response[first]
            value[near_far[c]] -= coupling
            value[far_near[c]] -= coupling


@cell_loop
def reduce_chains(
    start: IntArray,
    near: IntArray,
    far: IntArray,
    link: FloatArray,
    pivot: FloatArray,
    load: FloatArray,
    forced: FloatArray,
    retained_load: FloatArray,
) -> None:
    """Solve every chain with both ends at zero; hand the flow at its ends to the retained nodes."""
    for c in range(near.size):
        first, last = start[c], start[c + 1] - 1
        g = first + c
        forced[first] = load[first]
        for i in range(first + 1, last + 1):
            forced[i] = load[i] + link[g + i - first] * forced[i - 1] / pivot[i - 1]
        forced[last] /= pivot[last]
        for i in range(last - 1, first - 1, -1):
            forced[i] = (forced[i] + link[g + i - first + 1] * forced[i + 1]) / pivot[i]
        retained_load[near[c]] += link[g] * forced[first]
        if far[c] >= 0:
            retained_load[far[c]] += link[g + last - first + 1] * forced[last]


@cell_loop
def expand_chains(
    start: IntArray,
    near: IntArray,
    far: IntArray,
    forced: FloatArray,
    near_response: FloatArray,
    far_response: FloatArray,
    retained: FloatArray,
    out: FloatArray,
) -> None:
    """Temperatures of the chains' nodes from those of their ends."""
    for c in range(near.size):
        at_near = retained[near[c]]
        at_far = retained[far[c]] if far[c] >= 0 else 0.0
        for i in range(start[c], start[c + 1]):
            out[i] = forced[i] + at_near * near_response[i] + at_far * far_response[i]


@cell_loop
def chain_outflow(
    start: IntArray,
    near: IntArray,
    far: IntArray,
    link: FloatArray,
    retained: FloatArray,
    chain: FloatArray,
    retained_out: FloatArray,
    chain_out: FloatArray,
) -> None:
    """Heat that leaves each node through the links of chains [W]; a boundary stands at zero."""
    for c in range(near.size):
        first, last = start[c], start[c + 1] - 1
        g = first + c
        flow = link[g] * (retained[near[c]] - chain[first])
        retained_out[near[c]] += flow
        for i in range(first, last):
            onward = link[g + i - first + 1] * (chain[i] - chain[i + 1])
            chain_out[i] = onward - flow
            flow = onward
        far_temperature = retained[far[c]] if far[c] >= 0 else 0.0
        onward = link[g + last - first + 1] * (chain[last] - far_temperature)
        chain_out[last] = onward - flow
        if far[c] >= 0:
            retained_out[far[c]] -= onward


@cell_loop
def factor_incomplete(
    row_start: IndexArray,
    column: IndexArray,
    diagonal: IndexArray,
    value: FloatArray,
    position: IndexArray,
) -> None:
    """Replace ``value`` by its incomplete LU factors on the same pattern; the diagonal is inverted.

    ``position`` is work space, filled with -1.
    """
    for i in range(diagonal.size):
        for p in range(row_start[i], row_start[i + 1]):
            position[column[p]] = p
        for p in range(row_start[i], diagonal[i]):
            k = column[p]
            factor = value[p] * value[diagonal[k]]
            value[p] = factor
            for q in range(diagonal[k] + 1, row_start[k + 1]):
                target = position[column[q]]
                if target >= 0:
                    value[target] -= factor * value[q]
        value[diagonal[i]] = 1.0 / value[diagonal[i]]
        for p in range(row_start[i], row_start[i + 1]):
            position[column[p]] = -1


@cell_loop
def solve_incomplete(
    row_start: IndexArray,
    column: IndexArray,
    diagonal: IndexArray,
    value: SingleArray,
    x: FloatArray,
) -> None:
    """Replace ``x`` by the solution of L U z = x."""
    for i in range(x.size):
        total = x[i]
        for p in range(row_start[i], diagonal[i]):
            total -= value[p] * x[column[p]]
        x[i] = total
    for i in range(x.size - 1, -1, -1):
        total = x[i]
        for p in range(diagonal[i] + 1, row_start[i + 1]):
            total -= value[p] * x[column[p]]
        x[i] = total * value[diagonal[i]]


@cell_loop
def gather_blocks(block: IndexArray, x: FloatArray, out: FloatArray) -> None:
    """out = sum of ``x`` over the air nodes of each block."""
    out[:] = 0.0
    for i in range(block.size):
        out[block[i]] += x[i]


@cell_loop
def subtract_blocks(
    row_start: IndexArray,
    column: IndexArray,
    value: FloatArray,
    block: IndexArray,
    storage: FloatArray,
    correction: FloatArray,
    x: FloatArray,
    out: FloatArray,
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
def add_blocks(block: IndexArray, correction: FloatArray, out: FloatArray) -> None:
    """out += the coarse correction of each air node's block."""
    for i in range(block.size):
        out[i] += correction[block[i]]


@cell_loop
def largest_ratio(numerator: FloatArray, denominator: FloatArray) -> float:
    """Largest |numerator| / denominator; nan if any is nan."""
    largest = 0.0
    for i in range(numerator.size):
        ratio = abs(numerator[i]) / denominator[i]
        if np.isnan(ratio):
            return np.nan
        largest = max(largest, ratio)
    return largest
