"""The cases of ISO 10211 (thermal bridges): half column, roof detail, iron bar."""

from dataclasses import dataclass
from math import log2

import numpy as np
from known_answers import Figure, at_most, off_by, within
from scipy.interpolate import RegularGridInterpolator

from heat_problems.series import square_with_a_warm_side
from heat_problems.set_ups import (
    SetUp,
    block,
    endless_air,
    full_room,
    held,
    set_up,
)
from simulator.case.dwelling import Side
from simulator.grid.grid import FloatArray

_IN_OPEN_REPOSITORIES = "as reproduced in open repositories"

#: ISO 10211:2007 annex A, case 1 [°C]. Rows: 1/8 ... 7/8 of the height from the top; columns: 1/4,
#: 1/2, 3/4, 1 of the width from the left to the plane of symmetry.
ISO_10211_CASE_1 = np.array(
    [
        [9.7, 13.4, 14.7, 15.1],
        [5.3, 8.6, 10.3, 10.8],
        [3.2, 5.6, 7.0, 7.5],
        [2.0, 3.6, 4.7, 5.0],
        [1.3, 2.3, 3.0, 3.2],
        [0.7, 1.4, 1.8, 1.9],
        [0.3, 0.6, 0.8, 0.9],
    ]
)


def half_column_exact() -> FloatArray:
    """Return the series at the 28 points of case 1 [°C]."""
    y, x = np.meshgrid(1.0 - np.arange(1, 8) / 8, np.arange(1, 5) / 8, indexing="ij")
    return 20.0 * square_with_a_warm_side(x, y)


def solid_field(made: SetUp, state: FloatArray) -> FloatArray:
    """Return the core of every cell of a room full of stuff [i, j, k]; nan elsewhere."""
    field = np.full(made.grid.is_open.size, np.nan)
    field[made.grid.solids.cell] = state[made.layout.solid_node]
    return field.reshape(made.grid.shape)


@dataclass(frozen=True, slots=True)
class HalfColumn:
    """Half of a square column: 20 °C on top, 0 °C on two sides, a plane of symmetry."""

    cells: int  # across
    most: float  # [K] off the printed table
    is_slow: bool = False
    name: str = "ISO 10211 case 1, half square column"
    source: str = f"ISO 10211:2007 annex A ({_IN_OPEN_REPOSITORIES}); exact series"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} x {2 * self.cells}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        fine = self._points(self.cells)
        exact = half_column_exact()
        coarse = np.abs(self._points(self.cells // 2) - exact).max()
        error = np.abs(fine - exact).max()
        return (
            at_most(
                "largest error of 28 points [K]", np.abs(fine - ISO_10211_CASE_1).max(), self.most
            ),
            at_most("the same off the series [K]", error, 3.5 / self.cells**2),
            Figure("order in space", 2.0, log2(coarse / error), 1.8, np.inf),
        )

    def _points(self, cells: int) -> FloatArray:
        cell = 1.0 / cells
        size = (1.0, 2.0, cell)
        grid = full_room(
            size,
            cell,
            [block((0.0, 0.0, 0.0), size, (1.0, 1.0, 1.0))],
            {Side.WEST: held(0.0), Side.SOUTH: held(0.0), Side.NORTH: held(20.0)},
        )
        made = set_up(grid)
        field = np.zeros((cells + 2, 2 * cells + 2))
        field[1:-1, 1:-1] = solid_field(made, made.steady())[:, :, 0]
        field[-1] = field[-2]  # the plane of symmetry
        field[:, -1] = 20.0
        x = np.concatenate([[0.0], grid.centres[0], [1.0]])
        y = np.concatenate([[0.0], grid.centres[1], [2.0]])
        points = [(i / 4, 2.0 - j / 4) for j in range(1, 8) for i in range(1, 5)]
        return RegularGridInterpolator((x, y), field)(points).reshape(7, 4)


#: ISO 10211:2007 annex A, case 2: points (x, y) [mm] and their temperatures [°C].
ISO_10211_CASE_2 = {
    "A": (0.0, 47.5, 7.1),
    "B": (500.0, 47.5, 0.8),
    "C": (0.0, 41.5, 7.9),
    "D": (15.0, 41.5, 6.3),
    "E": (500.0, 41.5, 0.8),
    "F": (0.0, 36.5, 16.4),
    "G": (15.0, 36.5, 16.3),
    "H": (0.0, 0.0, 16.8),
    "I": (500.0, 0.0, 18.3),
}

_CONCRETE, _WOOD, _INSULATION, _ALUMINIUM = ((k, 1.0, 1.0) for k in (1.15, 0.12, 0.029, 230.0))

#: Low corner and high corner in the section [mm], and what it is made of.
_ROOF = (
    ((0.0, 41.5), (500.0, 47.5), _CONCRETE),
    ((0.0, 36.5), (15.0, 41.5), _WOOD),
    ((15.0, 36.5), (500.0, 41.5), _INSULATION),
    ((15.0, 1.5), (500.0, 36.5), _INSULATION),
    ((1.5, 1.5), (15.0, 35.0), _INSULATION),
    ((1.5, 35.0), (15.0, 36.5), _ALUMINIUM),
    ((0.0, 1.5), (1.5, 36.5), _ALUMINIUM),
    ((0.0, 0.0), (500.0, 1.5), _ALUMINIUM),
)


#: The roof detail is laid out so many times as large.
SCALE = 100.0


@dataclass(frozen=True, slots=True)
class RoofDetail:
    """A sheet of aluminium bent through insulation under concrete, 0 °C above, 20 °C below.

    Rse 0.06, Rsi 0.11 m² K/W. The sheet is 1.5 mm thick: on wider cells it is a share of them. All
    is laid out a hundred times as large with films of a hundredth: the same temperatures and heat
    flow, and no face too small to count.
    """

    cell: float  # [m]
    is_binding: bool = False
    is_slow: bool = True
    name: str = "ISO 10211 case 2, roof detail with a bent sheet"
    source: str = f"ISO 10211:2007 annex A ({_IN_OPEN_REPOSITORIES})"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made, h = self._made()
        surfaces = made.grid.surfaces
        on_top = (surfaces.solid >= 0) & (surfaces.sign > 0)
        state = made.state(0.0)
        below = made.grid.centres[1][np.unravel_index(made.layout.air_cell, made.grid.shape)[1]]
        state[made.layout.air] = np.where(below < 2.0, 20.0, 0.0)
        steady = made.steady_by_factors(state)
        heat = -made.surface_heat(steady, h)[on_top].sum() / (SCALE * self.cell)
        rows = ISO_10211_CASE_2.values()
        off = np.array([abs(self._at(made, steady, x, y) - given) for x, y, given in rows])
        worst = list(ISO_10211_CASE_2)[int(off.argmax())]
        entering = made.surface_heat(steady, h)[surfaces.solid >= 0].sum() / (SCALE * self.cell)
        return (
            off_by("heat flow [W/m]", heat, 9.5, 0.1, "W/m", self.is_binding),
            at_most("heat that does not balance [W/m]", abs(entering), 1e-4, self.is_binding),
            at_most(f"largest error of 9 points [K] (at {worst})", off.max(), 0.1, self.is_binding),
        )

    def _made(self) -> tuple[SetUp, FloatArray]:
        cell, mm = SCALE * self.cell, SCALE * 1e-3
        parts = [
            block((mm * x, cell + mm * y, 0.0), (mm * (x_high - x), mm * (y_high - y), cell), stuff)
            for (x, y), (x_high, y_high), stuff in _ROOF
        ]
        grid = endless_air(full_room((500.0 * mm, 47.5 * mm + 2.0 * cell, cell), cell, parts, {}))
        surfaces = grid.surfaces
        h = np.where(surfaces.sign > 0, 1.0 / 0.06, 1.0 / 0.11) / SCALE
        h = np.where((surfaces.solid >= 0) & (surfaces.axis == 1), h, 0.0)
        return set_up(grid, h), h

    def _at(self, made: SetUp, state: FloatArray, x: float, y: float) -> float:
        """Temperature at a point [mm] of an outer face or of an interface between layers."""
        grid, surfaces = made.grid, made.grid.surfaces
        i = np.array([x / 1e3 / self.cell - 0.5, x / 1e3 / self.cell + 0.5])
        columns = np.unique(np.clip(np.floor(i), 0, grid.shape[0] - 1).astype(int))
        if y in (0.0, 47.5):
            sign = 1 if y > 0.0 else -1
            rows = (surfaces.solid >= 0) & (surfaces.axis == 1) & (surfaces.sign == sign)
            column = np.unravel_index(surfaces.air_cell, grid.shape)[0]
            return float(state[made.layout.surface_node[rows & np.isin(column, columns)]].mean())
        k = np.full(grid.is_open.size, np.nan)
        k[grid.solids.cell] = grid.solids.conductivity
        k = k.reshape(grid.shape)[:, :, 0]
        field = solid_field(made, state)[:, :, 0]
        j = round(y / 1e3 / self.cell) + 1  # the cell above the plane; one row of air lies below
        pair = np.ix_(columns, [j - 1, j])
        return float((k[pair] * field[pair]).sum() / k[pair].sum())


@dataclass(frozen=True, slots=True)
class IronBar:
    """An iron bar through 0.2 m of insulation, 0.4 m of it in the warm air: 1 °C over 0 °C."""

    cell: float  # [m]
    shift: float = 0.0  # of the bar off the middle, so that whole cells hold it [m]
    share: float = 0.04  # band of the heat flow
    off: float = 0.04  # band of the temperature [K]
    is_binding: bool = True
    is_slow: bool = False
    name: str = "ISO 10211 case 4, iron bar through insulation"
    source: str = "ISO 10211:2007 annex A (as reproduced in an open repository)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        place = f", bar {1000 * self.shift:g} mm off the middle" if self.shift else ""
        return f"{1000 * self.cell:g} mm{place}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made, h = self._made()
        surfaces = made.grid.surfaces
        z = made.grid.centres[2][np.unravel_index(made.layout.air_cell, made.grid.shape)[2]]
        state = made.state(0.0)
        state[made.layout.air] = np.where(z > 0.2, 1.0, 0.0)
        steady = made.steady(state, 1e-9)
        is_cold = (surfaces.solid >= 0) & (surfaces.axis == 2) & (surfaces.sign < 0)
        is_cold &= (
            made.grid.centres[2][np.unravel_index(surfaces.air_cell, made.grid.shape)[2]] < 0.1
        )
        heat = -made.surface_heat(steady, h)[is_cold].sum()
        warmest = steady[made.layout.surface_node[is_cold]].max()
        return (
            within("heat flow [W]", heat, 0.540, self.share, self.is_binding),
            off_by("warmest of the cold side [°C]", warmest, 0.805, self.off, "K", self.is_binding),
        )

    def _made(self) -> tuple[SetUp, FloatArray]:
        gap = self.cell
        x0, x1 = 0.45, 0.55
        y0, y1 = 0.475 + self.shift, 0.525 + self.shift
        wool, iron = (0.1, 1.0, 1.0), (50.0, 1.0, 1.0)
        parts = [
            block((x0, y0, gap), (x1 - x0, y1 - y0, 0.6), iron),
            block((0.0, 0.0, gap), (x0, 1.0, 0.2), wool),
            block((x1, 0.0, gap), (1.0 - x1, 1.0, 0.2), wool),
            block((x0, 0.0, gap), (x1 - x0, y0, 0.2), wool),
            block((x0, y1, gap), (x1 - x0, 1.0 - y1, 0.2), wool),
        ]
        grid = endless_air(full_room((1.0, 1.0, 0.6 + 2.0 * gap), self.cell, parts, {}))
        h = np.where(grid.surfaces.solid >= 0, 10.0, 0.0)
        return set_up(grid, h), h
