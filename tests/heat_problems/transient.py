"""Bodies that warm: semi-infinite solids, plane walls, spheres, an egg, a brass plate."""

from dataclasses import dataclass
from math import log2
from typing import Literal

import numpy as np
from known_answers import Figure, at_most, off_by, within
from scipy.optimize import brentq

from heat_problems.series import (
    Modes,
    convected_surface,
    diffusivity,
    fluxed_surface,
    held_surface,
    sphere_modes,
    wall_modes,
)
from heat_problems.set_ups import (
    FINE_STEPS,
    HOUR,
    SetUp,
    block,
    endless_air,
    full_room,
    layers,
    row_of_voxels,
    set_up,
    wall,
)
from simulator.grid.grid import FloatArray
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod

TIMES = np.array([600.0, 3600.0, 14400.0, 28800.0, 86400.0])

#: k, ρ, c, and where the tables of the textbook forms were evaluated: (t [s], x [m]).
SOLIDS = {
    "concrete": (1.65, 2200.0, 1000.0),
    "timber": (0.13, 500.0, 1600.0),
    "textile": (0.06, 200.0, 1300.0),
}
POINTS = {
    "concrete": [
        (600, 0.01),
        (3600, 0.02),
        (3600, 0.05),
        (14400, 0.05),
        (28800, 0.10),
        (86400, 0.10),
    ],
    "timber": [(600, 0.01), (3600, 0.02), (3600, 0.05), (14400, 0.05), (28800, 0.10)],
    "textile": [(3600, 0.02), (3600, 0.05), (14400, 0.05), (28800, 0.10)],
}

Drive = Literal["held surface", "steady flux", "film of air"]


@dataclass(frozen=True, slots=True)
class DeepWall:
    """A wall so thick that its far side is not reached, 20 °C at first.

    Its surface is held at 50 °C, or takes 100 W/m², or has air of 55 °C behind a film of 10. The
    graded mesh has two to six nodes in the heat's reach, where ten would be fine: 0.25 K in the
    first half hour, 0.08 K later.
    """

    solid: str
    drive: Drive
    is_slow: bool = False
    source: str = "Incropera & DeWitt, section 5.7 (Carslaw & Jaeger 1959, chapter II), evaluated"
    mesh: str = "wall column"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"semi-infinite {self.solid}, {self.drive}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        depth, found = self._march()
        figures = []
        for t, x in [*POINTS[self.solid], *((t, 0.0) for t in TIMES)]:
            ours = np.interp(x, depth, found[list(TIMES).index(t)])
            exact = self._exact(t, x)
            share, least = (0.02, 0.25) if t < 1800 else (0.015, 0.08)
            # a steady flux drives the rise without end: a share of it
            rise = exact - 20.0 if self.drive == "steady flux" else 0.0
            name = f"T at {1000 * x:g} mm after {t / HOUR:.3g} h [°C]"
            figures.append(off_by(name, ours, exact, max(least, share * rise)))
        # where the surface is held there is nothing to compare at it
        return tuple(f for f in figures if f.reference != 50.0)

    def _exact(self, t: float, x: float) -> float:
        stuff = SOLIDS[self.solid]
        if self.drive == "held surface":
            return 20.0 + 30.0 * held_surface(stuff, t, x)
        if self.drive == "steady flux":
            return 20.0 + 100.0 * fluxed_surface(stuff, t, x)
        return 20.0 + 35.0 * convected_surface(stuff, t, x, 10.0)

    def _march(self) -> tuple[FloatArray, FloatArray]:
        thickness = 2.0 if self.solid == "concrete" else 1.0
        construction = layers((*SOLIDS[self.solid], thickness))
        if self.drive == "steady flux":
            # 1e9 K behind a film of 1e-7 W/(m² K) push 100 W/m² whatever the surface does
            made = wall(construction, 1e-7)
            state = made.made.state(20.0, 1e9)
        else:
            held = self.drive == "held surface"
            made = wall(construction, 1e6 if held else 10.0)
            state = made.made.state(20.0, 50.0 if held else 55.0)
        return made.depth, made.profile(made.made.states(state, TIMES))


@dataclass(frozen=True, slots=True)
class FreezingSoil:
    """How deep a pipe must lie: soil warm at first, its surface held below freezing for weeks."""

    what: str
    start: float
    surface: float
    days: float
    diffusivity: float
    depth: float  # [m] where 0 °C is reached
    is_slow: bool = False
    source: str = "Incropera & DeWitt, worked example (from memory: 0.68 m); evaluated"
    mesh: str = "wall column"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"freezing depth, {self.what}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        soil = layers((self.diffusivity * 2e6, 2000.0, 1000.0, 8.0))
        made = wall(soil, 1e6)
        times = np.array([self.days * 24 * HOUR])
        states = made.made.states(made.made.state(self.start, self.surface), times)
        profile = made.profile(states)[0]
        return (
            off_by("depth of 0 °C [m]", np.interp(0.0, profile, made.depth), self.depth, 0.01, "m"),
        )


@dataclass(frozen=True, slots=True)
class DeepRow:
    """A row of voxels of 5 cm as the semi-infinite solid, air of 55 °C behind a film of 10."""

    solid: str
    cell: float = 0.05
    most: float = 1.0
    is_slow: bool = False
    source: str = "Incropera & DeWitt, section 5.7 (Carslaw & Jaeger 1959, chapter II), evaluated"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"row of voxels as semi-infinite {self.solid}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        stuff, h = SOLIDS[self.solid], 10.0
        thickness = 2.0 if self.solid == "concrete" else 1.0
        made = row_of_voxels([thickness], [stuff], self.cell, h)
        states = made.states(made.state(20.0, 55.0), TIMES, ImplicitSteps(error=0.02))
        cores = states[:, made.layout.solid_node]
        surface = states[:, made.layout.surface_node[made.grid.surfaces.solid >= 0]][:, 0]
        worst, flux = 0.0, []
        for index, t in enumerate(TIMES):
            share = convected_surface(stuff, t, 0.0, h)
            if t >= HOUR:
                flux.append((55.0 - surface[index]) / (35.0 * (1.0 - share)) - 1.0)
            if diffusivity(stuff) * t < self.cell**2:
                continue  # a cell's Fourier number below one: no voxel can follow
            for cell in range(2, 6):
                exact = 20.0 + 35.0 * convected_surface(stuff, t, self.cell * (cell + 0.5), h)
                worst = max(worst, abs(cores[index, cell] - exact))
        return (
            at_most("largest error from Fo 1 of a cell on [K]", worst, self.most),
            at_most("largest error of the flux from 1 h on [-]", float(np.abs(flux).max()), 0.1),
        )


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
            figures.append(Figure("order in space", 2.0, log2(once / twice), 1.8, 2.2))
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
