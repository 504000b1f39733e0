"""The heat balance of a dwelling for one frozen flow: the one place where the sum of terms stands.

M dT/dt = - K T + B P + constant, with T in °C and one row for each node. K is the sum of the terms
below. Every term but leaks and the outer ends of walls only moves heat between nodes: its columns
sum to zero, so heat is neither made nor lost.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import CellSet, FloatArray, Grid, IndexArray, IntArray
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.advection import advection_and_mixing
from simulator.physics.heat.air_terms import (
    AddedAir,
    Entries,
    conductances,
    heater_loops,
    leaks,
    outdoor_air,
)
from simulator.physics.heat.assembly import summed_rows
from simulator.physics.heat.draughts import draughts
from simulator.physics.heat.kernels import chain_outflow, multiply
from simulator.physics.heat.long_wave import LongWave, long_wave
from simulator.physics.heat.nodes import NodeLayout, air_temperatures
from simulator.physics.radiation.exchange import RadiationExchange


@dataclass(frozen=True, slots=True)
class RetainedMatrix:
    """The links among retained nodes, by rows; chains and exchange between patches stand apart."""

    row_start: IndexArray
    column: IndexArray
    value: FloatArray  # [W/K]
    bounded: FloatArray  # the same with bounded advection: an M-matrix [W/K]
    diagonal: IndexArray  # place of each row's diagonal in ``value``
    near_far: IndexArray  # place of the entry that joins the two ends of a chain, if any
    far_near: IndexArray


@dataclass(frozen=True, slots=True)
class Heater:
    """A heated jet as the balance sees it."""

    node: IntArray  # air nodes that its power enters
    weight: FloatArray  # [-]
    capacity_flow: float  # heat-capacity flow of its air [W/K]
    intake_node: IntArray  # air nodes that it draws from; none when ducted
    intake_weight: FloatArray  # [-]
    ducted_intake: float  # temperature of ducted outdoor air [°C]; 0 when it recirculates

    def intake_temperature(self, state: FloatArray) -> float:
        """Return the temperature of the air that it takes in [°C]."""
        return float(self.intake_weight @ state[self.intake_node]) + self.ducted_intake


@dataclass(frozen=True, slots=True)
class HeatModel:
    """What ``build_heat_model`` returns: the balance of one frozen flow (n nodes, H heaters)."""

    layout: NodeLayout
    matrix: RetainedMatrix
    long_wave: LongWave
    heaters: tuple[Heater, ...]
    constant: FloatArray  # (n,) heat that enters whatever the temperatures [W]
    appliance_power: float  # fans and appliances together [W]
    leak_node: IntArray  # where air leaves the dwelling
    leak_conductance: FloatArray  # [W/K]
    leak_income: float  # heat that outdoor air brings in, counted from 0 °C [W]

    def outflow(self, state: FloatArray) -> FloatArray:
        """Return K T: the heat that leaves each node [W], what lies behind the walls at 0 °C."""
        layout, matrix = self.layout, self.matrix
        out = np.empty(layout.size)
        retained, chain = state[: layout.retained], state[layout.retained :]
        multiply(matrix.row_start, matrix.column, matrix.value, retained, out[: layout.retained])
        self.long_wave.subtract_received(retained, out)
        chains = layout.chains
        chain_outflow(
            chains.start,
            chains.near,
            chains.far,
            chains.link,
            retained,
            chain,
            out[: layout.retained],
            out[layout.retained :],
        )
        return out

    def leak_loss(self, state: FloatArray) -> float:
        """Return the net heat that leaking and ducted air carries out [W]."""
        return float(self.leak_conductance @ state[self.leak_node]) - self.leak_income

    def envelope_loss(self, state: FloatArray) -> float:
        """Return the heat that leaves through the outer ends of the walls [W]."""
        ends = self.layout.ends
        return float(ends.conductance @ (state[ends.node] - ends.temperature))


def build_heat_model(
    grid: Grid,
    layout: NodeLayout,
    airflow: Airflow,
    exchange: AirExchange,
    convection: FloatArray,
    radiation: RadiationExchange,
    temperatures: FloatArray,
    *,
    added: AddedAir | None = None,
) -> HeatModel:
    """Return the balance of a frozen flow.

    Parameters
    ----------
    convection : heat transfer coefficient of each row of Surfaces (S,) [W/(m² K)].
    temperatures : the state about which long-wave exchange is linearised, and whose pattern in the
        air limits sharp advection (n,) [°C]; best one that is expected amid the epoch.
    added : what a study adds to the air.
    """
    added = AddedAir() if added is None else added
    radiated = long_wave(grid, layout, radiation, temperatures)
    carried = advection_and_mixing(
        grid, layout, airflow, air_temperatures(grid, layout, temperatures)
    )
    terms = (
        carried.bounded,
        heater_loops(grid, layout, exchange),
        leaks(layout, exchange),
        added.exchange,
        added.held,
        surface_convection(grid, layout, convection),
        conduction_and_contacts(layout),
        draughts(grid, layout, airflow, temperatures),
        long_wave_diagonal(radiated),
    )
    fresh = outdoor_air(grid, layout, exchange)
    leaving = leaks(layout, exchange)
    appliances, appliance_power = appliance_heat(grid, layout)
    held_income = added.conductance * added.temperature
    constant = (
        behind_walls(layout) + appliances + _padded(fresh * grid.outdoor_temperature, layout.size)
    )
    constant[added.node] += held_income
    return HeatModel(
        layout=layout,
        matrix=_assemble(layout, terms, carried.sharpening),
        long_wave=radiated,
        heaters=_heaters(grid, layout, exchange),
        constant=constant,
        appliance_power=appliance_power,
        leak_node=np.concatenate([leaving.row, added.node]),
        leak_conductance=np.concatenate([leaving.value, added.conductance]),
        leak_income=float(fresh.sum() * grid.outdoor_temperature + held_income.sum()),
    )


def surface_convection(grid: Grid, layout: NodeLayout, convection: FloatArray) -> Entries:
    """Return the exchange between each surface and the air of its cell."""
    surfaces = grid.surfaces
    return conductances(
        layout.air_node[surfaces.air_cell], layout.surface_node, convection * surfaces.area
    )


def conduction_and_contacts(layout: NodeLayout) -> Entries:
    """Return the conduction between solids, between solids and walls, and in thin solids."""
    return conductances(layout.links.low, layout.links.high, layout.links.conductance)


def long_wave_diagonal(radiated: LongWave) -> Entries:
    """Return what each surface gives off; what it receives is added patch by patch."""
    node = radiated.node.astype(np.int64)
    return Entries(node, node, radiated.diagonal)


def behind_walls(layout: NodeLayout) -> FloatArray:
    """Return the heat that the temperatures behind the walls bring to the walls' outer ends [W]."""
    ends = layout.ends
    heat = np.zeros(layout.size)
    heat[ends.node] = ends.conductance * ends.temperature
    return heat


def appliance_heat(grid: Grid, layout: NodeLayout) -> tuple[FloatArray, float]:
    """Return the heat of fan motors and appliances in each node and in all [W]."""
    heat = np.zeros(layout.size)
    total = 0.0
    giving = [(fan.motor, fan.part.power) for fan in grid.fans]
    giving += [(source.cells, source.part.power) for source in grid.sources]
    for cells, power in giving:
        np.add.at(heat, _nodes(layout, cells), power * cells.weights)
        total += power
    return heat, total


def _heaters(grid: Grid, layout: NodeLayout, exchange: AirExchange) -> tuple[Heater, ...]:
    heaters = []
    none = CellSet(np.zeros(0, np.int64), np.zeros(0))
    for jet, outlet, intake in zip(grid.jets, exchange.outlets, exchange.intakes, strict=True):
        drawn = none if intake is None else intake
        heaters.append(
            Heater(
                node=_nodes(layout, outlet),
                weight=outlet.weights,
                capacity_flow=AIR_VOLUMETRIC_HEAT_CAPACITY * jet.part.flow,
                intake_node=_nodes(layout, drawn),
                intake_weight=drawn.weights,
                ducted_intake=grid.outdoor_temperature if intake is None else 0.0,
            )
        )
    return tuple(heaters)


def _nodes(layout: NodeLayout, cells: CellSet) -> IntArray:
    return layout.air_node[cells.cells]


def _padded(values: FloatArray, size: int) -> FloatArray:
    padded = np.zeros(size)
    padded[: values.size] = values
    return padded


def _assemble(layout: NodeLayout, terms: Sequence[Entries], sharpening: Entries) -> RetainedMatrix:
    """Add up the terms, with a place for every diagonal and for the two ends of every chain."""
    n, chains = layout.retained, layout.chains
    joined = chains.far >= 0
    near, far = chains.near[joined].astype(np.int64), chains.far[joined]
    own = np.arange(n)
    links = [_places(own, own), _places(near, far), _places(far, near)]
    rows = summed_rows(n, terms, [sharpening], links)
    near_far = np.zeros(joined.size, dtype=np.uint32)
    far_near = near_far.copy()
    near_far[joined] = rows.places(near, far)
    far_near[joined] = rows.places(far, near)
    return RetainedMatrix(
        row_start=rows.start,
        column=rows.column,
        value=rows.first + rows.second,
        bounded=rows.first,
        diagonal=rows.places(own, own),
        near_far=near_far,
        far_near=far_near,
    )


def _places(row: IntArray, column: IntArray) -> Entries:
    return Entries(row, column, np.zeros(row.size))
