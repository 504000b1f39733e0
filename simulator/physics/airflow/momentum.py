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

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.airflow import kernels
from simulator.physics.airflow.friction import Resistance
from simulator.physics.airflow.staggered import AXES, Layout, StaggeredMesh


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


@dataclass(frozen=True, slots=True)
class MomentumEquation:
    """The equation of one component.

    Attributes
    ----------
    force : of fans, jets, buoyancy and sliding sides on each momentum volume [m⁴/s²].
    inertia : momentum volume over time step [m³/s], zero on closed faces.
    friction : resistance of the faces that have any.
    drag : inertia plus resistance [m³/s], rewritten by ``sweep``.
    """

    mesh: StaggeredMesh
    axis: int
    fields: FlowFields
    work: Workspace
    force: FloatArray
    inertia: FloatArray
    friction: Resistance
    drag: FloatArray

    def sweep(self, is_forward: bool) -> None:
        """Advance the component by one time step and write its flow through faces."""
        for side in AXES:
            self._couple(side)
        self._drive()
        self._relax(is_forward)
        self.update_flow()

    def update_flow(self) -> None:
        """Write the volume flow through the component's faces."""
        axis, fields = self.axis, self.fields
        kernels.volume_flow(fields.velocity[axis], self.mesh.area[axis], fields.flow[axis])

    def _couple(self, side: int) -> None:
        """Write how the momentum volumes on both sides of their sides normal to ``side`` couple."""
        view, along = self.mesh.layout.view, self.mesh.layout.strides[self.axis]
        across = self.mesh.layout.strides[side]
        fields, work = self.fields, self.work
        below, above = view(work.below[side]), view(work.above[side])
        if side == self.axis:  # the side lies in the middle of a cell, else on an edge
            viscosity = view(fields.viscosity, -along)
        else:
            viscosity = view(fields.edge_viscosity[3 - self.axis - side])
        flow, conductance = fields.flow[side], self.mesh.conductance[self.axis][side]
        kernels.coupling(view(flow, -along), view(flow), view(conductance), viscosity, below, above)
        velocity = fields.velocity[self.axis]
        around = [view(velocity, shift) for shift in (-2 * across, -across, 0, across)]
        kernels.deferred_flux(
            below, above, around[0], around[1], around[2], around[3], view(work.deferred[side])
        )

    def _drive(self) -> None:
        """Write all that does not depend on the new velocities."""
        view, strides = self.mesh.layout.view, self.mesh.layout.strides
        fields, driven = self.fields, view(self.work.driven)
        kernels.driving(
            view(self.force),
            view(self.inertia),
            view(fields.velocity[self.axis]),
            view(self.mesh.area[self.axis]),
            view(fields.pressure, -strides[self.axis]),
            view(fields.pressure),
            driven,
        )
        low = [view(self.work.deferred[side]) for side in AXES]
        high = [view(self.work.deferred[side], strides[side]) for side in AXES]
        kernels.add_flux_balance(low[0], high[0], low[1], high[1], low[2], high[2], driven)
        kernels.resistance(
            self.friction.faces,
            self.friction.laminar,
            self.friction.turbulent,
            self.friction.linear,
            self.friction.quadratic,
            fields.speed,
            strides[self.axis],
            self.inertia,
            self.drag,
        )

    def _relax(self, is_forward: bool) -> None:
        view, strides = self.mesh.layout.view, self.mesh.layout.strides
        inverse, driven = view(self.work.inverse), view(self.work.driven)
        low = [view(self.work.below[side]) for side in AXES]
        high = [view(self.work.above[side], strides[side]) for side in AXES]
        kernels.inverse_sum(
            low[0], high[0], low[1], high[1], low[2], high[2], view(self.drag), inverse
        )
        relax = kernels.relax_forward if is_forward else kernels.relax_backward
        relax(
            self.fields.velocity[self.axis],
            inverse,
            driven,
            low[0],
            high[0],
            low[1],
            high[1],
            low[2],
            high[2],
            self.mesh.layout.first,
            strides[0],
            strides[1],
        )
