"""What does one step of the airflow cost, and the pressure equation, against known work?

Prints the machine, the threads, and for rooms of several cell sizes: milliseconds and nanoseconds
per cell of one step, the same in passes of a triad over the cells (``a = 3 c + d`` in two numpy
calls, so that machines of different memory compare), a first solution of 20 + 40 s, and the
pressure equation to 1e-6 against the algebraic multigrid of pyamg, if that is installed.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_step.py``
"""

import importlib.util
import os
import platform
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from air_rooms import fan, furnished_room

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.pressure_solver import PressureSolver
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.airflow.staggered import AXES, StaggeredMesh, stagger

FANS = (fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)), fan((4.2, 2.6, 0.8), (-1.0, -0.2, 0.0)))


#: CPU time counts both threads, so one alone works.
ONE_THREAD = replace(ROOM_AIR, threads=1)


def nothing() -> None:
    """No one watches."""


def best_of(repeats: int, work: Callable[[], object]) -> float:
    """Return the least CPU time of some runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def triad(cells: int) -> float:
    """Return the CPU time of one triad pass [s]."""
    rng = np.random.default_rng(0)
    a, c, d = np.zeros(cells), rng.random(cells), rng.random(cells)

    def twenty() -> None:
        for _ in range(20):
            np.multiply(c, 3.0, out=a)
            np.add(a, d, out=a)

    return best_of(50, twenty) / 20.0


def step_time(grid: Grid) -> tuple[float, float]:
    """Return the CPU time of one step [s] in developed flow, and its pressure iterations."""
    mesh = stagger(grid)
    still = np.zeros(grid.shape)
    stepper = FlowStepper(grid, mesh, still, still, ROOM_AIR, nothing)
    for _ in range(40):
        stepper.step(nothing)
    iterations = []

    def ten() -> None:
        for _ in range(10):
            stepper.step(nothing)
            iterations.append(stepper.pressure_iterations)

    return best_of(5, ten) / 10.0, float(np.mean(iterations))


def pressure_case(mesh: StaggeredMesh) -> tuple[PressureSolver, FloatArray]:
    """Return the solver of the room with unit coefficients, and a balanced random source."""
    solver = PressureSolver(mesh.layout)
    for axis in AXES:
        solver.coefficients[axis][:] = mesh.openness[axis]
    touched = sum(
        mesh.openness[axis] + np.roll(mesh.openness[axis], -mesh.layout.strides[axis])
        for axis in AXES
    )
    is_air = np.asarray(touched) > 0.0
    source = np.where(is_air, np.random.default_rng(1).normal(size=is_air.size), 0.0)
    source[is_air] -= source[is_air].mean()
    return solver, source


def own_solution(mesh: StaggeredMesh) -> tuple[float, int]:
    """Return the CPU time of set-up and solution to 1e-6 [s], and the iterations."""
    solver, source = pressure_case(mesh)
    x = mesh.layout.zeros()
    iterations = 0

    def solve() -> None:
        nonlocal iterations
        solver.residual[:] = source
        solver.prepare()
        iterations = solver.solve(x, 1e-6, 100, nothing)

    return best_of(4, solve), iterations


def pyamg_solution(mesh: StaggeredMesh) -> tuple[float, float]:
    """Return the CPU time of Ruge-Stueben set-up and of its CG solution to 1e-6 [s]."""
    import pyamg
    from scipy import sparse

    _, source = pressure_case(mesh)
    rows, columns = [], []
    for axis in AXES:
        high = np.flatnonzero(mesh.openness[axis])
        rows += [high, high - mesh.layout.strides[axis]]
        columns += [high - mesh.layout.strides[axis], high]
    row, column = np.concatenate(rows), np.concatenate(columns)
    air = np.unique(row)
    number = np.zeros(mesh.layout.size, dtype=np.int64)
    number[air] = np.arange(air.size)
    links = sparse.coo_array(
        (np.ones(row.size), (number[row], number[column])), shape=(air.size, air.size)
    ).tocsr()
    matrix = sparse.csr_matrix(sparse.diags_array(links.sum(axis=1)) - links)
    levels = pyamg.ruge_stuben_solver(matrix)
    setup = best_of(1, lambda: pyamg.ruge_stuben_solver(matrix))
    solve = best_of(2, lambda: levels.solve(source[air], tol=1e-6, accel="cg"))
    return setup, solve


def report(cell: float) -> None:
    """Print the figures of the room at one cell size."""
    grid = furnished_room(cell, fans=FANS)
    mesh = stagger(grid)
    cells = grid.is_open.size
    pass_time = triad(cells)
    step, iterations = step_time(grid)
    print(
        f"{cells:7d} cells: step {step * 1e3:6.2f} ms = {step / cells * 1e9:4.0f} ns per cell"
        f" = {step / pass_time:4.0f} triad passes of {pass_time * 1e6:.0f} us;"
        f" {iterations:.1f} pressure iterations"
    )
    if cells < 100_000:
        start = time.process_time()
        airflow = solve_airflow(grid, settings=ONE_THREAD)
        whole = time.process_time() - start
        print(f"         20 + 40 s of flow: {whole:.2f} s; divergence {airflow.divergence:.0e} m/s")
    own, count = own_solution(mesh)
    print(f"         pressure to 1e-6: {own * 1e3:.1f} ms, {count} iterations", end="")
    if importlib.util.find_spec("pyamg") and cells < 100_000:
        setup, solve = pyamg_solution(mesh)
        print(
            f"; pyamg {setup * 1e3:.0f} + {solve * 1e3:.0f} ms:"
            f" {solve / own:.1f} times without, {(setup + solve) / own:.0f} with set-up",
            end="",
        )
    print()


def main() -> None:
    """Print the machine and all figures."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    solve_airflow(furnished_room(0.2, fans=FANS), settings=ONE_THREAD)  # compile
    for cell in (0.2, 0.1, 0.05):
        report(cell)


if __name__ == "__main__":
    main()
