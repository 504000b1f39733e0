"""The convection coefficient of every exposed surface, from the speed and temperature of its air.

The choice
----------
*Forced.* A plate in a stream, turbulent from its edge where that transfers more than a laminar
layer, on a length of at most 1 m: room air arrives in jets and eddies of about that size and the
layer starts afresh behind every edge of the furniture. The stream is far from calm: the
fluctuation of fan-driven room air is a third to a half of its speed, and at 20 to 60 % turbulence
plates have been measured to take far more than in a calm stream (Maciejewski & Moffat 1992, Journal
of Heat Transfer 114:834). ``TURBULENCE_FACTOR`` = 1.15 puts the whole between two laws of surfaces
in turbulent wind, 2.8 + 3 V (Watmuff, Charters & Proctor 1977) and 4 + 4 V (ISO 6946), both from
memory. The speed is the mean of |V| within 0.2 m, not |mean V|, which misses the fluctuating part.

*Where a jet hits.* At least the local coefficient of Martin 1977, out to 7.5 diameters of the jet
(``jet_impact``): the wall jet there is thinner than the 0.2 m, and the mean speed gives half.

*Natural.* Vertical: Alamdari & Hammond 1983. Horizontal: McAdams 1954, assisting or opposed by the
sign of the difference: a cold floor under hot air is opposed and gets least. In pockets that no
fan, jet or leak reaches it acts alone, and a surface gets no more than half of the gap conducts and
convects (Hollands 1984, ElSherbiny et al. 1982).

*Together.* h = (h_forced³ + h_natural³)^(1/3), Churchill's blend for the assisting case, also where
buoyancy opposes the stream: its direction along a surface changes all the time in a stirred room.

*At least* conduction through still air to the centre of the cell, k / half cell. This is the true
resistance of a stagnant cell; it fades into the resistance of the air itself as cells get smaller.

*Loose stuff.* A bed of pieces (Wakao & Kaguei 1982) at the superficial speed of the cell, blended
with a sphere's natural convection; at least pure conduction, Nu = 2.

How good it is: measured coefficients of one room differ between authors by about 30 % either way,
and so does any choice. Studies vary all coefficients together by the ``scale`` of 0.7 and 1.3. None
of the coefficients contains radiation.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.grid import BoolArray, FloatArray, Grid, Surfaces
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.convection.forced import (
    Nu_flat_plate_laminar_pohlhausen_1921,
    Nu_flat_plate_turbulent_colburn_1933,
    Nu_packed_bed_wakao_kaguei_1982,
    Re_air,
)
from simulator.physics.convection.natural import (
    Nu_horizontal_gap_natural_hollands_1984,
    Nu_horizontal_plate_assisting_mcadams_1954,
    Nu_horizontal_plate_opposed_mcadams_1954,
    Nu_sphere_natural_churchill_1983,
    Nu_vertical_gap_natural_elsherbiny_1982,
    Ra_air,
    h_vertical_wall_natural_alamdari_hammond_1983,
)
from simulator.physics.convection.surface_sampling import SurfaceSampling, sample_surfaces

#: Enhancement of forced convection by the turbulence of room air [-] (estimate: module docstring).
TURBULENCE_FACTOR = 1.15

#: Longest run of a boundary layer in a room [m] (estimate: module docstring).
LONGEST_LAYER = 1.0


class Convection(Protocol):
    """Anything that gives the coefficients of all surfaces."""

    def __call__(
        self,
        grid: Grid,
        airflow: Airflow,
        air_temperature: FloatArray,
        surface_temperature: FloatArray,
    ) -> FloatArray:
        """Return h of each surface, shape (S,) [W/(m² K)]."""


@dataclass(frozen=True, slots=True)
class FixedCoefficients:
    """The same coefficients whatever the air does: for checks against textbook cases [W/(m² K)]."""

    vertical: float
    upward: float
    downward: float
    porous: float

    def __call__(
        self,
        grid: Grid,
        airflow: Airflow,
        air_temperature: FloatArray,
        surface_temperature: FloatArray,
    ) -> FloatArray:
        """Return h of each surface by its orientation alone, shape (S,) [W/(m² K)]."""
        surfaces = grid.surfaces
        h = np.where(surfaces.sign > 0, self.upward, self.downward)
        h = np.where(surfaces.axis == 2, h, self.vertical)
        return np.where(surfaces.axis < 0, self.porous, h)


def as_sampled(speed: FloatArray) -> FloatArray:
    """Return the speeds near surfaces [m/s] as they are."""
    return speed


@dataclass(frozen=True, slots=True)
class CorrelatedCoefficients:
    """The coefficients of this module with the sampling of one grid at hand, and a scale [-].

    ``felt`` turns the speed near each surface (S,) [m/s] into the one that counts.
    """

    sampling: SurfaceSampling
    scale: float = 1.0
    felt: Callable[[FloatArray], FloatArray] = as_sampled

    def __call__(
        self,
        grid: Grid,
        airflow: Airflow,
        air_temperature: FloatArray,
        surface_temperature: FloatArray,
    ) -> FloatArray:
        """Return h of each surface, shape (S,) [W/(m² K)]."""
        difference = air_temperature.ravel()[grid.surfaces.air_cell] - surface_temperature
        speed = self.felt(self.sampling.near_speed(airflow.speed))
        return coefficients_at(grid.surfaces, self.sampling, speed, difference, scale=self.scale)


def surface_coefficients(
    grid: Grid,
    airflow: Airflow,
    air_temperature: FloatArray,
    surface_temperature: FloatArray,
    *,
    sampling: SurfaceSampling | None = None,
    scale: float = 1.0,
) -> FloatArray:
    """Return the convection coefficient of each surface, without radiation, shape (S,) [W/(m² K)].

    Parameters
    ----------
    grid, airflow : the flow gives the mean |V| of each cell.
    air_temperature : of every cell, [i, j, k] [°C]; only open cells are read.
    surface_temperature : of every row of ``grid.surfaces`` [°C].
    sampling : of this grid, if at hand; else it is found anew.
    scale : factor on everything but the conduction limit [-], for the spread of ±30 %.
    """
    known = CorrelatedCoefficients(sampling or sample_surfaces(grid), scale)
    return known(grid, airflow, air_temperature, surface_temperature)


def coefficients_at(
    surfaces: Surfaces,
    sampling: SurfaceSampling,
    speed: FloatArray,
    difference: FloatArray,
    *,
    scale: float = 1.0,
) -> FloatArray:
    """Return the convection coefficient of some surfaces, shape (S,) [W/(m² K)].

    Parameters
    ----------
    surfaces, sampling : the same rows of both; of the sampling only its columns by surface.
    speed : mean |V| near each [m/s].
    difference : air minus surface temperature [K].
    scale : as of ``surface_coefficients``.
    """
    # The length of a level face is area over perimeter, a quarter of its mean width.
    width = np.where(surfaces.axis == 2, 4.0 * surfaces.length, surfaces.length)
    stirred = np.where(np.isfinite(sampling.gap), 0.0, speed)
    forced = np.maximum(forced_coefficients(stirred, width), sampling.impact)
    natural = natural_coefficients(surfaces, difference, sampling.gap)
    plates = scale * np.cbrt(forced**3 + natural**3)
    pieces = scale * piece_coefficients(speed, difference, surfaces.length)
    return np.maximum(
        np.where(surfaces.axis < 0, pieces, plates), AIR_CONDUCTIVITY / sampling.half_cell
    )


def forced_coefficients(speed: FloatArray, length: FloatArray) -> FloatArray:
    """Return the forced coefficient of flat surfaces [W/(m² K)].

    Parameters
    ----------
    speed : mean |V| near the surface [m/s].
    length : height of an upright face, mean width of a level one [m].

    Examples
    --------
    Half a metre a second along a wall:

    >>> round(float(forced_coefficients(np.array(0.5), np.array(2.5))), 2)
    3.82
    """
    layer = np.minimum(length, LONGEST_LAYER)
    reynolds = Re_air(speed, layer)
    laminar = Nu_flat_plate_laminar_pohlhausen_1921(reynolds)
    turbulent = Nu_flat_plate_turbulent_colburn_1933(reynolds)
    return TURBULENCE_FACTOR * np.maximum(laminar, turbulent) * AIR_CONDUCTIVITY / layer


def natural_coefficients(surfaces: Surfaces, difference: FloatArray, gap: FloatArray) -> FloatArray:
    """Return the natural coefficient of flat surfaces by orientation [W/(m² K)].

    Parameters
    ----------
    surfaces : orientation and length are read.
    difference : air minus surface temperature [K].
    gap : free width in front of the surface in a sealed pocket [m]; inf: no limit.
    """
    length = surfaces.length
    rayleigh = Ra_air(difference, length)
    # Warm air under a cold surface, or cold air over a warm one: unstable.
    is_unstable = difference * surfaces.sign < 0.0
    plate = np.where(
        is_unstable,
        Nu_horizontal_plate_assisting_mcadams_1954(rayleigh),
        Nu_horizontal_plate_opposed_mcadams_1954(rayleigh),
    )
    horizontal = plate * AIR_CONDUCTIVITY / length
    vertical = h_vertical_wall_natural_alamdari_hammond_1983(difference, length)
    open_air = np.where(surfaces.axis == 2, horizontal, vertical)
    return _limited_by_gap(open_air, surfaces, difference, is_unstable, gap)


def _limited_by_gap(
    coefficient: FloatArray,
    surfaces: Surfaces,
    difference: FloatArray,
    is_unstable: BoolArray,
    gap: FloatArray,
) -> FloatArray:
    """Return the coefficient, at most that of half the gap where the pocket is sealed."""
    limited = coefficient.copy()
    rows = np.flatnonzero(np.isfinite(gap) & (surfaces.axis >= 0))
    width = gap[rows]
    # The air is about midway in temperature between the two sides of the gap.
    rayleigh = Ra_air(2.0 * difference[rows], width)
    slenderness = np.maximum(5.0, surfaces.length[rows] / width)
    upright = Nu_vertical_gap_natural_elsherbiny_1982(rayleigh, slenderness)
    layered = np.where(is_unstable[rows], Nu_horizontal_gap_natural_hollands_1984(rayleigh), 1.0)
    across = np.where(surfaces.axis[rows] == 2, layered, upright)
    limited[rows] = np.minimum(coefficient[rows], 2.0 * AIR_CONDUCTIVITY * across / width)
    return limited


def piece_coefficients(
    speed: FloatArray, difference: FloatArray, piece_size: FloatArray
) -> FloatArray:
    """Return the coefficient of the pieces of loose stuff [W/(m² K)].

    Parameters
    ----------
    speed : superficial speed of the air in the cell [m/s].
    difference : air minus piece temperature [K].
    piece_size : [m].

    Examples
    --------
    Still air around pieces of 3 cm: conduction alone, 2 k / d.

    >>> round(float(piece_coefficients(np.array(0.0), np.array(0.0), np.array(0.03))), 3)
    1.816
    """
    forced = Nu_packed_bed_wakao_kaguei_1982(Re_air(speed, piece_size)) - 2.0
    natural = Nu_sphere_natural_churchill_1983(Ra_air(difference, piece_size)) - 2.0
    return (2.0 + np.cbrt(forced**3 + natural**3)) * AIR_CONDUCTIVITY / piece_size
