"""The flow at one instant and how it goes on: momentum, then a solenoidal projection."""

import numpy as np

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow import kernels
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.fan_curve import Throttle
from simulator.physics.airflow.friction import moving_side_force, resistance
from simulator.physics.airflow.halves import Halves
from simulator.physics.airflow.momentum import MomentumEquation, Workspace, flow_fields
from simulator.physics.airflow.movers import Disc, discs, eddy_cap, mover_force
from simulator.physics.airflow.open_faces import bodies_of_air
from simulator.physics.airflow.projection import Fields, Projection, Tick
from simulator.physics.airflow.settings import AirflowSettings
from simulator.physics.airflow.staggered import (
    AXES,
    PARTS,
    Layout,
    StaggeredMesh,
    face_mean,
)
from simulator.physics.airflow.wall_distance import wall_distance

#: Iterations of the pressure equation in one step, at most.
MOST_ITERATIONS = 30


class FlowStepper:
    """Steps the flow of one grid.

    Attributes
    ----------
    fields : the flow now.
    eddies : eddy viscosity of each cell [m²/s], a padded field.
    time_step : [s].
    pressure_iterations : of the last step.
    projection : makes velocities of this grid solenoidal.
    """

    def __init__(
        self,
        grid: Grid,
        mesh: StaggeredMesh,
        cell_source: FloatArray,
        buoyancy: FloatArray,
        settings: AirflowSettings,
        tick: Tick,
        halves: Halves | None = None,
    ) -> None:
        layout = mesh.layout
        self._halves = halves or Halves(layout)
        self.fields = flow_fields(layout, settings.viscosity)
        self.eddies = layout.zeros()
        self.time_step = settings.step_per_cell * grid.cell_size
        self.pressure_iterations = 0
        self.mesh, self._settings = mesh, settings
        self.projection = Projection(mesh, layout.pad_cells(cell_source), self._halves)
        tick()
        self._eddy_length = settings.eddies.coefficient * layout.pad_cells(wall_distance(grid))
        tick()
        self._eddy_cap = eddy_cap(grid, layout, settings.eddies)
        tick()
        movers = discs(grid, mesh)
        tick()
        self._equations = self._momentum_equations(grid, movers, cell_source, buoyancy, tick)
        self._throttle = Throttle(movers, grid.cell_size, self.time_step, settings.fan_response)
        self._is_inward = True

    def _momentum_equations(
        self,
        grid: Grid,
        movers: tuple[Disc, ...],
        cell_source: FloatArray,
        buoyancy: FloatArray,
        tick: Tick,
    ) -> tuple[MomentumEquation, ...]:
        mesh, settings = self.mesh, self._settings
        work = Workspace(mesh.layout)
        thrust = mover_force(mesh, movers)
        tick()
        forces = self._forces(thrust, buoyancy)
        tick()
        moving = moving_bodies(grid, mesh, forces, cell_source)
        equations = []
        for axis in AXES:
            tick()
            volume = mesh.momentum_volume(axis) * moving
            inertia = volume * self._rate(thrust[axis], axis)
            friction = resistance(grid, mesh, cell_source, axis, volume, settings)
            equations.append(
                MomentumEquation(mesh, axis, self.fields, work, forces[axis], inertia, friction)
            )
        return tuple(equations)

    def _forces(self, thrust: Fields, buoyancy: FloatArray) -> Fields:
        """All forces on the momentum volumes [m⁴/s²]."""
        mesh = self.mesh
        x, y, z = (thrust[axis] + moving_side_force(mesh, axis, self._settings) for axis in AXES)
        push = face_mean(mesh.layout.pad_cells(buoyancy), mesh.layout.strides[2])
        return x, y, z + push * mesh.momentum_volume(2)

    def _rate(self, thrust: FloatArray, axis: int) -> FloatArray:
        """One over the time step of each face, shorter in discs, where else the start blows up."""
        volume = self.mesh.momentum_volume(axis)
        force = np.divide(np.abs(thrust), volume, out=np.zeros_like(volume), where=volume > 0.0)
        return 1.0 / self.time_step + np.sqrt(force / self.mesh.distance[axis])

    def start_from(self, airflow: Airflow) -> None:
        """Take the flow from a solution on a grid of the same shape, through what is open here."""
        given = (airflow.x_velocity, airflow.y_velocity, airflow.z_velocity)
        for axis, velocity in enumerate(given):
            padded = self.mesh.layout.pad_faces(velocity, axis) * self.mesh.openness[axis]
            self.fields.velocity[axis][:] = padded
            self._equations[axis].update_flow()
        self._throttle.start_from(airflow.thrust_share, self._force)
        for part in PARTS:
            self._update_speed(part)

    @property
    def thrust_share(self) -> FloatArray:
        """Thrust of every fan and then of every jet over its free thrust now [-]."""
        return self._throttle.shares

    @property
    def _force(self) -> Fields:
        x, y, z = (equation.force for equation in self._equations)
        return x, y, z

    @property
    def is_driven(self) -> bool:
        """Whether any force acts."""
        return any(bool(equation.force.any()) for equation in self._equations)

    def step(self, tick: Tick) -> None:
        """Advance the flow by one time step; ``tick`` is called between compiled loops."""
        self._halves.outward(self._write_edge_viscosity)
        for equation in self._equations:
            equation.sweep(self._is_inward, self._halves)
            tick()
        self._is_inward = not self._is_inward
        self._project(tick)
        self._throttle.update(self.fields.velocity, self._force)

    def add_to(
        self, velocity: Fields, eddies: FloatArray, thrust_share: FloatArray, speed: FloatArray
    ) -> None:
        """Add the flow now to sums over time."""

        def add(part: int) -> None:
            span = self.mesh.layout.side_span(part)
            for axis in AXES:
                kernels.add(self.fields.velocity[axis][span], velocity[axis][span])
            kernels.add(self.eddies[span], eddies[span])
            kernels.add(self.fields.speed[span], speed[span])

        self._halves.outward(add)
        thrust_share += self.thrust_share

    def _write_edge_viscosity(self, part: int) -> None:
        layout, fields = self.mesh.layout, self.fields
        span = layout.side_span(part)
        for axis in AXES:
            one, two = (layout.strides[b] for b in AXES if b != axis)
            shifts = (0, -one, -two, -one - two)
            arrays = [layout.view(fields.viscosity, shift, span) for shift in shifts]
            arrays.append(fields.edge_viscosity[axis][span])
            kernels.edge_mean(*arrays)

    def _project(self, tick: Tick) -> None:
        drag = tuple(equation.drag for equation in self._equations)
        self.pressure_iterations = self.projection.project(
            self.fields.velocity,
            self.fields.flow,
            (drag[0], drag[1], drag[2]),
            self._settings.projection_reduction,
            MOST_ITERATIONS,
            tick,
            self._finish,
        )

    def _finish(self, part: int) -> None:
        """Write the pressure, and what follows from the velocity."""
        span = self.mesh.layout.span(part)
        kernels.add(self.projection.potential[span], self.fields.pressure[span])
        self._update_speed(part)

    def _update_speed(self, part: int) -> None:
        """Write the speed and the viscosity of a part."""
        layout, fields = self.mesh.layout, self.fields
        span = layout.span(part)
        write_speed(layout, fields.velocity, fields.speed, span)
        kernels.eddy_viscosity(
            fields.speed[span],
            self._eddy_length[span],
            self._eddy_cap[span],
            self._settings.viscosity,
            self.eddies[span],
            fields.viscosity[span],
        )


def moving_bodies(
    grid: Grid, mesh: StaggeredMesh, forces: Fields, cell_source: FloatArray
) -> FloatArray:
    """Return 1 in cells of bodies of air that something moves, 0 elsewhere; a padded field.

    Without it the loose projection of each step would stir shut rooms by some mm/s, because the
    coarse cells of its preconditioner reach across thin walls.
    """
    bodies = bodies_of_air(grid)
    pushed = (np.abs(mesh.layout.cells(force)) for force in forces)
    touched = sum(pushed, np.abs(cell_source)).ravel() > 0.0
    is_moving = np.zeros(int(bodies.max()) + 2, dtype=np.bool_)
    is_moving[bodies[touched]] = True
    is_moving[-1] = False  # where bodies is -1
    return mesh.layout.pad_cells(is_moving[bodies].reshape(grid.shape).astype(np.float64))


def write_speed(
    layout: Layout, velocity: Fields, out: FloatArray, span: slice | None = None
) -> None:
    """Write |V| of each cell, or of a span of them, [m/s] from its face velocities."""
    shifts = ((axis, shift) for axis in AXES for shift in (0, layout.strides[axis]))
    arrays = [layout.view(velocity[axis], shift, span) for axis, shift in shifts]
    arrays.append(layout.view(out, 0, span))
    kernels.cell_speed(*arrays)
