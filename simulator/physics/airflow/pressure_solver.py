"""The pressure equation, solved by conjugate gradients with a multigrid preconditioner."""

from collections.abc import Callable

import numpy as np

from simulator.errors import ConvergenceError
from simulator.grid.grid import FloatArray, IntArray
from simulator.physics.airflow import multigrid_kernels as kernels
from simulator.physics.airflow.staggered import GHOSTS, Layout

#: A level this small is the coarsest.
COARSEST_CELLS = 40
COARSEST_SWEEPS = 4


class PressureSolver:
    """Solves sum over faces of c (x - x_neighbour) = rhs over the cells of a layout.

    Multigrid on cells joined two by two along every axis; one Gauss-Seidel sweep rising before and
    one falling after, so that the cycle is symmetric and plain conjugate gradients may use it.
    """

    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._levels = _levels(layout)
        total = int(self._levels[-1, 0] + _padded_size(self._levels[-1]))
        fields = [np.zeros(total) for _ in range(7)]
        self._cx, self._cy, self._cz, self._inverse, self._x, self._rhs, self._scratch = fields
        self._direction, self._image = layout.zeros(), layout.zeros()
        n = layout.size
        #: Face coefficients of the finest level, to be written before ``prepare``.
        self.coefficients = self._cx[:n], self._cy[:n], self._cz[:n]
        #: Right-hand side, to be written before ``solve``; ``solve`` leaves the residual in it.
        self.residual = self._rhs[:n]

    def prepare(self) -> None:
        """Make the coarse levels after the coefficients have been written."""
        kernels.prepare(self._levels, self._cx, self._cy, self._cz, self._inverse)

    def solve(
        self,
        solution: FloatArray,
        reduction: float,
        most_iterations: int,
        tick: Callable[[], None],
    ) -> int:
        """Write the solution, from zero, until the residual's norm fell by ``reduction``.

        Returns the number of iterations. ``tick`` is called once in each.

        Raises
        ------
        ConvergenceError
            If the residual is not finite.
        """
        first, (x_stride, y_stride, _) = self._layout.strides[0], self._layout.strides
        n = self._layout.size
        gradient = self._x[:n]
        solution[:] = 0.0
        self._direction[:] = 0.0
        start = kernels.dot(self.residual, self.residual)
        last, norm, iterations = 1.0, start, 0
        while norm > reduction * reduction * start and iterations < most_iterations:
            kernels.v_cycle(
                self._levels,
                self._x,
                self._rhs,
                self._inverse,
                self._cx,
                self._cy,
                self._cz,
                self._scratch,
                COARSEST_SWEEPS,
            )
            product = kernels.dot(self.residual, gradient)
            kernels.turn(product / last, gradient, self._direction)
            curvature = kernels.apply_operator(
                self._direction, *self.coefficients, self._image, first, x_stride, y_stride
            )
            if curvature <= 0.0:
                break
            norm = kernels.advance(
                product / curvature, self._direction, self._image, solution, self.residual
            )
            last = product
            iterations += 1
            tick()
        if not np.isfinite(norm):
            raise ConvergenceError(
                "the airflow became unsteady beyond what can be computed; use a smaller time step"
            )
        return iterations


def _levels(layout: Layout) -> IntArray:
    """Rows (start, nx, ny, nz, ghosts), from the finest to the coarsest level."""
    rows = [(0, *layout.shape, GHOSTS)]
    while np.prod(rows[-1][1:4]) > COARSEST_CELLS:
        start = rows[-1][0] + _padded_size(np.array(rows[-1]))
        nx, ny, nz = (-(-count // 2) for count in rows[-1][1:4])
        rows.append((start, nx, ny, nz, 1))
    return np.array(rows, dtype=np.int64)


def _padded_size(row: IntArray) -> int:
    return int(np.prod(row[1:4] + 2 * row[4]))
