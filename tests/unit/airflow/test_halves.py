"""Two threads: the same numbers to the last bit, one thread where asked for, none left behind."""

import threading
from dataclasses import replace

import numba
import numpy as np
import pytest
from air_rooms import air_room, cells_at, fan, jet, leak

from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.physics.airflow import momentum
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.halves import Halves, Work
from simulator.physics.airflow.settings import ROOM_AIR
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.airflow.staggered import (
    HIGH,
    LOW,
    MIDDLE,
    MIDDLE_PLANES,
    PARTS,
    SPLIT_CELLS,
    Layout,
    stagger,
)

SHAPE = (50, 40, 24)
LARGE = (64, 50, 42)  # large enough for two split levels of the pressure solver

FANS = (fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)), fan((3.9, 2.6, 0.8), (-1.0, -0.2, 0.0)))


def nothing() -> None:
    """No one watches."""


def two_rooms(shape: tuple[int, int, int]) -> tuple[BoolArray, FloatArray]:
    """A wall with a doorway across the middle, random blocks, and loose clutter."""
    nx, ny, nz = shape
    rng = np.random.default_rng(5)
    blocked = np.zeros(shape, dtype=np.bool_)
    blocked[nx // 2] = True
    blocked[nx // 2, ny // 3 : ny // 2, : 3 * nz // 4] = False
    blocked[nx - 3 :, :, 0] = True
    blocked[10:22, 20:34, 0:4] = True
    blocked[14:30] |= rng.random((16, ny, nz)) < 0.05
    clutter = np.zeros(shape)
    clutter[nx // 2 - 8 : nx // 2 + 6, ny // 2 :, : nz // 2] = 1e4
    return blocked, np.where(blocked, 0.0, clutter)


def furnished(shape: tuple[int, int, int] = SHAPE) -> Grid:
    """Two rooms joined by a door, with clutter, two fans, a ducted jet and a leak."""
    blocked, clutter = two_rooms(shape)
    i = shape[0] // 2 + 6
    outlet = cells_at(shape, (i, 3, 2), (i, 4, 2))
    ends = cells_at(shape, (1, 1, 20)), cells_at(shape, (shape[0] - 2, 36, 20))
    return air_room(
        shape,
        blocked=blocked,
        darcy=clutter,
        forchheimer=1e-3 * clutter,
        fans=FANS,
        jets=[jet(outlet, None, flow=0.05, centre=(0.1 * (i + 1), 0.4, 0.3))],
        leaks=[leak(*ends, 0.02)],
    )


class HighFirst(Halves):
    """One half after the other, in the order that one thread never takes."""

    def run(self, work: Work) -> None:
        if self._is_split:
            work(HIGH)
            work(LOW)


def stepped(grid: Grid, steps: int, threads: int = 1, kind: type[Halves] = Halves) -> FlowStepper:
    mesh = stagger(grid)
    still = np.zeros(grid.shape)
    with kind(mesh.layout, threads) as halves:
        stepper = FlowStepper(grid, mesh, still, still, ROOM_AIR, nothing, halves)
        for _ in range(steps):
            stepper.step(nothing)
    return stepper


def assert_same_to_the_last_bit(one: FlowStepper, two: FlowStepper) -> None:
    assert np.abs(one.fields.velocity[0]).max() > 1.0
    assert one.pressure_iterations == two.pressure_iterations
    for name in ("velocity", "flow", "edge_viscosity"):
        for a, b in zip(getattr(one.fields, name), getattr(two.fields, name), strict=True):
            assert np.array_equal(a, b)
    for name in ("pressure", "speed", "viscosity"):
        assert np.array_equal(getattr(one.fields, name), getattr(two.fields, name))
    assert np.array_equal(one.eddies, two.eddies)
    assert np.array_equal(one.thrust_share, two.thrust_share)


@pytest.fixture
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two threads also on a machine of one core."""
    monkeypatch.setattr(numba.config, "NUMBA_NUM_THREADS", 2)


# ---- same numbers ----


@pytest.mark.usefixtures("two_cores")
@pytest.mark.parametrize("shape", [SHAPE, LARGE])
def test_every_field_is_the_same_to_the_last_bit(shape: tuple[int, int, int]) -> None:
    grid = furnished(shape)
    assert_same_to_the_last_bit(stepped(grid, 12), stepped(grid, 12, threads=2))


@pytest.mark.parametrize("shape", [SHAPE, LARGE])
def test_no_half_needs_what_the_other_writes(shape: tuple[int, int, int]) -> None:
    """Else the order of the halves would show, and two threads might differ now and then."""
    grid = furnished(shape)
    assert_same_to_the_last_bit(stepped(grid, 12), stepped(grid, 12, kind=HighFirst))


@pytest.mark.parametrize("shape", [SHAPE, (32, 20, 12)])
def test_the_size_of_the_slabs_does_not_show(
    monkeypatch: pytest.MonkeyPatch, shape: tuple[int, int, int]
) -> None:
    grid = air_room(shape, blocked=two_rooms(shape)[0], fans=FANS[:1])
    runs = []
    for cells in (1, 3 * shape[1] * shape[2], 10**6):
        monkeypatch.setattr(momentum, "SLAB_CELLS", cells)
        runs.append(stepped(grid, 6))
    for other in runs[1:]:
        assert_same_to_the_last_bit(runs[0], other)


@pytest.mark.usefixtures("two_cores")
def test_the_answer_is_the_same_to_the_last_bit() -> None:
    grid = furnished()

    def solved(threads: int) -> Airflow:
        settings = replace(ROOM_AIR, threads=threads)
        return solve_airflow(grid, discard=2.0, average=4.0, settings=settings)

    one, two = solved(1), solved(2)
    for name in ("x_velocity", "y_velocity", "z_velocity", "speed", "eddy_viscosity"):
        assert np.array_equal(getattr(one, name), getattr(two, name))
    assert (one.divergence, one.scatter) == (two.divergence, two.scatter)
    assert one.divergence < 1e-13


# ---- the second thread ----


class StopHereError(Exception):
    """Raised by the tests in place of Ctrl-C."""


def own_threads() -> list[str]:
    return [one.name for one in threading.enumerate() if one.name.startswith("airflow")]


@pytest.mark.usefixtures("two_cores")
def test_the_second_thread_is_there_and_ends_with_the_solver() -> None:
    seen: list[int] = []

    def stop(share: float) -> None:
        seen.append(len(own_threads()))
        if share > 0.0:
            raise StopHereError

    with pytest.raises(StopHereError):
        solve_airflow(furnished(), on_progress=stop)
    assert max(seen) == 1
    assert own_threads() == []


@pytest.mark.parametrize(
    ("shape", "asked", "allowed"), [(SHAPE, 1, 2), (SHAPE, 2, 1), ((20, 20, 20), 2, 2)]
)
def test_one_thread_where_asked_for_or_allowed_or_enough(
    monkeypatch: pytest.MonkeyPatch, shape: tuple[int, int, int], asked: int, allowed: int
) -> None:
    monkeypatch.setattr(numba.config, "NUMBA_NUM_THREADS", allowed)
    with Halves(Layout(shape), asked):
        assert own_threads() == []


@pytest.mark.usefixtures("two_cores")
@pytest.mark.parametrize("failing", [LOW, HIGH])
def test_what_either_half_raises_is_raised_when_both_have_ended(failing: int) -> None:
    done: list[int] = []

    def work(part: int) -> None:
        done.append(part)
        if part == failing:
            raise StopHereError

    with Halves(Layout(SHAPE), 2) as halves:
        with pytest.raises(StopHereError):
            halves.run(work)
        assert sorted(done) == [LOW, HIGH]
        halves.run(done.append)  # and it goes on working
    assert sorted(done) == [LOW, LOW, HIGH, HIGH]


# ---- parts ----


@pytest.mark.parametrize("shape", [SHAPE, LARGE, (16, 50, 60), (67, 54, 33), (20, 20, 20)])
def test_parts_cover_the_loop_region_once(shape: tuple[int, int, int]) -> None:
    layout = Layout(shape)
    for spans in (layout.span, layout.side_span):
        count = np.zeros(layout.size)
        for part in PARTS:
            count[spans(part)] += 1.0
        assert (layout.view(count) == 1.0).all()
        assert count.sum() == layout.view(count).size


def test_halves_of_large_layouts_are_as_good_as_equal_and_small_layouts_have_none() -> None:
    for nx in range(16, 130):
        layout = Layout((nx, 60, 60))
        assert layout.is_split == (nx * 3600 >= SPLIT_CELLS)
        assert layout.middle % 2 == 0
        assert abs(layout.middle - (nx - MIDDLE_PLANES - layout.middle)) <= 2
    small = Layout((20, 20, 20))
    assert small.span(LOW) == small.span(HIGH)
    assert small.view(small.zeros(), 0, small.span(MIDDLE)).size == small.view(small.zeros()).size
