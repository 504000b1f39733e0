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

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.airflow import momentum_kernels as kernels
from simulator.physics.airflow.friction import Resistance
from simulator.physics.airflow.halves import Halves
from simulator.physics.airflow.staggered import AXES, HIGH, MIDDLE, PARTS, Layout, StaggeredMesh

#: Cells of a slab, whose buffers then stay in the cache. Measured at 384 thousand cells: all three
#: components take 16.8 ms instead of 20.3 ms in one slab; up to 48 thousand cells it is all one ...
SLAB_CELLS = 30_000
#: ... if that makes at least two planes, since the slab ahead looks two cells back.
LEAST_SLAB_PLANES = 2


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
    """Buffers that the components use one after another, for two slabs of each part."""

    def __init__(self, layout: Layout) -> None:
        plane = layout.strides[0]
        planes = max(SLAB_CELLS // plane, LEAST_SLAB_PLANES)
        #: Length of a slab.
        self.slab = planes * plane
        shape = 2, kernels.BUFFERS, self.slab + plane
        self.buffers = [np.zeros(shape) for _ in PARTS]


class MomentumEquation:
    """The equation of one component.

    Attributes
    ----------
    force : of fans, jets, buoyancy and sliding sides on each momentum volume [m⁴/s²].
    drag : inertia plus resistance [m³/s], rewritten by ``sweep``.

    Parameters
    ----------
    inertia : momentum volume over time step [m³/s], zero on closed faces.
    resistance : of the faces that have any.
    """

    def __init__(
        self,
        mesh: StaggeredMesh,
        axis: int,
        fields: FlowFields,
        work: Workspace,
        force: FloatArray,
        inertia: FloatArray,
        resistance: Resistance,
    ) -> None:
        self.force, self.drag = force, inertia.copy()
        self._work = work
        spans = [mesh.layout.span(part) for part in PARTS]
        self._ranges = [(span.start, span.stop, work.slab) for span in spans]
        self._component = _component(mesh, axis, fields, force, inertia, self.drag)
        self._friction = _friction(mesh.layout, resistance)

    def sweep(self, is_inward: bool, halves: Halves) -> None:
        """Advance the component by one time step and write its flow through faces.

        Inward, both halves are swept towards the middle and the middle last; outward, all in the
        reverse order. All take the velocities of the step before for what reaches two cells far,
        so what touches the middle begins before it is relaxed.
        """

        def begin(part: int) -> None:
            self._call(kernels.begin_sweep, part, is_inward)

        def finish(part: int) -> None:
            self._call(kernels.finish_sweep, part, is_inward)

        def sweep(part: int) -> None:
            begin(part)
            finish(part)

        begin(MIDDLE)
        if is_inward:
            halves.run(sweep)
            finish(MIDDLE)
        else:
            halves.run(begin)
            finish(MIDDLE)
            halves.run(finish)

    def _call(self, loop: Callable[..., None], part: int, is_inward: bool) -> None:
        is_rising = is_inward == (part != HIGH)
        buffers = self._work.buffers[part]
        loop(self._component, self._friction, buffers, *self._ranges[part], is_rising)

    def update_flow(self) -> None:
        """Write the volume flow through the component's faces."""
        own = self._component
        kernels.volume_flow(own.velocity, own.area, own.flow)


def _component(
    mesh: StaggeredMesh,
    axis: int,
    fields: FlowFields,
    force: FloatArray,
    inertia: FloatArray,
    drag: FloatArray,
) -> kernels.Component:
    strides = mesh.layout.strides
    conductance = mesh.conductance[axis]
    # a side lies on an edge, but those normal to the component in the middle of a cell
    x, y, z = (
        fields.viscosity if side == axis else fields.edge_viscosity[3 - axis - side]
        for side in AXES
    )
    shifts = [-strides[axis] if side == axis else 0 for side in AXES]
    return kernels.Component(
        velocity=fields.velocity[axis],
        flow=fields.flow[axis],
        area=mesh.area[axis],
        force=force,
        inertia=inertia,
        drag=drag,
        pressure=fields.pressure,
        speed=fields.speed,
        flows=fields.flow,
        conductances=(conductance[0], conductance[1], conductance[2]),
        viscosities=(x, y, z),
        x_shift=shifts[0],
        y_shift=shifts[1],
        z_shift=shifts[2],
        along=strides[axis],
        x_stride=strides[0],
        y_stride=strides[1],
    )


def _friction(layout: Layout, resistance: Resistance) -> kernels.Friction:
    planes = np.arange(layout.padded[0] + 1) * layout.strides[0]
    return kernels.Friction(
        starts=np.searchsorted(resistance.faces, planes),
        faces=resistance.faces,
        laminar=resistance.laminar,
        turbulent=resistance.turbulent,
        linear=resistance.linear,
        quadratic=resistance.quadratic,
    )
