"""The room of VDI 6007-1, test case 1, as a room with walls that hold its two elements."""

from dataclasses import dataclass, replace

import numpy as np
from builders import box_room
from known_answers import Figure, off_by
from scipy import sparse

from heat_problems.set_ups import HOUR, SetUp, layers, set_up
from simulator.case.dwelling import Behind, Construction, Envelope, Side
from simulator.case.parts import Box, HeatSource, Part
from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import FloatArray
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.radiation.exchange import RadiationExchange, pairs_of

# VDI 6007-1, test case 1 (data as in an open library of building models): two elements, a load.
EXTERIOR, INTERIOR = 10.5, 75.5  # [m²]
H_EXTERIOR, H_INTERIOR, H_RADIATION, H_OUTSIDE = 2.7, 2.24, 5.0, 25.0  # [W/(m² K)]
R_EXTERIOR, R_REMAINDER, C_EXTERIOR = 0.00436791293674, 0.03895919557, 1600848.94
R_INTERIOR, C_INTERIOR = 0.000595693407511, 14836354.6282

#: Hourly means of the air, printed to 0.1 K: (day, hour that ends): °C.
VDI_AIR = {
    **{
        (1, hour): t
        for hour, t in zip(
            range(7, 19),
            (27.7, 27.9, 28.1, 28.4, 28.6, 28.8, 29.0, 29.2, 29.4, 29.6, 29.8, 30.0),
            strict=True,
        )
    },
    (1, 24): 24.5,
    (10, 1): 37.7,
    (10, 7): 43.0,
    (10, 18): 44.7,
    (10, 24): 38.8,
}


def lumped(area: float, resistance: float, capacity: float, remainder: float = 0.0) -> Construction:
    """Return a wall of a resistance [K/W], a capacity [J/K] behind it, and more resistance."""
    thin = 0.01
    rows = [
        (thin / (resistance * area), 1.0, 1.0, thin),
        (1e3, 1000.0, capacity / (area * thin * 1000.0), thin),
    ]
    if remainder:
        rows.append((thin / (remainder * area), 1.0, 1.0, thin))
    return layers(*rows)


@dataclass(frozen=True, slots=True)
class VdiRoom:
    """The room of VDI 6007-1: one outer wall, 75.5 m² of inner ones, 1000 W from 6 to 18 h.

    It is 3.5 x 5 x 3 m, of one cell: the outer wall 10.5 m², the other five sides 75.5 m². Their
    layers are the guideline's resistances and capacities; its 5 W/(m² K) between outer and inner
    surfaces is long-wave exchange of two patches, linearised at 22 °C; its air stores nothing.
    """

    is_slow: bool = False
    name: str = "VDI 6007-1 test case 1, convective load"
    source: str = "VDI 6007-1:2012, test case 1 (as in an open library of building models)"
    mesh: str = "one cell, wall columns"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        hours = self._hourly_means(max(day for day, _ in VDI_AIR))
        return tuple(
            off_by(f"air, day {day}, hour {hour} [°C]", hours[24 * (day - 1) + hour - 1], t, 0.1)
            for (day, hour), t in VDI_AIR.items()
        )

    def _hourly_means(self, days: int) -> FloatArray:
        on, off = self._set_up(1000.0), self._set_up(0.0)
        state, means = on.state(22.0), []
        method = ImplicitSteps(error=0.002, solver_tolerance=1e-8, shortest=1.0)
        for day in range(days):
            for first, last, made in ((0, 6, off), (6, 18, on), (18, 24, off)):
                start, end = (24 * day + first) * HOUR, (24 * day + last) * HOUR
                ticks = np.arange(start + 150.0, end, 300.0)
                result = made.march(state, [*ticks, end], start=start, method=method)
                means += list(result.air_mean[:-1].reshape(-1, 12).mean(axis=1))
                state = result.state
        return np.array(means)

    def _set_up(self, power: float) -> SetUp:
        inner = Envelope(lumped(INTERIOR, R_INTERIOR, C_INTERIOR), Behind("alike", None, 0.0))
        outer = Envelope(
            lumped(EXTERIOR, R_EXTERIOR, C_EXTERIOR, R_REMAINDER),
            Behind("outdoors", 22.0, 1.0 / H_OUTSIDE),
        )
        parts: list[Part] = []
        if power:
            parts = [HeatSource("load", "case", Box((1.75, 2.5, 1.5), (1.0, 1.0, 1.0)), power)]
        sides = dict.fromkeys(Side, inner) | {Side.SOUTH: outer}
        case = box_room((3.5, 5.0, 3.0), parts=parts, envelope=sides, start_temperature=22.0)
        grid = voxelise(case, 6.0)
        grid = replace(grid, air_volume=np.full(grid.shape, 1e-3))
        is_outer = (grid.surfaces.axis == 1) & (grid.surfaces.sign > 0)
        kelvin = 22.0 + ZERO_CELSIUS
        exchange = EXTERIOR * H_RADIATION / (4.0 * STEFAN_BOLTZMANN * kelvin**3)
        areas = sparse.csr_array(np.array([[0.0, exchange], [exchange, 0.0]]))
        radiation = RadiationExchange(
            patch_of_surface=np.where(is_outer, 0, 1),
            area=np.array([EXTERIOR, INTERIOR]),
            exchange=areas,
            pairs=pairs_of(areas),
            closure_error=0.0,
        )
        h = np.where(is_outer, H_EXTERIOR, H_INTERIOR)
        return set_up(grid, h, radiation=radiation, about=22.0)
