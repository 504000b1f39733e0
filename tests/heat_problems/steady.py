"""Steady conduction: cuboids, layers in series, a fin, a slab with a source in it."""

from dataclasses import dataclass, replace
from math import cosh, sqrt, tanh

import numpy as np
from known_answers import Figure, at_most, off_by, within
from scipy.interpolate import RegularGridInterpolator

from heat_problems.iso_10211 import solid_field
from heat_problems.set_ups import (
    block,
    endless_air,
    full_room,
    held,
    layers,
    row_of_voxels,
    set_up,
    wall,
)
from simulator.case.dwelling import Side


@dataclass(frozen=True, slots=True)
class WarmFace:
    """A cuboid with one side at one and five at zero."""

    size: tuple[float, float, float]
    cell: float
    side: Side
    points: tuple[tuple[tuple[float, float, float], float], ...]
    most: float
    is_slow: bool = False
    source: str = "exact series, evaluated for this project"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        x, y, z = self.size
        return f"cuboid of {x:g} x {y:g} x {z:g} m, warm {self.side.name.lower()}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cell:g} m"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        sides = {side: held(1.0 if side is self.side else 0.0) for side in Side}
        body = block((0.0, 0.0, 0.0), self.size, (1.0, 1.0, 1.0))
        made = set_up(full_room(self.size, self.cell, [body], sides))
        steady = made.steady(tolerance=1e-9)
        read = RegularGridInterpolator(made.grid.centres, solid_field(made, steady), method="cubic")
        return (
            *(off_by(f"T at {at}", read(at).item(), exact, self.most) for at, exact in self.points),
            at_most(
                "heat that the sides do not balance [W]",
                abs(made.model.envelope_loss(steady)),
                1e-6,
            ),
        )


def unit_cube(side: Side) -> WarmFace:
    """Return the cube with its warm side turned any way; the points turn with it."""

    def at(depth: float) -> tuple[float, float, float]:
        place = [0.5, 0.5, 0.5]
        place[side.axis] = depth if side.sign > 0 else 1.0 - depth
        return (place[0], place[1], place[2])

    points = ((at(0.5), 1.0 / 6.0), (at(0.25), 0.051016), (at(0.75), 0.458087))
    return WarmFace((1.0, 1.0, 1.0), 0.1, side, points, 0.01)


@dataclass(frozen=True, slots=True)
class LayersInSeries:
    """A wall between two airs in steady state: layers and films in series."""

    what: str
    layers: tuple[tuple[float, float], ...]  # k, thickness, from the room outwards
    inner_h: float
    outer_resistance: float
    flux: float  # [W/m²], 40 °C inside and 10 °C outside
    is_slow: bool = False
    source: str = "definition of ASHRAE 1052-RP as in open test reports; arithmetic"
    mesh: str = "wall column"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"steady wall, {self.what}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made = wall(
            layers(*((k, 1000.0, 1000.0, d) for k, d in self.layers)),
            self.inner_h,
            10.0,
            self.outer_resistance,
        )
        steady = made.made.steady(made.made.state(20.0, 40.0), 1e-9)
        return (within("heat flux [W/m²]", float(made.heat(steady)), self.flux, 1e-5),)


@dataclass(frozen=True, slots=True)
class Fin:
    """A steel rod (k 50, 20 mm, 0.5 m) in air of 20 °C, h 10, base at 55 °C, adiabatic tip.

    Cells make it square: perimeter over section is 4/d as of a round one.
    """

    is_slow: bool = False
    name: str = "fin of 20 mm, 0.5 m long"
    source: str = "exact (cosh m(L - x) / cosh m L)"
    mesh: str = "20 mm, one cell across"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        d, length, k, h = 0.02, 0.5, 50.0, 10.0
        rod = block((0.0, d, d), (length, d, d), (k, 7800.0, 450.0))
        grid = full_room((length, 3.0 * d, 3.0 * d), d, [rod], {Side.WEST: held(55.0)})
        on_rod = (grid.surfaces.solid >= 0) & (grid.surfaces.axis > 0)
        film = np.where(on_rod, h, 0.0)
        made = set_up(endless_air(grid), film)
        steady = made.steady(made.state(20.0, 20.0), 1e-9)
        cores = steady[made.layout.solid_node]
        m = sqrt(4.0 * h / (k * d))

        def exact(x: float) -> float:
            return 20.0 + 35.0 * cosh(m * (length - x)) / cosh(m * length)

        heat = -made.surface_heat(steady, film).sum()
        # the textbook's round rod has π/4 of this one's section and perimeter
        reference = 35.0 * m * k * d**2 * tanh(m * length)
        last, middle = 0.5 * (length + length - d), 0.5 * length
        return (
            off_by("T at the tip's cell [°C]", cores[-1], exact(last), 0.05),
            off_by("T half way [°C]", cores[12], exact(middle), 0.05),
            within("heat [W] x π/4", heat * np.pi / 4.0, reference * np.pi / 4.0, 0.005),
        )


@dataclass(frozen=True, slots=True)
class WarmSlab:
    """A slab that makes 1000 W/m³: ±0.1 m, k 0.5, h 10: surface +10 K, middle +20 K."""

    cells: int = 10
    is_slow: bool = False
    name: str = "slab with a source in it"
    source: str = "exact parabola"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} cells in its half"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        half, k, volumetric = 0.1, 0.5, 5e5
        made = row_of_voxels([half], [(k, 500.0, 1000.0)], half / self.cells, 10.0)
        layout = made.layout
        stored = np.where(layout.is_envelope, 0.0, layout.capacity)
        stored[layout.air] = 0.0
        warm = replace(made, model=replace(made.model, constant=1000.0 * stored / volumetric))
        steady = warm.steady(made.state(0.0, 0.0), 1e-9)
        surface = steady[layout.surface_node[made.grid.surfaces.solid >= 0]]
        inmost = half * (1.0 - 0.5 / self.cells)  # middle of the cell at the plane of symmetry
        exact = 10.0 + 0.5 * 1000.0 / k * inmost * (2.0 * half - inmost)
        return (
            off_by("surface [K over the air]", float(surface[0]), 10.0, 1e-3),
            off_by("inmost cell [K over the air]", steady[layout.solid_node[-1]], exact, 0.05),
        )
