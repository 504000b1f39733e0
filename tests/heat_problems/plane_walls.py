"""Plane walls, spheres, an egg, a brass plate that warm: Heisler's problems."""

from dataclasses import dataclass
from math import log2

import numpy as np
from known_answers import Figure, at_most, off_by, within
from scipy.optimize import brentq

from heat_problems.series import (
    Modes,
    diffusivity,
    sphere_modes,
    wall_modes,
)
from heat_problems.set_ups import (
    FINE_STEPS,
    SetUp,
    block,
    endless_air,
    full_room,
    row_of_voxels,
    set_up,
)
from simulator.grid.grid import FloatArray
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod

#: Fo, Bi.
PLANE_WALLS = (
    (0.1, 1.0),
    (0.2, 1.0),
    (0.5, 1.0),
    (1.0, 1.0),
    (2.0, 1.0),
    (0.1, 10.0),
    (0.5, 10.0),
    (0.2, 0.5),
    (1.0, 0.1),
)


@dataclass(frozen=True, slots=True)
class PlaneWalls:
    """Heisler's plane wall on a row of voxels, 0.1 m to its middle plane."""

    cells: int
    most: float
    cases: tuple[tuple[float, float], ...] = PLANE_WALLS
    is_slow: bool = False
    name: str = "plane wall (Heisler)"
    source: str = "series, Incropera & DeWitt eq. 5.42, 60 terms"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} cells in its half"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        errors = np.array([self._errors(self.cells, *case) for case in self.cases])
        names = ("inmost cell", "surface", "mean")
        first = min(fourier for fourier, _ in self.cases)
        figures = [
            at_most(f"largest error of θ from Fo {first:g} on, {name}", worst, self.most)
            for name, worst in zip(names, np.abs(errors).max(axis=0), strict=True)
        ]
        if self.cells >= 10:
            short = ImplicitSteps(error=2e-4, solver_tolerance=1e-8, shortest=1.0)
            once, twice = (
                np.abs(self._errors(n * self.cells, 0.5, 1.0, short)).max() for n in (1, 2)
            )
            figures.append(Figure("order in space", 2.0, log2(once / twice), 1.9, 2.1))
        return tuple(figures)

    def _errors(
        self, cells: int, fourier: float, biot: float, method: MarchMethod = FINE_STEPS
    ) -> FloatArray:
        half, stuff = 0.1, (0.1, 500.0, 1000.0)
        made = row_of_voxels([half], [stuff], half / cells, biot * stuff[0] / half)
        times = np.array([fourier * half**2 / diffusivity(stuff)])
        state = made.states(made.state(20.0, 0.0), times, method)[0]
        layout = made.layout
        capacity = np.where(layout.is_envelope, 0.0, layout.capacity)
        capacity[layout.air] = 0.0
        surface = layout.surface_node[made.grid.surfaces.solid >= 0][0]
        modes = wall_modes(biot)
        found = (state[layout.solid_node[-1]], state[surface], state @ capacity / capacity.sum())
        exact = (modes.centre(fourier), modes.surface(fourier), modes.mean(fourier))
        return np.array(found) / 20.0 - np.array(exact)


@dataclass(frozen=True, slots=True)
class Sphere:
    """A sphere of stuff in cubes, an eighth of it; its film is scaled by the steps' excess area."""

    cells: int  # in the radius
    biot: float
    fourier: tuple[float, ...]
    most: float
    is_slow: bool = False
    source: str = "series, Incropera & DeWitt eq. 5.51, 60 terms"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"sphere in cubes, Bi {self.biot:g}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} cells in its radius"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        radius, stuff = 0.1, (0.1, 500.0, 1000.0)
        made, true = ball(radius, self.cells, stuff, self.biot * stuff[0] / radius)
        times = np.array(self.fourier) * true**2 / diffusivity(stuff)
        states = made.states(made.state(1.0, 0.0), times)
        modes = sphere_modes(self.biot)
        return tuple(
            off_by(
                f"θ at the centre, Fo {fourier:g}",
                state[made.layout.solid_node[0]],
                modes.centre(fourier),
                self.most,
                "",
            )
            for fourier, state in zip(self.fourier, states, strict=True)
        )


def ball(
    radius: float, cells: int, stuff: tuple[float, float, float], h: float
) -> tuple[SetUp, float]:
    """Return an eighth of a ball of cubes in endless air and the radius of its volume [m].

    One bar of cubes along x for each place in the y-z plane.
    """
    cell = radius / cells
    at = (np.arange(cells) + 0.5) * cell
    parts = []
    for j, y in enumerate(at):
        for k, z in enumerate(at):
            count = int((at**2 + y**2 + z**2 <= radius**2).sum())
            if count:
                low = (0.0, j * cell, k * cell)
                parts.append(block(low, (count * cell, cell, cell), stuff))
    wide = radius + cell
    grid = endless_air(full_room((wide, wide, wide), cell, parts, {}))
    volume = 8.0 * grid.solids.volume.sum()
    true = float(np.cbrt(0.75 * volume / np.pi))
    on_ball = grid.surfaces.solid >= 0
    excess = 8.0 * grid.surfaces.area[on_ball].sum() / (4.0 * np.pi * true**2)
    return set_up(grid, np.where(on_ball, h / excess, 0.0)), true


@dataclass(frozen=True, slots=True)
class Egg:
    """An egg of 5 cm from 5 °C in boiling water of 95 °C, h 1200: when is its middle at 70 °C?"""

    cells: int = 10
    is_slow: bool = False
    name: str = "egg in boiling water"
    source: str = "Cengel, worked example (from memory: 865 s; one term: 863 s); full series"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} cells in its radius"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        radius, k, spread = 0.025, 0.627, 0.151e-6
        stuff = (k, 1000.0, k / spread / 1000.0)
        made, true = ball(radius, self.cells, stuff, 1200.0)
        times = np.arange(600.0, 1201.0, 60.0)
        middle = made.states(made.state(5.0, 95.0), times)[:, made.layout.solid_node[0]]
        # the ball of cubes has a slightly different volume
        ours = np.interp(70.0, middle, times) * (radius / true) ** 2
        exact = _time_to(sphere_modes(1200.0 * radius / k), 25.0 / 90.0) * radius**2 / spread
        return (within("time to 70 °C [s]", ours, exact, 0.03),)


def _time_to(modes: Modes, theta: float) -> float:
    """Fourier number at which the centre has come down to θ."""
    return float(brentq(lambda fourier: modes.centre(fourier) - theta, 0.02, 5.0))


@dataclass(frozen=True, slots=True)
class BrassPlate:
    """A brass plate of 4 cm from 20 °C in an oven of 500 °C, h 120: its surface after 7 min."""

    cells: int = 2
    is_slow: bool = False
    name: str = "brass plate in an oven"
    source: str = "Cengel, worked example (from memory: 282 °C by chart); exact series: 279.6 °C"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} cells in its half"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        half, k, spread = 0.02, 110.0, 33.9e-6
        made = row_of_voxels([half], [(k, 8000.0, k / spread / 8000.0)], half / self.cells, 120.0)
        state = made.states(made.state(20.0, 500.0), np.array([420.0]), FINE_STEPS)[0]
        surface = made.layout.surface_node[made.grid.surfaces.solid >= 0][0]
        return (off_by("surface after 7 min [°C]", state[surface], 279.6, 0.5),)
