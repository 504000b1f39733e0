"""Solves (M/τ + K) x = b: chains eliminated, BiCGSTAB with a coarse correction and ILU(0)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from simulator.errors import ConvergenceError
from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.chains import chain_factors
from simulator.physics.heat.kernels import (
    add_blocks,
    condense_chains,
    expand_chains,
    factor_incomplete,
    gather_blocks,
    largest_ratio,
    multiply,
    reduce_chains,
    solve_incomplete,
    subtract_blocks,
)

#: Iterations after which a solution is given up.
MOST_ITERATIONS = 400

#: Share of sharp advection in the matrix that is factored [-] (measured: fewest iterations).
SHARP_IN_FACTORS = 0.5

Pulse = Callable[[], None]


def no_pulse() -> None:
    """Do nothing between iterations."""


class HeatSolver:
    """The part of the solver that all time constants of one frozen flow share.

    The coarse correction treats each block of 4 x 4 x 4 air cells as one: recirculating air carries
    errors round the room, which an incomplete factorisation alone follows cell by cell.
    """

    def __init__(self, model: HeatModel) -> None:
        self.model = model
        layout, matrix = model.layout, model.matrix
        self.air = layout.air_cell.size
        self.blocks = int(layout.block.max()) + 1 if self.air else 0
        members = sparse.csr_array(
            (np.ones(self.air), (np.arange(self.air), layout.block)),
            shape=(layout.retained, self.blocks),
        )
        fine = sparse.csr_array(
            (matrix.value, matrix.column.astype(np.int32), matrix.row_start.astype(np.int32)),
            shape=(layout.retained, layout.retained),
        )
        self.to_blocks = sparse.csr_array(fine @ members)
        self.coarse = sparse.csc_array(members.T @ self.to_blocks)
        capacity = layout.capacity[layout.air]
        self.block_capacity = np.bincount(layout.block, weights=capacity, minlength=self.blocks)
        self.block_row_start = self.to_blocks.indptr.astype(np.uint32)
        self.block_column = self.to_blocks.indices.astype(np.uint32)
        self.iterations = 0

    def shifted(self, time_constant: float) -> "ShiftedSystem":
        """Return the factored system M/τ + K for a time constant τ [s]; inf: the steady balance."""
        return ShiftedSystem(self, time_constant)


@dataclass(frozen=True, slots=True)
class ReducedLoad:
    """A load with the chains eliminated."""

    retained: FloatArray  # on the retained nodes [W]
    forced: FloatArray  # temperatures of the chains' nodes with both ends at zero [K]


class ShiftedSystem:
    """M/τ + K for one τ."""

    def __init__(self, solver: HeatSolver, time_constant: float) -> None:
        self.solver = solver
        self.time_constant = time_constant
        self.layout = layout = solver.model.layout
        self.storage = layout.capacity / time_constant
        self.chain_factors = chain_factors(layout.chains, self.storage[layout.retained :])
        self.near_link, self.far_link = layout.chains.near_link, layout.chains.far_link
        self._factor_retained()
        self._factor_blocks()

    def _factor_retained(self) -> None:
        """Condense the chains into the matrix, and factor it with advection half bounded.

        Incomplete factors of sharp advection would grow without bound where the flow rules.
        """
        matrix, chains, n = self.solver.model.matrix, self.layout.chains, self.layout.retained
        self.value = matrix.value.copy()
        self.value[matrix.diagonal] += self.storage[:n]
        condense_chains(
            chains.start,
            chains.near,
            chains.far,
            self.near_link,
            self.far_link,
            self.chain_factors.near_response,
            self.chain_factors.far_response,
            matrix.diagonal,
            matrix.near_far,
            matrix.far_near,
            self.value,
        )
        self.diagonal = self.value[matrix.diagonal]
        factors = self.value - (1.0 - SHARP_IN_FACTORS) * (matrix.value - matrix.bounded)
        place = np.zeros(n, dtype=np.uint32)
        factor_incomplete(matrix.row_start, matrix.column, matrix.diagonal, factors, place)
        self.factors = factors.astype(np.float32)
        self.column_sums = self._column_sums()
        self.total = float(self.column_sums.sum())

    def _column_sums(self) -> FloatArray:
        """Column sums of the condensed matrix; exchange between patches adds its own."""
        matrix, n = self.solver.model.matrix, self.layout.retained
        sums = np.bincount(matrix.column, weights=self.value, minlength=n).astype(np.float64)
        # the exchange is symmetric: its column sums are its row sums
        self.solver.model.long_wave.subtract_received(np.ones(n), sums)
        return sums

    def _factor_blocks(self) -> None:
        solver = self.solver
        if not solver.blocks:
            return
        coarse = solver.coarse + sparse.diags_array(solver.block_capacity / self.time_constant)
        self.block_factors = splu(
            sparse.csc_array(coarse), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}
        )

    def solve(
        self, load: FloatArray, guess: FloatArray, tolerance: float, pulse: Pulse = no_pulse
    ) -> FloatArray:
        """Return x with (M/τ + K) x = load (n,), to ``tolerance`` [K] in every retained row.

        Heat balances to round-off whatever the tolerance. ``pulse`` is called once an iteration and
        may raise.

        Raises
        ------
        ConvergenceError
            If the iteration stalls.
        """
        reduced = self.reduce(load)
        n = self.layout.retained
        return self.expand(
            reduced, self.solve_retained(reduced.retained, guess[:n], tolerance, pulse)
        )

    def reduce(self, load: FloatArray) -> ReducedLoad:
        """Return the load (n,) with the chains eliminated."""
        n, chains, factors = self.layout.retained, self.layout.chains, self.chain_factors
        reduced = ReducedLoad(load[:n].copy(), np.empty(chains.capacity.size))
        reduce_chains(
            chains.start,
            chains.near,
            chains.far,
            factors.inverse,
            factors.forward,
            factors.backward,
            self.near_link,
            self.far_link,
            load[n:],
            reduced.forced,
            reduced.retained,
        )
        return reduced

    def expand(self, reduced: ReducedLoad, retained: FloatArray) -> FloatArray:
        """Return the temperatures of all nodes (n,) from those of the retained ones."""
        n, chains, factors = self.layout.retained, self.layout.chains, self.chain_factors
        x = np.empty(self.layout.size)
        x[:n] = retained
        expand_chains(
            chains.start,
            chains.near,
            chains.far,
            reduced.forced,
            factors.near_response,
            factors.far_response,
            retained,
            x[n:],
        )
        return x

    def solve_retained(
        self, load: FloatArray, guess: FloatArray, tolerance: float, pulse: Pulse = no_pulse
    ) -> FloatArray:
        """Return the temperatures of the retained nodes; their residuals sum to zero.

        A last uniform shift brings that about, so that no heat is lost whatever the tolerance.
        """
        x = self._iterate(load, guess, tolerance, pulse)
        if self.total > 0.0:
            x += (load.sum() - self.column_sums @ x) / self.total
        return x

    def _iterate(
        self, load: FloatArray, guess: FloatArray, tolerance: float, pulse: Pulse
    ) -> FloatArray:
        """Right-preconditioned BiCGSTAB (van der Vorst 1992) from ``guess``."""
        x = guess.copy()
        r = load - self._multiply(x)
        shadow, p = r.copy(), r.copy()
        rho = float(shadow @ r)
        for _ in range(MOST_ITERATIONS):
            if self._error(r) <= tolerance:
                return x
            pulse()
            self.solver.iterations += 1
            toward = self._precondition(p)
            v = self._multiply(toward)
            along = float(shadow @ v)
            if along == 0.0 or rho == 0.0:  # breakdown: begin anew from here
                shadow, p = r.copy(), r.copy()
                rho = float(shadow @ r)
                continue
            alpha = rho / along
            x += alpha * toward
            r -= alpha * v
            if self._error(r) <= tolerance:
                return x
            toward = self._precondition(r)
            t = self._multiply(toward)
            omega = float(t @ r) / float(t @ t)
            x += omega * toward
            r -= omega * t
            next_rho = float(shadow @ r)
            p -= omega * v
            p *= (next_rho / rho) * (alpha / omega)
            p += r
            rho = next_rho
        raise ConvergenceError(
            f"the heat solver did not converge at a time constant of {self.time_constant:.3g} s "
            f"(error {self._error(r):.2g} K); use smaller cells or a shorter step"
        )

    def _error(self, residual: FloatArray) -> float:
        error = float(largest_ratio(residual, self.diagonal))
        if not np.isfinite(error):
            raise ConvergenceError(
                "the heat balance holds a number that is not finite; look for a material without "
                "conductivity or heat capacity, or a flow that has blown up"
            )
        return error

    def _multiply(self, x: FloatArray) -> FloatArray:
        matrix = self.solver.model.matrix
        out = np.empty_like(x)
        multiply(matrix.row_start, matrix.column, self.value, x, out)
        self.solver.model.long_wave.subtract_received(x, out)
        return out

    def _precondition(self, r: FloatArray) -> FloatArray:
        """Coarse correction over the blocks of air, then the incomplete factors on what remains."""
        solver, matrix = self.solver, self.solver.model.matrix
        block = self.layout.block
        if not solver.blocks:
            z = r.copy()
            solve_incomplete(matrix.row_start, matrix.column, matrix.diagonal, self.factors, z)
            return z
        on_blocks = np.empty(solver.blocks)
        gather_blocks(block, r, on_blocks)
        correction = self.block_factors.solve(on_blocks)
        z = np.empty_like(r)
        subtract_blocks(
            solver.block_row_start,
            solver.block_column,
            solver.to_blocks.data,
            block,
            self.storage,
            correction,
            r,
            z,
        )
        solve_incomplete(matrix.row_start, matrix.column, matrix.diagonal, self.factors, z)
        add_blocks(block, correction, z)
        return z
