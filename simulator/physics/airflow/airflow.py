"""The result of an airflow solution."""

from dataclasses import dataclass, field

import numpy as np

from simulator.grid.grid import FloatArray


@dataclass(frozen=True, slots=True)
class Airflow:
    """The time-averaged flow, divergence-free to round-off.

    Face velocities are positive along the axis; closed faces hold zero.

    Attributes
    ----------
    x_velocity, y_velocity, z_velocity : face-normal means [m/s], shapes (nx+1, ny, nz),
        (nx, ny+1, nz), (nx, ny, nz+1).
    speed : mean |V| of each cell [m/s]; larger than |mean V| because the flow fluctuates.
    eddy_viscosity : mean turbulent viscosity of each cell [m²/s].
    cell_source : volume that enters (+) or leaves (-) each cell through jets, intakes and leaks
        [i, j, k] [m³/s].
    divergence : largest |net outflow - cell_source| / cell face area of any open cell [m/s].
    near_surface_speed : mean speed within 0.2 m of surfaces [m/s].
    scatter : relative difference of near_surface_speed between the two halves of the averaging [-].
    pointwise_scatter : rms difference of near-surface speed between the halves over its mean [-].
    flow_time : simulated seconds that were averaged [s].
    thrust_share : mean thrust of every fan of the grid over its free thrust Q²/A [-]; below 1
        where something throttles it.
    """

    x_velocity: FloatArray
    y_velocity: FloatArray
    z_velocity: FloatArray
    speed: FloatArray
    eddy_viscosity: FloatArray
    cell_source: FloatArray
    divergence: float
    near_surface_speed: float
    scatter: float
    pointwise_scatter: float
    flow_time: float
    thrust_share: FloatArray = field(default_factory=lambda: np.zeros(0))
