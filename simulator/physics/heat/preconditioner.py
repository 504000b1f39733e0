"""A cheap near-inverse of the heat balance: blocks of air first, incomplete factors on the rest.

Recirculating air carries errors round the room, which an incomplete factorisation alone follows
cell by cell; blocks of 4 x 4 x 4 air cells taken as one each bring them home at once. Within the
factors each cell of air comes after those that blow into it, as far as eddies allow: so an error
goes down the stream in one sweep. That spares a sixth of the iterations on cells of 0.15 m, more
than a quarter on 0.075 m (measured). Ordering along the flow: Bey and Wittum (1997, Appl. Numer.
Math. 23:177, from memory).
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.kernels import SingleArray
from simulator.physics.heat.preconditioner_kernels import (
    add_blocks,
    downstream_order,
    factor_incomplete,
    gather_blocks,
    part_rows,
    solve_incomplete,
    subtract_blocks,
)

#: Residuals and rises: double precision or single, as the solution asks.
Residual = TypeVar("Residual", FloatArray, SingleArray)

#: Share of sharp advection in the matrix that is factored [-] (measured: fewest iterations; at 0.75
#: they no longer end).
SHARP_IN_FACTORS = 0.3

#: Entries below this share of their row's diagonal are left out of the factors [-] (measured: a
#: third of all in rooms of cells of 0.07 m, for 2 % more iterations; at 0.04 they grow by 40 %).
WEAK = 0.02


class AirBlocks:
    """The balance of the blocks of air: what all time constants of one frozen flow share."""

    def __init__(self, model: HeatModel) -> None:
        layout, matrix = model.layout, model.matrix
        air, block = layout.air_cell.size, layout.block
        self.count = int(block.max()) + 1 if air else 0
        members = sparse.csr_array(
            (np.ones(air), (np.arange(air), block)), shape=(layout.retained, self.count)
        )
        fine = sparse.csr_array(
            (matrix.value, matrix.column.astype(np.int32), matrix.row_start.astype(np.int32)),
            shape=(layout.retained, layout.retained),
        )
        to_blocks = sparse.csr_array(fine @ members)
        self.coarse = sparse.csc_array(members.T @ to_blocks)
        capacity = layout.capacity[layout.air]
        self.capacity = np.bincount(block, weights=capacity, minlength=self.count)
        self.row_start = to_blocks.indptr.astype(np.uint32)
        self.column = to_blocks.indices.astype(np.uint32)
        self.value = to_blocks.data.astype(np.float32)


@dataclass(frozen=True, slots=True)
class Factors:
    """Incomplete factors on the entries of a pattern; ``inverse`` is of the diagonal of U."""

    lower: SingleArray
    upper: SingleArray
    inverse: SingleArray


class FactorPattern:
    """Where the incomplete factors stand, rows in the order of the flow, for one frozen flow."""

    def __init__(self, model: HeatModel) -> None:
        matrix, n = model.matrix, model.layout.retained
        self.order = downstream_order(
            matrix.row_start,
            matrix.column,
            matrix.diagonal,
            matrix.bounded,
            model.layout.air_cell.size,
        )
        self.position = np.empty_like(self.order)
        self.position[self.order] = np.arange(n, dtype=np.uint32)
        # mostly bounded: incomplete factors of sharp advection would grow without bound where the
        # flow rules
        self.left_out = (1.0 - SHARP_IN_FACTORS) * (matrix.value - matrix.bounded)
        factored = matrix.value - self.left_out
        own = np.repeat(np.abs(factored[matrix.diagonal]), np.diff(matrix.row_start.astype(int)))
        is_kept = ~(np.abs(factored) < WEAK * own)
        is_kept[matrix.near_far] = is_kept[matrix.far_near] = True  # chains come to stand there
        self.lower_start, self.upper_start = np.empty((2, n + 1), dtype=np.uint32)
        lower_column, lower_source, upper_column, upper_source = np.empty(
            (4, np.count_nonzero(is_kept)), dtype=np.uint32
        )
        part_rows(
            matrix.row_start,
            matrix.column,
            is_kept,
            self.order,
            self.position,
            self.lower_start,
            lower_column,
            lower_source,
            self.upper_start,
            upper_column,
            upper_source,
        )
        low, up = self.lower_start[n], self.upper_start[n]
        self.lower_column, self.lower_source = lower_column[:low].copy(), lower_source[:low].copy()
        self.upper_column, self.upper_source = upper_column[:up].copy(), upper_source[:up].copy()
        self.diagonal_source = matrix.diagonal[self.order]

    def factors(self, value: FloatArray) -> Factors:
        """Return the incomplete factors of a matrix of these entries (in the model's order)."""
        lower, upper, diagonal = (
            value[source] - self.left_out[source]
            for source in (self.lower_source, self.upper_source, self.diagonal_source)
        )
        factor_incomplete(
            self.lower_start,
            self.lower_column,
            self.upper_start,
            self.upper_column,
            lower,
            upper,
            diagonal,
            np.zeros(self.order.size, dtype=np.uint32),
        )
        return Factors(*(part.astype(np.float32) for part in (lower, upper, diagonal)))

    def solve(self, factors: Factors, x: Residual) -> None:
        """Replace ``x``, which is in the order of the flow, by what the factors make of it."""
        solve_incomplete(
            self.lower_start,
            self.lower_column,
            factors.lower,
            self.upper_start,
            self.upper_column,
            factors.upper,
            factors.inverse,
            x,
        )


class Preconditioner:
    """The near-inverse for one time constant.

    Parameters
    ----------
    value : the matrix with chains condensed into it, at the places of the model's [W/K].
    storage : capacity over time constant of each node [W/K].
    """

    def __init__(
        self,
        model: HeatModel,
        blocks: AirBlocks,
        pattern: FactorPattern,
        value: FloatArray,
        storage: FloatArray,
        time_constant: float,
    ) -> None:
        self.block = model.layout.block
        self.blocks, self.pattern = blocks, pattern
        self.storage = storage[: self.block.size].astype(np.float32)
        self.factors = pattern.factors(value)
        if blocks.count:
            coarse = blocks.coarse + sparse.diags_array(blocks.capacity / time_constant)
            self.block_factors = splu(
                sparse.csc_array(coarse),
                permc_spec="MMD_AT_PLUS_A",
                options={"SymmetricMode": True},
            )

    def apply(self, residual: Residual) -> Residual:
        """Return about the rise in temperature [K] that takes a residual [W] away."""
        on_blocks = np.empty(self.blocks.count)
        gather_blocks(self.block, residual, on_blocks)
        correction = self.block_factors.solve(on_blocks) if self.blocks.count else on_blocks
        correction = correction.astype(residual.dtype)
        ordered, rise = np.empty_like(residual), np.empty_like(residual)
        subtract_blocks(
            self.blocks.row_start,
            self.blocks.column,
            self.blocks.value,
            self.block,
            self.storage,
            self.pattern.position,
            correction,
            residual,
            ordered,
        )
        self.pattern.solve(self.factors, ordered)
        add_blocks(self.block, self.pattern.position, correction, ordered, rise)
        return rise
