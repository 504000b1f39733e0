"""Every fan and jet gives the air its thrust, whole and in its own direction."""

import numpy as np
import pytest
from air_rooms import air_room, cells_at, fan, jet

from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.movers import discs, eddy_cap, mover_force
from simulator.physics.airflow.settings import EddyModel
from simulator.physics.airflow.staggered import stagger

SHAPE = (20, 16, 12)
DIRECTIONS = [(1, 0, 0), (0, -1, 0), (0, 0, 1), (1, 1, 0), (0.3, -0.8, 0.5), (-1, -1, -1)]
K = 1.2**2 / (np.pi * 0.25**2)


def force_of(grid: Grid) -> tuple[FloatArray, FloatArray, FloatArray]:
    mesh = stagger(grid)
    return mover_force(mesh, discs(grid, mesh))


@pytest.mark.parametrize("direction", DIRECTIONS)
@pytest.mark.parametrize("centre", [(1.0, 0.8, 0.6), (0.93, 0.81, 0.67), (0.15, 0.2, 0.1)])
def test_thrust_is_exact_for_any_direction_also_where_the_floor_cuts_the_disc(
    direction: tuple[float, float, float], centre: tuple[float, float, float]
) -> None:
    grid = air_room(SHAPE, fans=[fan(centre, direction)])
    force = force_of(grid)
    unit = np.array(direction) / np.linalg.norm(direction)
    assert [part.sum() for part in force] == pytest.approx(list(K * unit), rel=1e-13, abs=1e-15)


def test_thrust_is_exact_on_an_uneven_grid() -> None:
    rng = np.random.default_rng(5)
    edges = tuple(np.cumsum([0.0, *rng.uniform(0.07, 0.13, count)]) for count in SHAPE)
    grid = air_room(edges=edges, fans=[fan((1.0, 0.8, 0.6), (1, 2, 3))])
    unit = np.array([1, 2, 3]) / np.sqrt(14.0)
    force = force_of(grid)
    assert [part.sum() for part in force] == pytest.approx(list(K * unit), rel=1e-13)


def test_a_jet_gives_its_thrust_too() -> None:
    heater = jet(cells_at(SHAPE, (3, 3, 3)), cells_at(SHAPE, (1, 3, 3)), flow=0.2, diameter=0.2)
    grid = air_room(SHAPE, jets=[heater])
    force = force_of(grid)
    assert force[0].sum() == pytest.approx(0.2**2 / (np.pi * 0.1**2), rel=1e-13)
    assert not force[1].any()


def test_a_blocked_fan_is_refused_by_name() -> None:
    blocked = np.zeros(SHAPE, dtype=np.bool_)
    blocked[2:12, 2:12, 2:12] = True
    grid = air_room(
        SHAPE, blocked=blocked, fans=[fan((0.7, 0.7, 0.7), (1, 0, 0), owner="tall fan")]
    )
    with pytest.raises(CaseError, match="tall fan: blocked"):
        force_of(grid)


def test_eddy_viscosity_is_capped_by_the_nearest_fan() -> None:
    grid = air_room(SHAPE, fans=[fan((0.05, 0.05, 0.05), (1, 0, 0), diameter=0.2, flow=0.3)])
    cap = stagger(grid).layout.cells(eddy_cap(grid, stagger(grid).layout, EddyModel()))
    jet_value = 0.0161 * 0.3 / np.sqrt(np.pi * 0.01)
    assert cap[0, 0, 0] == pytest.approx(0.1 * jet_value)
    assert cap[6, 0, 0] == pytest.approx(0.5 * jet_value)  # 0.6 m = half of 6 D
    assert cap[-1, -1, -1] == pytest.approx(jet_value)


def test_only_an_oblique_jet_gets_less_eddies_and_the_less_the_coarser_its_cells() -> None:
    """At 45° Σ|n_i| (1 - n_i²) is 1/√2: on cells of D/2 the ramp is 1 + 2.5/√2 times as long."""
    caps = {}
    for name, direction, diameter in (
        ("along", (1, 0, 0), 0.2),
        ("across", (1, 1, 0), 0.2),
        ("finer", (1, 1, 0), 0.4),
    ):
        mover = fan((0.05, 0.05, 0.05), direction, diameter=diameter, flow=0.3)
        grid = air_room(SHAPE, fans=[mover])
        cap = stagger(grid).layout.cells(eddy_cap(grid, stagger(grid).layout, EddyModel()))
        caps[name] = cap[6, 0, 0] * diameter / 0.2  # K goes with 1/D²
    assert caps["along"] / caps["across"] == pytest.approx(1.0 + 2.5 / np.sqrt(2.0), rel=1e-12)
    # 0.6 m are half of the full length for D = 0.2 m, a quarter for 0.4 m
    assert caps["along"] / caps["finer"] == pytest.approx(2 * (1.0 + 0.625 / np.sqrt(2.0)))


def test_a_fan_does_not_push_the_air_behind_a_board_that_its_rim_touches() -> None:
    board = np.zeros((SHAPE[0] + 1, *SHAPE[1:]), dtype=np.bool_)
    board[10] = True
    beside = fan((0.75, 0.8, 0.6), (0, 1, 0))  # its rim reaches 0.05 m beyond the board at x = 1
    grid = air_room(SHAPE, closed_x=board, fans=[beside])
    mesh = stagger(grid)
    force = mesh.layout.faces(force_of(grid)[1], 1)
    assert force.sum() == pytest.approx(K, rel=1e-13)
    assert not force[10:].any()
    assert force[9].any()
