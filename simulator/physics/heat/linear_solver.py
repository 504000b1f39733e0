"""Solves (M/τ + K) x = b: chains eliminated, kept directions, a coarse correction and ILU(0)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simulator.errors import ConvergenceError
from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.chains import chain_factors
from simulator.physics.heat.directions import Directions
from simulator.physics.heat.kernels import (
    SingleArray,
    add_columns,
    condense_chains,
    expand_chains,
    go_along,
    largest_ratio,
    multiply,
    reduce_chains,
)
from simulator.physics.heat.preconditioner import (
    AirBlocks,
    FactorPattern,
    Preconditioner,
    Residual,
)

#: Iterations after which a solution is given up.
MOST_ITERATIONS = 800

#: Share of an error down to which single precision can be relied on [-] (estimate: its last digit
#: is at 1e-7, and a few hundred of those add up).
SINGLE = 1e-4

#: Share of the temperatures at which an error counts as round-off once it no longer falls [-].
ROUND_OFF = 1e-10

Pulse = Callable[[], None]


def no_pulse() -> None:
    """Do nothing between iterations."""


class HeatSolver:
    """The part of the solver that all time constants of one frozen flow share."""

    def __init__(self, model: HeatModel) -> None:
        self.model = model
        self.blocks = AirBlocks(model)
        self.pattern = FactorPattern(model)
        self._directions = Directions(model.layout.retained)
        self._owner: ShiftedSystem | None = None

    def directions_of(self, system: "ShiftedSystem") -> Directions:
        """Return the directions kept for a system; those of the one before are forgotten."""
        if self._owner is not system:
            self._directions.clear()
            self._owner = system
        return self._directions

    def forget_directions(self) -> None:
        """Forget what was kept: the next solution begins without."""
        self._directions.clear()

    def shifted(self, time_constant: float) -> "ShiftedSystem":
        """Return the factored system M/τ + K for a time constant τ [s]; inf: the steady balance."""
        return ShiftedSystem(self, time_constant)


@dataclass(frozen=True, slots=True)
class ReducedLoad:
    """A load with the chains eliminated."""

    retained: FloatArray  # on the retained nodes [W]
    forced: FloatArray  # temperatures of the chains' nodes with both ends at zero [K]


@dataclass(frozen=True, slots=True)
class Attempt:
    """Temperatures of the retained nodes and what they leave of a load."""

    load: FloatArray  # [W]
    x: FloatArray  # [K]
    residual: FloatArray  # [W]

    def plus(self, share: float, other: "Attempt") -> "Attempt":
        """Return the sum of this and ``share`` times another, of the same system."""
        return Attempt(
            self.load + share * other.load,
            self.x + share * other.x,
            self.residual + share * other.residual,
        )


class ShiftedSystem:
    """M/τ + K for one τ."""

    def __init__(self, solver: HeatSolver, time_constant: float) -> None:
        self.solver = solver
        self.time_constant = time_constant
        self.layout = layout = solver.model.layout
        self.storage = layout.capacity / time_constant
        self.chain_factors = chain_factors(layout.chains, self.storage[layout.retained :])
        self.near_link, self.far_link = layout.chains.near_link, layout.chains.far_link
        self._condense()
        self.preconditioner = Preconditioner(
            solver.model, solver.blocks, solver.pattern, self.value, self.storage, time_constant
        )

    def _condense(self) -> None:
        """Condense the chains into the matrix of the retained nodes."""
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
        self.single = self.value.astype(np.float32)
        self.diagonal = self.value[matrix.diagonal]
        self.root = np.sqrt(self.diagonal)
        self.single_root = self.root.astype(np.float32)
        self.column_sums = self._column_sums()
        self.total = float(self.column_sums.sum())

    def _column_sums(self) -> FloatArray:
        """Column sums of the condensed matrix; exchange between patches adds its own."""
        matrix, n = self.solver.model.matrix, self.layout.retained
        sums = np.zeros(n)
        add_columns(matrix.column, self.value, sums)
        # the exchange is symmetric: its column sums are its row sums
        self.solver.model.long_wave.subtract_received(np.ones(n), sums)
        return sums

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
        """Return the temperatures of the retained nodes; their residuals sum to zero."""
        return self.balanced(self.improved(self.attempt(load, guess), tolerance, pulse))

    def attempt(self, load: FloatArray, guess: FloatArray) -> Attempt:
        """Return a guess at the temperatures of the retained nodes under a load."""
        return Attempt(load, guess, load - self._multiply(guess))

    def balanced(self, attempt: Attempt) -> FloatArray:
        """Return its temperatures, shifted by so much that no heat is lost in them."""
        x = attempt.x
        if self.total > 0.0:
            x = x + (attempt.load.sum() - self.column_sums @ x) / self.total
        return x

    def improved(self, attempt: Attempt, tolerance: float, pulse: Pulse = no_pulse) -> Attempt:
        """Return a better attempt, to ``tolerance`` [K] in every row or to round-off.

        Generalised conjugate residuals (Eisenstat, Elman & Schultz 1983, SIAM J. Numer. Anal.
        20:345), right-preconditioned, in single precision, with directions kept from solution to
        solution. Where single precision ends the residual is taken anew.
        """
        error, left = self._error(attempt.residual), MOST_ITERATIONS
        while error > tolerance:
            is_exact = tolerance > SINGLE * error
            enough = tolerance if is_exact else SINGLE * error
            attempt, used = self._descended(attempt, enough, is_exact, left, pulse)
            before, error, left = error, self._error(attempt.residual), left - used
            is_stuck = error > max(tolerance, 0.5 * before)
            if is_stuck and error <= ROUND_OFF * np.abs(attempt.x).max():
                break
            if left <= 0 or is_stuck:
                return self._rescued(attempt, tolerance, pulse)
        return attempt

    def _rescued(self, attempt: Attempt, tolerance: float, pulse: Pulse) -> Attempt:
        """Return an attempt to ``tolerance`` [K] where kept directions in single precision stall.

        BiCGSTAB (van der Vorst 1992, SIAM J. Sci. Stat. Comput. 13:631), right-preconditioned and
        in double precision throughout: slower, but nothing is left over from solutions before.
        """
        self.solver.forget_directions()
        x, apply = attempt.x.copy(), self.preconditioner.apply
        residual = attempt.load - self._multiply(x)
        shadow, along, turned = residual.copy(), np.zeros_like(x), np.zeros_like(x)
        rho = alpha = omega = 1.0
        for _ in range(MOST_ITERATIONS):
            pulse()
            last, rho = rho, float(shadow @ residual)
            if rho == 0.0 or omega == 0.0:  # begin anew from here
                residual = attempt.load - self._multiply(x)
                shadow, last, rho = residual.copy(), 1.0, float(residual @ residual)
                along, turned, alpha, omega = np.zeros_like(x), np.zeros_like(x), 1.0, 1.0
            along = residual + rho / last * alpha / omega * (along - omega * turned)
            rise = apply(along)
            turned = self._multiply(rise)
            alpha = rho / float(shadow @ turned)
            x += alpha * rise
            residual = residual - alpha * turned
            rise = apply(residual)
            heat = self._multiply(rise)
            omega = float(heat @ residual) / max(float(heat @ heat), 1e-300)
            x += omega * rise
            residual = residual - omega * heat
            if self._error(residual) <= 0.5 * tolerance:
                residual = attempt.load - self._multiply(x)
                if self._error(residual) <= tolerance:
                    return Attempt(attempt.load, x, residual)
                omega = 0.0
        error = self._error(attempt.load - self._multiply(x))
        raise ConvergenceError(
            f"the heat solver did not converge at a time constant of {self.time_constant:.3g} s "
            f"(error {error:.2g} K); use smaller cells or a shorter step"
        )

    def _descended(
        self, attempt: Attempt, enough: float, is_exact: bool, most: int, pulse: Pulse
    ) -> tuple[Attempt, int]:
        """Return an attempt of an error of ``enough`` [K] and the iterations that it took.

        ``is_exact`` says that single precision bears its residual.
        """
        root = self.single_root
        left: SingleArray = attempt.residual.astype(np.float32) / root
        directions, used = self.solver.directions_of(self), 0
        directions.take_up(left)
        error = float(largest_ratio(left, root))
        while used < most and error > enough:
            pulse()
            used += 1
            rise = self.preconditioner.apply(left * root)
            heat = self._multiply(rise, self.single)
            heat /= root
            direction = directions.add(rise, heat)
            amount = float(direction @ left)
            directions.take(amount)
            error = float(go_along(amount, direction, root, left))
        x = attempt.x + directions.due()
        residual: FloatArray = (
            np.multiply(left, self.root, dtype=np.float64)
            if is_exact
            else attempt.load - self._multiply(x)
        )
        return Attempt(attempt.load, x, residual), used

    def _error(self, residual: FloatArray) -> float:
        error = float(largest_ratio(residual, self.diagonal))
        if not np.isfinite(error):
            raise ConvergenceError(
                "the heat balance holds a number that is not finite; look for a material without "
                "conductivity or heat capacity, or a flow that has blown up"
            )
        return error

    def _multiply(self, x: Residual, value: FloatArray | SingleArray | None = None) -> Residual:
        """Return the heat that temperatures ask for, by the matrix or by ``value`` in its place."""
        matrix = self.solver.model.matrix
        out = np.empty_like(x)
        value = self.value if value is None else value
        multiply(matrix.row_start, matrix.column, value, x, out)
        self.solver.model.long_wave.subtract_received(x, out)
        return out
