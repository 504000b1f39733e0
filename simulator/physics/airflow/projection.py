"""Makes face velocities solenoidal: what enters each cell leaves it."""

from collections.abc import Callable

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.airflow import kernels, momentum_kernels
from simulator.physics.airflow.halves import Halves, Work
from simulator.physics.airflow.pressure_solver import PressureSolver
from simulator.physics.airflow.staggered import AXES, PARTS, StaggeredMesh

Fields = tuple[FloatArray, FloatArray, FloatArray]
Tick = Callable[[], None]

#: Each pass of ``make_solenoidal`` reduces the divergence by this; a few passes reach round-off.
PASS_REDUCTION = 1e-8
MOST_PASSES = 6
#: Divergence over the largest velocity [-] that counts as round-off.
ROUND_OFF = 4e-15
MOST_ITERATIONS = 200


def nothing_more(part: int) -> None:
    """Nothing else is to be done."""


class Projection:
    """Adds the gradient of a potential to face velocities.

    Parameters
    ----------
    cell_source : volume that enters each cell [m³/s], a padded field.
    """

    def __init__(
        self, mesh: StaggeredMesh, cell_source: FloatArray, halves: Halves | None = None
    ) -> None:
        self._mesh = mesh
        self._halves = halves or Halves(mesh.layout)
        self._source = cell_source
        self._solver = PressureSolver(mesh.layout, self._halves)
        #: What the last projection added to the pressure over density [m²/s²].
        self.potential = mesh.layout.zeros()

    def project(
        self,
        velocity: Fields,
        flow: Fields,
        drag: Fields,
        reduction: float,
        most_iterations: int,
        tick: Tick,
        finish: Work = nothing_more,
    ) -> int:
        """Push ``velocity`` [m/s] and write its ``flow`` [m³/s]; return the iterations.

        ``drag`` [m³/s] is what resists the push on each face; zero on closed faces. ``finish`` is
        called with each part whose faces have been pushed, and those of ``MIDDLE``.
        """

        def write(part: int) -> None:
            self._write_coefficients(part, drag)
            self._write_surplus(part, flow)

        def push(part: int) -> None:
            self._push(part, velocity, flow, drag)
            finish(part)

        self._solver.prepare(write)
        iterations = self._solver.solve(self.potential, reduction, most_iterations, tick)
        self._halves.outward(push)
        return iterations

    def _write_coefficients(self, part: int, drag: Fields) -> None:
        for axis in AXES:
            span = self._face_span(part, axis)
            kernels.face_coefficient(
                self._mesh.area[axis][span], drag[axis][span], self._solver.coefficients[axis][span]
            )

    def _push(self, part: int, velocity: Fields, flow: Fields, drag: Fields) -> None:
        view, strides = self._mesh.layout.view, self._mesh.layout.strides
        for axis in AXES:
            span = self._face_span(part, axis)
            area = self._mesh.area[axis][span]
            kernels.push_faces(
                view(self.potential, -strides[axis], span),
                self.potential[span],
                area,
                drag[axis][span],
                velocity[axis][span],
            )
            momentum_kernels.volume_flow(velocity[axis][span], area, flow[axis][span])

    def _face_span(self, part: int, axis: int) -> slice:
        layout = self._mesh.layout
        return layout.side_span(part) if axis == 0 else layout.span(part)

    def make_solenoidal(self, velocity: Fields, tick: Tick) -> float:
        """Push ``velocity`` as little as possible until only round-off of its divergence is left.

        Each pass works on what the one before left. Returns ``divergence`` [m/s].
        """
        volumes = self._of_each(self._mesh.momentum_volume)
        flow = self._of_each(lambda axis: velocity[axis] * self._mesh.area[axis])
        left = self.divergence(flow)
        for _ in range(MOST_PASSES):
            target = ROUND_OFF * max(float(np.abs(component).max()) for component in velocity)
            if left <= target:
                break
            # a singular equation must not be solved beyond the round-off of its right-hand side
            reduction = max(PASS_REDUCTION, 0.2 * target / left)
            self.project(velocity, flow, volumes, reduction, MOST_ITERATIONS, tick)
            left = self.divergence(flow)
        return left

    @staticmethod
    def _of_each(field: Callable[[int], FloatArray]) -> Fields:
        return field(0), field(1), field(2)

    def divergence(self, flow: Fields) -> float:
        """Largest |inflow + source - outflow| of any cell over its smallest face [m/s]."""
        for part in PARTS:
            self._write_surplus(part, flow)
        widths = np.meshgrid(*self._mesh.widths, indexing="ij", sparse=True)
        smallest = self._mesh.volume.reshape(self._mesh.layout.padded) / np.maximum(
            np.maximum(widths[0], widths[1]), widths[2]
        )
        return float(np.max(np.abs(self._solver.residual) / smallest.ravel()))

    def _write_surplus(self, part: int, flow: Fields) -> None:
        view, strides = self._mesh.layout.view, self._mesh.layout.strides
        span = self._mesh.layout.span(part)
        sides = [view(flow[axis], shift, span) for axis in AXES for shift in (0, strides[axis])]
        sides += [self._source[span], self._solver.residual[span]]
        kernels.flow_surplus(*sides)
