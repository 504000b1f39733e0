"""Air pushed through straight ducts and through loose stuff."""

from dataclasses import dataclass
from math import inf, log2

import numpy as np
from air_rooms import air_room
from known_answers import Figure, at_most, within

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import NO_EDDIES, AirflowSettings, WallFriction
from simulator.physics.airflow.staggered import stagger

VISCOSITY = 0.1  # Re = 10 at unit speed and width


def blow_through(
    grid: Grid, flow: float, settings: AirflowSettings, steps: int
) -> tuple[FloatArray, FloatArray]:
    """Return x velocity and pressure over density once ``flow`` [m³/s] runs along x."""
    source = np.zeros(grid.shape)
    source[0] = flow / source[0].size
    source[-1] = -flow / source[0].size
    mesh = stagger(grid)
    stepper = FlowStepper(grid, mesh, source, np.zeros(grid.shape), settings, lambda: None)
    for _ in range(steps):
        stepper.step(lambda: None)
    pressure = mesh.layout.cells(stepper.fields.pressure)
    return mesh.layout.faces(stepper.fields.velocity[0], 0), pressure


def laminar(frictionless: tuple[int, ...] = ()) -> AirflowSettings:
    """Return settings of laminar flow at the viscosity of these ducts."""
    return AirflowSettings(
        viscosity=VISCOSITY,
        eddies=NO_EDDIES,
        friction=WallFriction(is_turbulent=False),
        frictionless=frictionless,
        step_per_cell=1.0,
    )


@dataclass(frozen=True, slots=True)
class PlanePoiseuille:
    """Laminar flow between plates: u = 1.5 U (1 - (2z/H)²), dp/dx = -12 ν U / H²."""

    coarse: int = 20
    is_slow: bool = False
    name: str = "laminar flow between plates"
    source: str = "exact (Poiseuille)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.coarse} and {2 * self.coarse} across"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        coarse, fine = self._errors(self.coarse), self._errors(2 * self.coarse)
        return (
            at_most("largest error of u over U", fine[0], 0.002),
            within("dp/dx over 12 ν U/H²", fine[1], 1.0, 0.005),
            Figure("order of the profile", 2.0, log2(coarse[0] / fine[0]), 1.8, inf),
        )

    def _errors(self, count: int) -> tuple[float, float]:
        edges = (np.linspace(0.0, 4.0, 41), np.array([0.0, 0.1]), np.linspace(0.0, 1.0, count + 1))
        grid = air_room(cell=0.1, edges=edges)
        x, pressure = blow_through(grid, 0.1, laminar((1,)), 1500)
        profile = 1.5 * (1.0 - (2.0 * grid.centres[2] - 1.0) ** 2)
        gradient = (pressure[15, 0, count // 2] - pressure[25, 0, count // 2]) / 1.0
        return float(np.abs(x[20, 0] - profile).max()), float(gradient / (12.0 * VISCOSITY))


@dataclass(frozen=True, slots=True)
class SquareDuct:
    """Laminar flow in a square duct: u_max / U = 2.096256, f Re = 56.908 (exact series)."""

    count: int = 13
    is_slow: bool = False
    name: str = "laminar flow in a square duct"
    source: str = "exact series (textbook f Re = 56.91)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.count}² across"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        h, middle = 1.0 / self.count, self.count // 2
        grid = air_room((3 * self.count, self.count, self.count), h)
        x, pressure = blow_through(grid, 1.0, laminar(), 60 * self.count)
        first, last = round(1.1 / h), round(1.8 / h)
        drop = pressure[first, middle, middle] - pressure[last, middle, middle]
        friction = 2.0 * drop / ((last - first) * h) / VISCOSITY
        peak = x[round(1.5 / h), middle, middle]
        return (
            within("u_max / U", float(peak), 2.096256, 0.03),
            within("friction factor times Re", float(friction), 56.908, 0.03),
        )


@dataclass(frozen=True, slots=True)
class ErgunPlug:
    """Pieces of 5 cm, 60 % air, 0.5 m long: K = 2.25e-5 m², inertial resistance 64.8148 1/m."""

    speed: float
    drop: float  # [Pa], density 1.0923 kg/m³, viscosity 1.9535e-5 Pa s
    is_slow: bool = False
    source: str = "Ergun 1952, Chem. Eng. Prog. 48:89 (by the fluids library)"
    mesh: str = "5 of 0.1 m"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"porous plug at {self.speed} m/s"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        density = 1.0923
        plug = np.zeros((20, 1, 1))
        plug[8:13] = 1.0
        grid = air_room(plug.shape, 0.1, darcy=plug / 2.25e-5, forchheimer=64.8148 * plug)
        settings = AirflowSettings(
            viscosity=1.9535e-5 / density,
            eddies=NO_EDDIES,
            frictionless=(1, 2),
            projection_reduction=1e-12,
        )
        _, pressure = blow_through(grid, self.speed * 0.01, settings, 300)
        ours = density * (pressure[6, 0, 0] - pressure[14, 0, 0])
        return (within("pressure drop [Pa]", float(ours), self.drop, 1e-4),)
