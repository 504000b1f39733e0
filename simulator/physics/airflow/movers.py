"""Fans and jets on the staggered mesh: the force that gives each its exact thrust."""

from dataclasses import dataclass
from math import inf, pi, sqrt

import numpy as np

from simulator.case.parts import AirMover, HeatedJet
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.airflow.fan_clearance import Clearance, Solids, clearance, solids_of
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
    area: float  # [m²]
    strength: float  # K
    shut_off: float  # of the fan curve, see ``AirMover`` [-]; infinite: the thrust never changes


@dataclass(frozen=True, slots=True)
class Disc:
    """The faces of each component that a thrust acts on, and its share on each; shares sum to 1.

    A component across the direction has no faces. ``clearance`` is what stands near a fan; None:
    its thrust never changes.
    """

    thrust: Thrust
    clearance: Clearance | None
    faces: tuple[IntArray, ...]  # padded flat indices
    shares: tuple[FloatArray, ...]


def thrusts(grid: Grid) -> tuple[Thrust, ...]:
    """Return the thrust of every fan and of every heater's jet.

    A fan's Q is its free delivery, so U0 = Q/A and K = Q²/A; an unshrouded disc of that thrust
    passes 0.7 Q itself and entrains the rest. A jet's air leaves its outlet with K = Q²/A, always:
    its flow is given. The fans come first, in the order of ``grid.fans``.
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
        area=area,
        strength=mover.flow**2 / area,
        shut_off=mover.shut_off if isinstance(mover, AirMover) else inf,
    )


def discs(grid: Grid, mesh: StaggeredMesh) -> tuple[Disc, ...]:
    """Return the disc of every thrust.

    Its rim and thickness are smeared over one cell, on open faces only, and its shares sum to one
    in each component. It acts on one body of air, that which fills most of the disc: not through a
    shut wardrobe's side.

    Raises
    ------
    CaseError
        If no open face lies in a fan's disc.
    """
    bodies = mesh.layout.pad_cells(bodies_of_air(grid).reshape(grid.shape) + 1)  # 0 without air
    solids = solids_of(grid)
    return tuple(_disc(solids, mesh, thrust, bodies) for thrust in thrusts(grid))


def _disc(solids: Solids, mesh: StaggeredMesh, thrust: Thrust, bodies: IntArray) -> Disc:
    acting = [axis for axis in AXES if abs(thrust.direction[axis]) > 1e-9]
    weights = {axis: _disc_weight(solids.grid, mesh, thrust, axis) for axis in acting}
    is_own = bodies == np.argmax(np.bincount(bodies, sum(weights.values())))
    faces, shares = [], []
    for axis in AXES:
        own = weights[axis] * is_own if axis in weights else np.zeros(0)
        whole = own.sum()
        if axis in weights and whole <= 0.0:
            raise CaseError(
                f"{thrust.owner}: blocked; there is no room for air to pass its opening at "
                f"({', '.join(f'{value:.2f}' for value in thrust.centre)}) m"
            )
        faces.append(np.flatnonzero(own))
        shares.append(own[faces[axis]] / whole if axis in weights else own)
    return Disc(thrust, _clearance(solids, thrust), tuple(faces), tuple(shares))


def _clearance(solids: Solids, thrust: Thrust) -> Clearance | None:
    if thrust.shut_off == inf:
        return None
    return clearance(solids, thrust.centre, thrust.direction, thrust.diameter)


def mover_force(
    mesh: StaggeredMesh, movers: tuple[Disc, ...]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the force over density on the momentum volumes of each component [m⁴/s²].

    Its sum over the component's faces is K times the direction exactly.
    """
    total = mesh.layout.zeros_of_each_axis()
    for disc in movers:
        for axis in AXES:
            push = disc.thrust.strength * disc.thrust.direction[axis]
            total[axis][disc.faces[axis]] += push * disc.shares[axis]
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
        ramp = np.clip(r / _ramp_length(thrust, grid.cell_size, model), model.ramp_floor, 1.0)
        own = model.jet_coefficient * sqrt(thrust.strength) * ramp
        cap = np.where(r < nearest, own, cap)
        nearest = np.minimum(nearest, r)
    return layout.pad_cells(cap)


def _ramp_length(thrust: Thrust, cell_size: float, model: EddyModel) -> float:
    """Distance from a mover at which its jet's eddies are full grown [m], see ``EddyModel``."""
    n = np.abs(thrust.direction)
    obliqueness = float((n * (1.0 - n**2)).sum())
    stretch = 1.0 + model.oblique * (cell_size / thrust.diameter) ** 2 * obliqueness
    return model.ramp * thrust.diameter * stretch
