"""Order in space: a manufactured solution, layers whose interfaces lie on faces."""

from dataclasses import dataclass, replace
from math import inf, log2, pi

import numpy as np
from known_answers import Figure, at_most

from heat_problems.set_ups import SetUp, block, full_room, held, set_up
from simulator.case.dwelling import Side
from simulator.grid.grid import FloatArray


def _temperature(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    wave = 10.0 * np.sin(pi * x) * np.cos(0.5 * pi * y) * np.exp(-z)
    return np.asarray(20.0 + wave + 5.0 * x * y**2)


def _conductivity(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    return np.asarray(0.5 + 0.3 * x + 0.2 * y * z)


def manufactured_source(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """Return -∇·(k ∇T) of the manufactured temperature and conductivity [W/m³]."""
    fade = 10.0 * np.exp(-z)
    sine, cosine = np.sin(pi * x), np.cos(pi * x)
    sine_y, cosine_y = np.sin(0.5 * pi * y), np.cos(0.5 * pi * y)
    t_x = pi * fade * cosine * cosine_y + 5.0 * y**2
    t_y = -0.5 * pi * fade * sine * sine_y + 10.0 * x * y
    t_z = -fade * sine * cosine_y
    laplacian = (1.0 - pi**2 - 0.25 * pi**2) * fade * sine * cosine_y + 10.0 * x
    k = _conductivity(x, y, z)
    return np.asarray(-(k * laplacian + 0.3 * t_x + 0.2 * z * t_y + 0.2 * y * t_z))


@dataclass(frozen=True, slots=True)
class ManufacturedSolution:
    """A cube whose conductivity changes everywhere, with the source that makes T known.

    T = 20 + 10 sin πx cos(πy/2) exp(-z) + 5 x y², k = 0.5 + 0.3 x + 0.2 y z, T given on all sides.
    """

    cells: int  # along an edge
    is_slow: bool = False
    name: str = "manufactured solution, variable conductivity"
    source: str = "manufactured for this project; Roache 2002, J. Fluids Eng. 124:4 (the method)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells // 2}³ and {self.cells}³"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        coarse, fine = self._error(self.cells // 2), self._error(self.cells)
        orders = [log2(c / f) for c, f in zip(coarse, fine, strict=True)]
        return (
            at_most("rms error over the spread [-]", fine[0] / 10.0, 0.15 / self.cells**2),
            Figure("order of the rms error", 2.0, orders[0], 1.8, inf),
            Figure("order of the largest error", 2.0, orders[1], 1.6, inf),
        )

    def _error(self, cells: int) -> tuple[float, float]:
        made = self._made(cells)
        centres = np.meshgrid(*made.grid.centres, indexing="ij")
        load = made.model.constant.copy()
        load[made.layout.solid_node] += manufactured_source(*centres).ravel() / cells**3
        warmed = replace(made, model=replace(made.model, constant=load))
        found = warmed.steady(tolerance=1e-9)[made.layout.solid_node]
        off = found - _temperature(*centres).ravel()
        return float(np.sqrt(np.mean(off**2))), float(np.abs(off).max())

    def _made(self, cells: int) -> SetUp:
        h = 1.0 / cells
        parts = [
            block((i * h, j * h, k * h), (h, h, h), self._stuff(i, j, k, h))
            for i, j, k in np.ndindex(cells, cells, cells)
        ]
        grid = full_room((1.0, 1.0, 1.0), h, parts, {side: held(0.0) for side in Side})
        columns = grid.columns
        index = np.unravel_index(columns.cell, grid.shape)
        place = np.array([c[i] for c, i in zip(grid.centres, index, strict=True)])
        place[columns.axis, np.arange(columns.cell.size)] = columns.sign > 0
        return set_up(replace(grid, columns=replace(columns, temperature=_temperature(*place))))

    def _stuff(self, i: int, j: int, k: int, h: float) -> tuple[float, float, float]:
        at = (np.array(n + 0.5) * h for n in (i, j, k))
        return float(_conductivity(*at)), 1.0, 1.0


@dataclass(frozen=True, slots=True)
class LayersOfVoxels:
    """Three layers of voxels between held sides: exact where interfaces lie on faces."""

    cells: int = 3  # in a layer
    is_slow: bool = False
    name: str = "layers of voxels in series"
    source: str = "exact (resistances in series)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} in a layer"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        cell, k = 0.05, (0.04, 50.0, 0.6)
        d = self.cells * cell
        parts = [block((n * d, 0.0, 0.0), (d, cell, cell), (k[n], 1.0, 1.0)) for n in range(3)]
        sides = {Side.WEST: held(100.0), Side.EAST: held(0.0)}
        made = set_up(full_room((3 * d, cell, cell), cell, parts, sides))
        cores = made.steady(made.state(0.0), 1e-12)[made.layout.solid_node]
        side = 2e-6  # a foil and the least resistance behind it
        flux = 100.0 / (sum(d / each for each in k) + 2.0 * side)
        resistance = np.repeat([cell / each for each in k], self.cells)
        exact = 100.0 - flux * (side + np.cumsum(resistance) - 0.5 * resistance)
        return (at_most("largest error of 100 K [K]", float(np.abs(cores - exact).max()), 1e-6),)
