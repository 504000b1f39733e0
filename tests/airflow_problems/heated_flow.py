"""Flow and temperature that drive each other: a temperature stepped along with the flow.

Temperature and velocity belong to one instant, buoyancy is refreshed every step. Heat is carried by
the flows through faces with central values and conducted with the molecular diffusivity. What
divergence the loose projection of each step leaves must not make heat: its flux is taken back, and
once the flow is steady, and solenoidal, only walls change the heat there is.
"""

from dataclasses import dataclass
from math import inf

import numpy as np
from air_rooms import air_room
from scipy.interpolate import interp1d
from scipy.ndimage import zoom

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import NO_EDDIES, AirflowSettings, WallFriction
from simulator.physics.airflow.staggered import AXES, face_mean, stagger

#: Share of the explicit limit dt (2 Σ α/h² + Σ |u|/h) = 1 that a step takes [-].
OF_LIMIT = 0.8


@dataclass(frozen=True, slots=True)
class HeatedWalls:
    """Walls normal to one axis at fixed temperatures; all others are adiabatic."""

    axis: int
    low: float  # [K], over the mean
    high: float


class HeatedFlow(FlowStepper):
    """Laminar flow in a box of unit height whose temperature differences push it.

    Lengths are in box heights, temperatures in differences of the walls, and the thermal
    diffusivity is one: velocities are in α/L. Buoyancy is Ra Pr times the temperature.

    Attributes
    ----------
    temperature : of the cells [i, j, k].
    """

    def __init__(
        self,
        shape: tuple[int, int, int],
        walls: HeatedWalls,
        rayleigh: float,
        *,
        prandtl: float = 0.71,
        time_step: float | None = None,
        frictionless: tuple[int, ...] = (),
        edges: tuple[FloatArray, FloatArray, FloatArray] | None = None,
        reduction: float = 0.1,
    ) -> None:
        cell = 1.0 / shape[2]
        self.grid: Grid = air_room(shape, cell, edges=edges)
        self.temperature = self._conducting(walls)
        self._walls = walls
        self._widths = [np.diff(e) for e in (self.grid.x_edges, self.grid.y_edges)] + [
            np.diff(self.grid.z_edges)
        ]
        self._push = rayleigh * prandtl
        limit = sum(2.0 / w.min() ** 2 for w in self._widths if w.size > 1)
        step = OF_LIMIT / limit if time_step is None else time_step
        settings = AirflowSettings(
            viscosity=prandtl,
            eddies=NO_EDDIES,
            friction=WallFriction(is_turbulent=False),
            frictionless=frictionless,
            fan_response=inf,
            step_per_cell=step / cell,
            projection_reduction=reduction,
        )
        nothing = np.zeros(self.grid.shape)
        # any force tells the stepper that this air moves; the true one is written every step
        some = self.temperature + 1e-3
        super().__init__(self.grid, stagger(self.grid), nothing, some, settings, _nothing)

    def _conducting(self, walls: HeatedWalls) -> FloatArray:
        """The straight temperature profile of air at rest."""
        edges = (self.grid.x_edges, self.grid.y_edges, self.grid.z_edges)[walls.axis]
        share = (self.grid.centres[walls.axis] - edges[0]) / (edges[-1] - edges[0])
        shape = [1, 1, 1]
        shape[walls.axis] = -1
        line = (walls.low + (walls.high - walls.low) * share).reshape(shape)
        return np.broadcast_to(line, self.grid.shape).copy()

    def take(self, coarse: "HeatedFlow", factors: tuple[int, int, int]) -> None:
        """Start from the state on cells that are ``factors`` times as wide.

        Velocities are linear along their own axis and constant across: solenoidal again.
        """
        self.temperature = zoom(
            coarse.temperature, factors, order=1, mode="nearest", grid_mode=True
        )
        x, y, z = (
            _refined(coarse.mesh.layout.faces(coarse.fields.velocity[axis], axis), axis, factors)
            for axis in AXES
        )
        nil = np.zeros(self.grid.shape)
        self.start_from(Airflow(x, y, z, nil, nil, nil, 0.0, 0.0, 0.0, 0.0, 0.0))

    def advance(self) -> None:
        """Refresh buoyancy, step the flow, then carry the temperature along for the same time."""
        layout, up = self.mesh.layout, self._equations[2]
        # level means are balanced by pressure; without them the loose projection has less to do
        excess = self.temperature - self.temperature.mean(axis=(0, 1), keepdims=True)
        push = face_mean(layout.pad_cells(self._push * excess), layout.strides[2])
        up.force[:] = push * self.mesh.momentum_volume(2)
        self.step(_nothing)
        self._carry()

    def _carry(self) -> None:
        gain = np.zeros_like(self.temperature)
        for axis in AXES:
            gain += self._gain_along(axis)
        self.temperature += self.time_step * gain

    def _gain_along(self, axis: int) -> FloatArray:
        """Rate of change by the fluxes along one axis [K per unit time]."""
        width = self._widths[axis]
        velocity = np.moveaxis(self.mesh.layout.faces(self.fields.velocity[axis], axis), axis, -1)
        T = np.moveaxis(self.temperature, axis, -1)
        flux = np.zeros(velocity.shape)
        distance = 0.5 * (width[1:] + width[:-1])
        flux[..., 1:-1] = velocity[..., 1:-1] * 0.5 * (T[..., 1:] + T[..., :-1])
        flux[..., 1:-1] -= (T[..., 1:] - T[..., :-1]) / distance
        if axis == self._walls.axis:
            flux[..., 0] = -(T[..., 0] - self._walls.low) / (0.5 * width[0])
            flux[..., -1] = -(self._walls.high - T[..., -1]) / (0.5 * width[-1])
        stretch = velocity[..., 1:] - velocity[..., :-1]
        gain = (flux[..., :-1] - flux[..., 1:] + T * stretch) / width
        return np.moveaxis(gain, -1, axis)

    def wall_fluxes(self) -> tuple[float, float]:
        """Mean heat flow per area along the axis at the low and the high wall [ΔT α / L]."""
        axis, width = self._walls.axis, self._widths[self._walls.axis]
        low, high = self.temperature.take(0, axis), self.temperature.take(-1, axis)
        return (
            float(-(low - self._walls.low).mean() / (0.5 * width[0])),
            float(-(self._walls.high - high).mean() / (0.5 * width[-1])),
        )


def _refined(faces: FloatArray, axis: int, factors: tuple[int, int, int]) -> FloatArray:
    for across in AXES:
        if across != axis:
            faces = faces.repeat(factors[across], across)
    along = np.moveaxis(faces, axis, 0)
    old = np.linspace(0.0, 1.0, along.shape[0])
    new = np.linspace(0.0, 1.0, (along.shape[0] - 1) * factors[axis] + 1)
    return np.moveaxis(interp1d(old, along, axis=0)(new), 0, axis)


def _nothing() -> None:
    """Take no notice of progress."""
