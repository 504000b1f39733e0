"""Heat carried by moving air: advection with mixing, heaters that recirculate, air that leaks."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_PRANDTL, AIR_VISCOSITY, AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.nodes import NodeLayout

#: Turbulent Prandtl number of air [-] (common choice for rooms; Chen and Xu 1998, from memory).
TURBULENT_PRANDTL = 0.9


@dataclass(frozen=True, slots=True)
class Entries:
    """Entries of a matrix as coordinate triples; equal places add up."""

    row: IntArray
    column: IntArray
    value: FloatArray  # [W/K]


def advection_and_mixing(grid: Grid, layout: NodeLayout, airflow: Airflow) -> Entries:
    """Return the exchange of heat through every face between two open cells.

    Notes
    -----
    Flux form: what leaves one cell enters the other, so heat is conserved to round-off whatever the
    divergence. Across a face with the heat-capacity flow F, positive from low to high, and the
    conductance D of molecular and eddy mixing, the flux is a T_low - b T_high with
    a = D A(|F|/D) + max(F, 0) and b = D A(|F|/D) + max(-F, 0), where A(P) = max(0, (1 - 0.1 P)^5):
    the power law of Patankar (1980, Numerical Heat Transfer and Fluid Flow, section 5.2), central
    where mixing rules and upwind where the flow does. a and b are never negative, so no new
    extremes arise.

    Upwinding mixes along the flow like an extra diffusivity of up to |u| dx / 2: the answer depends
    on the grid, and finer cells show how much.
    """
    mixing = _mixing_diffusivity(airflow)
    parts = list(_face_fluxes(grid, layout, airflow, mixing))
    low, high, a, b = (np.concatenate(arrays) for arrays in zip(*parts, strict=True))
    return Entries(
        row=np.concatenate([low, low, high, high]),
        column=np.concatenate([low, high, low, high]),
        value=np.concatenate([a, -b, -a, b]),
    )


def _mixing_diffusivity(airflow: Airflow) -> FloatArray:
    """Molecular and eddy diffusivity of heat of each cell [m²/s]."""
    return AIR_VISCOSITY / AIR_PRANDTL + airflow.eddy_viscosity / TURBULENT_PRANDTL


def _face_fluxes(
    grid: Grid, layout: NodeLayout, airflow: Airflow, mixing: FloatArray
) -> Iterator[tuple[IntArray, IntArray, FloatArray, FloatArray]]:
    """Yield (low node, high node, a, b) of the faces along each axis."""
    widths = (np.diff(grid.x_edges), np.diff(grid.y_edges), np.diff(grid.z_edges))
    velocities = (airflow.x_velocity, airflow.y_velocity, airflow.z_velocity)
    closed = (grid.closed_x, grid.closed_y, grid.closed_z)
    node = layout.air_node.reshape(grid.shape)
    for axis in range(3):
        low, high = _neighbours(axis)
        shape = [1, 1, 1]
        shape[axis] = -1
        width = widths[axis].reshape(shape)
        area = _face_area(widths, axis)
        half_low, half_high = 0.5 * width[low], 0.5 * width[high]
        resistance = half_low / mixing[low] + half_high / mixing[high]
        D = AIR_VOLUMETRIC_HEAT_CAPACITY * area / resistance
        F = AIR_VOLUMETRIC_HEAT_CAPACITY * area * velocities[axis][_inner(axis)]
        is_face = grid.is_open[low] & grid.is_open[high] & ~closed[axis][_inner(axis)]
        F, D = F[is_face], D[is_face]
        spread = D * np.maximum(0.0, 1.0 - 0.1 * np.abs(F) / D) ** 5
        yield (
            node[low][is_face],
            node[high][is_face],
            spread + np.maximum(F, 0.0),
            spread + np.maximum(-F, 0.0),
        )


Slices = tuple[slice, slice, slice]


def _neighbours(axis: int) -> tuple[Slices, Slices]:
    """Slices of the cells on the low and on the high side of the inner faces of an axis."""
    low: list[slice] = [slice(None)] * 3
    high: list[slice] = [slice(None)] * 3
    low[axis], high[axis] = slice(None, -1), slice(1, None)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _inner(axis: int) -> Slices:
    """Slices of the inner faces of an axis."""
    inner: list[slice] = [slice(None)] * 3
    inner[axis] = slice(1, -1)
    return inner[0], inner[1], inner[2]


def _face_area(widths: tuple[FloatArray, FloatArray, FloatArray], axis: int) -> FloatArray:
    """Area of a cell's face normal to an axis, shaped to broadcast over [i, j, k] [m²]."""
    shaped = [np.expand_dims(widths[a], [b for b in range(3) if b != a]) for a in range(3)]
    across = [shaped[a] for a in range(3) if a != axis]
    return across[0] * across[1]


def heater_loops(grid: Grid, layout: NodeLayout, exchange: AirExchange) -> Entries:
    """Return what recirculating heaters carry from their intakes to their outlets.

    Their power is an input; without it the outlet stands at the mean of the intake air, so the loop
    is part of the matrix and nothing lags. Ducted heaters have no part in it.
    """
    row: list[IntArray] = []
    column: list[IntArray] = []
    value: list[FloatArray] = []
    for jet, intake in enumerate(exchange.intakes):
        if intake is None:
            continue
        outlet = exchange.outlets[jet]
        capacity_flow = AIR_VOLUMETRIC_HEAT_CAPACITY * grid.jets[jet].part.flow
        outlet_node = layout.air_node[outlet.cells]
        intake_node = layout.air_node[intake.cells]
        row += [intake_node, np.repeat(outlet_node, intake_node.size)]
        column += [intake_node, np.tile(intake_node, outlet_node.size)]
        value += [
            capacity_flow * intake.weights,
            -capacity_flow * np.outer(outlet.weights, intake.weights).ravel(),
        ]
    return _entries(row, column, value)


def leaks(layout: NodeLayout, exchange: AirExchange) -> Entries:
    """Return the heat that air takes along when it leaves the dwelling, per kelvin of that air."""
    outflow = exchange.leak_outflow[layout.air_cell]
    node = np.flatnonzero(outflow)
    return Entries(node, node, AIR_VOLUMETRIC_HEAT_CAPACITY * outflow[node])


def outdoor_air(grid: Grid, layout: NodeLayout, exchange: AirExchange) -> FloatArray:
    """Return the heat-capacity flow of outdoor air into each air node, with ducted air [W/K]."""
    inflow = exchange.leak_inflow.copy()
    for jet, intake in enumerate(exchange.intakes):
        if intake is None:
            outlet = exchange.outlets[jet]
            inflow[outlet.cells] += grid.jets[jet].part.flow * outlet.weights
    return AIR_VOLUMETRIC_HEAT_CAPACITY * inflow[layout.air_cell]


def _entries(row: list[IntArray], column: list[IntArray], value: list[FloatArray]) -> Entries:
    none = np.zeros(0, dtype=np.int64)
    return Entries(
        np.concatenate([none, *row]),
        np.concatenate([none, *column]),
        np.concatenate([np.zeros(0), *value]),
    )
