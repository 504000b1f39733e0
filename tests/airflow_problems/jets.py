"""A fan's jet in still air against the round free jet: how it decays, spreads, keeps its thrust."""

from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np
from air_rooms import air_room, fan
from known_answers import Figure
from scipy.ndimage import map_coordinates

from simulator.grid.grid import FloatArray
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.solve_airflow import solve_airflow

DIAMETER = 0.5  # [m]
FLOW = 1.2  # [m³/s]
OUTLET_SPEED = FLOW / (pi * DIAMETER**2 / 4.0)
THRUST = FLOW * OUTLET_SPEED

#: U x / (U0 D) of a round jet (5.7 to 6.1 over the literature), half width over distance.
DECAY, HALF_WIDTH = 5.8, 0.094


@dataclass(frozen=True, slots=True)
class JetFlow:
    """The mean flow about a fan, and where its axis is."""

    airflow: Airflow
    cell: float
    origin: FloatArray
    direction: FloatArray

    def speed_along(self, distance: float, up: FloatArray, across: FloatArray) -> FloatArray:
        """Velocity along the axis at points beside it [m/s]."""
        sideways = np.array([-self.direction[1], self.direction[0], 0.0])
        point = self.origin + distance * self.direction
        x, y, z = (
            (point[axis] + sideways[axis] * across + (up if axis == 2 else 0.0 * up)) / self.cell
            for axis in range(3)
        )
        u = map_coordinates(self.airflow.x_velocity, [x, y - 0.5, z - 0.5], order=1)
        v = map_coordinates(self.airflow.y_velocity, [x - 0.5, y, z - 0.5], order=1)
        return np.asarray(u * self.direction[0] + v * self.direction[1])

    def decay(self, diameters: float) -> float:
        """U x / (U0 D) on the axis."""
        nil = np.zeros(1)
        return float(self.speed_along(diameters * DIAMETER, nil, nil)[0]) * diameters / OUTLET_SPEED

    def half_width(self, distance: float) -> float:
        """Height over the axis where the velocity is half of that on it, over the distance."""
        height = np.linspace(0.0, 1.5, 301)
        profile = self.speed_along(distance, height, 0.0 * height)
        return float(height[np.argmax(profile < 0.5 * profile[0])]) / distance

    def momentum_flux(self, diameters: float) -> float:
        """Of the air that moves along, through a plane across the axis, over the fan's thrust."""
        side = np.arange(-1.4, 1.41, 0.05)
        up, across = np.meshgrid(side, side, indexing="ij")
        u = self.speed_along(diameters * DIAMETER, up, across)
        return float((np.maximum(u, 0.0) ** 2).sum() * 0.05**2 / THRUST)


@dataclass(frozen=True, slots=True)
class RoundJet:
    """A fan blows level into a closed box, 10 s before and 20 s during the averaging.

    The jet stands by then; the room is not yet spun up.
    """

    degrees: float  # between the axis and x
    size: tuple[float, float, float]  # of the box [m]
    origin: tuple[float, float, float]
    cell: float = 0.1
    least_decay: float = 5.0
    least_thrust: float = 0.9
    is_binding: bool = True
    is_slow: bool = True
    source: str = "Hussein, Capp and George 1994, J. Fluid Mech. 258:31; thrust is kept (momentum)"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"round jet at {self.degrees:.0f}°, from {self.origin[0]:.2f} m"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"D/h = {DIAMETER / self.cell:.1f}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        jet = self._blow()
        bind = self.is_binding
        decays = (
            Figure(f"U x/(U0 D) at {x:.0f} D", DECAY, jet.decay(x), self.least_decay, 7.0, bind)
            for x in (6.0, 8.0, 10.0)
        )
        fluxes = (
            Figure(
                f"thrust in the air at {x:.0f} D over K",
                1.0,
                jet.momentum_flux(x),
                self.least_thrust,
                1.1,
                bind,
            )
            for x in (2.0, 4.0)
        )
        width = jet.half_width(4.0)
        return (*decays, *fluxes, Figure("half width over x", HALF_WIDTH, width, 0.08, 0.11, bind))

    def _blow(self) -> JetFlow:
        direction = (cos(radians(self.degrees)), sin(radians(self.degrees)), 0.0)
        mover = fan(self.origin, direction, diameter=DIAMETER, flow=FLOW)
        x, y, z = (round(length / self.cell) for length in self.size)
        grid = air_room((x, y, z), self.cell, fans=[mover])
        airflow = solve_airflow(grid, discard=10.0, average=20.0)
        return JetFlow(airflow, self.cell, np.array(self.origin), np.array(direction))
