"""The multigrid solver: right on a small room, and as fast on furnished and cluttered ones."""

import numpy as np
import pytest
from air_rooms import air_room, furnished_room

from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.physics.airflow import multigrid_kernels as kernels
from simulator.physics.airflow.halves import Halves
from simulator.physics.airflow.multigrid import Multigrid, SplitLevel
from simulator.physics.airflow.open_faces import bodies_of_air
from simulator.physics.airflow.pressure_solver import PressureSolver
from simulator.physics.airflow.staggered import AXES, HIGH, Layout, stagger


def nothing() -> None:
    """No one watches."""


def two_rooms_and_a_door() -> BoolArray:
    blocked = np.zeros((41, 30, 24), dtype=np.bool_)
    blocked[20] = True
    blocked[20, 10:18, :20] = False
    return blocked


def random_clutter(share: float) -> BoolArray:
    return np.random.default_rng(11).random((40, 32, 24)) < share


def balanced_source(grid: Grid, layout: Layout) -> FloatArray:
    """Random sources that sum to zero in every body of air."""
    bodies = bodies_of_air(grid)
    is_air = bodies >= 0
    source = np.zeros(bodies.size)
    source[is_air] = np.random.default_rng(2).normal(size=int(is_air.sum()))
    count = np.maximum(np.bincount(bodies[is_air]), 1)
    mean = np.bincount(bodies[is_air], source[is_air]) / count
    source[is_air] -= mean[bodies[is_air]]
    return layout.pad_cells(source.reshape(grid.shape))


def solve(grid: Grid, reduction: float, contrast: float = 1.0) -> tuple[int, float]:
    """Return the iterations and by how much the true residual fell."""
    mesh = stagger(grid)
    layout = mesh.layout
    solver = PressureSolver(layout)
    rng = np.random.default_rng(3)
    for axis in AXES:
        weak = rng.random(layout.size) < 0.2
        solver.coefficients[axis][:] = mesh.openness[axis] * np.where(weak, 1.0 / contrast, 1.0)
    rhs = balanced_source(grid, layout)
    solver.residual[:] = rhs
    solver.prepare()
    x = layout.zeros()
    iterations = solver.solve(x, reduction, 100, nothing)
    image = layout.zeros()
    for axis, stride in enumerate(layout.strides):
        flow = solver.coefficients[axis] * (np.roll(x, stride) - x)
        image += np.roll(flow, -stride) - flow
    return iterations, float(np.linalg.norm(rhs - image) / np.linalg.norm(rhs))


@pytest.mark.parametrize("cell", [0.2, 0.1])
def test_a_furnished_room_takes_few_iterations_whatever_the_cell_size(cell: float) -> None:
    iterations, left = solve(furnished_room(cell, fans=()), 1e-6)
    assert iterations <= 15
    assert left < 1e-6 * 1.01  # the residual is updated, not recomputed: round-off


def test_two_rooms_joined_by_a_door_take_few_iterations() -> None:
    iterations, left = solve(air_room((41, 30, 24), blocked=two_rooms_and_a_door()), 1e-6)
    assert iterations <= 15
    assert left < 1e-6 * 1.01


@pytest.mark.parametrize("share", [0.1, 0.3])
def test_random_clutter_takes_at_most_25_iterations(share: float) -> None:
    iterations, left = solve(air_room((40, 32, 24), blocked=random_clutter(share)), 1e-6)
    assert iterations <= 25
    assert left < 1e-6 * 1.01


def test_drag_a_thousand_times_that_of_air_takes_at_most_25_iterations() -> None:
    iterations, left = solve(furnished_room(0.2, fans=()), 1e-6, contrast=1000.0)
    assert iterations <= 25
    assert left < 1e-6 * 1.01


def test_tight_solutions_are_reached() -> None:
    iterations, left = solve(furnished_room(0.2, fans=()), 1e-11)
    assert iterations <= 25
    assert left < 1e-10


# ---- the preconditioner ----


@pytest.mark.parametrize("shape", [(12, 10, 8), (50, 40, 24), (67, 54, 33)])
def test_the_preconditioner_is_symmetric_and_positive(shape: tuple[int, int, int]) -> None:
    """Conjugate gradients need it: a . M b = b . M a, on lexicographic and on split levels."""
    rng = np.random.default_rng(4)
    mesh = stagger(air_room(shape, blocked=rng.random(shape) < 0.2))
    layout = mesh.layout
    multigrid = Multigrid(layout, Halves(layout))
    for axis, field in enumerate(multigrid.finest.coefficients):
        field[:] = mesh.openness[axis] * rng.uniform(0.1, 1.0, layout.size)
    multigrid.prepare(lambda part: None)
    is_air = multigrid.finest.inverse > 0.0

    def precondition(vector: FloatArray) -> FloatArray:
        multigrid.finest.rhs[:] = vector
        multigrid.cycle(lambda part: None)
        return multigrid.finest.x.copy()

    a, b = (np.where(is_air, rng.normal(size=layout.size), 0.0) for _ in range(2))
    image_a, image_b = precondition(a), precondition(b)
    scale = np.linalg.norm(a) * np.linalg.norm(image_b)
    assert abs(a @ image_b - b @ image_a) < 1e-13 * scale  # round-off of sums over the cells
    assert abs(a @ image_b) > 1e-4 * scale  # so that the test can fail
    assert a @ image_a > 0.0


@pytest.mark.parametrize("shape", [(50, 40, 24), (67, 54, 33)])
def test_a_sweep_out_of_order_is_not_symmetric(
    monkeypatch: pytest.MonkeyPatch, shape: tuple[int, int, int]
) -> None:
    """The test above sees it if the way back is not the exact reverse."""
    monkeypatch.setattr(SplitLevel, "smooth_outward", _inward_again)
    with pytest.raises(AssertionError):
        test_the_preconditioner_is_symmetric_and_positive(shape)


def _inward_again(level: SplitLevel, part: int) -> None:
    own = level._fields
    smooth = kernels.smooth_backward if part == HIGH else kernels.smooth_forward
    smooth(own.x, own.rhs, own.inverse, *own.coefficients, *level._ranges[part])
