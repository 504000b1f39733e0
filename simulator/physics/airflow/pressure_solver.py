"""The pressure equation, solved by conjugate gradients with a multigrid preconditioner."""

from collections.abc import Callable

import numpy as np

from simulator.errors import ConvergenceError
from simulator.grid.grid import FloatArray
from simulator.physics.airflow import gradient_kernels as kernels
from simulator.physics.airflow.halves import Halves, Work
from simulator.physics.airflow.multigrid import Multigrid
from simulator.physics.airflow.staggered import MIDDLE, PARTS, Layout


def already_written(part: int) -> None:
    """Nothing is left to write."""


class PressureSolver:
    """Solves sum over faces of c (x - x_neighbour) = rhs over the cells of a layout.

    Attributes
    ----------
    coefficients : of the faces normal to x, y, z; to be written before or by ``prepare``.
    residual : the right-hand side, to be written before ``solve``, which leaves the residual in it.
    """

    def __init__(self, layout: Layout, halves: Halves | None = None) -> None:
        self._layout = layout
        self._halves = halves or Halves(layout)
        self._multigrid = Multigrid(layout, self._halves)
        finest = self._multigrid.finest
        self.coefficients, self.residual = finest.coefficients, finest.rhs
        self._direction, self._image = layout.zeros(), layout.zeros()
        #: What each part adds to the scalar product at hand; added up in a fixed order.
        self._sums = np.zeros(len(PARTS))
        self._spans = [layout.span(part) for part in PARTS]
        vectors = finest.x, self._direction, self._image, finest.rhs
        #: Gradient, direction, image and residual of each part.
        self._of_part = [[self._view(part, field) for field in vectors] for part in PARTS]

    def prepare(self, write: Work = already_written) -> None:
        """Make the coarse levels; ``write`` may write the coefficients of a part first."""
        self._multigrid.prepare(write)

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
        start = self._begin(solution)
        last, norm, iterations = 1.0, start, 0
        while norm > reduction * reduction * start and iterations < most_iterations:
            self._multigrid.cycle(self._multiply)
            product = self._total()
            curvature = self._turn(product / last)
            if curvature <= 0.0:
                break
            norm = self._advance(product / curvature, solution)
            last = product
            iterations += 1
            tick()
        if not np.isfinite(norm):
            raise ConvergenceError(
                "the airflow became unsteady beyond what can be computed; use a smaller time step"
            )
        return iterations

    def _begin(self, solution: FloatArray) -> float:
        """Write zeros; return the squared norm of the right-hand side."""

        def begin(part: int) -> None:
            _, direction, _, residual = self._of_part[part]
            direction[:] = 0.0
            self._view(part, solution)[:] = 0.0
            self._sums[part] = kernels.dot(residual, residual)

        self._halves.inward(begin)
        return self._total()

    def _multiply(self, part: int) -> None:
        """Sum the scalar product of residual and gradient over a part."""
        gradient, _, _, residual = self._of_part[part]
        self._sums[part] = kernels.dot(residual, gradient)

    def _turn(self, ratio: float) -> float:
        """Write the new direction and its image; return their scalar product."""
        x_stride, y_stride, _ = self._layout.strides

        def turn(part: int) -> None:
            gradient, direction, _, _ = self._of_part[part]
            kernels.turn(ratio, gradient, direction)

        def apply(part: int) -> None:
            span = self._spans[part]
            self._sums[part] = kernels.apply_operator(
                self._direction,
                *self.coefficients,
                self._image,
                span.start,
                span.stop,
                x_stride,
                y_stride,
            )

        def turn_and_apply(part: int) -> None:
            turn(part)
            apply(part)

        turn(MIDDLE)  # first, since the images of both halves need it
        self._halves.run(turn_and_apply)
        apply(MIDDLE)  # last, since it needs the direction in both
        return self._total()

    def _advance(self, step: float, solution: FloatArray) -> float:
        """Advance the solution; return the squared norm of the residual."""

        def advance(part: int) -> None:
            _, direction, image, residual = self._of_part[part]
            self._sums[part] = kernels.advance(
                step, direction, image, self._view(part, solution), residual
            )

        self._halves.inward(advance)
        return self._total()

    def _view(self, part: int, field: FloatArray) -> FloatArray:
        return self._layout.view(field, 0, self._spans[part])

    def _total(self) -> float:
        low, high, middle = self._sums
        return float((low + high) + middle)
