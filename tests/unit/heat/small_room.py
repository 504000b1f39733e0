"""A small invented room with everything in it that the heat balance knows."""

from dataclasses import dataclass, replace

import numpy as np
from unit.heat.grids import (
    black_box,
    cells,
    exchange_of,
    heater,
    make_grid,
    material,
    slab,
    source,
    stirred_air,
)

from simulator.case.dwelling import Side
from simulator.case.parts import Probe
from simulator.case.treatment import Treatment
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.nodes import NodeLayout, node_layout
from simulator.physics.heat.watch import Watch, watch

CELL = 0.25
SHAPE = (8, 7, 6)
PROBES = (
    Probe("sensor", "thermostat", (1.1, 0.9, 1.2), is_thermostat=True),
    Probe("sensor", "inside the block", (0.9, 0.9, 0.3)),
)
TREATMENT = Treatment(
    target_temperature=50.0,
    air_limit=65.0,
    thermostat=58.0,
    proportional_band=5.0,
    horizon=6 * 3600.0,
)


@dataclass(frozen=True)
class SmallRoom:
    grid: Grid
    layout: NodeLayout
    airflow: Airflow
    exchange: AirExchange
    model: HeatModel
    control: Control
    watch: Watch

    def state(self, temperature: float = 20.0) -> FloatArray:
        return np.full(self.layout.size, temperature)


def flat(i: int, j: int, k: int) -> int:
    return int(np.ravel_multi_index((i, j, k), SHAPE))


def small_room(
    *,
    behind: float = 5.0,
    outdoor: float = 5.0,
    seed: int = 1,
    eddies: float = 0.01,
    ducted: bool = True,
    power: float = 1500.0,
    limit: float = 75.0,
    appliance: float = 120.0,
    leak: float = 0.004,
) -> SmallRoom:
    """Return a room with a block of wood, three walls, two heaters, a leak and an appliance."""
    edges = [np.linspace(0.0, CELL * n, n + 1) for n in SHAPE]
    blocked = np.zeros(SHAPE, dtype=bool)
    blocked[2:5, 2:5, 0:2] = True
    wall, floor = slab(0.25, 900.0, 1000.0, 0.06), slab(0.13, 500.0, 1600.0, 0.03)
    low_inlet, high_outlet = flat(7, 6, 0), flat(7, 0, 5)
    jets = [
        heater(
            cells(flat(0, 3, 0), flat(0, 4, 0)),
            cells(flat(0, 3, 2), flat(0, 4, 2)),
            power=power,
            flow=0.05,
            limit=limit,
        )
    ]
    if ducted:
        jets.append(heater(cells(flat(6, 6, 4)), None, power=power, flow=0.02, limit=limit))
    grid = make_grid(
        edges,
        blocked=blocked,
        stuff=material(0.13, 500.0, 1600.0),
        walls={
            Side.WEST: (wall, behind, 0.04),
            Side.FLOOR: (floor, behind, 0.1),
            Side.CEILING: (wall, np.nan, 0.0),
        },
        jets=tuple(jets),
        sources=(source(cells(flat(5, 5, 2)), appliance),) if appliance else (),
        outdoor=outdoor,
    )
    layout = node_layout(grid)
    exchange = exchange_of(grid, leak=leak, inlet=low_inlet, outlet=high_outlet)
    airflow = stirred_air(grid, eddies, seed, exchange=exchange)
    convection = np.linspace(3.0, 12.0, grid.surfaces.area.size)
    model = build_heat_model(
        grid,
        layout,
        airflow,
        exchange,
        convection,
        black_box(grid, 7),
        np.full(layout.size, 40.0),
    )
    return SmallRoom(
        grid=grid,
        layout=layout,
        airflow=airflow,
        exchange=exchange,
        model=model,
        control=build_control(grid, layout, TREATMENT, PROBES),
        watch=watch(grid, layout, PROBES),
    )


def with_full_power(control: Control) -> Control:
    """Return a control whose thermostat and outlet limit never act."""
    return Control(
        tuple(replace(jet, outlet_limit=1e6, set_temperature=1e6) for jet in control.jets)
    )


def with_power(control: Control, share: float) -> Control:
    """Return a control whose heaters have ``share`` of their power."""
    return Control(tuple(replace(jet, power=share * jet.power) for jet in control.jets))
