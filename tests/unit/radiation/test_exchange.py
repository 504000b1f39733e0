"""Exchange in furnished rooms: closure, reciprocity, small bodies, shut boxes, loose stuff."""

import numpy as np
import pytest
from builders import box_room, porous, solid
from numpy.typing import NDArray
from scipy.sparse import coo_array, diags_array

from simulator.case.dwelling import Behind, Construction, Envelope, Layer
from simulator.case.materials import Material
from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.radiation.exchange import (
    NO_RADIATION,
    RadiationExchange,
    conductances,
    radiation_exchange,
)


def paint(emissivity: float) -> Material:
    return Material("test paint", 0.5, 1000.0, 1000.0, emissivity, None, "invented for tests")


def painted(emissivity: float) -> Envelope:
    layer = Layer(paint(emissivity), 0.01)
    return Envelope(Construction("painted", (layer,)), Behind("nothing", None, 0.0))


def patches_of(
    grid: Grid, exchange: RadiationExchange, rows: NDArray[np.bool_]
) -> NDArray[np.int64]:
    return np.unique(exchange.patch_of_surface[rows])


@pytest.fixture(scope="module")
def furnished() -> Grid:
    """A turned block, a heap, a thin standing board, a slim leg: every kind of surface."""
    parts = [
        solid((0.6, 0.6, 0.3), (0.8, 0.5, 0.3), turn=30.0),
        solid((1.0, 0.8, 0.0), (0.04, 0.04, 0.3), owner="leg"),
        solid((2.0, 0.5, 0.0), (0.02, 1.0, 1.0), owner="board"),
        porous((0.2, 1.4, 0.0), (0.8, 0.5, 0.5)),
    ]
    return voxelise(box_room((2.5, 2.0, 2.0), parts=parts), 0.1)


@pytest.fixture(scope="module")
def exchange(furnished: Grid) -> RadiationExchange:
    return radiation_exchange(furnished, rays=64)


def test_rows_close_and_pairs_are_reciprocal(furnished: Grid, exchange: RadiationExchange) -> None:
    """Rows sum to ε A of the patch and G is symmetric, both to round-off."""
    surfaces = furnished.surfaces
    target = np.zeros(exchange.area.size)
    np.add.at(target, exchange.patch_of_surface, surfaces.area * surfaces.emissivity)
    assert exchange.exchange.sum(axis=1) == pytest.approx(target, rel=1e-12)
    assert abs(exchange.exchange - exchange.exchange.T).max() < 1e-15
    assert exchange.exchange.data.min() >= -1e-15
    assert exchange.area.sum() == pytest.approx(surfaces.area.sum(), rel=1e-12)


def test_isothermal_room_exchanges_nothing(exchange: RadiationExchange) -> None:
    emission = np.full(exchange.area.size, STEFAN_BOLTZMANN * (50.0 + ZERO_CELSIUS) ** 4)
    net = exchange.exchange.sum(axis=1) * emission - exchange.exchange @ emission
    assert np.abs(net).max() < 1e-9


def test_conductances_give_the_exact_flow_at_their_own_temperatures(
    exchange: RadiationExchange,
) -> None:
    temperature = np.random.default_rng(5).uniform(15.0, 70.0, exchange.area.size)
    between, own = conductances(exchange, temperature)
    pairs, patches = exchange.pairs, exchange.area.size
    rows = np.repeat(np.arange(patches), np.diff(pairs.row_start))
    upper = coo_array((between, (rows, pairs.column)), shape=(patches, patches))
    conductance = upper + upper.T + diags_array(own)
    linear = conductance.sum(axis=1) * temperature - conductance @ temperature
    emission = STEFAN_BOLTZMANN * (temperature + ZERO_CELSIUS) ** 4
    exact = exchange.exchange.sum(axis=1) * emission - exchange.exchange @ emission
    assert linear == pytest.approx(exact, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("celsius", "expected"), [(20.0, 5.7140), (40.0, 6.9651), (60.0, 8.3867)])
def test_equal_temperatures_give_four_sigma_t_cubed(
    exchange: RadiationExchange, celsius: float, expected: float
) -> None:
    """4 σ T³ = 5.7140, 6.9651 and 8.3867 W/(m² K), worked by hand."""
    between, own = conductances(exchange, np.full(exchange.area.size, celsius))
    total = 2.0 * between.sum() + own.sum()
    assert total / exchange.exchange.sum() == pytest.approx(expected, abs=5e-5)


def test_small_body_in_a_large_room() -> None:
    """0.9 of black, 60 °C, in a 20 °C room: 125.884 W for 0.5 m²; the room is black here."""
    body = solid((0.8, 0.8, 0.8), (0.4, 0.4, 0.4), material=paint(0.9))
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[body], envelope=painted(1.0)), 0.1)
    result = radiation_exchange(grid)
    on_body = patches_of(grid, result, grid.surfaces.part == 0)
    kelvin = np.full(result.area.size, 20.0 + ZERO_CELSIUS)
    kelvin[on_body] += 40.0
    emission = STEFAN_BOLTZMANN * kelvin**4
    net = result.exchange.sum(axis=1) * emission - result.exchange @ emission
    area = result.area[on_body].sum()
    assert area == pytest.approx(6 * 0.16, rel=1e-9)
    # A convex body in a black room: exact but for what scaling moves, 1 %.
    assert net[on_body].sum() / area == pytest.approx(125.884 / 0.5, rel=0.01)


def test_reflections_agree_with_radiosity() -> None:
    """Rays that are reflected on their way against the linear system of radiosities.

    With black exchange areas B and reflectivities r the grey exchange is ε (1 - F r)⁻¹ F ε A,
    F = B/A. Both use the same patches; only the counting noise differs.
    """
    grids = []
    for body_emissivity, wall_emissivity in ((1.0, 1.0), (0.8, 0.3)):
        body = solid((0.5, 0.5, 0.5), (1.0, 1.0, 1.0), material=paint(body_emissivity))
        case = box_room((2.0, 2.0, 2.0), parts=[body], envelope=painted(wall_emissivity))
        grids.append(voxelise(case, 0.1))
    black, grey = (radiation_exchange(grid, rays=128) for grid in grids)
    surfaces = grids[1].surfaces
    emissivity = np.empty(grey.area.size)
    emissivity[grey.patch_of_surface] = surfaces.emissivity
    factor = black.exchange.toarray() / black.area[:, None]
    system = np.eye(emissivity.size) - factor * (1.0 - emissivity)
    radiosity = emissivity[:, None] * np.linalg.solve(system, factor * emissivity)
    expected = radiosity * grey.area[:, None]
    on_body = patches_of(grids[1], grey, surfaces.part == 0)
    off_body = patches_of(grids[1], grey, surfaces.part < 0)
    found = grey.exchange[on_body][:, off_body].sum()
    assert found == pytest.approx(expected[np.ix_(on_body, off_body)].sum(), rel=5e-3)
    # Two-surface enclosure, q = σ A₁ ΔT⁴ / (1/ε₁ + A₁/A₂ (1/ε₂ - 1)): it has one radiosity for the
    # whole room, so that it is some 2.5 % high beside a body that fills half of the room's width.
    small, large = 6.0, 24.0
    formula = small / (1.0 / 0.8 + small / large * (1.0 / 0.3 - 1.0))
    assert 0.96 * formula < found < formula


def test_thin_shield_halves_the_exchange() -> None:
    """A board of 2 cm across the room stops every ray; the cells that it seals off are its own."""
    board = solid((0.94, 0.0, 0.0), (0.02, 1.0, 1.0))
    grid = voxelise(box_room((2.0, 1.0, 1.0), parts=[board]), 0.1)
    assert grid.is_open.sum() == 19 * 10 * 10
    result = radiation_exchange(grid, rays=64)
    surfaces = grid.surfaces
    x = grid.centres[0][np.unravel_index(surfaces.air_cell, grid.shape)[0]]
    west = patches_of(grid, result, (surfaces.part < 0) & (x < 0.9))
    east = patches_of(grid, result, (surfaces.part < 0) & (x > 1.0))
    # Wall patches that reach across the board's plane belong to both sides: leave them out.
    west, east = np.setdiff1d(west, east), np.setdiff1d(east, west)
    assert result.exchange[west][:, east].sum() == 0.0


def test_sealed_box_sees_only_itself() -> None:
    boards = [
        solid((0.5, 0.5, 0.5), (1.0, 1.0, 0.1), name="bottom"),
        solid((0.5, 0.5, 1.4), (1.0, 1.0, 0.1), name="top"),
        solid((0.5, 0.5, 0.6), (0.1, 1.0, 0.8), name="west"),
        solid((1.4, 0.5, 0.6), (0.1, 1.0, 0.8), name="east"),
        solid((0.6, 0.5, 0.6), (0.8, 0.1, 0.8), name="south"),
        solid((0.6, 1.4, 0.6), (0.8, 0.1, 0.8), name="north"),
    ]
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=boards), 0.1)
    result = radiation_exchange(grid, rays=32)
    place = np.stack(
        [
            centre[index]
            for centre, index in zip(
                grid.centres, np.unravel_index(grid.surfaces.air_cell, grid.shape), strict=True
            )
        ]
    )
    inside = np.all((place > 0.6) & (place < 1.4), axis=0)
    within = patches_of(grid, result, inside)
    without = patches_of(grid, result, ~inside)
    assert np.intersect1d(within, without).size == 0
    assert result.exchange[within][:, without].sum() == 0.0


def test_loose_stuff_shadows_by_its_shown_area() -> None:
    """A curtain of pieces 0.1 m thick lets exp(-β s) of a ray pass, β = A/(4V).

    Compared with the exchange of two squares with a slab between them by quadrature over the
    distances (u, v) of their points. Pieces and walls are black.
    """
    pieces = porous(
        (0.3, 0.0, 0.0), (0.1, 2.0, 2.0), air_fraction=0.9, piece_size=0.03, material=paint(1.0)
    )
    grid = voxelise(box_room((0.7, 2.0, 2.0), parts=[pieces], envelope=painted(1.0)), 0.1)
    result = radiation_exchange(grid)
    surfaces = grid.surfaces
    wall = (surfaces.part < 0) & (surfaces.axis == 0)
    west = patches_of(grid, result, wall & (surfaces.sign > 0))
    east = patches_of(grid, result, wall & (surfaces.sign < 0))
    depth = 6.0 * 0.1 / 0.03 / 4.0 * 0.1
    u = (np.arange(800) + 0.5) * 2.0 / 800
    u, v = u[:, None], u[None, :]
    squared = 0.7**2 + u**2 + v**2
    weight = 4.0 * (2.0 - u) * (2.0 - v) * 0.7**2 / np.pi / squared**2
    expected = np.sum(weight * np.exp(-depth * np.sqrt(squared) / 0.7)) * (2.0 / 800) ** 2
    # Counting noise of 100,000 rays that cross: 1 %.
    assert result.exchange[west][:, east].sum() == pytest.approx(expected, rel=0.01)


def test_same_seed_gives_the_same_exchange(furnished: Grid, exchange: RadiationExchange) -> None:
    again = radiation_exchange(furnished, rays=64)
    assert np.array_equal(again.exchange.data, exchange.exchange.data)
    other = radiation_exchange(furnished, rays=64, seed=2)
    assert not np.array_equal(other.exchange.data, exchange.exchange.data)


def test_no_radiation_has_no_patches() -> None:
    assert NO_RADIATION.area.size == 0
    assert [found.size for found in conductances(NO_RADIATION, np.zeros(0))] == [0, 0]
