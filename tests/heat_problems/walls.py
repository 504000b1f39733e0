"""Walls of layers: a step of the room's air, a step outside, a daily swing."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from known_answers import Figure, at_most, off_by, within

from heat_problems.set_ups import (
    HOUR,
    LayerRow,
    block,
    endless_air,
    full_room,
    layers,
    set_up,
    sliced,
    wall,
)
from simulator.physics.heat.implicit_steps import ImplicitSteps

_INVERTED = (
    "computed for this project: Laplace transform of the transfer matrix inverted numerically, and "
    "600 cells of Crank-Nicolson (agree to 0.001 K)"
)

#: Layers (k, ρ, c, thickness) from the room outwards; outer film; rows of hours, temperatures of
#: inner surface, interfaces and outer surface [°C], heat flux into the wall [W/m²].
WALLS = {
    "softwood, mineral wool, concrete": (
        ((0.13, 500.0, 1600.0, 0.05), (0.04, 30.0, 1030.0, 0.10), (1.65, 2200.0, 1000.0, 0.15)),
        25.0,
        (
            (0.5, 40.522, 20.881, 20.000, 20.000, 115.822),
            (1.0, 43.725, 24.539, 20.012, 20.000, 90.203),
            (3.0, 49.054, 37.330, 20.227, 20.014, 47.566),
            (6.0, 52.100, 45.322, 20.606, 20.105, 23.198),
            (12.0, 53.428, 48.827, 21.096, 20.288, 12.579),
            (24.0, 53.601, 49.300, 21.400, 20.420, 11.196),
        ),
    ),
    "gypsum block, brick, polystyrene": (
        ((0.25, 900.0, 1000.0, 0.05), (0.77, 1700.0, 1000.0, 0.10), (0.035, 20.0, 1450.0, 0.10)),
        25.0,
        (
            (1.0, 39.980, 22.351, 20.049, 20.000, 120.163),
            (3.0, 43.582, 26.814, 22.036, 20.021, 91.343),
            (6.0, 45.394, 30.959, 26.417, 20.081, 76.850),
            (12.0, 47.860, 37.084, 33.478, 20.181, 57.121),
            (24.0, 50.807, 44.419, 41.949, 20.300, 33.546),
        ),
    ),
    "concrete": (
        ((1.65, 2200.0, 1000.0, 0.20),),
        25.0,
        (
            (1.0, 28.088, 20.034, 215.295),
            (3.0, 32.261, 20.971, 181.915),
            (6.0, 35.402, 22.529, 156.786),
            (12.0, 38.225, 24.073, 134.200),
            (24.0, 39.536, 24.794, 123.710),
        ),
    ),
    "plasterboard, wool, plasterboard": (
        ((0.25, 900.0, 1000.0, 0.0125), (0.04, 30.0, 1030.0, 0.10), (0.25, 900.0, 1000.0, 0.0125)),
        8.0,
        (
            (0.5, 43.807, 41.087, 20.191, 20.093, 89.544),
            (1.0, 50.032, 48.648, 20.895, 20.573, 39.741),
            (3.0, 53.397, 52.767, 22.089, 21.487, 12.826),
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class CompositeWall:
    """A wall at 20 °C, its room's air at 55 °C from then on; h 8 inside, 20 °C outside."""

    what: str
    most: float = 0.1  # [K]
    share: float = 0.005  # of the flux
    is_slow: bool = False
    source: str = _INVERTED
    mesh: str = "wall column"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"step of room air on {self.what}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        rows, outer_h, table = WALLS[self.what]
        made = wall(layers(*rows), 8.0, 20.0, 1.0 / outer_h)
        times = HOUR * np.array([line[0] for line in table])
        states = made.made.states(made.made.state(20.0, 55.0), times)
        planes = np.concatenate([[0.0], np.cumsum([row[3] for row in rows])])
        node = [int(np.abs(made.depth - plane).argmin()) for plane in planes]
        off = np.abs(made.profile(states)[:, node] - np.array([line[1:-1] for line in table]))
        flux = made.heat(states) / np.array([line[-1] for line in table]) - 1.0
        return (
            at_most(f"largest error of {off.size} temperatures [K]", off.max(), self.most),
            at_most("largest error of the flux [-]", float(np.abs(flux).max()), self.share),
        )


@dataclass(frozen=True, slots=True)
class VoxelWall:
    """The same wall as stuff in voxels: layers thinner than a cell are shares of it."""

    what: str
    cell: float = 0.05
    is_binding: bool = True
    is_slow: bool = False
    source: str = _INVERTED

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"step of room air on {self.what}, as voxels"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        rows, outer_h, table = WALLS[self.what]
        cell = self.cell
        planes = cell + np.concatenate([[0.0], np.cumsum([row[3] for row in rows])])
        parts = [
            block((low, 0.0, 0.0), (row[3], cell, cell), row[:3])
            for low, row in zip(planes[:-1], rows, strict=True)
        ]
        grid = endless_air(full_room((float(planes[-1]) + cell, cell, cell), cell, parts, {}))
        surfaces = grid.surfaces
        ours = (surfaces.solid >= 0) & (surfaces.axis == 0)
        h = np.where(ours, np.where(surfaces.sign < 0, 8.0, outer_h), 0.0)
        made = set_up(grid, h)
        state = made.state(20.0)
        state[made.layout.air.start] = 55.0
        times = HOUR * np.array([line[0] for line in table])
        states = made.states(state, times)
        inner = made.layout.surface_node[ours & (surfaces.sign < 0)][0]
        off = states[:, inner] - np.array([line[1] for line in table])
        flux = 8.0 * (55.0 - states[:, inner]) / np.array([line[-1] for line in table]) - 1.0
        late, hour = times >= 6 * HOUR, int((times == HOUR).argmax())
        surface, bind = float(states[hour, inner]), self.is_binding
        figures = [
            off_by("inner surface after 1 h [°C]", surface, table[hour][1], 2.0, binding=bind),
            at_most("flux after 1 h, error [-]", abs(flux[hour]), 0.10, bind),
        ]
        if late.any():
            worst, worst_flux = np.abs(off[late]).max(), np.abs(flux[late]).max()
            figures += [
                at_most("inner surface, largest error from 6 h on [K]", worst, 0.7, bind),
                at_most("flux, largest error from 6 h on [-]", worst_flux, 0.04, bind),
            ]
        return tuple(figures)


@dataclass(frozen=True, slots=True)
class StepOutside:
    """10 cm of wood at 20 °C, 70 °C outside from then on behind a film of 10.22 W/(m² K).

    A wall's mesh is fine at the room and coarse outside; ``slices`` cut it finer everywhere.
    """

    inner_h: float  # zero: the inside passes no heat and its surface is read; else air of 20 °C
    printed: tuple[float, ...]  # at 1, 3, 6, 12, 24, 48 h
    slices: int = 1
    most: float = 1.0  # [K], or times the inner film [W/m²]
    is_slow: bool = False
    source: str = "definition of ASHRAE 1052-RP as in open test reports; exact, evaluated"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        inside = "air of 20 °C inside" if self.inner_h else "adiabatic inside"
        return f"step of outdoor air on wood, {inside}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"wall column cut into {self.slices}" if self.slices > 1 else "wall column"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        hours = np.array([1.0, 3.0, 6.0, 12.0, 24.0, 48.0])
        wood = layers(*sliced([(0.15, 608.0, 1630.0, 0.1)], self.slices))
        made = wall(wood, self.inner_h, 70.0, 1.0 / 10.22)
        states = made.made.states(made.made.state(20.0, 20.0), HOUR * hours)
        is_adiabatic = self.inner_h == 0.0
        ours = made.profile(states)[:, 0] if is_adiabatic else -made.heat(states)
        what, unit = ("inside [°C]", "K") if is_adiabatic else ("heat to the room [W/m²]", "W/m²")
        most = self.most if is_adiabatic else self.inner_h * self.most
        return tuple(
            off_by(f"{what} after {hour:g} h", found, exact, most, unit)
            for hour, found, exact in zip(hours, ours, self.printed, strict=True)
        )


#: Layers from the room outwards; |Y12|, lag [h], |Y11|, lead [h], κ1 [kJ/(m² K)].
DAILY = {
    "concrete": (((1.8, 2400.0, 1000.0, 0.2),), 1.8271, 5.6757, 5.7043, 0.9481, 86.168),
    "concrete and polystyrene": (
        ((1.8, 2400.0, 1000.0, 0.2), (0.04, 30.0, 1400.0, 0.1)),
        0.0607,
        8.0024,
        5.9418,
        0.8530,
        82.275,
    ),
    "brick": (((0.77, 1700.0, 1000.0, 0.1),), 2.8537, 2.7790, 4.2515, 1.1737, 51.133),
    "timber": (((0.13, 500.0, 1600.0, 0.1),), 0.8723, 3.6993, 2.0131, 2.2908, 30.140),
}

DAY = 24.0 * HOUR


@dataclass(frozen=True, slots=True)
class DailySwing:
    """Room air that swings by 1 K a day; Rsi 0.13, Rse 0.04. Amplitudes and lags of the heat.

    The air is set anew every half hour to its value amid it. The bands are those of a coarse mesh,
    and those of a fine one where ``slices`` make it fine.
    """

    what: str
    slices: int = 1
    days: int = 4  # the last one is read
    step: float = 1800.0
    is_slow: bool = False
    source: str = "quantities of ISO 13786, exact transfer matrix, evaluated for this project"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"daily swing through {self.what}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"wall column, layers cut into {self.slices}" if self.slices > 1 else "wall column"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        rows, through, lag, into, lead, stored = DAILY[self.what]
        taken, given = self._heat(rows)
        share, most = (0.005, 0.05) if self.slices > 1 else (0.05, 0.3)
        ours_lag = (-np.angle(given) / (2.0 * np.pi) * 24.0) % 24.0
        ours_stored = abs(taken - given) * DAY / (2.0 * np.pi) / 1000.0
        return (
            within("|Y12| [W/(m² K)]", abs(given), through, share),
            off_by("lag of Y12 [h]", ours_lag, lag, most, "h"),
            within("|Y11| [W/(m² K)]", abs(taken), into, share),
            off_by("lead of Y11 [h]", np.angle(taken) / (2.0 * np.pi) * 24.0, lead, most, "h"),
            within("κ1 [kJ/(m² K)]", ours_stored, stored, share),
        )

    def _heat(self, rows: Sequence[LayerRow]) -> tuple[complex, complex]:
        """Amplitudes of the heat taken in and of that given off outside, over the air's [W/K]."""
        made = wall(layers(*sliced(rows, self.slices)), 1.0 / 0.13, 0.0, 0.04).made
        state = made.state(0.0)
        pulses = round(DAY / self.step)
        taken, given = np.zeros(pulses), np.zeros(pulses)
        method = ImplicitSteps(error=1e-3, solver_tolerance=1e-8)
        for number in range(self.days * pulses):
            start = number * self.step
            state[made.layout.air] = np.cos(2.0 * np.pi * (start + 0.5 * self.step) / DAY)
            result = made.march(state, [start + self.step], start=start, method=method)
            state, book = result.state, result.ledger
            given[number % pulses] = book.envelope[-1] / self.step
            taken[number % pulses] = (book.envelope + book.stored_envelope)[-1] / self.step
        wave = np.exp(-2j * np.pi * (np.arange(pulses) + 0.5) / pulses) * 2.0 / pulses
        # air held and heat averaged over each step: both lower the amplitude by sin(x)/x
        wave /= np.sinc(1.0 / pulses) ** 2
        return complex(taken @ wave), complex(given @ wave)
