"""Air between a hot and a cold wall, and between a warm floor and a cold ceiling."""

from dataclasses import dataclass
from math import log, nan, pi

import numpy as np
from known_answers import Figure, at_most, within

from airflow_problems.heated_flow import HeatedFlow, HeatedWalls
from simulator.grid.grid import FloatArray

#: Ra: mean Nusselt number, largest u on x = 1/2, largest v on y = 1/2 [α/L]; at Ra = 1e5 one source
#: prints 34.81 and 68.22, own extrapolation gives 34.74 and 68.63.
DE_VAHL_DAVIS = {
    1e3: (1.118, 3.649, 3.697),
    1e4: (2.243, 16.178, 19.617),
    1e5: (4.519, 34.73, 68.59),
}

#: Ra: mean Nusselt number of the cube (spectral).
TRIC = {1e3: 1.070, 1e4: 2.054, 1e5: 4.337}

#: Critical Rayleigh number and wave number between rigid walls (Pellew and Southwell 1940).
CRITICAL, WAVE_NUMBER = 1707.76, 3.117


def peak(values: FloatArray) -> float:
    """The height of the parabola through the largest value and its neighbours."""
    n = int(np.argmax(values))
    if n in (0, values.size - 1):
        return float(values[n])
    a, b, c = values[n - 1 : n + 2]
    return float(b + (a - c) ** 2 / (8.0 * (2.0 * b - a - c)))


@dataclass(frozen=True, slots=True)
class HeatedCavity:
    """A square (one cell deep) or a cube with a hot and a cold wall, the others adiabatic.

    It is solved on ``first`` cells a side for ``spin_up`` times the diffusion time L²/α, then on
    twice as many until there are ``count``, from what was found, for ``settling`` each.
    """

    count: int
    rayleigh: float
    nusselt_share: float
    speed_share: float
    is_cube: bool = False
    first: int = 20
    spin_up: float = 0.3
    settling: float = 0.1
    is_slow: bool = True

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"heated {'cube' if self.is_cube else 'square'}, Ra {self.rayleigh:.0e}"

    @property
    def source(self) -> str:
        """Author, year and place of the reference."""
        if self.is_cube:
            return "Tric, Labrosse and Betrouni 2000, Int. J. Heat Mass Transfer 43:4043"
        return "de Vahl Davis 1983, Int. J. Numer. Methods Fluids 3:249"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.count}{'³' if self.is_cube else '²'}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        flow = self._settle(self._flow(self.first), self.spin_up)
        while flow.grid.shape[0] < self.count:
            finer = self._flow(2 * flow.grid.shape[0])
            finer.take(flow, (2, 2 if self.is_cube else 1, 2))
            flow = self._settle(finer, self.settling)
        hot, cold = flow.wall_fluxes()
        balance = at_most("hot less cold wall, over hot", abs(hot - cold) / hot, 1e-4)
        if self.is_cube:
            return within("Nu", hot, TRIC[self.rayleigh], self.nusselt_share), balance
        nusselt, u, v = DE_VAHL_DAVIS[self.rayleigh]
        half, layout = self.count // 2, flow.mesh.layout
        across = layout.faces(flow.fields.velocity[0], 0)[half, 0]
        upward = layout.faces(flow.fields.velocity[2], 2)[:, 0, half]
        return (
            within("Nu", hot, nusselt, self.nusselt_share),
            within("largest u on x = 1/2", peak(across), u, self.speed_share),
            within("largest v on y = 1/2", peak(upward), v, self.speed_share),
            balance,
        )

    def _flow(self, count: int) -> HeatedFlow:
        shape = (count, count if self.is_cube else 1, count)
        free = () if self.is_cube else (1,)
        return HeatedFlow(shape, HeatedWalls(0, 0.5, -0.5), self.rayleigh, frictionless=free)

    @staticmethod
    def _settle(flow: HeatedFlow, time: float) -> HeatedFlow:
        for _ in range(round(time / flow.time_step)):
            flow.advance()
        return flow


@dataclass(frozen=True, slots=True)
class OnsetOfConvection:
    """Air over a warm floor: at rest at Ra = 1500, in rolls at 2000.

    Half a roll pair of the critical wave number stands between frictionless sides. A small
    disturbance grows or dies exponentially; the rate crosses zero at the critical number.
    """

    count: int = 16
    still: float = 1500.0
    moving: float = 2000.0
    is_slow: bool = False
    name: str = "onset of convection over a warm floor"
    source: str = "Pellew and Southwell 1940, Proc. R. Soc. A 176:312: 1707.76"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.count}²"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        dying, growing = self._growth(self.still), self._growth(self.moving)
        share = -dying / (growing - dying)
        critical = self.still + (self.moving - self.still) * share
        return (
            Figure(f"growth rate at Ra {self.still:.0f}", nan, dying, -np.inf, -0.1),
            Figure(f"growth rate at Ra {self.moving:.0f}", nan, growing, 0.1, np.inf),
            within("critical Ra", critical, CRITICAL, 0.02),
        )

    def _growth(self, rayleigh: float) -> float:
        """Rate at which the velocity grows [α/L²]."""
        width = pi / WAVE_NUMBER
        x = np.linspace(0.0, width, self.count + 1)
        z = np.linspace(0.0, 1.0, self.count + 1)
        edges = (x, np.array([0.0, 1.0 / self.count]), z)
        flow = HeatedFlow(
            (self.count, 1, self.count),
            HeatedWalls(2, 0.5, -0.5),
            rayleigh,
            frictionless=(0, 1),
            edges=edges,
            reduction=1e-4,
        )
        x, _, z = np.meshgrid(*flow.grid.centres, indexing="ij")
        flow.temperature += 1e-4 * np.cos(pi * x / width) * np.sin(pi * z)
        speeds = []
        for _ in range(2):
            for _ in range(round(0.5 / flow.time_step)):
                flow.advance()
            speeds.append(float(np.abs(flow.fields.velocity[2]).max()))
        return log(speeds[1] / speeds[0]) / (round(0.5 / flow.time_step) * flow.time_step)
