"""Conduction through voxels, skins and wall columns against published and exact solutions.

Everything runs through the assembled balance of a dwelling: solids, surfaces, walls, air.
"""

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq
from scipy.special import erfc
from unit.heat.bodies import free_block, half_slab, wall
from unit.heat.grids import exchange_of, make_grid, material, slab, still_air

from simulator.case.dwelling import Construction, Layer, Side
from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import build_heat_model
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.nodes import node_layout
from simulator.physics.radiation.exchange import NO_RADIATION

HOUR = 3600.0

# ISO 10211:2007, Annex A, case 1: half square column, 20 °C on top, 0 °C on the two other sides.
# Rows: 1/8 ... 7/8 of the height from the top; columns: 1/4, 1/2, 3/4, 1 of the width from the left
# to the plane of symmetry. Printed to 0.1 K; read from reproductions of the standard in two open
# repositories, and equal to the series below.
ISO_10211_CASE_1 = np.array(
    [
        [9.7, 13.4, 14.7, 15.1],
        [5.3, 8.6, 10.3, 10.8],
        [3.2, 5.6, 7.0, 7.5],
        [2.0, 3.6, 4.7, 5.0],
        [1.3, 2.3, 3.0, 3.2],
        [0.7, 1.4, 1.8, 1.9],
        [0.3, 0.6, 0.8, 0.9],
    ]
)


def half_column(cells: int) -> FloatArray:
    """Temperatures at the 28 points on ``cells`` x 2 ``cells``, boundaries held by thin walls."""
    edges = [
        np.linspace(0.0, 1.0, cells + 1),
        np.linspace(0.0, 2.0, 2 * cells + 1),
        np.linspace(0.0, 1.0, 2),
    ]
    foil = slab(1e4, 1.0, 1.0, 1e-4)
    grid = make_grid(
        edges,
        blocked=np.ones((cells, 2 * cells, 1), dtype=bool),
        stuff=material(1.0, 1.0, 1.0),
        walls={
            Side.WEST: (foil, 0.0, 0.0),
            Side.SOUTH: (foil, 0.0, 0.0),
            Side.NORTH: (foil, 20.0, 0.0),
        },
    )
    layout = node_layout(grid)
    zero = np.zeros(layout.size)
    model = build_heat_model(
        grid, layout, still_air(grid), exchange_of(grid), np.zeros(0), NO_RADIATION, zero
    )
    steady = HeatSolver(model).shifted(np.inf).solve(model.constant, zero, 1e-10)
    field = np.zeros((cells + 2, 2 * cells + 2))
    field[1:-1, 1:-1] = steady[layout.solid_node].reshape(cells, 2 * cells)
    field[-1] = field[-2]  # the plane of symmetry
    field[:, -1] = 20.0
    x = np.concatenate([[0.0], grid.centres[0], [1.0]])
    y = np.concatenate([[0.0], grid.centres[1], [2.0]])
    points = [(i / 4, 2.0 - j / 4) for j in range(1, 8) for i in range(1, 5)]
    return RegularGridInterpolator((x, y), field)(points).reshape(7, 4)


def half_column_exact() -> FloatArray:
    """Series of the square with one warm side (separation of variables)."""
    n = np.arange(1, 200, 2)[:, None, None] * np.pi
    y, x = np.meshgrid(1.0 - np.arange(1, 8) / 8, np.arange(1, 5) / 8, indexing="ij")
    # sinh(n y) / sinh(n) without overflow
    ratio = np.exp(n * (y - 1.0)) * (1.0 - np.exp(-2.0 * n * y)) / (1.0 - np.exp(-2.0 * n))
    return (20.0 * 4.0 / n * np.sin(n * x) * ratio).sum(axis=0)


def test_the_series_reproduces_the_printed_table_of_iso_10211_case_1() -> None:
    assert np.abs(half_column_exact() - ISO_10211_CASE_1).max() <= 0.0501  # half of a last digit


# The standard asks for 0.1 K of its own table. 8 x 16 cells are coarse: 0.25 K.
@pytest.mark.parametrize(("cells", "limit"), [(8, 0.25), (16, 0.1), (32, 0.1)])
def test_iso_10211_case_1(cells: int, limit: float) -> None:
    found = half_column(cells)
    assert np.abs(found - ISO_10211_CASE_1).max() <= limit
    assert np.abs(found - half_column_exact()).max() <= 3.5 / cells**2  # second order


# Semi-infinite solid at 20 °C. Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, closed
# forms of section 5.7 (Carslaw & Jaeger 1959, chapter II), evaluated here.
MATERIALS = {
    "concrete": (1.65, 2200.0, 1000.0),
    "timber": (0.13, 500.0, 1600.0),
    "textile": (0.06, 200.0, 1300.0),
}
POINTS = {
    "concrete": [(3600, 0.02), (3600, 0.05), (14400, 0.05), (28800, 0.10), (86400, 0.10)],
    "timber": [(600, 0.01), (3600, 0.02), (3600, 0.05), (14400, 0.05), (28800, 0.10)],
    "textile": [(3600, 0.02), (3600, 0.05), (14400, 0.05), (28800, 0.10)],
}
TIMES = np.array([600.0, 3600.0, 14400.0, 28800.0, 86400.0])


def convective_step(name: str, t: float, x: float, *, h: float = 10.0) -> float:
    """Temperature at depth x after air has gone from 20 to 55 °C."""
    k, density, heat_capacity = MATERIALS[name]
    a = k / density / heat_capacity
    xi, bulk = x / (2.0 * np.sqrt(a * t)), h * np.sqrt(a * t) / k
    ride = np.exp(h * x / k + bulk**2) * erfc(xi + bulk)
    return float(20.0 + 35.0 * (erfc(xi) - ride))


@pytest.mark.parametrize(
    ("name", "t", "x", "printed"),
    [
        ("concrete", 3600, 0.05, 23.7493),
        ("timber", 14400, 0.05, 32.7944),
        ("textile", 28800, 0.10, 32.5488),
    ],
)
def test_closed_form_of_the_semi_infinite_solid(
    name: str, t: float, x: float, printed: float
) -> None:
    assert convective_step(name, t, x) == pytest.approx(printed, abs=1e-4)


@pytest.mark.parametrize("name", MATERIALS)
def test_wall_column_follows_the_semi_infinite_solid(name: str) -> None:
    thickness = 2.0 if name == "concrete" else 1.0  # not reached within a day
    depth, found = wall(
        slab(*MATERIALS[name], thickness), h=10.0, start=20.0, air=55.0, times=TIMES
    )
    for t, x in POINTS[name]:
        at = np.interp(x, depth, found[list(TIMES).index(t)])
        # 0.05 K where ten nodes span the reach of the heat; the graded mesh has two to six there
        assert at == pytest.approx(convective_step(name, t, x), abs=0.25 if t < 1000 else 0.08)
    surface = [convective_step(name, t, 0.0) for t in TIMES]
    assert np.abs(found[1:, 0] - surface[1:]).max() < 0.05
    assert abs(found[0, 0] - surface[0]) < 0.15


@pytest.mark.parametrize("name", MATERIALS)
def test_surface_held_at_a_temperature_drives_the_error_function(name: str) -> None:
    k, density, heat_capacity = MATERIALS[name]
    thickness = 2.0 if name == "concrete" else 1.0
    depth, found = wall(slab(*MATERIALS[name], thickness), h=1e6, start=20.0, air=50.0, times=TIMES)
    for t, x in POINTS[name]:
        reach = 2.0 * np.sqrt(k / density / heat_capacity * t)
        exact = 20.0 + 30.0 * erfc(x / reach)
        at = np.interp(x, depth, found[list(TIMES).index(t)])
        assert at == pytest.approx(exact, abs=0.2 if t < 1000 else 0.08)


@pytest.mark.parametrize("name", MATERIALS)
def test_row_of_5_cm_voxels_follows_the_semi_infinite_solid(name: str) -> None:
    cells = 40 if name == "concrete" else 20
    body = half_slab(
        0.05 * cells,
        cells,
        material(*MATERIALS[name]),
        h=10.0,
        start=20.0,
        air=55.0,
        times=TIMES,
    )
    k, density, heat_capacity = MATERIALS[name]
    for index, t in enumerate(TIMES):
        if k / density / heat_capacity * t < 0.05**2:
            continue  # a cell's Fourier number below one: no voxel can follow
        for cell in range(2, 6):
            exact = convective_step(name, t, 0.05 * (cell + 0.5))
            assert body.cores[index, cell] == pytest.approx(exact, abs=1.0)


# Plane wall, Heisler's problem: series of Incropera & DeWitt eq. 5.42; the numbers are its value
# with 60 terms. θ = (T - T_air) / (T_start - T_air); the middle plane passes no heat.
PLANE_WALL = [
    # Fo,  Bi,   centre,  surface, mean
    (0.1, 1.0, 0.99311, 0.72358, 0.91960),
    (0.2, 1.0, 0.95064, 0.64339, 0.85160),
    (0.5, 1.0, 0.77253, 0.50452, 0.68110),
    (1.0, 1.0, 0.53386, 0.34818, 0.47040),
    (2.0, 1.0, 0.25467, 0.16609, 0.22439),
    (0.1, 10.0, 0.96842, 0.17057, 0.72612),
    (0.5, 10.0, 0.45464, 0.06433, 0.31502),
    (0.2, 0.5, 0.97260, 0.79015, 0.91462),
    (1.0, 0.1, 0.92239, 0.87813, 0.90759),
]


def plane_wall(fourier: float, biot: float) -> tuple[float, float, float]:
    """Centre, surface and mean of the series."""
    roots = [
        brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi, (n + 0.5) * np.pi)
        for n in range(60)
    ]
    z = np.array(roots)
    weight = 4.0 * np.sin(z) / (2.0 * z + np.sin(2.0 * z)) * np.exp(-(z**2) * fourier)
    return weight.sum(), (weight * np.cos(z)).sum(), (weight * np.sin(z) / z).sum()


@pytest.mark.parametrize(("fourier", "biot", "centre", "surface", "mean"), PLANE_WALL)
def test_series_of_the_plane_wall(
    fourier: float, biot: float, centre: float, surface: float, mean: float
) -> None:
    assert plane_wall(fourier, biot) == pytest.approx((centre, surface, mean), abs=1e-5)


def plane_wall_errors(cells: int, fourier: float, biot: float) -> FloatArray:
    """Errors in θ of the last core, the surface and the mean of a half slab of ``cells``."""
    half, k = 0.1, 0.1
    body = half_slab(
        half,
        cells,
        material(k, 500.0, 1000.0),
        h=biot * k / half,
        start=100.0,  # so that errors in time, of some mK, do not show
        air=0.0,
        times=np.array([fourier * half**2 / (k / 500.0 / 1000.0)]),
    )
    surface = body.layout.surface_node[0]
    found = np.array([body.cores[0, -1], body.states[0, surface], body.mean[0]])
    return found / 100.0 - plane_wall(fourier, biot)


@pytest.mark.parametrize(("fourier", "biot"), [row[:2] for row in PLANE_WALL])
def test_ten_voxels_follow_the_plane_wall(fourier: float, biot: float) -> None:
    assert np.abs(plane_wall_errors(10, fourier, biot)).max() < 0.005


@pytest.mark.parametrize(("fourier", "biot"), [row[:2] for row in PLANE_WALL if row[0] >= 0.2])
def test_two_voxels_follow_the_plane_wall_from_a_fourier_number_of_a_fifth(
    fourier: float, biot: float
) -> None:
    # a slab of 20 cm on voxels of 5 cm; the band for voxels without skins is 0.06
    assert np.abs(plane_wall_errors(2, fourier, biot)).max() < 0.02


def test_voxels_converge_to_the_plane_wall_with_the_square_of_their_size() -> None:
    ten, twenty = (np.abs(plane_wall_errors(cells, 0.5, 1.0)).max() for cells in (10, 20))
    assert np.log2(ten / twenty) == pytest.approx(2.0, abs=0.1)


# Composite walls, uniform at 20 °C, whose room air steps to 55 °C; h 8 W/(m² K) inside, 20 °C
# outside. Rows: hours, temperatures of inner surface, interfaces and outer surface [°C], heat flux
# into the wall [W/m²]. Computed for this project by numerical inversion of the Laplace transform of
# the transfer matrix and by an independent Crank-Nicolson run of 600 cells (agree to 0.001 K).
WALLS = {
    "softwood, mineral wool, concrete": (
        [
            (0.13, 500.0, 1600.0, 0.05),
            (0.04, 30.0, 1030.0, 0.10),
            (1.65, 2200.0, 1000.0, 0.15),
        ],
        25.0,
        [
            (0.5, 40.522, 20.881, 20.000, 20.000, 115.822),
            (1.0, 43.725, 24.539, 20.012, 20.000, 90.203),
            (3.0, 49.054, 37.330, 20.227, 20.014, 47.566),
            (6.0, 52.100, 45.322, 20.606, 20.105, 23.198),
            (12.0, 53.428, 48.827, 21.096, 20.288, 12.579),
            (24.0, 53.601, 49.300, 21.400, 20.420, 11.196),
        ],
    ),
    "gypsum block, brick, expanded polystyrene": (
        [
            (0.25, 900.0, 1000.0, 0.05),
            (0.77, 1700.0, 1000.0, 0.10),
            (0.035, 20.0, 1450.0, 0.10),
        ],
        25.0,
        [
            (1.0, 39.980, 22.351, 20.049, 20.000, 120.163),
            (3.0, 43.582, 26.814, 22.036, 20.021, 91.343),
            (6.0, 45.394, 30.959, 26.417, 20.081, 76.850),
            (12.0, 47.860, 37.084, 33.478, 20.181, 57.121),
            (24.0, 50.807, 44.419, 41.949, 20.300, 33.546),
        ],
    ),
    "concrete": (
        [(1.65, 2200.0, 1000.0, 0.20)],
        25.0,
        [
            (1.0, 28.088, 20.034, 215.295),
            (3.0, 32.261, 20.971, 181.915),
            (6.0, 35.402, 22.529, 156.786),
            (12.0, 38.225, 24.073, 134.200),
            (24.0, 39.536, 24.794, 123.710),
        ],
    ),
    "plasterboard, wool, plasterboard": (
        [
            (0.25, 900.0, 1000.0, 0.0125),
            (0.04, 30.0, 1030.0, 0.10),
            (0.25, 900.0, 1000.0, 0.0125),
        ],
        8.0,
        [
            (0.5, 43.807, 41.087, 20.191, 20.093, 89.544),
            (1.0, 50.032, 48.648, 20.895, 20.573, 39.741),
            (3.0, 53.397, 52.767, 22.089, 21.487, 12.826),
        ],
    ),
}


@pytest.mark.parametrize("name", WALLS)
def test_composite_wall_after_a_step_of_room_air(name: str) -> None:
    rows, outer_h, table = WALLS[name]
    layers = tuple(Layer(material(*row[:3]), row[3]) for row in rows)
    times = HOUR * np.array([line[0] for line in table])
    depth, found = wall(
        Construction(name, layers),
        h=8.0,
        start=20.0,
        air=55.0,
        times=times,
        behind=20.0,
        resistance=1.0 / outer_h,
    )
    planes = np.concatenate([[0.0], np.cumsum([row[3] for row in rows])])
    node = [int(np.abs(depth - plane).argmin()) for plane in planes]
    expected = np.array([line[1:-1] for line in table])
    flux = np.array([line[-1] for line in table])
    assert np.abs(found[:, node] - expected).max() < 0.1  # the band of a fine mesh
    assert 8.0 * (55.0 - found[:, 0]) == pytest.approx(flux, rel=0.005)


# Steady cuboid, one face at 1 and five at 0; exact series, evaluated for this project.
@pytest.mark.parametrize("side", list(Side))
def test_steady_cube_is_the_same_whichever_face_is_warm(side: Side) -> None:
    edges = [np.linspace(0.0, 1.0, 11)] * 3
    foil = slab(1e4, 1.0, 1.0, 1e-4)
    walls = {each: (foil, 1.0 if each is side else 0.0, 0.0) for each in Side}
    blocked = np.ones((10, 10, 10), dtype=bool)
    grid = make_grid(edges, blocked=blocked, stuff=material(1.0, 1.0, 1.0), walls=walls)
    layout = node_layout(grid)
    zero = np.zeros(layout.size)
    model = build_heat_model(
        grid, layout, still_air(grid), exchange_of(grid), np.zeros(0), NO_RADIATION, zero
    )
    steady = HeatSolver(model).shifted(np.inf).solve(model.constant, zero, 1e-9)
    field = steady[layout.solid_node].reshape(10, 10, 10)
    centres = grid.centres[0]

    def along(depth: float) -> float:
        at = [0.5, 0.5, 0.5]
        at[side.axis] = depth if side.sign > 0 else 1.0 - depth
        return float(RegularGridInterpolator((centres,) * 3, field, method="cubic")(at)[0])

    assert along(0.5) == pytest.approx(1.0 / 6.0, abs=0.01)
    assert along(0.25) == pytest.approx(0.051016, abs=0.01)
    assert along(0.75) == pytest.approx(0.458087, abs=0.01)
    assert model.envelope_loss(steady) == pytest.approx(0.0, abs=1e-6)


# Clutter blocks, 20 °C, all six faces in air of 55 °C: products of plane walls (Incropera & DeWitt
# section 5.8). Size [m]; k, ρ, c; h.
BLOCKS = {
    "textile pile": ((0.4, 0.3, 0.3), (0.06, 200.0, 1300.0), 8.0),
    "book stack": ((0.3, 0.2, 0.25), (0.18, 930.0, 1340.0), 8.0),
    "foam mattress": ((2.0, 1.0, 0.2), (0.045, 40.0, 1400.0), 8.0),
    "softwood beam": ((0.1, 0.1, 1.0), (0.13, 500.0, 1600.0), 12.0),
    "concrete block": ((0.2, 0.2, 0.4), (1.65, 2200.0, 1000.0), 10.0),
}
BLOCK_TIMES = HOUR * np.array([1.0, 2.0, 4.0, 8.0, 12.0])


def block_errors(name: str, cell: float) -> tuple[FloatArray, FloatArray]:
    """Errors of the coldest point and of the mean at 1, 2, 4, 8, 12 h [K]."""
    size, stuff, h = BLOCKS[name]
    cells = (round(size[0] / cell), round(size[1] / cell), round(size[2] / cell))
    body = free_block(size, cells, material(*stuff), h=h, start=20.0, air=55.0, times=BLOCK_TIMES)
    diffusivity = stuff[0] / stuff[1] / stuff[2]
    centre, mean = np.ones(BLOCK_TIMES.size), np.ones(BLOCK_TIMES.size)
    for width in size:
        parts = [
            plane_wall(diffusivity * t / (0.5 * width) ** 2, h * 0.5 * width / stuff[0])
            for t in BLOCK_TIMES
        ]
        centre *= [part[0] for part in parts]
        mean *= [part[2] for part in parts]
    coldest = body.coldest_points.min(axis=1)
    return coldest - (55.0 - 35.0 * centre), body.mean - (55.0 - 35.0 * mean)


# The bands asked of 5 cm voxels: the centre within 2 K until the Fourier number is 0.2, then 1 K;
# in bodies of two cells 6 K at 1 h and 2 K at 2 h; the mean within 3 K at 1 h and 1 K from 4 h on.
# Measured: coldest point within 0.6 K (beam of two cells 1.6 K), mean within 0.7 K.
@pytest.mark.parametrize("name", BLOCKS)
def test_clutter_blocks_on_5_cm_voxels(name: str) -> None:
    coldest, mean = block_errors(name, 0.05)
    late = slice(2, None)
    if name == "softwood beam":
        assert abs(coldest[0]) < 6.0
        assert abs(coldest[1]) < 2.0
    else:
        assert np.abs(coldest[:2]).max() < 1.0
    assert np.abs(coldest[late]).max() < 1.0
    assert np.abs(mean).max() < 1.0


# At 10 cm no band is asked of anyone. Measured: coldest point within 2.5 K (book stack, on cells of
# up to 12.5 cm), 1.5 K for the others; mean within 0.9 K.
@pytest.mark.parametrize("name", BLOCKS)
def test_clutter_blocks_on_10_cm_voxels(name: str) -> None:
    coldest, mean = block_errors(name, 0.1)
    assert np.abs(coldest).max() < 3.0
    assert np.abs(mean).max() < 1.0


def test_coldest_points_converge_with_the_cell_size() -> None:
    errors = [np.abs(block_errors("concrete block", cell)[0]).max() for cell in (0.1, 0.05, 0.025)]
    assert errors[0] > 1.8 * errors[1]
    assert errors[1] > 1.8 * errors[2]
