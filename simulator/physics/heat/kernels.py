"""Compiled loops of the heat solver: sparse products, chains, incomplete factors, long wave.

Indices are unsigned: numba then need not look for negative ones, and the loops run twice as fast.
"""

import numpy as np
from numpy.typing import NDArray

from simulator.compiled import cell_loop
from simulator.grid.grid import BoolArray, FloatArray, IndexArray, IntArray
from simulator.physics.radiation.kernels import PatchArray

SingleArray = NDArray[np.float32]


@cell_loop
def multiply(
    row_start: IndexArray,
    column: IndexArray,
    value: FloatArray | SingleArray,
    x: FloatArray | SingleArray,
    out: FloatArray | SingleArray,
) -> None:
    """out = A x for a matrix stored by rows.

    Two sums a row: half of the additions need not wait for the one before.
    """
    end = row_start[0]
    for i in range(out.size):
        one = other = np.float32(0.0)
        p, end = end, row_start[i + 1]
        while p + 1 < end:
            one += value[p] * x[column[p]]
            other += value[p + 1] * x[column[p + 1]]
            p += 2
        if p < end:
            one += value[p] * x[column[p]]
        out[i] = one + other


@cell_loop
def subtract_long_wave(
    node: IndexArray,
    patch: IndexArray,
    weight: FloatArray,
    row_start: IndexArray,
    column: PatchArray,
    conductance: SingleArray,
    own: FloatArray,
    patch_temperature: FloatArray,
    received: FloatArray,
    x: FloatArray | SingleArray,
    out: FloatArray | SingleArray,
) -> None:
    """out -= what each surface receives: its share of its patch's exchange with others' means.

    Each pair of patches is stored once, in the row of the lower number; ``own`` is what a patch
    sends itself.
    """
    patch_temperature[:] = 0.0
    for s in range(node.size):
        patch_temperature[patch[s]] += weight[s] * x[node[s]]
    for i in range(received.size):
        received[i] = own[i] * patch_temperature[i]
    for i in range(received.size):
        temperature, total = patch_temperature[i], received[i]
        for p in range(row_start[i], row_start[i + 1]):
            other = column[p]
            total += conductance[p] * patch_temperature[other]
            received[other] += conductance[p] * temperature
        received[i] = total
    for s in range(node.size):
        out[node[s]] -= weight[s] * received[patch[s]]


@cell_loop
def factor_chains(
    start: IntArray,
    link: FloatArray,
    storage: FloatArray,
    inverse: FloatArray,
    forward: FloatArray,
    backward: FloatArray,
    near_response: FloatArray,
    far_response: FloatArray,
) -> None:
    """Factor the tridiagonal matrix of every chain and find its responses to its two ends.

    ``storage`` is capacity over the time constant [W/K]. ``inverse`` holds the inverse pivots;
    ``forward`` and ``backward`` what a node takes over from the one before and after it. The
    responses are the temperatures when the near (far) end is at one and all else is zero.
    """
    for c in range(start.size - 1):
        first, last = start[c], start[c + 1] - 1
        g = first + c  # first link of this chain: one more link than nodes
        forward[first] = 0.0
        for i in range(first, last + 1):
            near_side, far_side = link[g + i - first], link[g + i - first + 1]
            pivot = storage[i] + near_side + far_side
            if i > first:
                forward[i] = near_side * inverse[i - 1]
                pivot -= near_side * forward[i]
            inverse[i] = 1.0 / pivot
            backward[i] = far_side * inverse[i]
        y = link[g]
        near_response[first] = y
        for i in range(first + 1, last + 1):
            y *= forward[i]
            near_response[i] = y
        near_response[last] *= inverse[last]
        far_response[last] = backward[last]
        for i in range(last - 1, first - 1, -1):
            near_response[i] = near_response[i] * inverse[i] + backward[i] * near_response[i + 1]
            far_response[i] = backward[i] * far_response[i + 1]


@cell_loop
def condense_chains(
    start: IntArray,
    near: IndexArray,
    far: IntArray,
    near_link: FloatArray,
    far_link: FloatArray,
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
        value[diagonal[near[c]]] += near_link[c] * (1.0 - near_response[first])
        if far[c] >= 0:
            value[diagonal[far[c]]] += far_link[c] * (1.0 - far_response[last])
            coupling = near_link[c] * far_response[first]
            value[near_far[c]] -= coupling
            value[far_near[c]] -= coupling


@cell_loop
def reduce_chains(
    start: IntArray,
    near: IndexArray,
    far: IntArray,
    inverse: FloatArray,
    forward: FloatArray,
    backward: FloatArray,
    near_link: FloatArray,
    far_link: FloatArray,
    load: FloatArray,
    forced: FloatArray,
    retained_load: FloatArray,
) -> None:
    """Solve every chain with both ends at zero; hand the flow at its ends to the retained nodes."""
    for c in range(near.size):
        first, last = start[c], start[c + 1] - 1
        carried = 0.0
        for i in range(first, last + 1):
            carried = load[i] + forward[i] * carried
            forced[i] = carried
        carried = 0.0
        for i in range(last, first - 1, -1):
            carried = forced[i] * inverse[i] + backward[i] * carried
            forced[i] = carried
        retained_load[near[c]] += near_link[c] * forced[first]
        if far[c] >= 0:
            retained_load[far[c]] += far_link[c] * forced[last]


@cell_loop
def expand_chains(
    start: IntArray,
    near: IndexArray,
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
    near: IndexArray,
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
def largest_ratio(
    numerator: FloatArray | SingleArray, denominator: FloatArray | SingleArray
) -> float:
    """Largest |numerator| / denominator; nan if any is nan."""
    largest = 0.0
    for i in range(numerator.size):
        if not abs(numerator[i]) < largest * denominator[i]:  # seldom; of nan always
            largest = abs(numerator[i]) / denominator[i]
            if np.isnan(largest):
                return np.nan
    return largest


@cell_loop
def go_along(amount: float, heat: SingleArray, root: SingleArray, left: SingleArray) -> float:
    """left -= amount heat; return the largest |left| / root, nan if any is nan."""
    largest, is_number = 0.0, True
    for i in range(left.size):
        left[i] -= np.float32(amount * heat[i])
        if not abs(left[i]) < largest * root[i]:  # seldom; of nan always
            ratio = abs(left[i]) / root[i]
            if np.isnan(ratio):
                is_number = False
            else:
                largest = ratio
    return largest if is_number else np.nan


@cell_loop
def load_stage(
    storage: FloatArray, base: FloatArray, constant: FloatArray, out: FloatArray
) -> None:
    """out = storage x base + constant: the load of one implicit stage."""
    for i in range(out.size):
        out[i] = storage[i] * base[i] + constant[i]


@cell_loop
def go_straight(share: float, first: FloatArray, last: FloatArray, out: FloatArray) -> None:
    """out = value at a share of the line between two ends."""
    for i in range(out.size):
        out[i] = first[i] + share * (last[i] - first[i])


@cell_loop
def go_by_cubic(
    share: float,
    length: float,
    first: FloatArray,
    last: FloatArray,
    first_rate: FloatArray,
    last_rate: FloatArray,
    out: FloatArray,
) -> None:
    """out = value at a share of a step by the cubic through both ends and their rates."""
    rest = 1.0 - share
    for i in range(out.size):
        change = last[i] - first[i]
        secant = change / length
        bend = rest * (first_rate[i] - secant) - share * (last_rate[i] - secant)
        out[i] = first[i] + share * change + share * rest * length * bend


@cell_loop
def add_columns(column: IndexArray, value: FloatArray, out: FloatArray) -> None:
    """out += the sum of each column of a matrix stored by rows."""
    for p in range(column.size):
        out[column[p]] += value[p]


@cell_loop
def heat_by_part(
    capacity: FloatArray, state: FloatArray, air: int, is_envelope: BoolArray
) -> tuple[float, float, float]:
    """Heat in the first nodes, which are air, in the envelope and in the rest, from 0 °C [J]."""
    in_air = in_envelope = in_rest = 0.0
    for begin in range(0, state.size, 512):  # sums of sums: fewer digits are lost
        some_air = some_envelope = some_rest = 0.0
        for i in range(begin, min(begin + 512, state.size)):
            heat = capacity[i] * state[i]
            if i < air:
                some_air += heat
            elif is_envelope[i]:
                some_envelope += heat
            else:
                some_rest += heat
        in_air += some_air
        in_envelope += some_envelope
        in_rest += some_rest
    return in_air, in_envelope, in_rest
