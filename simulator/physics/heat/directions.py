"""Search directions kept from one linear solution for the next: most of it lies among them."""

import numpy as np
from scipy.linalg.blas import sgemv

from simulator.grid.grid import FloatArray
from simulator.physics.heat.kernels import SingleArray

#: Directions that are kept at most, and how many remain when the oldest give way: more take fewer
#: iterations, but each of those takes longer (measured).
MOST_DIRECTIONS, REMAINING = 26, 13

#: If less than this share of a direction is new, all begins anew with it: rounding errors grow by
#: the inverse of it from one direction to the next [-] (measured: marches never come so low).
LEAST_NOVELTY = 1e-2


class Directions:
    """Rises of temperature and the heat that each asks for, the latter orthonormal.

    In single precision, for they only ever carry corrections. Only the heat is made orthogonal as
    directions come. What that makes of the rises is noted (``_mix``) and done where they are called
    for: the memory traffic of their vectors is what a direction costs.
    """

    def __init__(self, nodes: int) -> None:
        self._heat = np.zeros((MOST_DIRECTIONS, nodes), dtype=np.float32)
        self._given = np.zeros((MOST_DIRECTIONS, nodes), dtype=np.float32)  # rises as they came
        self._mix = np.zeros((MOST_DIRECTIONS, MOST_DIRECTIONS))  # rises = mix @ given
        self._taken = np.zeros(MOST_DIRECTIONS)  # how much of each rise is due
        self._due = np.zeros(nodes, dtype=np.float32)  # of those that are kept no longer
        self._count = 0

    def clear(self) -> None:
        """Forget all directions: those of one matrix are of no use to another."""
        self._count = 0

    def take_up(self, residual: SingleArray) -> None:
        """Begin a solution: take all that the kept directions can do from its residual."""
        self._taken[:], self._due[:] = 0.0, 0.0
        count = self._count
        if count:
            share = self._heat[:count] @ residual
            self._taken[:count] += share
            residual[:] = _less(self._heat[:count], share, residual)

    def add(self, rise: SingleArray, heat: SingleArray) -> SingleArray:
        """Keep a direction, made orthogonal to the others; return its heat, of length one."""
        if self._count == MOST_DIRECTIONS:
            self._drop()
        length = float(np.sqrt(heat @ heat))
        share, new = self._heat[: self._count] @ heat, length
        if self._count:
            other = _less(self._heat[: self._count], share, heat.copy())
            novelty = float(np.sqrt(other @ other))
            if novelty > LEAST_NOVELTY * length:
                heat, new = other, novelty
            else:
                self._due += self._rise_taken()
                self.clear()
        at = self._count
        np.divide(heat, np.float32(new), out=self._heat[at])
        np.divide(rise, np.float32(length), out=self._given[at])
        self._mix[at] = 0.0
        self._mix[at, :at] = (-share[:at] / new) @ self._mix[:at, :at]
        self._mix[at, at] = length / new
        self._count += 1
        kept: SingleArray = self._heat[at]
        return kept

    def take(self, amount: float) -> None:
        """Note that so much of the latest direction's rise is due."""
        self._taken[self._count - 1] += amount

    def due(self) -> SingleArray:
        """Return the rise of all that was taken since the solution began."""
        due: SingleArray = self._due + self._rise_taken()
        return due

    def _rise_taken(self) -> SingleArray:
        count = self._count
        share = (self._taken[:count] @ self._mix[:count, :count]).astype(np.float32)
        self._taken[:] = 0.0
        rise: SingleArray = share @ self._given[:count]
        return rise

    def _drop(self) -> None:
        """Let the oldest give way."""
        self._due += self._rise_taken()
        old = self._count - REMAINING
        mix = self._mix[old : self._count, : self._count].astype(np.float32)
        self._given[:REMAINING] = mix @ self._given[: self._count]
        self._heat[:REMAINING] = self._heat[old : self._count]
        self._mix[:REMAINING, :REMAINING] = np.eye(REMAINING)
        self._count = REMAINING


def _less(rows: SingleArray, share: FloatArray | SingleArray, vector: SingleArray) -> SingleArray:
    """Return a vector less the shares of some rows, in its place."""
    less: SingleArray = sgemv(-1.0, rows.T, share, beta=1.0, y=vector, overwrite_y=1)
    return less
