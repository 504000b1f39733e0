"""Vortices that die away by viscosity alone, with an exact solution."""

from dataclasses import dataclass
from math import exp, inf, log2, pi

import numpy as np
from air_rooms import air_room
from known_answers import Figure, between

from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import NO_EDDIES, AirflowSettings, WallFriction
from simulator.physics.airflow.staggered import stagger

VISCOSITY = 0.1
TIME = 0.5

#: Time step over h⁴. One sweep a step conducts a share of about 2 ν dt/h² too little momentum in a
#: transient (steady flows are free of it), so second order shows only if that shrinks as h² too.
STEP = 1.3


@dataclass(frozen=True, slots=True)
class TaylorGreen:
    """u = sin x cos z e^(-2νt), w = -cos x sin z e^(-2νt) in a box of side π, frictionless sides.

    Error and order of the velocity, and the excess of its decay: numerical viscosity.
    """

    coarse: int = 12
    is_slow: bool = False
    name: str = "Taylor-Green vortex, ν = 0.1"
    source: str = "exact: Taylor and Green 1937, Proc. R. Soc. A 158:499"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.coarse}² and {2 * self.coarse}²"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        coarse, fine = self._errors(self.coarse), self._errors(2 * self.coarse)
        order = log2(coarse[0] / fine[0])
        return (
            Figure("order of the rms error of u", 2.0, order, 1.8, inf),
            between("rms error of u over its rms", fine[0], 0.0, 0.001),
            between("numerical over true viscosity", fine[1], -0.01, 0.01),
        )

    def _errors(self, count: int) -> tuple[float, float]:
        """Rms error of u over the exact rms, and relative excess of the decay rate."""
        h = pi / count
        grid = air_room((count, 1, count), h)
        steps = round(TIME / (STEP * h**4))
        settings = AirflowSettings(
            viscosity=VISCOSITY,
            eddies=NO_EDDIES,
            friction=WallFriction(is_turbulent=False),
            frictionless=(0, 1, 2),
            fan_response=inf,
            step_per_cell=TIME / steps / h,
            projection_reduction=1e-6,
        )
        nothing = np.zeros(grid.shape)
        touch = np.full(grid.shape, 1e-30)  # air that nothing pushes would not be stepped at all
        stepper = FlowStepper(grid, stagger(grid), nothing, touch, settings, lambda: None)
        face, centre = np.arange(count + 1) * h, (np.arange(count) + 0.5) * h
        u = (np.sin(face)[:, None] * np.cos(centre)[None, :])[:, None, :]
        w = -(np.cos(centre)[:, None] * np.sin(face)[None, :])[:, None, :]
        v = np.zeros((count, 2, count))
        stepper.start_from(Airflow(u, v, w, nothing, nothing, nothing, 0.0, 0.0, 0.0, 0.0, 0.0))
        for _ in range(steps):
            stepper.step(lambda: None)
        ours = stepper.mesh.layout.faces(stepper.fields.velocity[0], 0)
        exact = u * exp(-2.0 * VISCOSITY * TIME)
        error = np.sqrt(np.mean((ours - exact) ** 2) / np.mean(exact**2))
        rate = -0.25 * np.log(np.mean(ours**2) / np.mean(u**2)) / TIME
        return float(error), float(rate / VISCOSITY - 1.0)
