"""Semi-infinite solids that warm: walls, voxels, soil."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from known_answers import Figure, at_most, off_by

from heat_problems.series import (
    convected_surface,
    diffusivity,
    fluxed_surface,
    held_surface,
)
from heat_problems.set_ups import (
    HOUR,
    layers,
    row_of_voxels,
    wall,
)
from simulator.grid.grid import FloatArray
from simulator.physics.heat.implicit_steps import ImplicitSteps

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


#: Bands of the first half hour and of later [K] within the wall, and at its surface under a film.
BANDS = (0.25, 0.08)
FILM_SURFACE_BANDS = (0.15, 0.05)

#: Band of the first half hour where the surface is held [K].
HELD_EARLY = 0.2


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
            share = 0.02 if t < 1800 else 0.015
            least = self._band(t, x)
            # a steady flux drives the rise without end: a share of it
            rise = exact - 20.0 if self.drive == "steady flux" else 0.0
            name = f"T at {1000 * x:g} mm after {t / HOUR:.3g} h [°C]"
            figures.append(off_by(name, ours, exact, max(least, share * rise)))
        # where the surface is held there is nothing to compare at it
        return tuple(f for f in figures if f.reference != 50.0)

    def _band(self, t: float, x: float) -> float:
        """Return the band at a time and depth [K]."""
        at_film = self.drive == "film of air" and x == 0.0
        early, late = FILM_SURFACE_BANDS if at_film else BANDS
        if t >= 1800:
            return late
        return HELD_EARLY if self.drive == "held surface" else early

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
