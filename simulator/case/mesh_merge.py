"""Cells that are stuff as few boxes of cells."""

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from simulator.case.mesh_import import FloatArray, IntArray
from simulator.compiled import cell_loop

BoolArray = NDArray[np.bool_]
_Span = tuple[int, int]


def merge_cells(
    is_stuff: BoolArray, planes: tuple[FloatArray, FloatArray, FloatArray], most: int = 1 << 30
) -> list[tuple[_Span, _Span, _Span]]:
    """Return few boxes of cells (first, one past last along x, y, z) that cover all stuff once.

    The fewest of two greedy ways: by size, which keeps boards whole, and in a sweep along each
    order of the axes, which suits round things. More than ``most`` boxes are not looked for.
    """
    found = by_size(is_stuff, planes, most)
    for order in permutations(range(3)):
        swept = _sweep(np.ascontiguousarray(is_stuff.transpose(order)), min(most, len(found)))
        if len(swept) < len(found):
            turned = [[box[order.index(axis)] for axis in range(3)] for box in swept]
            found = [(x, y, z) for x, y, z in turned]
    return found


def by_size(
    is_stuff: BoolArray, planes: tuple[FloatArray, FloatArray, FloatArray], most: int = 1 << 30
) -> list[tuple[_Span, _Span, _Span]]:
    """Return boxes of cells, each the largest by volume that grows from an edge of what is left."""
    left = is_stuff.copy()
    x, y, z = planes
    box = np.zeros((3, 2), dtype=np.int64)
    found: list[tuple[_Span, _Span, _Span]] = []
    while left.any() and len(found) < most:
        find_largest(left, x, y, z, box)
        (i, to_i), (j, to_j), (k, to_k) = box.tolist()
        left[i:to_i, j:to_j, k:to_k] = False
        found.append(((i, to_i), (j, to_j), (k, to_k)))
    return found


def _sweep(left: BoolArray, most: int) -> list[tuple[_Span, _Span, _Span]]:
    """Return boxes of cells, each grown from the first cell left along z, then y, then x."""
    found: list[tuple[_Span, _Span, _Span]] = []
    left = left.copy()
    flat, start = left.reshape(-1), 0
    while len(found) < most:
        start += int(np.argmax(flat[start:]))
        if not flat[start]:
            break
        i, j, k = (int(index) for index in np.unravel_index(start, left.shape))
        to_k = k + _run(left[i, j, k:])
        to_j = j + _run(np.all(left[i, j:, k:to_k], axis=1))
        to_i = i + _run(np.all(left[i:, j:to_j, k:to_k], axis=(1, 2)))
        left[i:to_i, j:to_j, k:to_k] = False
        found.append(((i, to_i), (j, to_j), (k, to_k)))
    return found


def _run(is_on: BoolArray) -> int:
    """Return how many values are on before the first that is off."""
    return int(is_on.size if is_on.all() else np.argmin(is_on))


@cell_loop
def is_full(left: BoolArray, box: IntArray) -> bool:
    """Return whether all cells of a box (3, 2) are left."""
    for i in range(box[0, 0], box[0, 1]):
        for j in range(box[1, 0], box[1, 1]):
            for k in range(box[2, 0], box[2, 1]):
                if not left[i, j, k]:
                    return False
    return True


@cell_loop
def find_largest(
    left: BoolArray, x: FloatArray, y: FloatArray, z: FloatArray, largest: IntArray
) -> None:
    """Write the largest box that grows upwards from an edge of ``left``, in any order of the axes.

    An edge is a cell that lacks two of its three lower neighbours; the first cell left is one.
    """
    most = 0.0
    box, layer = np.zeros((3, 2), dtype=np.int64), np.zeros((3, 2), dtype=np.int64)
    for i in range(left.shape[0]):
        for j in range(left.shape[1]):
            for k in range(left.shape[2]):
                if not left[i, j, k]:
                    continue
                lacking = 0
                lacking += i == 0 or not left[i - 1, j, k]
                lacking += j == 0 or not left[i, j - 1, k]
                lacking += k == 0 or not left[i, j, k - 1]
                if lacking < 2:
                    continue
                for order in range(6):
                    first = order // 2
                    second = (first + 1 + order % 2) % 3
                    box[0, 0], box[1, 0], box[2, 0] = i, j, k
                    box[0, 1], box[1, 1], box[2, 1] = i + 1, j + 1, k + 1
                    for axis in (first, second, 3 - first - second):
                        while box[axis, 1] < left.shape[axis]:
                            layer[:] = box
                            layer[axis, 0], layer[axis, 1] = box[axis, 1], box[axis, 1] + 1
                            if not is_full(left, layer):
                                break
                            box[axis, 1] += 1
                    volume = (
                        (x[box[0, 1]] - x[box[0, 0]])
                        * (y[box[1, 1]] - y[box[1, 0]])
                        * (z[box[2, 1]] - z[box[2, 0]])
                    )
                    if volume > (1.0 + 1e-9) * most:
                        most = volume
                        largest[:] = box
