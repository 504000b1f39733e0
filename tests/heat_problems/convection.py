"""Correlations beside an independent library, authors beside each other, a jet that hits a wall."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import ht
import numpy as np
from builders import box_room
from known_answers import Figure, within

from heat_problems.set_ups import SHUT
from simulator.case.parts import AirMover
from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.grid import FloatArray
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.convection import forced, impinging, natural
from simulator.physics.convection.surface_coefficients import CorrelatedCoefficients
from simulator.physics.convection.surface_sampling import sample_surfaces

#: Prandtl number of the table of Nusselt numbers.
PRANDTL = 0.703

Correlation = Callable[[FloatArray], FloatArray]
Oracle = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class NusseltNumbers:
    """One correlation at some Reynolds or Rayleigh numbers, printed, and the library's function."""

    what: str
    source: str
    ours: Correlation
    oracle: Oracle | None
    at: tuple[float, ...]
    printed: tuple[float, ...]
    is_slow: bool = False
    mesh: str = "formula"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"Nu of a {self.what}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        found = self.ours(np.array(self.at))
        figures = [
            within(f"at {at:.0e}", float(nu), printed, 1e-6)
            for at, nu, printed in zip(self.at, found, self.printed, strict=True)
        ]
        if self.oracle is not None:
            theirs = np.array([self.oracle(at) for at in self.at])
            off = float(np.abs(found / theirs - 1.0).max())
            figures.append(Figure("largest difference from ht [-]", 0.0, off, 0.0, 1e-6))
        return tuple(figures)


RAYLEIGH = (1e4, 1e6, 1e8, 1e9, 1e10)

NUSSELT_NUMBERS = (
    NusseltNumbers(
        "plate in a stream, laminar",
        "Pohlhausen 1921; values for this project",
        lambda re: forced.Nu_flat_plate_laminar_pohlhausen_1921(re, PRANDTL),
        lambda re: ht.Nu_horizontal_plate_laminar_Baehr(re, PRANDTL),
        (1e4, 1e5, 5e5),
        (59.04093, 186.70381, 417.48242),
    ),
    NusseltNumbers(
        "plate in a stream, turbulent",
        "Schlichting & Gersten 1997; values of ht 1.2.0",
        lambda re: forced.Nu_flat_plate_turbulent_schlichting_gersten_1997(re, PRANDTL),
        lambda re: ht.Nu_horizontal_plate_turbulent_Schlichting(re, PRANDTL),
        (5e5, 1e6),
        (1093.14465, 1883.13630),
    ),
    NusseltNumbers(
        "plate in a stream, mixed",
        "Bergman et al. 2011, section 7.2; values for this project",
        lambda re: forced.Nu_flat_plate_mixed_bergman_2011(re, PRANDTL),
        None,
        (1e6, 2e6),
        (1301.3387, 2839.7211),
    ),
    NusseltNumbers(
        "vertical plate in still air",
        "Churchill & Chu 1975; values of ht 1.2.0",
        lambda ra: natural.Nu_vertical_plate_natural_churchill_chu_1975(ra, PRANDTL),
        lambda ra: ht.Nu_vertical_plate_Churchill(PRANDTL, ra / PRANDTL),
        RAYLEIGH,
        (5.42754, 16.53883, 60.98418, 122.68792, 251.92300),
    ),
    NusseltNumbers(
        "horizontal plate, assisted",
        "McAdams 1954; values of ht 1.2.0",
        natural.Nu_horizontal_plate_assisting_mcadams_1954,
        lambda ra: ht.Nu_horizontal_plate_McAdams(PRANDTL, ra / PRANDTL),
        RAYLEIGH,
        (5.40000, 17.07630, 69.62383, 150.00000, 323.16520),
    ),
    NusseltNumbers(
        "horizontal plate, opposed",
        "McAdams 1954; values of ht 1.2.0",
        natural.Nu_horizontal_plate_opposed_mcadams_1954,
        lambda ra: ht.Nu_horizontal_plate_McAdams(PRANDTL, ra / PRANDTL, buoyancy=False),
        RAYLEIGH,
        (2.70000, 8.53815, 27.00000, 48.01354, 85.38150),
    ),
    NusseltNumbers(
        "sphere in still air",
        "Churchill 1983; values of ht 1.2.0",
        lambda ra: natural.Nu_sphere_natural_churchill_1983(ra, PRANDTL),
        lambda ra: ht.Nu_sphere_Churchill(PRANDTL, ra / PRANDTL),
        RAYLEIGH,
        (6.54003, 16.38756, 52.54391, 108.33525, 230.45232),
    ),
    NusseltNumbers(
        "horizontal cylinder in still air",
        "Churchill & Chu 1975; values of ht 1.2.0",
        lambda ra: natural.Nu_horizontal_cylinder_natural_churchill_chu_1975(ra, PRANDTL),
        lambda ra: ht.Nu_horizontal_cylinder_Churchill_Chu(PRANDTL, ra / PRANDTL),
        RAYLEIGH,
        (4.36846, 14.51835, 56.49584, 115.60218, 240.27701),
    ),
    NusseltNumbers(
        "cylinder across a stream",
        "Churchill & Bernstein 1977; values of ht 1.2.0",
        lambda re: forced.Nu_cylinder_crossflow_churchill_bernstein_1977(re, PRANDTL),
        lambda re: ht.Nu_cylinder_Churchill_Bernstein(re, PRANDTL),
        (1e3, 1e4, 1e5),
        (15.95645, 53.41886, 214.49327),
    ),
    NusseltNumbers(
        "layer heated from below",
        "Hollands 1984; values of ht 1.2.0",
        lambda ra: natural.Nu_horizontal_gap_natural_hollands_1984(ra, PRANDTL),
        lambda ra: ht.conv_free_enclosed.Nu_Nusselt_Rayleigh_Hollands(PRANDTL, ra / PRANDTL),
        (1e5,),
        (3.96051,),
    ),
)


@dataclass(frozen=True, slots=True)
class SpreadOfAuthors:
    """What other authors say of the same surface, over what is used here: the band is ±30 %."""

    is_slow: bool = False
    name: str = "other authors over the one in use"
    source: str = "as named (Khalifa and ASHRAE from open sources of building simulation)"
    mesh: str = "formula"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        drop, side = np.array([5.0, 15.0, 35.0]), np.array(4.444)
        wall = natural.h_vertical_wall_natural_alamdari_hammond_1983(drop, np.array(2.5))
        plate = natural.Nu_vertical_plate_natural_churchill_chu_1975(
            natural.Ra_air(drop, np.array(2.5))
        )
        awbi = natural.h_vertical_wall_natural_awbi_hatton_1999(drop, side)
        reynolds = np.array([1e4, 1e5])
        used = forced.Nu_flat_plate_turbulent_colburn_1933(reynolds)
        kreith = [ht.Nu_horizontal_plate_turbulent_Kreith(re, 0.705) for re in (1e4, 1e5)]
        cylinder = forced.Nu_cylinder_crossflow_churchill_bernstein_1977(np.array([1e3, 1e5]))
        zukauskas = [ht.Nu_cylinder_Zukauskas(re, 0.705) for re in (1e3, 1e5)]
        ratios = {
            "wall, Churchill & Chu 1975": plate * AIR_CONDUCTIVITY / 2.5 / wall,
            "wall, Awbi & Hatton 1999": awbi / wall,
            "wall, ASHRAE 1.31 ΔT^(1/3)": 1.31 * np.cbrt(drop) / wall,
            "wall, Khalifa & Marshall 1990, 2.30 ΔT^0.24": 2.30 * drop**0.24 / wall,
            "plate, Kreith (ht)": np.array(kreith) / used,
            "cylinder, Zukauskas (ht)": np.array(zukauskas) / cylinder,
        }
        return tuple(
            Figure(f"{who}, {end} of its ratios", 1.0, float(ratio), 0.7, 1.3, False)
            for who, found in ratios.items()
            for end, ratio in (("least", found.min()), ("greatest", found.max()))
        )


@dataclass(frozen=True, slots=True)
class JetOnAWall:
    """A fan of 0.3 m and 5.66 m/s, 1.2 m before a wall: mean coefficients of discs about the hit.

    Flow and coefficients are the simulator's own; no difference in temperature, so forced alone.
    """

    cell: float
    is_slow: bool = False
    name: str = "jet that hits a wall"
    source: str = "Martin 1977, Advances in Heat Transfer 13:1 (page from memory)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        diameter, speed, apart = 0.3, 5.66, 1.2
        size = (3.0, 4.5, 4.5)
        fan = AirMover(
            "fan",
            "disc",
            (size[0] - apart, 0.5 * size[1], 0.5 * size[2]),
            (1.0, 0.0, 0.0),
            diameter,
            speed * np.pi / 4.0 * diameter**2,
            0.0,
        )
        grid = voxelise(box_room(size, parts=[fan], envelope=SHUT), self.cell)
        airflow = solve_airflow(grid, None, discard=15.0, average=30.0)
        surfaces, sampling = grid.surfaces, sample_surfaces(grid)
        even, wall = np.full(grid.shape, 40.0), np.full(surfaces.area.size, 40.0)
        plain = replace(sampling, impact=np.zeros_like(sampling.impact))
        h, by_speed = (
            CorrelatedCoefficients(each)(grid, airflow, even, wall) for each in (sampling, plain)
        )
        _, j, k = np.unravel_index(surfaces.air_cell, grid.shape)
        off = np.hypot(grid.centres[1][j] - fan.centre[1], grid.centres[2][k] - fan.centre[2])
        on_wall = (surfaces.axis == 0) & (surfaces.sign < 0)
        reynolds = forced.Re_air(np.array(speed), np.array(diameter))
        figures = []
        for radius in (2.5, 5.0, 7.5):
            disc = on_wall & (off <= radius * diameter)
            nu = impinging.Nu_round_jet_impinging_martin_1977(reynolds, apart / diameter, radius)
            martin = float(nu) * AIR_CONDUCTIVITY / diameter
            name = f"h over a disc of {radius:g} D [W/(m² K)]"
            for what, found, share in (("", h, 0.05), (", by the speed alone", by_speed, 0.3)):
                ours = float(np.average(found[disc], weights=surfaces.area[disc]))
                figures.append(within(name + what, ours, martin, share, share < 0.3))
        return tuple(figures)
