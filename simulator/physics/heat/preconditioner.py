"""A cheap near-inverse of the heat balance: blocks of air first, incomplete factors on the rest.

Recirculating air carries errors round the room, which an incomplete factorisation alone follows
cell by cell; blocks of 4 x 4 x 4 air cells taken as one each bring them home at once.
"""

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.kernels import (
    add_blocks,
    factor_incomplete,
    gather_blocks,
    solve_incomplete,
    subtract_blocks,
)

#: Share of sharp advection in the matrix that is factored [-] (measured: fewest iterations).
SHARP_IN_FACTORS = 0.5


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
        value: FloatArray,
        storage: FloatArray,
        time_constant: float,
    ) -> None:
        self.matrix, self.block = model.matrix, model.layout.block
        self.blocks, self.storage = blocks, storage
        self._factor_retained(value)
        if blocks.count:
            coarse = blocks.coarse + sparse.diags_array(blocks.capacity / time_constant)
            self.block_factors = splu(
                sparse.csc_array(coarse),
                permc_spec="MMD_AT_PLUS_A",
                options={"SymmetricMode": True},
            )

    def _factor_retained(self, value: FloatArray) -> None:
        """Factor with advection half bounded.

        Incomplete factors of sharp advection would grow without bound where the flow rules.
        """
        matrix = self.matrix
        factors = value - (1.0 - SHARP_IN_FACTORS) * (matrix.value - matrix.bounded)
        place = np.zeros(matrix.diagonal.size, dtype=np.uint32)
        factor_incomplete(matrix.row_start, matrix.column, matrix.diagonal, factors, place)
        self.factors = factors.astype(np.float32)

    def apply(self, residual: FloatArray) -> FloatArray:
        """Return about the rise in temperature [K] that takes a residual [W] away."""
        if not self.blocks.count:
            rise = residual.copy()
            self._solve_retained(rise)
            return rise
        on_blocks = np.empty(self.blocks.count)
        gather_blocks(self.block, residual, on_blocks)
        correction = self.block_factors.solve(on_blocks)
        rise = np.empty_like(residual)
        subtract_blocks(
            self.blocks.row_start,
            self.blocks.column,
            self.blocks.value,
            self.block,
            self.storage,
            correction,
            residual,
            rise,
        )
        self._solve_retained(rise)
        add_blocks(self.block, correction, rise)
        return rise

    def _solve_retained(self, rise: FloatArray) -> None:
        matrix = self.matrix
        solve_incomplete(matrix.row_start, matrix.column, matrix.diagonal, self.factors, rise)
