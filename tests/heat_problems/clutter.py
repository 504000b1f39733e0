"""Blocks of clutter in a hot room: the exact test nearest to what this tool is for."""

from dataclasses import dataclass
from math import inf, nan

import numpy as np
from known_answers import Figure, at_most, off_by, within

from heat_problems.series import Cuboid
from heat_problems.set_ups import FINE_STEPS, HOUR, SetUp, body_in_air
from simulator.grid.grid import FloatArray
from simulator.physics.heat.watch import watch

_PRODUCT = "product of plane walls, Incropera & DeWitt section 5.8 (exact)"

START, AIR = 20.0, 55.0

#: Half hours, in the last ones every two hours [s].
TIMES = HOUR * np.concatenate([np.arange(0.5, 6.1, 0.5), np.arange(7.0, 24.1, 1.0)])

BLOCKS = {
    "textile pile": Cuboid((0.4, 0.3, 0.3), (0.06, 200.0, 1300.0), 8.0),
    "book stack": Cuboid((0.3, 0.2, 0.25), (0.18, 930.0, 1340.0), 8.0),
    "foam mattress": Cuboid((2.0, 1.0, 0.2), (0.045, 40.0, 1400.0), 8.0),
    "softwood beam": Cuboid((0.1, 0.1, 1.0), (0.13, 500.0, 1600.0), 12.0),
    "concrete block": Cuboid((0.2, 0.2, 0.4), (1.65, 2200.0, 1000.0), 10.0),
}


@dataclass(frozen=True, slots=True)
class ClutterBlock:
    """A block at 20 °C hung in air of 55 °C: its coldest refuge, its mean, its corner voxels."""

    what: str
    cell: float
    early: float  # band of the coldest point before Fo 0.2 [K]
    late: float  # and from then on [K]
    mean: float  # band of the mean from 1 h on [K]
    corner: float = 3.0  # band of the corner voxels from half an hour on [K]
    from_4_h: float | None = None  # band of the coldest point from 4 h on [K], if of its own
    is_binding: bool = True
    time_binds: bool = True
    is_slow: bool = False
    source: str = _PRODUCT

    @property
    def name(self) -> str:
        """The problem in a few words."""
        x, y, z = BLOCKS[self.what].size
        return f"{self.what} of {x:g} x {y:g} x {z:g} m in hot air"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        thick = min(BLOCKS[self.what].size) / self.cell
        return f"{1000 * self.cell:g} mm, {thick:g} cells thick"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        exact = BLOCKS[self.what]
        made = body_in_air(exact.size, self.cell, exact.stuff, exact.h)
        states = made.states(made.state(START, AIR), TIMES)
        read = watch(made.grid, made.layout, ()).refuges
        coldest = np.array([float(read(state).min()) for state in states])
        off = coldest - self._celsius([exact.centre(t) for t in TIMES])
        means = np.array([solid_means(made, state) for state in states])
        share = made.grid.solids.heat_capacity / made.grid.solids.heat_capacity.sum()
        mean_off = means @ share - self._celsius([exact.mean(t) for t in TIMES])
        corner_off = np.abs(means[:, 0] - self._corner(made)).max()
        thin = int(np.argmin(exact.size))
        is_late = np.array([exact.fourier(thin, t) >= 0.2 for t in TIMES])
        first = TIMES[is_late][0] / HOUR
        ours, reference = self._crossing(coldest)
        before = np.abs(off[~is_late]).max(initial=0.0)
        after = np.abs(off[is_late]).max()
        mean = np.abs(mean_off[TIMES >= HOUR]).max()
        start, bind = f"{first:g} h (Fo 0.2)", self.is_binding
        in_time = bind and self.time_binds
        figures = [
            at_most(f"coldest point, largest error before {start} [K]", before, self.early, bind),
            at_most("coldest point, largest error from then on [K]", after, self.late, bind),
            at_most("mean, largest error from 1 h on [K]", mean, self.mean, bind),
            at_most("corner voxel, largest error from 0.5 h on [K]", corner_off, self.corner, bind),
            within("time of the coldest point to 50 °C [h]", ours, reference, 0.05, in_time),
        ]
        if self.from_4_h is not None:
            worst = np.abs(off[TIMES >= 4.0 * HOUR]).max()
            name = "coldest point, largest error from 4 h on [K]"
            figures.append(at_most(name, worst, self.from_4_h, bind))
        return tuple(figures)

    def _celsius(self, theta: list[float]) -> FloatArray:
        return AIR - (AIR - START) * np.array(theta)

    def _crossing(self, coldest: FloatArray) -> tuple[float, float]:
        exact = BLOCKS[self.what].time_to((AIR - 50.0) / (AIR - START), 48.0 * HOUR)
        return float(np.interp(50.0, coldest, TIMES, right=nan)) / HOUR, exact / HOUR

    def _corner(self, made: SetUp) -> FloatArray:
        """Exact mean of the voxel in the low corner at all times [°C]."""
        cell = made.grid.x_edges[1] - made.grid.x_edges[0]
        return self._celsius([BLOCKS[self.what].corner(t, cell) for t in TIMES])


def solid_means(made: SetUp, state: FloatArray) -> FloatArray:
    """Return the mean temperature of every solid with its skins (N,) [°C]."""
    layout, surfaces = made.layout, made.grid.surfaces
    owner = np.full(layout.size, -1)
    owner[layout.solid_node] = np.arange(layout.solid_node.size)
    faces = (surfaces.solid >= 0) & (surfaces.axis >= 0)
    owner[layout.surface_node[faces]] = surfaces.solid[faces]
    chains = layout.chains
    inner = layout.retained + np.arange(chains.capacity.size)
    owner[inner] = owner[np.repeat(chains.near.astype(np.int64), np.diff(chains.start))]
    ours = owner >= 0
    heat = np.bincount(owner[ours], weights=(layout.capacity * state)[ours])
    return heat / made.grid.solids.heat_capacity


@dataclass(frozen=True, slots=True)
class ConvergingBlock:
    """How the error of the coldest point falls as cells are halved: at least 1.8 times each."""

    what: str = "concrete block"
    cell: float = 0.1
    is_slow: bool = False
    source: str = _PRODUCT

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"coldest point of a {self.what} on finer cells"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return " to ".join(f"{1000 * self.cell / n:g} mm" for n in (1, 4))

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        worst = [self._worst(self.cell / n) for n in (1, 2, 4)]
        return (
            Figure("error at the first over the second", nan, worst[0] / worst[1], 1.8, inf),
            Figure("error at the second over the third", nan, worst[1] / worst[2], 1.8, inf),
        )

    def _worst(self, cell: float) -> float:
        block = ClutterBlock(self.what, cell, early=inf, late=inf, mean=inf)
        return max(figure.ours for figure in block.figures()[:2])


@dataclass(frozen=True, slots=True)
class PileOnTheFloor:
    """The textile pile on an adiabatic floor: half of a pile of twice the height."""

    cell: float = 0.05
    is_slow: bool = False
    name: str = "textile pile on an adiabatic floor"
    source: str = _PRODUCT

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        hours = np.array([4.0, 12.0, 24.0, 48.0, 72.0])
        printed = (24.511, 43.904, 53.135, 54.951, 54.999)
        pile = BLOCKS["textile pile"]
        made = body_in_air(pile.size, self.cell, pile.stuff, pile.h, on_floor=True)
        result = made.march(made.state(START, AIR), HOUR * hours, method=FINE_STEPS)
        coldest = result.refuge_temperature.min(axis=1)
        return tuple(
            off_by(f"coldest point after {hour:g} h [°C]", ours, exact, 1.0)
            for hour, ours, exact in zip(hours, coldest, printed, strict=True)
        )
