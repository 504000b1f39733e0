"""Heat carried by heaters that recirculate and by air that leaks."""

from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.heat.nodes import NodeLayout


@dataclass(frozen=True, slots=True)
class Entries:
    """Entries of a matrix as coordinate triples; equal places add up."""

    row: IntArray
    column: IntArray
    value: FloatArray  # [W/K]


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
