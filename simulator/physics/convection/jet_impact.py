"""Where the jet of a fan or a heater hits a surface, and the least that it transfers there.

On cells of centimetres a wall jet is thinner than what the speed near a surface is averaged over,
and the choice of ``surface_coefficients`` gives half of what is measured about the point of impact.
Martin's correlation needs no resolved wall jet: it puts a floor under forced convection there.
"""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import label

from simulator.case.parts import AirMover, HeatedJet
from simulator.constants import AIR_CONDUCTIVITY
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.physics.convection.forced import Re_air
from simulator.physics.convection.impinging import Nu_round_jet_impinging_local_martin_1977

#: Distances H/D that count: the correlation's range. Nearer ones are taken for the nearest.
LEAST_DISTANCE, MOST_DISTANCE = 2.0, 12.0

#: The largest disc about the point of impact r/D that was measured; beyond it nothing holds.
MOST_RADIUS = 7.5

#: Reynolds numbers on the nozzle for which it was measured.
LEAST_REYNOLDS, MOST_REYNOLDS = 2e3, 4e5

#: Cosine of the steepest angle that still counts as a hit (choice: 30° off the right angle).
LEAST_COSINE = 0.866


@dataclass(frozen=True, slots=True)
class Impact:
    """A jet's hit: the last open cell before the surface, the axis it crosses, how far it came."""

    cell: tuple[int, int, int]
    axis: int
    sign: int  # +1: the surface lies on the high side of the cell
    place: FloatArray  # [m]
    distance: float  # [m]


def impact_coefficients(grid: Grid) -> FloatArray:
    """Return the least forced coefficient of each surface by the jets that hit it [W/(m² K)].

    Zero where none does, shape (S,).

    Notes
    -----
    A jet goes straight from its mouth to the first surface within 12 diameters. It counts if it
    comes within 30° of the right angle. The surfaces of that plane that its air reaches without
    leaving the layer of cells before it take Martin's local coefficient. Weakness: the free
    delivery is the jet's, the wall jet loses nothing at corners, and a hot jet does not rise.
    """
    least = np.zeros(grid.surfaces.area.size)
    movers: list[AirMover | HeatedJet] = [fan.part for fan in grid.fans]
    movers += [jet.part for jet in grid.jets]
    for mover in movers:
        speed = mover.flow / (0.25 * np.pi * mover.diameter**2)
        reynolds = float(Re_air(np.array(speed), np.array(mover.diameter)))
        impact = _follow(grid, mover) if reynolds >= LEAST_REYNOLDS else None
        if impact is not None:
            np.maximum(least, _about(grid, mover, impact, min(reynolds, MOST_REYNOLDS)), out=least)
    return least


def _follow(grid: Grid, mover: AirMover | HeatedJet) -> Impact | None:
    """Return what the axis of a jet hits, or None."""
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    closed = (grid.closed_x, grid.closed_y, grid.closed_z)
    along = np.asarray(mover.direction) / np.linalg.norm(mover.direction)
    start = np.asarray(mover.centre)
    step = 0.25 * min(float(np.diff(e).min()) for e in edges)
    cell = _cell_at(edges, start)
    for distance in np.arange(step, MOST_DISTANCE * mover.diameter + step, step):
        place = start + distance * along
        ahead = _cell_at(edges, place)
        for axis in (a for a in range(3) if ahead[a] != cell[a]):
            sign = 1 if ahead[axis] > cell[axis] else -1
            beyond = _moved(cell, axis, sign)
            face = _moved(cell, axis, int(sign > 0))
            is_inside = 0 <= beyond[axis] < grid.shape[axis]
            if is_inside and grid.is_open[beyond] and not closed[axis][face]:
                cell = beyond
            elif grid.is_open[cell] and abs(along[axis]) >= LEAST_COSINE:
                return Impact(cell, axis, sign, place, float(distance))
            elif distance > mover.diameter:
                return None  # a glancing blow
            else:
                cell = ahead  # the mouth lies in the heater's own box
    return None


def _moved(cell: tuple[int, int, int], axis: int, by: int) -> tuple[int, int, int]:
    moved = list(cell)
    moved[axis] += by
    return moved[0], moved[1], moved[2]


def _cell_at(
    edges: tuple[FloatArray, FloatArray, FloatArray], place: FloatArray
) -> tuple[int, int, int]:
    """Return the cell of a place; one beyond the grid where the place is."""
    pairs = zip(edges, place, strict=True)
    i, j, k = (int(np.searchsorted(planes, x, side="right")) - 1 for planes, x in pairs)
    return i, j, k


def _about(grid: Grid, mover: AirMover | HeatedJet, impact: Impact, reynolds: float) -> FloatArray:
    """Return the local coefficient of the surfaces about a hit, zero elsewhere (S,)."""
    surfaces = grid.surfaces
    index = np.array(np.unravel_index(surfaces.air_cell, grid.shape))
    row = np.flatnonzero(
        (surfaces.axis == impact.axis)
        & (surfaces.sign == -impact.sign)
        & (index[impact.axis] == impact.cell[impact.axis])
        & _reached(grid, impact)[surfaces.air_cell]
    )
    apart = np.zeros(row.size)
    for axis, centres in enumerate(grid.centres):
        if axis != impact.axis:
            apart += (centres[index[axis][row]] - impact.place[axis]) ** 2
    radius = np.sqrt(apart) / mover.diameter
    distance = max(impact.distance / mover.diameter, LEAST_DISTANCE)
    nusselt = Nu_round_jet_impinging_local_martin_1977(np.array(reynolds), distance, radius)
    found = np.zeros(surfaces.area.size)
    found[row] = np.where(radius <= MOST_RADIUS, nusselt * AIR_CONDUCTIVITY / mover.diameter, 0.0)
    return found


def _reached(grid: Grid, impact: Impact) -> BoolArray:
    """Return which cells the air reaches from a hit within the layer of cells before it, flat."""
    layer = np.zeros(grid.shape, dtype=np.bool_)
    place = [slice(None)] * 3
    place[impact.axis] = slice(impact.cell[impact.axis], impact.cell[impact.axis] + 1)
    layer[tuple(place)] = grid.is_open[tuple(place)]
    number: IntArray = label(layer)[0]
    reached: BoolArray = (number == number[impact.cell]).ravel()
    return reached
