"""A fan's jet against the round free jet: how its centre line decays, how wide and strong it is.

U x / (U0 D) of a round jet tends to 5.8 (Hussein, Capp and George 1994; 5.7 to 6.1 over the
literature, 6.11 at Re = 19 400 in Abdel-Rahman et al. 1996, abstract); a Gaussian jet that keeps
all its momentum has 6.26. The half width is 0.094 x. The momentum flux is the fan's thrust K.
"""

from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np
import pytest
from air_rooms import air_room, fan
from scipy.ndimage import map_coordinates

from simulator.grid.grid import FloatArray
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.solve_airflow import solve_airflow

pytestmark = pytest.mark.slow

CELL = 0.1
DIAMETER = 0.5  # five cells
FLOW = 1.2
OUTLET_SPEED = FLOW / (pi * DIAMETER**2 / 4.0)
THRUST = FLOW * OUTLET_SPEED


@dataclass(frozen=True)
class Jet:
    """The mean flow about a fan, and where its axis is."""

    airflow: Airflow
    origin: FloatArray
    direction: FloatArray

    def speed_along(self, distance: float, up: FloatArray, across: FloatArray) -> FloatArray:
        """Velocity along the axis at points beside it [m/s]."""
        sideways = np.array([-self.direction[1], self.direction[0], 0.0])
        point = self.origin + distance * self.direction
        x, y, z = (
            (point[axis] + sideways[axis] * across + (up if axis == 2 else 0.0 * up)) / CELL
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


def blow(shape: tuple[int, int, int], origin: FloatArray, degrees: float) -> Jet:
    """Blow for 10 s, then average 20 s: the jet stands, the room is not yet spun up."""
    direction = np.array([cos(radians(degrees)), sin(radians(degrees)), 0.0])
    mover = fan(
        (float(origin[0]), float(origin[1]), float(origin[2])),
        (float(direction[0]), float(direction[1]), 0.0),
        diameter=DIAMETER,
        flow=FLOW,
    )
    grid = air_room(shape, CELL, fans=[mover])
    return Jet(solve_airflow(grid, discard=10.0, average=20.0), origin, direction)


def test_jet_along_an_axis_decays_like_a_round_jet() -> None:
    jet = blow((75, 40, 40), np.array([1.5, 2.0, 2.0]), 0.0)
    assert 5.0 < jet.decay(6.0) < 7.0  # found: 5.71
    assert 5.0 < jet.decay(8.0) < 7.0  # found: 6.15
    assert 5.0 < jet.decay(10.0) < 7.0  # found: 6.10
    assert 0.08 < jet.half_width(4.0) < 0.11  # found: 0.096
    assert 0.9 < jet.momentum_flux(2.0) < 1.1  # found: 0.95
    assert 0.9 < jet.momentum_flux(4.0) < 1.1  # found: 0.98


def test_jet_off_the_cell_planes_is_the_same() -> None:
    jet = blow((75, 40, 40), np.array([1.543, 2.043, 2.043]), 0.0)
    assert 5.0 < jet.decay(8.0) < 7.0  # found: 6.32
    assert 5.0 < jet.decay(10.0) < 7.0  # found: 6.21


def test_jet_at_45_degrees_loses_at_most_a_fifth() -> None:
    """Oblique jets are smeared a little more by the grid."""
    jet = blow((70, 70, 40), np.array([1.5, 1.5, 2.0]), 45.0)
    assert 4.8 < jet.decay(8.0) < 7.0  # found: 5.56
    assert 4.8 < jet.decay(10.0) < 7.0  # found: 5.62
    assert 0.9 < jet.momentum_flux(4.0) < 1.1  # found: 0.97
