"""The closed forms that the problems compare with give the values printed for them."""

import numpy as np
import pytest
from heat_problems.clutter import AIR, BLOCKS, START
from heat_problems.enclosures import SIX_HEATS, SIX_TEMPERATURES
from heat_problems.iso_10211 import ISO_10211_CASE_1, half_column_exact
from heat_problems.layered import step_response
from heat_problems.manufactured import manufactured_source
from heat_problems.rooms import PRINTED, TIMES, Balance
from heat_problems.semi_infinite import SOLIDS
from heat_problems.series import (
    convected_surface,
    fluxed_surface,
    held_surface,
    sphere_modes,
    wall_modes,
)
from heat_problems.view_factors import (
    box_factors,
    box_patches,
    parallel_rectangles,
    patch_exchange,
    perpendicular_rectangles,
    radiosity_heat,
)
from heat_problems.walls import WALLS

from simulator.constants import ZERO_CELSIUS

HOUR = 3600.0


@pytest.mark.parametrize("what", list(WALLS))
def test_transform_of_layers_gives_the_printed_walls(what: str) -> None:
    rows, outer_film, printed = WALLS[what]
    table = np.array(printed)
    found = 20.0 + 35.0 * step_response(rows, 8.0, outer_film, HOUR * table[:, 0])
    assert found == pytest.approx(table[:, 1:-1], abs=1e-3)  # half of a last digit, and its own


def test_series_of_the_half_column_gives_the_printed_table() -> None:
    assert np.abs(half_column_exact() - ISO_10211_CASE_1).max() <= 0.0501  # half of a last digit


# Evaluated for this project: step from 20 to 50 °C, rise of a flux of 100 W/m², air of 55 °C.
@pytest.mark.parametrize(
    ("solid", "t", "x", "step", "rise", "film"),
    [
        ("concrete", 3600, 0.05, 34.8873, 1.3154, 23.7493),
        ("concrete", 86400, 0.10, 43.4355, 12.0151, 37.6970),
        ("timber", 14400, 0.05, 33.9455, 14.2667, 32.7944),
        ("textile", 28800, 0.10, 31.5723, 40.9602, 32.5488),
    ],
)
def test_semi_infinite_solid(
    solid: str, t: float, x: float, step: float, rise: float, film: float
) -> None:
    stuff = SOLIDS[solid]
    assert 20.0 + 30.0 * held_surface(stuff, t, x) == pytest.approx(step, abs=1e-4)
    assert 100.0 * fluxed_surface(stuff, t, x) == pytest.approx(rise, abs=1e-4)
    assert 20.0 + 35.0 * convected_surface(stuff, t, x, 10.0) == pytest.approx(film, abs=1e-4)


# Incropera & DeWitt table 5.1 (from memory; equal to the roots to the printed digits).
@pytest.mark.parametrize(
    ("biot", "wall", "sphere"),
    [
        (0.01, (0.0998, 1.0017), (0.1730, 1.0030)),
        (0.1, (0.3111, 1.0161), (0.5423, 1.0298)),
        (1.0, (0.8603, 1.1191), (1.5708, 1.2732)),
        (10.0, (1.4289, 1.2620), (2.8363, 1.9249)),
        (100.0, (1.5552, 1.2731), (3.1102, 1.9990)),
    ],
)
def test_first_root_and_its_weight(
    biot: float, wall: tuple[float, float], sphere: tuple[float, float]
) -> None:
    for modes, printed in ((wall_modes(biot), wall), (sphere_modes(biot), sphere)):
        assert (modes.root[0], modes.weight[0]) == pytest.approx(printed, abs=6e-5)


# The same series with 60 terms: centre, surface, mean.
@pytest.mark.parametrize(
    ("fourier", "biot", "centre", "surface", "mean"),
    [
        (0.05, 1.0, 0.99975, 0.79038, 0.95731),
        (0.2, 1.0, 0.95064, 0.64339, 0.85160),
        (2.0, 1.0, 0.25467, 0.16609, 0.22439),
        (0.1, 10.0, 0.96842, 0.17057, 0.72612),
        (0.2, 0.5, 0.97260, 0.79015, 0.91462),
        (1.0, 0.1, 0.92239, 0.87813, 0.90759),
    ],
)
def test_series_of_the_plane_wall(
    fourier: float, biot: float, centre: float, surface: float, mean: float
) -> None:
    modes = wall_modes(biot)
    found = (modes.centre(fourier), modes.surface(fourier), modes.mean(fourier))
    assert found == pytest.approx((centre, surface, mean), abs=1e-5)


@pytest.mark.parametrize(
    ("fourier", "biot", "centre", "surface"),
    [(0.05, 1.0, 0.99687, 0.74769), (0.5, 1.0, 0.37078, 0.23605), (0.2, 10.0, 0.38266, 0.04106)],
)
def test_series_of_the_sphere(fourier: float, biot: float, centre: float, surface: float) -> None:
    modes = sphere_modes(biot)
    assert (modes.centre(fourier), modes.surface(fourier)) == pytest.approx(
        (centre, surface), abs=1e-5
    )


# Products of three plane walls, evaluated for this project: centre at 1, 4, 12 h, mean at 4 h [°C],
# hours to 50 °C.
@pytest.mark.parametrize(
    ("what", "centre", "mean", "hours"),
    [
        ("textile pile", (20.019, 27.812, 49.445), 45.6759, 12.4976),
        ("book stack", (20.041, 27.118, 48.059), 42.2812, 13.7488),
        ("foam mattress", (31.622, 51.572, 54.982), 53.4372, 3.4122),
        ("softwood beam", (31.111, 52.704, 54.996), 53.8487, 3.0113),
        ("concrete block", (24.131, 42.562, 54.091), 45.8534, 6.7988),
    ],
)
def test_product_of_plane_walls(
    what: str, centre: tuple[float, float, float], mean: float, hours: float
) -> None:
    block, step = BLOCKS[what], AIR - START
    found = [AIR - step * block.centre(t * HOUR) for t in (1.0, 4.0, 12.0)]
    assert found == pytest.approx(centre, abs=1e-3)
    assert AIR - step * block.mean(4.0 * HOUR) == pytest.approx(mean, abs=1e-3)
    assert block.time_to(5.0 / step, 48.0 * HOUR) / HOUR == pytest.approx(hours, abs=1e-3)


@pytest.mark.parametrize("room", PRINTED)
def test_room_of_two_nodes(room: Balance) -> None:
    assert room.exact(TIMES) == pytest.approx(PRINTED[room], abs=1e-4)


def test_source_of_the_manufactured_solution() -> None:
    x, y, z = np.array([[0.3, 0.7], [0.6, 0.4], [0.2, 0.9]])
    printed = [22.7848829146, 19.9551580739]  # by symbolic differentiation
    assert manufactured_source(x, y, z) == pytest.approx(printed, abs=1e-9)


@pytest.mark.parametrize(
    ("a", "b", "c", "printed"),
    [
        (1.0, 1.0, 1.0, 0.199825),
        (1.0, 1.0, 0.5, 0.415253),
        (2.0, 1.0, 1.0, 0.285875),
        (4.0, 5.0, 2.5, 0.376013),
        (0.5, 0.5, 0.05, 0.826995),
    ],
)
def test_view_factor_of_parallel_rectangles(a: float, b: float, c: float, printed: float) -> None:
    assert parallel_rectangles(a, b, c) == pytest.approx(printed, abs=1e-6)


@pytest.mark.parametrize(
    ("width", "height", "edge", "printed"),
    [
        (1.0, 1.0, 1.0, 0.200044),
        (1.0, 2.0, 1.0, 0.232853),
        (4.0, 2.5, 5.0, 0.174570),
        (0.5, 0.5, 2.0, 0.265713),
    ],
)
def test_view_factor_of_perpendicular_rectangles(
    width: float, height: float, edge: float, printed: float
) -> None:
    assert perpendicular_rectangles(width, height, edge) == pytest.approx(printed, abs=1e-6)


def test_factors_of_a_box_close_also_between_patches() -> None:
    factor = box_factors(5.0, 4.0, 2.5)
    assert factor.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    side, bounds = box_patches(5.0, 4.0, 2.5, 0.5)
    exchange = patch_exchange(bounds)
    assert exchange.sum(axis=1) == pytest.approx(0.25, abs=1e-12)
    assert np.abs(exchange - exchange.T).max() < 1e-13
    of_side = np.eye(6)[side]
    area = 0.25 * of_side.sum(axis=0)
    assert of_side.T @ exchange @ of_side / area[:, None] == pytest.approx(factor, abs=1e-12)


def test_radiosity_of_the_six_sided_room() -> None:
    area = np.array([20.0, 20.0, 12.5, 12.5, 10.0, 10.0])
    kelvin = SIX_TEMPERATURES + ZERO_CELSIUS
    heat = radiosity_heat(box_factors(5.0, 4.0, 2.5), area, np.full(6, 0.9), kelvin)
    assert heat == pytest.approx(SIX_HEATS, abs=1e-3)
