"""What slows the air at walls and in loose stuff, as lists of the faces where it acts."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.airflow.settings import AirflowSettings
from simulator.physics.airflow.staggered import AXES, GHOSTS, StaggeredMesh, face_mean


@dataclass(frozen=True, slots=True)
class Resistance:
    """Resistance of the faces of one component that have any, each times the momentum volume.

    The force on a face is -(max(laminar, turbulent |V|^(3/4)) + linear + quadratic |V|) times its
    velocity [m⁴/s²].
    """

    faces: IntArray  # padded flat indices
    laminar: FloatArray  # wall friction [m³/s]
    turbulent: FloatArray  # wall friction [m³/s / (m/s)^(3/4)]
    linear: FloatArray  # Darcy drag, and the momentum that air from outlets lacks [m³/s]
    quadratic: FloatArray  # Forchheimer drag [m²]


def resistance(
    grid: Grid,
    mesh: StaggeredMesh,
    cell_source: FloatArray,
    axis: int,
    volume: FloatArray,
    settings: AirflowSettings,
) -> Resistance:
    """Return the resistance of one component in the momentum volumes ``volume`` [m³].

    Air that an outlet or a leak brings into a cell has no velocity of its own (a jet's comes from
    its thrust), but the momentum equation, written without the divergence, would give it that of
    the cell: ``linear`` takes it back.
    """
    layout = mesh.layout
    laminar, turbulent = _wall_friction(mesh, axis, settings)
    inflow = np.maximum(layout.pad_cells(cell_source), 0.0) / mesh.volume
    viscous = settings.viscosity * layout.pad_cells(grid.darcy) + inflow
    linear = face_mean(viscous, layout.strides[axis])
    quadratic = face_mean(layout.pad_cells(grid.forchheimer), layout.strides[axis])
    acting = laminar + turbulent + linear + quadratic
    faces = np.flatnonzero((acting > 0.0) & (volume > 0.0))
    scaled = [part[faces] * volume[faces] for part in (laminar, turbulent, linear, quadratic)]
    return Resistance(faces, scaled[0], scaled[1], scaled[2], scaled[3])


def moving_side_force(mesh: StaggeredMesh, axis: int, settings: AirflowSettings) -> FloatArray:
    """Return the force of sliding sides by laminar friction [m⁴/s²]; the air's share is drag."""
    force = mesh.layout.zeros()
    for moving in settings.moving_sides:
        if moving.side.axis == axis or moving.velocity[axis] == 0.0:
            continue
        b = moving.side.axis
        box: list[slice] = [slice(None)] * 3
        count = mesh.layout.shape[b]
        box[b] = (
            slice(GHOSTS, GHOSTS + 1)
            if moving.side.sign < 0
            else slice(GHOSTS + count - 1, GHOSTS + count)
        )
        is_beside = np.zeros(mesh.layout.padded, dtype=np.bool_)
        is_beside[tuple(box)] = True
        shear = 2.0 * settings.viscosity / _width(mesh, b) ** 2
        force += is_beside.ravel() * shear * moving.velocity[axis] * mesh.momentum_volume(axis)
    return force


def _wall_friction(
    mesh: StaggeredMesh, axis: int, settings: AirflowSettings
) -> tuple[FloatArray, FloatArray]:
    """Laminar and turbulent friction per volume [1/s, 1/s / (m/s)^(3/4)]."""
    laminar, turbulent = mesh.layout.zeros(), mesh.layout.zeros()
    nu = settings.viscosity
    for b in AXES:
        if b == axis or b in settings.frictionless:
            continue
        h = _width(mesh, b)
        share = _wall_share(mesh, axis, b)
        laminar += share * 2.0 * nu / h**2
        if settings.friction.is_turbulent:
            law = settings.friction.factor * (0.5 * h / nu) ** (1.0 / 7.0)
            turbulent += share * law**-1.75 / h
    return laminar, turbulent


def _wall_share(mesh: StaggeredMesh, axis: int, b: int) -> FloatArray:
    """How much of the two sides normal to ``b`` of each momentum volume is wall: 0 to 2."""
    is_closed = 1.0 - mesh.openness[b]
    along, across = mesh.layout.strides[axis], mesh.layout.strides[b]
    low = face_mean(is_closed, along)
    return low + np.roll(low, -across)


def _width(mesh: StaggeredMesh, axis: int) -> FloatArray:
    """The width of every cell along ``axis`` [m], as a field."""
    shape = [1, 1, 1]
    shape[axis] = -1
    return np.broadcast_to(mesh.widths[axis].reshape(shape), mesh.layout.padded).ravel()
