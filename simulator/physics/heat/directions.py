"""Search directions kept from one linear solution for the next: most of it lies among them."""

import numpy as np
from scipy.linalg.blas import sgemv

from simulator.grid.grid import FloatArray
from simulator.physics.heat.kernels import SingleArray

#: Directions that are kept: more take fewer iterations, but each of those takes longer (measured).
MOST_DIRECTIONS = 20

#: If less than this share of a direction is new, single precision does not tell it from the others,
#: and all begins anew with it [-].
LEAST_NOVELTY = 1e-4


class Directions:
    """Rises of temperature and the heat that each asks for, the latter orthonormal.

    In single precision, for they only ever carry corrections. The oldest give way to new ones.
    """

    def __init__(self, nodes: int) -> None:
        self._rise = np.zeros((MOST_DIRECTIONS, nodes), dtype=np.float32)
        self._heat = np.zeros((MOST_DIRECTIONS, nodes), dtype=np.float32)
        self._added = 0

    def clear(self) -> None:
        """Forget all directions: those of one matrix are of no use to another."""
        self._added = 0

    def take_up(self, x: FloatArray, residual: SingleArray) -> None:
        """Add to ``x`` what all kept directions can do; take it from the residual."""
        count = self._count
        if not count:
            return
        share = self._heat[:count] @ residual
        x += share @ self._rise[:count]
        residual[:] = _less(self._heat[:count], share, residual)

    def add(self, rise: SingleArray, heat: SingleArray) -> tuple[SingleArray, SingleArray]:
        """Keep a direction, made orthogonal to the others; return it and its heat of length one.

        ``rise`` is changed in place.
        """
        length, count = np.sqrt(heat @ heat), self._count
        if count:
            share = self._heat[:count] @ heat
            other_heat = _less(self._heat[:count], share, heat.copy())
            novelty = np.sqrt(other_heat @ other_heat)
            if novelty > LEAST_NOVELTY * length:
                heat, length = other_heat, novelty
                rise = _less(self._rise[:count], share, rise)
            else:
                self.clear()
        place = self._added % MOST_DIRECTIONS
        np.divide(heat, length, out=self._heat[place])
        np.divide(rise, length, out=self._rise[place])
        self._added += 1
        return self._rise[place], self._heat[place]

    @property
    def _count(self) -> int:
        return min(self._added, MOST_DIRECTIONS)


def _less(rows: SingleArray, share: SingleArray, vector: SingleArray) -> SingleArray:
    """Return a vector less the shares of some rows, in its place."""
    less: SingleArray = sgemv(-1.0, rows.T, share, beta=1.0, y=vector, overwrite_y=1)
    return less
