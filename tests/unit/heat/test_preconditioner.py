"""Air is numbered down the stream, and incomplete factors are exact where nothing is left out."""

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from unit.heat.small_room import small_room

from simulator.physics.heat.air_terms import Entries
from simulator.physics.heat.assembly import summed_rows
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.preconditioner import WEAK, FactorPattern
from simulator.physics.heat.preconditioner_kernels import downstream_order

N = 50


def matrix_of(terms: list[Entries]) -> Any:
    """Return the sum of entries as a balance has it, without chains."""
    own, rows = np.arange(N), summed_rows(N, terms, [], [])
    return SimpleNamespace(
        row_start=rows.start,
        column=rows.column,
        value=rows.first,
        bounded=rows.first,
        diagonal=rows.places(own, own),
        near_far=np.zeros(0, dtype=np.uint32),
        far_near=np.zeros(0, dtype=np.uint32),
    )


def stream(path: np.ndarray, back: float) -> Any:
    """Return a matrix in which air goes along a path of nodes; ``back`` is what eddies bring."""
    own = np.arange(N)
    up, down = path[:-1], path[1:]
    terms = [
        Entries(own, own, np.full(N, 1.1)),
        Entries(down, up, np.full(N - 1, -1.0)),
        Entries(up, down, np.full(N - 1, -back)),
    ]
    return matrix_of(terms)


def rows_of(start: np.ndarray) -> np.ndarray:
    """Return the row of each entry of a matrix stored by rows."""
    return np.repeat(np.arange(start.size - 1), np.diff(start.astype(int)))


def pattern_of(matrix: Any, air: int = N) -> FactorPattern:
    layout = SimpleNamespace(retained=N, air_cell=np.zeros(air))
    return FactorPattern(cast(HeatModel, SimpleNamespace(matrix=matrix, layout=layout)))


@pytest.mark.parametrize("back", [0.0, 0.05])
def test_nodes_are_numbered_along_the_stream(back: float) -> None:
    path = np.random.default_rng(5).permutation(N)
    matrix = stream(path, back)
    order = downstream_order(
        matrix.row_start, matrix.column, matrix.diagonal, matrix.bounded, N
    ).astype(int)
    assert order.tolist() == path.tolist()


def test_what_is_not_air_keeps_its_place_behind_it() -> None:
    matrix = stream(np.random.default_rng(6).permutation(N), 0.3)
    order = pattern_of(matrix, air=30).order.astype(int)
    assert sorted(order[:30].tolist()) == list(range(30))
    assert order[30:].tolist() == list(range(30, N))


@pytest.mark.parametrize("value", [np.nan, np.inf, 0.0])
def test_what_is_no_number_still_gets_one_each(value: float) -> None:
    matrix = stream(np.random.default_rng(6).permutation(N), 0.3)
    matrix.bounded = matrix.bounded.copy()
    matrix.bounded[::7] = value
    order = downstream_order(
        matrix.row_start, matrix.column, matrix.diagonal, matrix.bounded, N
    ).astype(int)
    assert sorted(order.tolist()) == list(range(N))


def test_factors_of_a_stream_are_exact() -> None:
    path = np.random.default_rng(7).permutation(N)
    matrix = stream(path, 0.05)
    pattern = pattern_of(matrix)
    full = np.zeros((N, N))
    full[rows_of(matrix.row_start), matrix.column.astype(int)] = matrix.value
    load = np.random.default_rng(8).normal(size=N)
    x = load[pattern.order]
    pattern.solve(pattern.factors(matrix.value), x)
    np.testing.assert_allclose(
        x[pattern.position], np.linalg.solve(full, load), rtol=1e-5, atol=1e-5
    )


def test_factors_multiply_to_the_matrix_wherever_it_has_entries() -> None:
    """What defines incomplete factors without fill, on a pattern at random."""
    lots = np.random.default_rng(10)
    own, row, column = np.arange(N), *lots.integers(N, size=(2, 6 * N))
    terms = [Entries(own, own, np.full(N, 9.0)), Entries(row, column, -lots.uniform(0.5, 1, 6 * N))]
    matrix = matrix_of(terms)
    pattern = pattern_of(matrix)
    factors = pattern.factors(matrix.value)
    lower, upper = np.eye(N), np.diag(1.0 / factors.inverse)
    lower[rows_of(pattern.lower_start), pattern.lower_column] = factors.lower
    upper[rows_of(pattern.upper_start), pattern.upper_column] = factors.upper
    product = (lower @ upper)[np.ix_(pattern.position, pattern.position)]
    made = product[rows_of(matrix.row_start), matrix.column]
    np.testing.assert_allclose(made, matrix.value, rtol=1e-5)


@pytest.mark.parametrize(("share", "kept"), [(1.01, N - 1), (0.99, 0)])
def test_weak_entries_are_left_out_of_the_factors(share: float, kept: int) -> None:
    matrix = stream(np.arange(N), 1.1 * WEAK * share)
    pattern = pattern_of(matrix)
    assert pattern.lower_column.size == N - 1
    assert pattern.upper_column.size == kept


def test_ends_of_chains_stay_in_the_factors_however_weak() -> None:
    """What a chain hands from end to end is added for each time constant."""
    matrix = stream(np.arange(N), 0.0)
    matrix.near_far = np.array([matrix.row_start[3]], dtype=np.uint32)  # an entry of no value
    matrix.value = matrix.bounded = matrix.value.copy()
    matrix.value[matrix.near_far] = 0.0
    assert pattern_of(matrix).lower_column.size == N - 1
    matrix.near_far = matrix.near_far[:0]
    assert pattern_of(matrix).lower_column.size == N - 2


def test_rises_are_alike_in_both_precisions() -> None:
    system = HeatSolver(small_room(eddies=0.05).model).shifted(60.0)
    residual = np.random.default_rng(9).normal(size=system.layout.retained)
    double = system.preconditioner.apply(residual)
    single = system.preconditioner.apply(residual.astype(np.float32))
    assert double.dtype == np.float64
    assert single.dtype == np.float32
    np.testing.assert_allclose(single, double, atol=1e-5 * np.abs(double).max())
