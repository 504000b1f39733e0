"""Which way of marching heat is quicker, and how do they compare with a general stiff solver?

Marches the furnished bedroom (two heaters, thermostat, outlet limit, long wave) through six hours,
in one epoch of frozen flow and in the five of a run, by implicit steps and by the reduced model;
prints CPU times, how far each is from short steps, the heat balance and the peak memory. Then, with
long wave off and constant power, implicit steps against ``scipy.integrate.solve_ivp`` (BDF, sparse
Jacobian, rtol 1e-4) in the same process: a ratio that does not hang on the machine.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=. python benchmarks/heat_march.py [cell size in m ...]``
"""

import os
import platform
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy import sparse
from scipy.integrate import solve_ivp

from simulator.case.case import Case
from simulator.case.load import load
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.air_exchange import AirExchange, air_exchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.convection.surface_coefficients import surface_coefficients
from simulator.physics.heat.advance import advance
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.nodes import NodeLayout, node_layout, start_state
from simulator.physics.heat.reduced_model import ReducedSteps
from simulator.physics.heat.watch import Watch, watch
from simulator.physics.radiation.exchange import (
    NO_RADIATION,
    RadiationExchange,
    radiation_exchange,
)

CASE = Path(__file__).parent.parent / "geometries" / "bedroom_as_found.toml"
HORIZON = 6 * 3600.0
ONE = (HORIZON,)
FIVE = (300.0, 1200.0, 3600.0, 9000.0, HORIZON)
OUTPUTS = np.concatenate([np.arange(60.0, 600.0, 60.0), np.arange(600.0, HORIZON + 1.0, 300.0)])
SHORT_STEPS = ImplicitSteps(error=0.005, solver_tolerance=1e-5)


@dataclass(frozen=True)
class Room:
    """What a march needs; the flow is that of cold air, kept for every epoch."""

    case: Case
    grid: Grid
    layout: NodeLayout
    airflow: Airflow
    exchange: AirExchange
    convection: FloatArray
    radiation: RadiationExchange
    control: Control
    watch: Watch
    pattern: FloatArray | None = None  # temperatures that limit advection, as amid a run

    def model(self, radiation: RadiationExchange) -> HeatModel:
        expected = np.maximum(start_state(self.grid, self.layout), 40.0)
        if self.pattern is not None:
            expected = self.pattern
        return build_heat_model(
            self.grid,
            self.layout,
            self.airflow,
            self.exchange,
            self.convection,
            radiation,
            expected,
        )


def furnish(cell_size: float) -> Room:
    """Return the bedroom on cells of ``cell_size`` [m]."""
    case = load(CASE)
    grid = voxelise(case, cell_size)
    layout = node_layout(grid)
    airflow = solve_airflow(grid)
    warm, cool = np.where(grid.is_open, 40.0, 30.0), np.full(grid.surfaces.area.size, 30.0)
    room = Room(
        case=case,
        grid=grid,
        layout=layout,
        airflow=airflow,
        exchange=air_exchange(grid),
        convection=surface_coefficients(grid, airflow, warm, cool),
        radiation=radiation_exchange(grid),
        control=build_control(grid, layout, case.treatment, case.probes),
        watch=watch(grid, layout, case.probes),
    )
    return replace(room, pattern=march(room, ImplicitSteps(), (3600.0,))[-1].state)


def march(room: Room, method: MarchMethod, ends: tuple[float, ...]) -> list[EpochResult]:
    """Return the results of epochs that end at ``ends``; each builds its model anew."""
    state, start, results = start_state(room.grid, room.layout), 0.0, []
    for end in ends:
        result = advance(
            room.model(room.radiation),
            state,
            room.control,
            start,
            end,
            watch=room.watch,
            output_times=OUTPUTS[start < OUTPUTS],
            method=method,
        )
        results.append(result)
        state, start = result.state, end
    return results


def timed(work: Callable[[], list[EpochResult]]) -> tuple[float, list[EpochResult]]:
    """Return the CPU time of some work [s] and what it returned."""
    start = time.process_time()
    done = work()
    return time.process_time() - start, done


def imbalance(results: list[EpochResult]) -> float:
    """Return the largest imbalance of heat over the heat put in, of any epoch [-]."""
    return max(result.ledger.largest_imbalance for result in results)


def refuges(results: list[EpochResult]) -> FloatArray:
    """Return the temperatures of all refuges at all output times [°C]."""
    return np.concatenate([result.refuge_temperature for result in results]).astype(np.float64)


def compare_methods(room: Room) -> None:
    """Print one line a method and number of epochs."""
    methods = (ImplicitSteps(), ReducedSteps(shifts=12), ReducedSteps())
    for method in methods:  # compile
        march(room, method, (60.0,))
    print("  epochs  method                 CPU s   from short steps K (max, rms)  imbalance")
    for ends in (ONE, FIVE):
        reference = refuges(march(room, SHORT_STEPS, ends))
        for method in methods:
            seconds, results = timed(lambda m=method, e=ends: march(room, m, e))
            apart = np.abs(refuges(results) - reference)
            name = type(method).__name__
            if isinstance(method, ReducedSteps):
                name += f" ({method.shifts} shifts)"
            rms = np.sqrt((apart**2).mean())
            print(
                f"  {len(ends):6d}  {name:22s} {seconds:5.2f}   {apart.max():14.3f} {rms:11.4f}"
                f"  {imbalance(results):12.1e}"
            )


def whole_matrix(model: HeatModel) -> sparse.csc_array:
    """Return K of all nodes, chains included; without exchange between patches."""
    layout, matrix, chains = model.layout, model.matrix, model.layout.chains
    retained = sparse.csr_array(
        (matrix.value, matrix.column.astype(np.int32), matrix.row_start.astype(np.int32)),
        shape=(layout.retained, layout.retained),
    ).tocoo()
    nodes = layout.retained + np.arange(chains.capacity.size)
    chain = np.repeat(np.arange(chains.near.size), np.diff(chains.start))
    before, after = nodes - 1, nodes + 1
    before[chains.start[:-1]] = chains.near
    after[chains.last] = chains.far
    low = np.concatenate([before, nodes[chains.last]])
    high = np.concatenate([nodes, after[chains.last]])
    link = np.concatenate([chains.link[np.arange(nodes.size) + chain], chains.far_link])
    inside = high >= 0
    to_boundary = ~inside
    low_in, high_in, g = low[inside], high[inside], link[inside]
    row = [retained.row, low_in, low_in, high_in, high_in, low[to_boundary]]
    column = [retained.col, low_in, high_in, low_in, high_in, low[to_boundary]]
    value = [retained.data, g, -g, -g, g, link[to_boundary]]
    entries = (np.concatenate(value), (np.concatenate(row), np.concatenate(column)))
    return sparse.coo_array(entries, shape=(layout.size, layout.size)).tocsc()


def compare_with_a_stiff_solver(room: Room) -> None:
    """Print the CPU time of BDF over that of implicit steps: constant power, no long wave."""
    model = room.model(NO_RADIATION)
    load = model.constant.copy()
    for heater, jet in zip(model.heaters, room.grid.jets, strict=True):
        load[heater.node] += 0.5 * jet.part.power * heater.weight
    state = start_state(room.grid, room.layout)
    scaled = sparse.diags_array(1.0 / room.layout.capacity) @ whole_matrix(model)
    rates = sparse.csc_array(-scaled)
    gain = load / room.layout.capacity
    start = time.process_time()
    exact = solve_ivp(
        lambda _, T: rates @ T + gain,
        (0.0, HORIZON),
        state,
        method="BDF",
        jac=rates,
        rtol=1e-4,
        atol=1e-3,
    )
    general = time.process_time() - start

    # the same heat, as constant sources
    constant = HeatModel(
        layout=model.layout,
        matrix=model.matrix,
        long_wave=model.long_wave,
        heaters=(),
        constant=load,
        appliance_power=float(load.sum()),
        leak_node=model.leak_node,
        leak_conductance=model.leak_conductance,
        leak_income=model.leak_income,
    )
    start = time.process_time()
    ours = advance(
        constant,
        state,
        Control(()),
        0.0,
        HORIZON,
        watch=room.watch,
        output_times=(),
    )
    own = time.process_time() - start
    solids = slice(room.layout.air_cell.size, room.layout.retained)
    apart = np.abs(ours.state - exact.y[:, -1])[solids].max()
    print(
        f"  BDF {general:.2f} s, implicit steps {own:.2f} s: ratio {general / own:.1f}; "
        f"largest difference of solids at 6 h {apart:.3f} K"
    )


def main() -> None:
    """Print all comparisons for the asked cell sizes."""
    sizes = [float(text) for text in sys.argv[1:]] or [0.20, 0.15, 0.10]
    print(
        f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, "
        f"OMP_NUM_THREADS={os.environ.get('OMP_NUM_THREADS', 'not set')}"
    )
    for cell_size in sizes:
        room = furnish(cell_size)
        layout = room.layout
        print(
            f"{cell_size:.2f} m: {layout.air_cell.size} air cells, {layout.size} unknowns, "
            f"{layout.retained} after chains, {room.radiation.exchange.nnz} exchange areas"
        )
        compare_methods(room)
        if layout.size < 100_000:  # factors of a general solver grow faster than memory
            compare_with_a_stiff_solver(room)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
        print(f"  peak memory of the process so far {peak:.2f} GiB")


if __name__ == "__main__":
    main()
