"""The layer next to surfaces, and the scatter of its speed."""

from dataclasses import replace

import numpy as np
import pytest
from air_rooms import air_room

from simulator.physics.airflow.near_surface import mean_and_scatter, near_surface_cells


@pytest.mark.parametrize(("cell", "layers"), [(0.2, 1), (0.1, 2), (0.05, 4)])
def test_the_layer_has_a_physical_depth_whatever_the_cell_size(cell: float, layers: int) -> None:
    count = round(1.6 / cell)
    is_near = near_surface_cells(air_room((count, count, count), cell), 0.2)
    middle = is_near[:, count // 2, count // 2]
    assert middle.tolist() == [True] * layers + [False] * (count - 2 * layers) + [True] * layers


def test_cells_that_hold_loose_stuff_are_surfaces_too() -> None:
    grid = air_room((16, 16, 16), 0.1)
    own = np.array([np.ravel_multi_index((8, 8, 8), grid.shape)])
    grid = replace(
        grid,
        solids=replace(grid.solids, cell=own),
        surfaces=replace(grid.surfaces, air_cell=own, solid=np.array([0])),
    )
    is_near = near_surface_cells(grid, 0.2)
    assert is_near[8, 8, 6:11].all()
    assert not is_near[8, 8, 4]


def test_scatter_of_known_halves() -> None:
    first, second, volume = np.array([1.0, 2.0]), np.array([1.2, 1.6]), np.array([3.0, 1.0])
    mean, scatter, pointwise = mean_and_scatter(first, second, volume)
    assert mean == pytest.approx(0.5 * (5.0 + 5.2) / 4.0)
    assert scatter == pytest.approx(0.05 / mean)
    assert pointwise == pytest.approx(np.sqrt((3.0 * 0.04 + 0.16) / 4.0) / mean)
    assert mean_and_scatter(first * 0.0, second * 0.0, volume) == (0.0, 0.0, 0.0)
