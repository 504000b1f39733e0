"""Long-wave exchange: view factors, plates and shields, a small body in a large room."""

from dataclasses import dataclass

import numpy as np
from builders import box_room, solid
from known_answers import Figure, at_most, within

from heat_problems.view_factors import (
    box_factors,
    parallel_rectangles,
)
from simulator.case.dwelling import Behind, Construction, Envelope, Layer, Side
from simulator.case.materials import Material
from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.radiation.exchange import RadiationExchange, radiation_exchange

#: The order of all tables of six sides.
SIDES = (Side.FLOOR, Side.CEILING, Side.SOUTH, Side.NORTH, Side.WEST, Side.EAST)

_CLOSED_FORMS = "Howell's catalog C-11 and C-14 (from memory), evaluated"


def paint(emissivity: float) -> Material:
    """Return a material with this emissivity."""
    return Material("paint", 0.5, 1000.0, 1000.0, emissivity, None, "set by the problem")


def painted(emissivity: float) -> Envelope:
    """Return a side with this emissivity."""
    layer = Layer(paint(emissivity), 0.01)
    return Envelope(Construction(f"painted {emissivity:g}", (layer,)), Behind("nothing", None, 0.0))


def painted_box(size: tuple[float, float, float], cell: float, *emissivity: float) -> Grid:
    """Return an empty room, its sides painted in the order of ``SIDES`` (one: all alike)."""
    paints = emissivity if len(emissivity) == 6 else emissivity * 6
    sides = {side: painted(e) for side, e in zip(SIDES, paints, strict=True)}
    return voxelise(box_room(size, envelope=sides), cell)


def side_exchange(grid: Grid, exchange: RadiationExchange) -> tuple[FloatArray, FloatArray]:
    """Return the total-exchange areas between the six sides of an empty room, and their areas."""
    return group_exchange(grid, exchange, [on_side(grid, side) for side in SIDES])


def on_side(grid: Grid, side: Side) -> BoolArray:
    """Return which surfaces are the room's own on one side (S,)."""
    surfaces = grid.surfaces
    found: BoolArray = (surfaces.axis == side.axis) & (surfaces.sign == -side.sign)
    return found & (surfaces.column >= 0)


def group_exchange(
    grid: Grid, exchange: RadiationExchange, groups: list[BoolArray]
) -> tuple[FloatArray, FloatArray]:
    """Return the total-exchange areas between groups of surfaces, and their areas [m²]."""
    member = np.zeros((exchange.area.size, len(groups)))
    for number, rows in enumerate(groups):
        member[exchange.patch_of_surface[rows], number] = 1.0
    area = np.array([grid.surfaces.area[rows].sum() for rows in groups])
    return member.T @ (exchange.exchange @ member), area


def net_heat(exchange: FloatArray, kelvin: FloatArray) -> FloatArray:
    """Return the net heat leaving each group [W]."""
    emission = STEFAN_BOLTZMANN * kelvin**4
    heat: FloatArray = exchange.sum(axis=1) * emission - exchange @ emission
    return heat


@dataclass(frozen=True, slots=True)
class BlackBox:
    """View factors between the sides of an empty black room, by rays."""

    size: tuple[float, float, float]
    cell: float
    is_slow: bool = False
    source: str = _CLOSED_FORMS

    @property
    def name(self) -> str:
        """The problem in a few words."""
        x, y, z = self.size
        return f"view factors of a box of {x:g} x {y:g} x {z:g} m"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid = painted_box(self.size, self.cell, 1.0)
        exchange, area = side_exchange(grid, radiation_exchange(grid))
        exact = box_factors(*self.size)
        factor = exchange / area[:, None]
        large = exact > 0.05
        return (
            at_most(
                "largest error of factors over 0.05, a share [-]",
                float(np.abs(factor / np.where(large, exact, 1.0) - 1.0)[large].max()),
                0.02,
            ),
            within("floor to ceiling", factor[0, 1], exact[0, 1], 0.02),
            within("floor to south", factor[0, 2], exact[0, 2], 0.02),
            within("floor to west", factor[0, 4], exact[0, 4], 0.02),
            at_most("rows off one [-]", float(np.abs(factor.sum(axis=1) - 1.0).max()), 1e-12),
            at_most("not reciprocal [m²]", float(np.abs(exchange - exchange.T).max()), 1e-12),
        )


@dataclass(frozen=True, slots=True)
class Slot:
    """Plates of 0.5 x 0.5 m, 5 cm apart."""

    is_slow: bool = False
    name: str = "view factor across a slot of 5 cm"
    source: str = _CLOSED_FORMS
    mesh: str = "50 mm, one across"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid = painted_box((0.5, 0.5, 0.05), 0.05, 1.0)
        exchange, area = side_exchange(grid, radiation_exchange(grid))
        return (within("F", exchange[0, 1] / area[0], 0.826995, 0.02),)


@dataclass(frozen=True, slots=True)
class Plates:
    """800 K at 0.2 over 500 K at 0.7, with or without a shield of 0.1: plates of 3 x 3 m.

    Black edges that take no heat close the gap of 0.1 m; each gap then passes
    (E1 - E2) / (1/ε1 + 1/ε2 - 2 + 1/F'), F' = F + (1 - F)/2 by way of the edges.
    """

    has_shield: bool
    endless: float  # between plates without end [W/m²]
    is_slow: bool = False
    source: str = "exact network (textbooks: 3625.6 W/m², with a shield 805.7 W/m²)"
    mesh: str = "100 mm, one across each gap"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return "plates of unequal emissivity" + (" and a shield" if self.has_shield else "")

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        first, last = 0.2, 0.7
        emitted = STEFAN_BOLTZMANN * np.array([800.0, 500.0]) ** 4
        gaps = [(first, 0.1), (0.1, last)] if self.has_shield else [(first, last)]
        ours = 1.0 / sum(1.0 / self._conductance(*gap) for gap in gaps)
        f = parallel_rectangles(3.0, 3.0, 0.1)
        through = f + 0.5 * (1.0 - f)
        exact = 1.0 / sum(1.0 / a + 1.0 / b - 2.0 + 1.0 / through for a, b in gaps)
        drop = float(emitted[0] - emitted[1])
        return (
            within("heat [W/m²]", ours * drop, exact * drop, 0.01),
            within("of plates without end [W/m²]", ours * drop, self.endless, 0.02),
        )

    def _conductance(self, low: float, high: float) -> float:
        """Net flux for one W/m² of difference in emission, with edges that take no heat."""
        grid = painted_box((3.0, 3.0, 0.1), 0.1, low, high, 1.0, 1.0, 1.0, 1.0)
        exchange, area = side_exchange(grid, radiation_exchange(grid))
        edges = exchange[2:, 2:] - np.diag(exchange[2:].sum(axis=1))
        level = np.concatenate([[1.0, 0.0], np.linalg.solve(edges, -exchange[2:, 0])])
        return float((exchange[0].sum() - exchange[0] @ level) / area[0])


@dataclass(frozen=True, slots=True)
class SmallBody:
    """A body of 0.5 m² and 0.9 at 60 °C in a room at 20 °C."""

    is_slow: bool = False
    name: str = "small body in a large room"
    source: str = "exact: ε A σ (T⁴ - T0⁴), a black room"
    mesh: str = "100 mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        body = solid((0.8, 0.8, 0.8), (0.4, 0.4, 0.4), material=paint(0.9))
        case = box_room((2.0, 2.0, 2.0), parts=[body], envelope=painted(1.0))
        grid = voxelise(case, 0.1)
        on_body = grid.surfaces.solid >= 0
        exchange, area = group_exchange(grid, radiation_exchange(grid), [on_body, ~on_body])
        heat = net_heat(exchange, np.array([60.0, 20.0]) + ZERO_CELSIUS)[0] * 0.5 / area[0]
        return (within("heat [W]", heat, 125.884, 0.01),)
