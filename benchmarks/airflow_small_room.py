"""What sets the speed near surfaces: the cells, the wall friction or the eddies?

One fan blows along an empty closed room of 2.4 x 2.0 x 1.6 m. For cells of 0.10, 0.05 and 0.025 m
it prints the mean |V| within 0.2 m of surfaces, |mean V| there (what a steady solver would call the
speed), mean |V| within 0.05 m, where the fan's thrust goes along its axis (pressure on the two end
walls, friction on the four others, a rest that the solver loses), and all friction on walls
whatever its direction. Then the same on 0.05 m with twice and half the wall friction, twice and
half the eddies, and a tight projection in each step.

Found, where averages of 100 s scatter by 1 to 8 %: 1.03, 1.03 and 1.02 m/s on 0.10, 0.05 and
0.025 m, so the cells hardly matter in an empty room; |mean V| is 16 to 21 % lower; the ends take
0.98 to 1.00 of the thrust, friction along it nearly nothing, the rest lost by the solver is 0.01 to
0.05; all friction together grows from 0.07 to 0.13 as the cells shrink. Half or twice the friction
changes the speed by +2 or -4 %, twice the eddies by -7 %.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_small_room.py [finest cell]``
(5 minutes; 1 minute without 0.025 m)
"""

import os
import platform
import sys
import time
from dataclasses import dataclass, field, replace

import numpy as np
from air_rooms import air_room, fan

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.flow_stepper import FlowStepper, write_speed
from simulator.physics.airflow.friction import Resistance, resistance
from simulator.physics.airflow.near_surface import near_surface_cells
from simulator.physics.airflow.settings import ROOM_AIR, AirflowSettings
from simulator.physics.airflow.staggered import StaggeredMesh, stagger

SIZE = (2.4, 2.0, 1.6)  # [m]
BLOWER = fan((0.5, 0.8, 0.7), (1.0, 0.0, 0.0), diameter=0.4, flow=0.5)
THRUST = BLOWER.flow**2 / (np.pi * BLOWER.diameter**2 / 4.0)  # over density [m⁴/s²]
DISCARD, AVERAGE = 20.0, 100.0  # [s]


@dataclass(slots=True)
class Sums:
    """Sums over time of what the balance needs; forces over density [m⁴/s²]."""

    steps: int = 0
    thrust: float = 0.0
    pressure: float = 0.0  # on the high end less that on the low end
    friction: float = 0.0  # along the fan
    all_friction: float = 0.0
    near: float = 0.0  # speed within 0.2 m of surfaces [m/s]
    nearest: float = 0.0  # within 0.05 m
    kinetic: float = 0.0  # mean |V|² [m²/s²]
    velocity: list[FloatArray] = field(default_factory=list)  # of faces, padded


def wall_forces(friction: Resistance, speed: FloatArray, q: FloatArray, stride: int) -> FloatArray:
    """Return the friction on the listed faces, as the momentum equation has it."""
    i = friction.faces
    V = 0.5 * (speed[i] + speed[i - stride])
    return np.asarray(np.maximum(friction.laminar, friction.turbulent * V**0.75) * q[i])


def add(
    sums: Sums,
    stepper: FlowStepper,
    frictions: list[Resistance],
    layers: tuple[FloatArray, FloatArray],
) -> None:
    """Add the flow of this instant."""
    mesh, fields = stepper.mesh, stepper.fields
    sums.velocity = sums.velocity or list(mesh.layout.zeros_of_each_axis())
    for axis in range(3):
        sums.velocity[axis] += fields.velocity[axis]
        stride = mesh.layout.strides[axis]
        forces = wall_forces(frictions[axis], fields.speed, fields.velocity[axis], stride)
        sums.all_friction += float(np.abs(forces).sum())
        sums.friction += float(forces.sum()) if axis == 0 else 0.0
    p = mesh.layout.cells(fields.pressure)
    u = mesh.layout.faces(fields.velocity[0], 0)
    area = mesh.widths[1][2] * mesh.widths[2][2]
    # the momentum volumes end at the centres of the end cells: what moves there still presses
    low, high = p[0] + (0.5 * u[1]) ** 2, p[-1] + (0.5 * u[-2]) ** 2
    sums.pressure += float((high - low).sum() * area)
    speed = mesh.layout.cells(fields.speed)
    sums.near += float(speed[layers[0]].mean())
    sums.nearest += float(speed[layers[1]].mean())
    sums.kinetic += float((speed**2).mean())
    sums.thrust += float(stepper.thrust_share[0]) * THRUST
    sums.steps += 1


def frictions_of(grid: Grid, mesh: StaggeredMesh, settings: AirflowSettings) -> list[Resistance]:
    """Return the friction of each component."""
    nothing = np.zeros(grid.shape)
    return [
        resistance(grid, mesh, nothing, axis, mesh.momentum_volume(axis), settings)
        for axis in range(3)
    ]


def study(cell: float, settings: AirflowSettings, words: str) -> float:
    """Solve, print, and return the speed near surfaces [m/s]."""
    start = time.process_time()
    grid = air_room(tuple(round(length / cell) for length in SIZE), cell, fans=[BLOWER])  # type: ignore[arg-type]
    mesh, nothing = stagger(grid), np.zeros(grid.shape)
    stepper = FlowStepper(grid, mesh, nothing, nothing, settings, lambda: None)
    frictions = frictions_of(grid, mesh, settings)
    layers = near_surface_cells(grid, 0.2), near_surface_cells(grid, 0.05)
    halves = Sums(), Sums()
    for _ in range(round(DISCARD / stepper.time_step)):
        stepper.step(lambda: None)
    for half in halves:
        for _ in range(round(0.5 * AVERAGE / stepper.time_step)):
            stepper.step(lambda: None)
            add(half, stepper, frictions, layers)
    a, b = halves
    n = a.steps + b.steps
    thrust = (a.thrust + b.thrust) / n
    pressure, friction = (
        (x + y) / n / thrust for x, y in ((a.pressure, b.pressure), (a.friction, b.friction))
    )
    near = (a.near + b.near) / n
    x, y, z = ((p + q) / n for p, q in zip(a.velocity, b.velocity, strict=True))
    of_mean = mesh.layout.zeros()
    write_speed(mesh.layout, (x, y, z), of_mean)
    print(
        f"{cell:5.3f} m, {words}: near {near:.3f} m/s (halves differ by"
        f" {100.0 * abs(a.near - b.near) / (a.steps * near):.1f} %),"
        f" |mean V| {mesh.layout.cells(of_mean)[layers[0]].mean():.3f}, within 0.05 m"
        f" {(a.nearest + b.nearest) / n:.3f}, rms {np.sqrt((a.kinetic + b.kinetic) / n):.3f} m/s;"
        f" thrust {thrust / THRUST:.3f} K = ends {pressure:.3f} + friction {friction:.3f}"
        f" + rest {1.0 - pressure - friction:+.3f}; friction anywhere"
        f" {(a.all_friction + b.all_friction) / n / thrust:.3f};"
        f" CPU {time.process_time() - start:.0f} s",
        flush=True,
    )
    return near


def main() -> None:
    """Print the machine, the cells, then what friction and eddies change."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    finest = float(sys.argv[1]) if len(sys.argv) > 1 else 0.025
    for cell in (0.1, 0.05, 0.025):
        if cell >= finest:
            study(cell, ROOM_AIR, "as it is")
    friction, eddies = ROOM_AIR.friction, ROOM_AIR.eddies
    for times in (2.0, 0.5):
        # friction goes with the factor of the law to the power -7/4
        other = replace(friction, factor=friction.factor * times ** (-4.0 / 7.0))
        study(0.05, replace(ROOM_AIR, friction=other), f"{times:g} times the friction")
        stronger = replace(
            eddies,
            coefficient=eddies.coefficient * times,
            jet_coefficient=eddies.jet_coefficient * times,
        )
        study(0.05, replace(ROOM_AIR, eddies=stronger), f"{times:g} times the eddies")
    tight = replace(ROOM_AIR, projection_reduction=1e-5)
    study(0.05, tight, "tight projections")


if __name__ == "__main__":
    main()
