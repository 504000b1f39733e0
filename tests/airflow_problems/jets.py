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
        u = _between_faces(self.airflow.x_velocity, [x, y - 0.5, z - 0.5])
        v = _between_faces(self.airflow.y_velocity, [x - 0.5, y, z - 0.5])
        return np.asarray(u * self.direction[0] + v * self.direction[1])

    def decay(self, diameters: float) -> float:
        """U x / (U0 D) on the axis."""
        nil = np.zeros(1)
        return float(self.speed_along(diameters * DIAMETER, nil, nil)[0]) * diameters / OUTLET_SPEED

    def half_width(self, diameters: float, is_level: bool) -> float:
        """Where the velocity is half of that on the axis, over the distance from the fan.

        Straight above the axis, or on both sides of it at its height, where oblique cells widen it.
        """
        distance = diameters * DIAMETER
        beside = np.linspace(-1.5, 1.5, 601)
        up, across = (0.0 * beside, beside) if is_level else (np.abs(beside), 0.0 * beside)
        profile = self.speed_along(distance, up, across)
        is_wide = profile > 0.5 * profile[beside.size // 2]
        return float(is_wide.sum() * (beside[1] - beside[0])) / 2.0 / distance

    def momentum_flux(self, diameters: float) -> float:
        """Of the air that moves along, through a plane across the axis, over the fan's thrust."""
        side = np.arange(-1.4, 1.41, 0.05)
        up, across = np.meshgrid(side, side, indexing="ij")
        u = self.speed_along(diameters * DIAMETER, up, across)
        return float((np.maximum(u, 0.0) ** 2).sum() * 0.05**2 / THRUST)


def _between_faces(velocity: FloatArray, place: list[FloatArray]) -> FloatArray:
    """Velocity by cubic splines: linear ones cut the top of a jet that is few cells wide.

    On cells of D/2.5 they lose 8 to 16 % of a momentum that the solver keeps within 2 %.
    """
    return np.asarray(map_coordinates(velocity, place, order=3, mode="nearest"))


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
    binds_young: bool = True  # also what the jet is at 6 D and how wide at 8 D
    is_slow: bool = True
    source: str = "Hussein, Capp and George 1994, J. Fluid Mech. 258:31; thrust is kept (momentum)"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"round jet at {self.degrees:.0f}°, from y {self.origin[1]:.2f} m"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"D/h = {DIAMETER / self.cell:.1f}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        jet = self._blow()
        least, young = self.least_decay, self.binds_young
        decays = (
            Figure(f"U x/(U0 D) at {x:.0f} D", DECAY, jet.decay(x), least, 7.0, young or x > 6.0)
            for x in (6.0, 8.0, 10.0)
        )
        fluxes = (
            Figure(f"thrust in the air at {x:.0f} D over K", 1.0, jet.momentum_flux(x), 0.95, 1.05)
            for x in (2.0, 4.0)
        )
        widths = (
            Figure(
                f"half width at 8 D over x, {way}",
                HALF_WIDTH,
                jet.half_width(8.0, is_level),
                0.08,
                0.11,
                young,
            )
            for way, is_level in (("upright", False), ("level", True))
        )
        return (*decays, *fluxes, *widths)

    def _blow(self) -> JetFlow:
        direction = (cos(radians(self.degrees)), sin(radians(self.degrees)), 0.0)
        mover = fan(self.origin, direction, diameter=DIAMETER, flow=FLOW)
        x, y, z = (round(length / self.cell) for length in self.size)
        grid = air_room((x, y, z), self.cell, fans=[mover])
        airflow = solve_airflow(grid, discard=10.0, average=20.0)
        return JetFlow(airflow, self.cell, np.array(self.origin), np.array(direction))
