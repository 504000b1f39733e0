"""Fans and jets on the staggered mesh: the force that gives each its exact thrust."""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from simulator.case.parts import AirMover, HeatedJet
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.open_faces import bodies_of_air
from simulator.physics.airflow.settings import EddyModel
from simulator.physics.airflow.staggered import AXES, Layout, StaggeredMesh


@dataclass(frozen=True, slots=True)
class Thrust:
    """A disc that pushes air: K = Q²/A [m⁴/s²] is its thrust over the density of air."""

    owner: str
    centre: FloatArray  # [m]
    direction: FloatArray  # unit vector
    diameter: float  # [m]
    strength: float  # K


def thrusts(grid: Grid) -> tuple[Thrust, ...]:
    """Return the thrust of every fan and of every heater's jet.

    A fan's Q is its free delivery, so U0 = Q/A and K = Q²/A; an unshrouded disc of that thrust
    passes 0.7 Q itself and entrains the rest. A jet's air leaves its outlet with K = Q²/A.
    """
    movers: list[AirMover | HeatedJet] = [fan.part for fan in grid.fans]
    movers += [jet.part for jet in grid.jets]
    return tuple(_thrust(mover) for mover in movers)


def _thrust(mover: AirMover | HeatedJet) -> Thrust:
    direction = np.asarray(mover.direction, dtype=np.float64)
    area = pi * mover.diameter**2 / 4.0
    return Thrust(
        owner=mover.owner,
        centre=np.asarray(mover.centre, dtype=np.float64),
        direction=direction / np.linalg.norm(direction),
        diameter=mover.diameter,
        strength=mover.flow**2 / area,
    )


def mover_force(grid: Grid, mesh: StaggeredMesh) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the force over density on the momentum volumes of each component [m⁴/s²].

    Each thrust is spread over a disc whose rim and thickness are smeared over one cell, on open
    faces only, and scaled in each component so that the sum is K times the direction exactly. It
    acts on one body of air, that which fills most of the disc: not through a shut wardrobe's side.

    Raises
    ------
    CaseError
        If no open face lies in a fan's disc.
    """
    total = mesh.layout.zeros_of_each_axis()
    bodies = mesh.layout.pad_cells(bodies_of_air(grid).reshape(grid.shape) + 1)  # 0 without air
    for thrust in thrusts(grid):
        acting = [axis for axis in AXES if abs(thrust.direction[axis]) > 1e-9]
        weights = [_disc_weight(grid, mesh, thrust, axis) for axis in acting]
        is_own = bodies == np.argmax(np.bincount(bodies, sum(weights)))
        for axis, weight in zip(acting, weights, strict=True):
            own = weight * is_own
            whole = own.sum()
            if whole <= 0.0:
                raise CaseError(
                    f"{thrust.owner}: blocked; there is no room for air to pass its opening at "
                    f"({', '.join(f'{value:.2f}' for value in thrust.centre)}) m"
                )
            total[axis][:] += thrust.strength * thrust.direction[axis] * own / whole
    return total


def _disc_weight(grid: Grid, mesh: StaggeredMesh, thrust: Thrust, axis: int) -> FloatArray:
    """Weight of each face of ``axis`` in the smeared disc, times its momentum volume."""
    points = [np.array(centres) for centres in grid.centres]
    points[axis] = (grid.x_edges, grid.y_edges, grid.z_edges)[axis]
    x, y, z = np.meshgrid(
        *(p - c for p, c in zip(points, thrust.centre, strict=True)), indexing="ij", sparse=True
    )
    a, b, c = thrust.direction
    along = a * x + b * y + c * z
    across = np.sqrt(np.maximum(x**2 + y**2 + z**2 - along**2, 0.0))
    h = grid.cell_size
    rim = np.clip((0.5 * thrust.diameter - across) / h + 0.5, 0.0, 1.0)
    thickness = np.maximum(0.0, 1.0 - np.abs(along) / h)
    return mesh.layout.pad_faces(rim * thickness, axis) * mesh.momentum_volume(axis)


def eddy_cap(grid: Grid, layout: Layout, model: EddyModel) -> FloatArray:
    """Return the highest eddy viscosity that each cell may have [m²/s]; infinite without movers."""
    cap = np.full(grid.shape, np.inf)
    nearest = np.full(grid.shape, np.inf)
    x, y, z = np.meshgrid(*grid.centres, indexing="ij", sparse=True)
    for thrust in thrusts(grid):
        cx, cy, cz = thrust.centre
        r = np.sqrt((x - cx) ** 2 + (y - cy) ** 2 + (z - cz) ** 2)
        ramp = np.clip(r / (model.ramp * thrust.diameter), model.ramp_floor, 1.0)
        own = model.jet_coefficient * sqrt(thrust.strength) * ramp
        cap = np.where(r < nearest, own, cap)
        nearest = np.minimum(nearest, r)
    return layout.pad_cells(cap)
