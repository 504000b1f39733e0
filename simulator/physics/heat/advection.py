"""Heat carried from cell to cell by the mean flow, and mixed by molecules and eddies."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.constants import AIR_PRANDTL, AIR_VISCOSITY, AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.air_terms import Entries
from simulator.physics.heat.nodes import NodeLayout

#: Turbulent Prandtl number of air [-] (common choice for rooms; Chen and Xu 1998, from memory).
TURBULENT_PRANDTL = 0.9

#: Differences of temperature below this share of the room's spread count as none [-] (choice).
LEVEL = 1e-9

#: How much the downstream and the upstream difference add to the upstream cell's temperature at a
#: face [-]: the third-order upwind-biased scheme, kappa = 1/3 of van Leer's family (1985, Lectures
#: in Applied Mathematics 22:327, from memory); exact for parabolas on equal cells.
DOWNSTREAM, UPSTREAM = 1.0 / 3.0, 1.0 / 6.0


@dataclass(frozen=True, slots=True)
class Carried:
    """The exchange of heat between open cells: its sum is the balance's term."""

    bounded: Entries  # an M-matrix of its own: what a factorisation can work with
    sharpening: Entries  # what makes it sharp


def advection_and_mixing(
    grid: Grid, layout: NodeLayout, airflow: Airflow, temperature: FloatArray | None = None
) -> Carried:
    """Return the exchange of heat through every face between two open cells.

    Parameters
    ----------
    temperature : of the air (nx, ny, nz) [°C], best as expected amid the time for which the entries
        hold; it only says where the sharp scheme has to give way. None: everywhere.

    Notes
    -----
    Flux form: what leaves one cell enters the other, so heat is conserved to round-off whatever the
    divergence. Across a face pass F T_face by the heat-capacity flow F, and D times the difference
    by the conductance D of molecular and eddy mixing. C is the cell upstream of the face, N the one
    downstream, U the one before C.

    * Bounded: the power law of Patankar (1980, Numerical Heat Transfer and Fluid Flow, section
      5.2), central where mixing rules and upwind where the flow does. It never makes new extremes,
      but mixes along the flow like an extra diffusivity of up to |u| dx / 2.
    * Sharp: T_face = T_C + (T_N - T_C)/3 + w (T_C - T_U)/6, of second order in three dimensions,
      with no mixing but of fourth differences. It swings about steep fronts. w is 1 where the flow
      keeps its pace along the axis, and less where it speeds up (see Stability).

    Each face takes the share of the sharp scheme that `sharp_share` finds in the given temperatures
    and the rest of the bounded one. The shares then stay, so that the balance is linear: a pattern
    that keeps its shape while it grows is treated as if they followed, for they do not change when
    temperatures are scaled or shifted.

    Stability: no pattern of temperatures gains strength, whatever the shares. With s the share of a
    face and d = T_N - T_C across it, the face takes from the sum of T² at least
    F d² (1 - 2 s/3) - F w s d d_U / 3, d_U across the face before. w F <= F of the face before, so
    d d_U <= (d² + d_U²)/2 charges both with no more than they have: K + K^T stays semidefinite.
    """
    mixing = _mixing_diffusivity(airflow)
    parts = [_along_axis(grid, layout, airflow, mixing, temperature, axis) for axis in range(3)]
    return Carried(
        _joined([part.bounded for part in parts]), _joined([part.sharpening for part in parts])
    )


def _joined(parts: Sequence[Entries]) -> Entries:
    return Entries(
        row=np.concatenate([part.row for part in parts]),
        column=np.concatenate([part.column for part in parts]),
        value=np.concatenate([part.value for part in parts]),
    )


def _mixing_diffusivity(airflow: Airflow) -> FloatArray:
    """Molecular and eddy diffusivity of heat of each cell [m²/s]."""
    return AIR_VISCOSITY / AIR_PRANDTL + airflow.eddy_viscosity / TURBULENT_PRANDTL


@dataclass(frozen=True, slots=True)
class _Faces:
    """The faces along one axis, arrays with that axis first: n cells, n - 1 faces."""

    is_face: NDArray[np.bool_]  # between two open cells
    flow: FloatArray  # heat-capacity flow, positive from low to high [W/K]
    conductance: FloatArray  # of mixing [W/K]


def _along_axis(
    grid: Grid,
    layout: NodeLayout,
    airflow: Airflow,
    mixing: FloatArray,
    temperature: FloatArray | None,
    axis: int,
) -> Carried:
    faces = _faces(grid, airflow, mixing, axis)
    F, D, chosen = faces.flow, faces.conductance, faces.is_face
    share = np.zeros_like(F)
    if temperature is not None:
        share = sharp_share(np.moveaxis(temperature, axis, 0), chosen, F)
    spread = D * np.maximum(0.0, 1.0 - 0.1 * np.abs(F) / np.maximum(D, 1e-300)) ** 5
    flow, spread, more = F[chosen], spread[chosen], (share * (D - spread))[chosen]
    pace = kept_pace(np.where(chosen, F, 0.0))[chosen]
    down, up = DOWNSTREAM * share[chosen], UPSTREAM * pace * share[chosen]
    forward = flow > 0.0
    node = np.moveaxis(layout.air_node.reshape(grid.shape), axis, 0)
    low, high = node[:-1][chosen], node[1:][chosen]
    before = np.where(forward, _shifted(node, 1)[:-1][chosen], _shifted(node, -1)[1:][chosen])
    before = np.where(share[chosen] > 0.0, before, low)  # where it counts for nothing
    own, beyond = flow * (up - down), flow * down  # of the cells upstream and downstream
    return Carried(
        _fluxes(
            low,
            high,
            [
                (low, np.where(forward, flow, 0.0) + spread),
                (high, np.where(forward, 0.0, flow) - spread),
            ],
        ),
        _fluxes(
            low,
            high,
            [
                (low, np.where(forward, own, beyond) + more),
                (high, np.where(forward, beyond, own) - more),
                (before, -flow * up),
            ],
        ),
    )


def _fluxes(low: IntArray, high: IntArray, terms: Sequence[tuple[IntArray, FloatArray]]) -> Entries:
    """Return the entries of fluxes from low to high: each the sum of values times temperatures."""
    columns, values = zip(*terms, strict=True)
    return Entries(
        row=np.concatenate([low] * len(terms) + [high] * len(terms)),
        column=np.concatenate(columns * 2),
        value=np.concatenate([*values, *(-value for value in values)]),
    )


def _shifted(node: IntArray, cells: int) -> IntArray:
    """Return the nodes moved along the first axis; those that come in at the end do not count."""
    return np.roll(node, cells, axis=0)


def _faces(grid: Grid, airflow: Airflow, mixing: FloatArray, axis: int) -> _Faces:
    widths = [np.diff(edges) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)]
    velocity = (airflow.x_velocity, airflow.y_velocity, airflow.z_velocity)[axis]
    closed = (grid.closed_x, grid.closed_y, grid.closed_z)[axis]
    half = 0.5 * widths[axis][:, None, None]
    first, second = (widths[other] for other in range(3) if other != axis)
    area = first[None, :, None] * second[None, None, :]
    is_open = np.moveaxis(grid.is_open, axis, 0)
    eddies = np.moveaxis(mixing, axis, 0)
    resistance = half[:-1] / eddies[:-1] + half[1:] / eddies[1:]
    return _Faces(
        is_face=is_open[:-1] & is_open[1:] & ~np.moveaxis(closed, axis, 0)[1:-1],
        flow=AIR_VOLUMETRIC_HEAT_CAPACITY * area * np.moveaxis(velocity, axis, 0)[1:-1],
        conductance=AIR_VOLUMETRIC_HEAT_CAPACITY * area / resistance,
    )


def kept_pace(flow: FloatArray) -> FloatArray:
    """Return which part of each face's flow came through the face before it [-], at most 1.

    Parameters
    ----------
    flow : positive from low to high (n - 1, ...); 0 at faces that are shut.
    """
    before = np.maximum(_at_face_before(flow, flow) * np.sign(flow), 0.0)
    size = np.abs(flow)
    return np.divide(np.minimum(before, size), size, out=np.zeros_like(flow), where=size > 0.0)


def _at_face_before(values: FloatArray, flow: FloatArray) -> FloatArray:
    """Return for each face the value at the one upstream along the axis; 0 where there is none."""
    before = np.zeros_like(values)
    forward = flow > 0.0
    before[1:][forward[1:]] = values[:-1][forward[1:]]
    before[:-1][~forward[:-1]] = values[1:][~forward[:-1]]
    return before


def sharp_share(
    temperature: FloatArray, is_face: NDArray[np.bool_], flow: FloatArray
) -> FloatArray:
    """Return how far each face along the first axis may be sharp [-], shape (n - 1, ...).

    Parameters
    ----------
    temperature : of the cells (n, ...) [°C].
    is_face : faces through which air may pass (n - 1, ...).
    flow : positive from low to high (n - 1, ...).

    Notes
    -----
    With r the upstream difference over that across the face, the sharp scheme adds
    s = 2/3 + r/3 halves of the difference across the face. The share cuts that down to
    max(0, min(2 r, s, 2)), the bounds of Sweby (1984, SIAM J. Numer. Anal. 21:995, from memory).
    It is 0 where the cell before is shut off and where there is no difference across the face.
    """
    step = np.where(is_face, np.diff(temperature, axis=0), 0.0)
    upstream = _at_face_before(step, flow)
    known = temperature[np.isfinite(temperature)]
    spread = float(np.ptp(known)) if known.size else 0.0
    differs = np.abs(step) > LEVEL * max(spread, LEVEL)
    ratio = np.divide(upstream, step, out=np.zeros_like(step), where=differs)
    sharp = 2.0 * DOWNSTREAM + 2.0 * UPSTREAM * ratio
    bound = np.minimum(2.0 * ratio, 2.0)
    share = np.divide(bound, sharp, out=np.zeros_like(step), where=(ratio > 0.0) & differs)
    return np.minimum(share, 1.0)
