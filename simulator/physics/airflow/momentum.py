"""The momentum equation of one velocity component, advanced by one implicit sweep a step.

The equation of the velocity q of a face, times its momentum volume V:

    V dq/dt = convection by the flows through the volume's sides (upwind, and by the velocities of
              the step before what bounded QUICK exceeds upwind)
            + diffusion (molecular and eddy viscosity)
            - friction and drag
            + force of fans, jets, buoyancy
            + pressure

One Gauss-Seidel sweep in place is stable far beyond a CFL number of one. Convection is written
without q times the divergence, which vanishes in the mean flow.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import chain

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.airflow import kernels
from simulator.physics.airflow.friction import Resistance
from simulator.physics.airflow.halves import Halves
from simulator.physics.airflow.staggered import AXES, HIGH, MIDDLE, PARTS, Layout, StaggeredMesh

#: A compiled loop with its arrays.
Call = Callable[[], None]


@dataclass(frozen=True, slots=True)
class FlowFields:
    """The fields that all three components share; padded."""

    velocity: tuple[FloatArray, FloatArray, FloatArray]  # of faces [m/s]
    flow: tuple[FloatArray, FloatArray, FloatArray]  # through faces [m³/s]
    pressure: FloatArray  # over density [m²/s²]
    speed: FloatArray  # of cells [m/s]
    viscosity: FloatArray  # molecular and eddy, of cells [m²/s]
    edge_viscosity: tuple[FloatArray, FloatArray, FloatArray]  # of edges along x, y, z [m²/s]


def flow_fields(layout: Layout, viscosity: float) -> FlowFields:
    """Return air at rest."""
    return FlowFields(
        velocity=layout.zeros_of_each_axis(),
        flow=layout.zeros_of_each_axis(),
        pressure=layout.zeros(),
        speed=layout.zeros(),
        viscosity=np.full(layout.size, viscosity),
        edge_viscosity=layout.zeros_of_each_axis(),
    )


class Workspace:
    """Arrays that the components use one after another; names as in ``kernels``."""

    def __init__(self, layout: Layout) -> None:
        self.below = layout.zeros_of_each_axis()
        self.above = layout.zeros_of_each_axis()
        self.deferred = layout.zeros_of_each_axis()
        self.driven = layout.zeros()
        self.inverse = layout.zeros()


class MomentumEquation:
    """The equation of one component.

    Its loops are bound to their arrays once, for each part of the layout.

    Attributes
    ----------
    force : of fans, jets, buoyancy and sliding sides on each momentum volume [m⁴/s²].
    inertia : momentum volume over time step [m³/s], zero on closed faces.
    friction : resistance of the faces that have any.
    drag : inertia plus resistance [m³/s], rewritten by ``sweep``.
    """

    def __init__(
        self,
        mesh: StaggeredMesh,
        axis: int,
        fields: FlowFields,
        work: Workspace,
        force: FloatArray,
        inertia: FloatArray,
        friction: Resistance,
    ) -> None:
        self.mesh, self.axis, self.fields, self.work = mesh, axis, fields, work
        self.force, self.inertia, self.friction = force, inertia, friction
        self.drag = inertia.copy()
        self._preparations = [self._preparation(part) for part in PARTS]
        self._rising = [self._relaxation(kernels.relax_forward, part) for part in PARTS]
        self._falling = [self._relaxation(kernels.relax_backward, part) for part in PARTS]

    def sweep(self, is_inward: bool, halves: Halves) -> None:
        """Advance the component by one time step and write its flow through faces.

        Inward, both halves are swept towards the middle and the middle last; outward, all in the
        reverse order. The middle is prepared first, since both halves need it and it looks two
        cells into both.
        """
        self._prepare(MIDDLE)
        if is_inward:
            halves.run(self._prepare_and_relax)
            self._relax(MIDDLE, is_inward)
        else:
            halves.run(self._prepare)
            self._relax(MIDDLE, is_inward)
            halves.run(self._relax_outward)

    def update_flow(self) -> None:
        """Write the volume flow through the component's faces."""
        axis, fields = self.axis, self.fields
        kernels.volume_flow(fields.velocity[axis], self.mesh.area[axis], fields.flow[axis])

    def _prepare(self, part: int) -> None:
        """Write all that the relaxation of a part needs."""
        for call in self._preparations[part]:
            call()

    def _relax(self, part: int, is_inward: bool) -> None:
        is_rising = is_inward == (part != HIGH)
        for call in (self._rising if is_rising else self._falling)[part]:
            call()

    def _relax_outward(self, part: int) -> None:
        self._relax(part, is_inward=False)

    def _prepare_and_relax(self, part: int) -> None:
        self._prepare(part)
        self._relax(part, is_inward=True)

    def _preparation(self, part: int) -> list[Call]:
        span, side_span = self.mesh.layout.span(part), self.mesh.layout.side_span(part)
        couplings = [self._couple(side, side_span if side == 0 else span) for side in AXES]
        return [*chain(*couplings), *self._drive(span)]

    def _couple(self, side: int, span: slice) -> list[Call]:
        """How the momentum volumes on both sides of their sides normal to ``side`` couple."""
        along, across = self.mesh.layout.strides[self.axis], self.mesh.layout.strides[side]
        fields, work = self.fields, self.work

        def view(field: FloatArray, offset: int = 0) -> FloatArray:
            return self.mesh.layout.view(field, offset, span)

        below, above = view(work.below[side]), view(work.above[side])
        if side == self.axis:  # the side lies in the middle of a cell, else on an edge
            viscosity = view(fields.viscosity, -along)
        else:
            viscosity = view(fields.edge_viscosity[3 - self.axis - side])
        flow, conductance = fields.flow[side], self.mesh.conductance[self.axis][side]
        flows, velocity = (view(flow, -along), view(flow)), fields.velocity[self.axis]
        around = [view(velocity, shift) for shift in (-2 * across, -across, 0, across)]
        read_and_written = [below, above, *around, view(work.deferred[side])]
        return [
            partial(kernels.coupling, *flows, view(conductance), viscosity, below, above),
            partial(kernels.deferred_flux, *read_and_written),
        ]

    def _drive(self, span: slice) -> list[Call]:
        """All that does not depend on the new velocities, and the main diagonal."""
        strides, fields, work = self.mesh.layout.strides, self.fields, self.work

        def view(field: FloatArray, offset: int = 0) -> FloatArray:
            return self.mesh.layout.view(field, offset, span)

        deferred = [
            view(work.deferred[side], shift) for side in AXES for shift in (0, strides[side])
        ]
        balanced = [*deferred, view(work.driven)]
        summed = [*self._couplings(span), view(self.drag), view(work.inverse)]
        acting = self.friction.within(span)
        return [
            partial(
                kernels.driving,
                view(self.force),
                view(self.inertia),
                view(fields.velocity[self.axis]),
                view(self.mesh.area[self.axis]),
                view(fields.pressure, -strides[self.axis]),
                view(fields.pressure),
                view(work.driven),
            ),
            partial(kernels.add_flux_balance, *balanced),
            partial(
                kernels.resistance,
                acting.faces,
                acting.laminar,
                acting.turbulent,
                acting.linear,
                acting.quadratic,
                fields.speed,
                strides[self.axis],
                self.inertia,
                self.drag,
            ),
            partial(kernels.inverse_sum, *summed),
        ]

    def _relaxation(self, sweep: Callable[..., None], part: int) -> list[Call]:
        span, (x_stride, y_stride, _) = self.mesh.layout.span(part), self.mesh.layout.strides
        velocity, flow = self.fields.velocity[self.axis], self.fields.flow[self.axis]
        area, inverse, driven = self.mesh.area[self.axis], self.work.inverse, self.work.driven
        return [
            partial(
                sweep,
                velocity,
                inverse[span],
                driven[span],
                *self._couplings(span),
                span.start,
                x_stride,
                y_stride,
            ),
            partial(kernels.volume_flow, velocity[span], area[span], flow[span]),
        ]

    def _couplings(self, span: slice) -> list[FloatArray]:
        """Weights of the neighbours below and above along x, y, z."""
        view, strides = self.mesh.layout.view, self.mesh.layout.strides
        return [
            field
            for side in AXES
            for field in (
                view(self.work.below[side], 0, span),
                view(self.work.above[side], strides[side], span),
            )
        ]
