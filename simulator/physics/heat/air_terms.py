"""Heat carried by heaters that recirculate, by air that leaks, and by what studies add to these."""

from dataclasses import dataclass, field

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


def _none() -> Entries:
    return Entries(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))


@dataclass(frozen=True, slots=True)
class AddedAir:
    """What a study adds to the air of a dwelling: exchange among its nodes, and air that is held.

    Held air leaves at its own temperature and comes back at ``temperature``; the ledger counts both
    among the leaks.
    """

    exchange: Entries = field(default_factory=_none)
    node: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    conductance: FloatArray = field(default_factory=lambda: np.zeros(0))  # [W/K]
    temperature: float = 0.0  # [°C]

    @property
    def held(self) -> Entries:
        """The heat that held air takes along, per kelvin of that air."""
        return Entries(self.node, self.node, self.conductance)


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


def conductances(low: IntArray, high: IntArray, conductance: FloatArray) -> Entries:
    """Return the entries of conductances between pairs of nodes."""
    g = conductance
    return Entries(
        np.concatenate([low, low, high, high]),
        np.concatenate([low, high, low, high]),
        np.concatenate([g, -g, -g, g]),
    )


def conductances_to_mean(
    node: IntArray, conductance: FloatArray, other: IntArray, share: FloatArray
) -> Entries:
    """Return the exchange of each of some nodes with the mean of others [W/K].

    ``share`` is what each of the others counts for [-]; what one side gives the other gets.
    """
    one, two = np.repeat(node, other.size), np.tile(other, node.size)
    return conductances(one, two, np.outer(conductance, share).ravel())


def _entries(row: list[IntArray], column: list[IntArray], value: list[FloatArray]) -> Entries:
    none = np.zeros(0, dtype=np.int64)
    return Entries(
        np.concatenate([none, *row]),
        np.concatenate([none, *column]),
        np.concatenate([np.zeros(0), *value]),
    )
