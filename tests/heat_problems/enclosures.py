"""Long-wave exchange in enclosures: three surfaces, six sides, a body that cools by it."""

from dataclasses import dataclass, replace

import numpy as np
from builders import box_room, solid
from known_answers import Figure, at_most, between, off_by, within
from scipy.integrate import solve_ivp

from heat_problems.radiation import (
    SIDES,
    group_exchange,
    net_heat,
    on_side,
    paint,
    painted,
    painted_box,
    side_exchange,
)
from heat_problems.set_ups import set_up
from heat_problems.view_factors import (
    box_factors,
    box_patches,
    parallel_rectangles,
    patch_exchange,
    radiosity_heat,
)
from simulator.case.dwelling import Behind, Construction, Envelope, Layer
from simulator.case.parts import Box, Refuge, SolidPart
from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.nodes import node_layout
from simulator.physics.radiation.exchange import radiation_exchange


@dataclass(frozen=True, slots=True)
class ThreeSurfaces:
    """A furnace: floor 1200 K at 0.8, ceiling 500 K at 0.4, walls that take no heat."""

    size: tuple[float, float, float] = (5.0, 4.0, 2.5)
    wall_emissivity: float = 1.0
    is_slow: bool = False
    name: str = "three surfaces, one of them takes no heat"
    source: str = "exact network of three surfaces with Howell's C-11"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"250 mm, walls of {self.wall_emissivity:g}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid = painted_box(self.size, 0.25, 0.8, 0.4, *(self.wall_emissivity,) * 4)
        on_wall = np.any([on_side(grid, side) for side in SIDES[2:]], axis=0)
        groups = [on_side(grid, SIDES[0]), on_side(grid, SIDES[1]), on_wall]
        exchange, area = group_exchange(grid, radiation_exchange(grid), groups)
        hot, cold = STEFAN_BOLTZMANN * np.array([1200.0, 500.0]) ** 4
        level = (exchange[2, 0] * hot + exchange[2, 1] * cold) / exchange[2, :2].sum()
        ours = exchange[0, 1] * (hot - cold) + exchange[0, 2] * (hot - level)
        f = parallel_rectangles(*self.size)
        through = 1.0 / 0.8 - 1.0 + 1.0 / (f + 0.5 * (1.0 - f)) + 1.0 / 0.4 - 1.0
        exact = area[0] * (hot - cold) / through
        leaving = hot - exact / area[0] * 0.25, cold + exact / area[0] * 1.5
        walls = (0.5 * sum(leaving) / STEFAN_BOLTZMANN) ** 0.25
        return (
            within("heat from floor to ceiling [W]", ours, exact, 0.02),
            within("temperature of the walls [K]", (level / STEFAN_BOLTZMANN) ** 0.25, walls, 0.02),
        )


@dataclass(frozen=True, slots=True)
class TriangularDuct:
    """A long duct of three sides of 1 m: 1200 K at 0.8, 500 K at 0.4, one that takes no heat.

    Two of its sides stand oblique to the cells. It is 3 m long here, and its ends take no heat.
    """

    cell: float = 0.05
    length: float = 3.0
    is_slow: bool = False
    name: str = "triangular duct, one of its sides takes no heat"
    source: str = "textbook (from memory: 37 kW/m, 1102 K); exact network: 36.985 kW/m, 1102.2 K"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid = self._grid()
        inside = self._inside(grid)
        part, axis, sign = grid.surfaces.part, grid.surfaces.axis, grid.surfaces.sign
        groups = [inside & (part == n) for n in range(3)]
        groups += [inside & (part < 0) & (axis == 2) & (sign == s) for s in (1, -1)]
        exchange, area = group_exchange(grid, radiation_exchange(grid, rays=128), groups)
        hot, cold = STEFAN_BOLTZMANN * np.array([1200.0, 500.0]) ** 4
        floating = exchange[2:, 2:] - np.diag(exchange[2:].sum(axis=1))
        level = np.linalg.solve(floating, -exchange[2:, :2] @ [hot, cold])
        heat = exchange[0].sum() * hot - exchange[0] @ [hot, cold, *level]
        shown = (level[0] / STEFAN_BOLTZMANN) ** 0.25
        return (
            within("area of the hot side [m²]", area[0], self.length, 0.02, False),
            within("area of an oblique side [m²]", area[1], self.length, 0.02, False),
            within("heat [kW/m]", heat / self.length / 1000.0, 36.985, 0.02, False),
            within("temperature of the third side [K]", shown, 1102.2, 0.02, False),
        )

    def _corners(self) -> FloatArray:
        return np.array([[0.3, 0.3], [1.3, 0.3], [0.8, 0.3 + 0.75**0.5]])

    def _grid(self) -> Grid:
        corners, thick, parts = self._corners(), 0.15, []
        for n, emissivity in enumerate((0.8, 0.4, 0.9)):
            one, other = corners[n], corners[(n + 1) % 3]
            along = other - one
            outward = np.array([along[1], -along[0]])
            x, y = 0.5 * (one + other) + 0.5 * thick * outward
            turn = float(np.degrees(np.arctan2(along[1], along[0])))
            box = Box((float(x), float(y), 0.5 * self.length), (1.3, thick, self.length), turn)
            parts.append(SolidPart(f"side {n}", "board", box, paint(emissivity), Refuge.NOWHERE))
        size = (1.6, 1.6, self.length)
        return voxelise(box_room(size, parts=parts, envelope=painted(0.9)), self.cell)

    def _inside(self, grid: Grid) -> BoolArray:
        """Which surfaces face a cell whose middle is within the triangle, or nearly so."""
        i, j, _ = np.unravel_index(grid.surfaces.air_cell, grid.shape)
        at = np.stack([grid.centres[0][i], grid.centres[1][j]], axis=1)
        corners, found = self._corners(), np.ones(i.size, dtype=bool)
        for n in range(3):
            along = corners[(n + 1) % 3] - corners[n]
            apart = at - corners[n]
            found &= along[0] * apart[:, 1] - along[1] * apart[:, 0] > -self.cell
        return found


#: Temperatures of the six sides of a room of 5 x 4 x 2.5 m [°C], in the order of ``SIDES``.
SIX_TEMPERATURES = np.array([40.0, 50.0, 35.0, 45.0, 15.0, 37.0])

#: Net heat that leaves each, all of emissivity 0.9, one radiosity a side (for this project) [W].
SIX_HEATS = np.array([-48.404, 1695.566, -394.874, 500.797, -1532.166, -220.919])


@dataclass(frozen=True, slots=True)
class SixSides:
    """A room of 5 x 4 x 2.5 m, each side at its own temperature.

    The model lets the radiosity vary over a side. So does the second reference: radiosity on
    patches of 0.25 m whose factors are closed forms.
    """

    what: str
    emissivity: tuple[float, ...]
    is_slow: bool = False
    source: str = (
        "exact radiosity with Howell's C-11 and C-14, and with Ehlert & Smith 1993 (memory)"
    )
    mesh: str = "250 mm, patches of 0.3 m"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"room of six sides, {self.what}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        size, kelvin = (5.0, 4.0, 2.5), SIX_TEMPERATURES + ZERO_CELSIUS
        grid = painted_box(size, 0.25, *self.emissivity)
        exchange, area = side_exchange(grid, radiation_exchange(grid))
        ours, emissivity = net_heat(exchange, kelvin), np.array(self.emissivity)
        plain = radiosity_heat(box_factors(*size), area, emissivity, kelvin)
        patched = self._patched(size, emissivity, kelvin)
        names = [side.name.lower() for side in SIDES]
        most = 0.02 * np.abs(patched).max()
        return (
            at_most("heat lost or made [W]", abs(float(ours.sum())), 1e-9),
            at_most(
                "largest error off one radiosity a side, of the largest heat [-]",
                float(np.abs(ours - plain).max() / np.abs(plain).max()),
                0.02 if min(self.emissivity) > 0.8 else 0.12,
            ),
            *(
                off_by(f"{name}, off patches [W]", found, exact, most, "W")
                for name, found, exact in zip(names, ours, patched, strict=True)
            ),
        )

    def _patched(
        self, size: tuple[float, float, float], emissivity: FloatArray, kelvin: FloatArray
    ) -> FloatArray:
        side, bounds = box_patches(*size, 0.25)
        width = bounds[:, :, 1] - bounds[:, :, 0]
        area = np.sort(width, axis=1)[:, 1:].prod(axis=1)
        factor = patch_exchange(bounds) / area[:, None]
        heat = radiosity_heat(factor, area, emissivity[side], kelvin[side])
        return np.bincount(side, weights=heat)


@dataclass(frozen=True, slots=True)
class CoolingBody:
    """A block of copper at 300 °C and ε 0.9 that only radiates, in a black room held at 20 °C.

    The exchange is linearised anew in each epoch, about the temperatures expected amid it.
    """

    epochs: int = 16
    hours: float = 4.0
    is_slow: bool = False
    name: str = "body that cools by radiation alone"
    source: str = "exact: m c dT/dt = -ε A σ (T⁴ - T0⁴), integrated to 1e-10"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"100 mm, one epoch, {self.epochs // 2} and {self.epochs} of them"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        times = np.linspace(0.0, 3600.0 * self.hours, self.epochs + 1)[1:]
        exact = self._exact(float(times[-1]))
        once, half, many = (self._march(count) for count in (1, self.epochs // 2, self.epochs))
        return (
            off_by("after all epochs [°C]", many, exact, 1.0),
            between("error of a single epoch [K]", abs(once - exact), 5.0, 100.0),
            between(
                "error of half as many epochs over that of all",
                abs(half - exact) / abs(many - exact),
                1.8,
                100.0,
            ),
        )

    def _grid(self) -> Grid:
        copper = replace(paint(0.9), conductivity=380.0, density=8900.0, heat_capacity=380.0)
        body = solid((0.4, 0.4, 0.4), (0.2, 0.2, 0.2), material=copper)
        black = replace(paint(1.0), conductivity=100.0, density=1.0)
        cold = Envelope(Construction("black", (Layer(black, 1e-4),)), Behind("cold", 20.0, 0.0))
        return voxelise(box_room((1.0, 1.0, 1.0), parts=[body], envelope=cold), 0.1)

    def _march(self, epochs: int) -> float:
        grid = self._grid()
        radiation = radiation_exchange(grid, rays=64)
        layout = node_layout(grid)
        state = np.full(layout.size, 20.0)
        of_body = ~layout.is_envelope
        of_body[layout.air] = False
        state[of_body] = 300.0
        before, length = state, 3600.0 * self.hours / epochs
        for number in range(epochs):
            expected = state + 0.5 * (state - before)  # as a run expects it
            before, start = state, number * length
            now = set_up(grid, radiation=radiation, about=expected)
            state = now.march(state, [start + length], start=start).state
        capacity = np.where(of_body, layout.capacity, 0.0)
        return float(state @ capacity / capacity.sum())

    def _exact(self, time: float) -> float:
        rate = 0.9 * STEFAN_BOLTZMANN * 6.0 * 0.2**2 / (0.2**3 * 8900.0 * 380.0)
        cold = 20.0 + ZERO_CELSIUS

        def cooling(_: float, kelvin: FloatArray) -> FloatArray:
            return -rate * (kelvin**4 - cold**4)

        start = [300.0 + ZERO_CELSIUS]
        solved = solve_ivp(cooling, (0.0, time), start, rtol=1e-10, atol=1e-8)
        return float(solved.y[0, -1]) - ZERO_CELSIUS
