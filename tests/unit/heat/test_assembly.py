"""Triples are summed by rows; two matrices share a pattern."""

import numpy as np
from scipy import sparse

from simulator.physics.heat.air_terms import Entries
from simulator.physics.heat.assembly import Rows, summed_rows

N = 40


def random_entries(seed: int, size: int) -> Entries:
    rng = np.random.default_rng(seed)
    return Entries(rng.integers(0, N, size), rng.integers(0, N, size), rng.normal(size=size))


def dense(rows: Rows, value: np.ndarray) -> np.ndarray:
    made = sparse.csr_array((value, rows.column.astype(int), rows.start.astype(int)), shape=(N, N))
    return np.asarray(made.todense())


def test_sums_are_those_of_a_general_library() -> None:
    terms = [random_entries(1, 300), random_entries(2, 500)]
    other = random_entries(3, 200)
    rows = summed_rows(N, terms, [other], [])
    first, second = np.zeros((N, N)), np.zeros((N, N))
    for term in terms:
        np.add.at(first, (term.row, term.column), term.value)
    np.add.at(second, (other.row, other.column), other.value)
    np.testing.assert_allclose(dense(rows, rows.first), first, atol=1e-14)
    np.testing.assert_allclose(dense(rows, rows.second), second, atol=1e-14)


def test_columns_ascend_and_stand_once_in_each_row() -> None:
    rows = summed_rows(N, [random_entries(1, 900)], [], [])
    for i in range(N):
        columns = rows.column[rows.start[i] : rows.start[i + 1]].astype(int)
        assert (np.diff(columns) > 0).all()


def test_zeros_take_no_place_unless_asked_for() -> None:
    empty = Entries(np.array([1, 2]), np.array([3, 4]), np.zeros(2))
    asked = Entries(np.array([5, 0]), np.array([6, 39]), np.zeros(2))
    rows = summed_rows(N, [empty], [empty], [asked])
    assert rows.column.tolist() == [39, 6]
    assert rows.places(np.array([0, 5]), np.array([39, 6])).tolist() == [0, 1]


def test_places_are_found_in_rows_of_any_length() -> None:
    rows = summed_rows(N, [random_entries(4, 700)], [], [])
    row = np.repeat(np.arange(N), np.diff(rows.start.astype(int)))
    found = rows.places(row, rows.column.astype(np.int64))
    assert found.tolist() == list(range(rows.column.size))
