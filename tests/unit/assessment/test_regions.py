"""Regions of refuges: what is connected, what is divided, what is too small to list."""

import numpy as np
import pytest
from builders import box_room
from runs import Spot, open_grid

from simulator.assessment.regions import connected, find_regions
from simulator.grid.grid import Grid

LITRE = 1e-3


def grid_of(*spots: tuple[tuple[float, float, float], float, str, str]) -> Grid:
    full: list[Spot] = [(*spot, "room") for spot in spots]
    return open_grid(box_room((6.0, 4.0, 2.4)), full)


def everything(grid: Grid) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return np.arange(grid.refuges.index.size)


def members(regions: list[np.ndarray[tuple[int], np.dtype[np.int64]]]) -> set[tuple[int, ...]]:
    return {tuple(sorted(region.tolist())) for region in regions}


def test_neighbours_across_an_edge_and_a_corner_of_cells_are_connected() -> None:
    grid = grid_of(
        ((0.1, 0.1, 0.1), LITRE, "room", "floor"),
        ((0.3, 0.3, 0.3), LITRE, "room", "floor"),
        ((0.7, 0.3, 0.3), LITRE, "room", "floor"),
    )
    assert members(connected(grid, everything(grid))) == {(0, 1), (2,)}


def test_refuges_in_one_cell_are_connected_whatever_they_belong_to() -> None:
    grid = grid_of(
        ((0.11, 0.1, 0.1), LITRE, "bed", "slats"),
        ((0.12, 0.1, 0.1), LITRE, "room", "floor"),
    )
    assert members(find_regions(grid, everything(grid))) == {(0, 1)}


def test_only_selected_refuges_connect_others() -> None:
    grid = grid_of(*(((0.1 + 0.2 * n, 0.1, 0.1), LITRE, "room", "floor") for n in range(3)))
    assert members(connected(grid, np.array([0, 2]))) == {(0,), (2,)}
    assert members(connected(grid, np.array([0, 1, 2]))) == {(0, 1, 2)}


def test_every_selected_refuge_is_in_exactly_one_region() -> None:
    generator = np.random.default_rng(5)
    points = generator.uniform((0, 0, 0), (6.0, 4.0, 2.4), (400, 3))
    names = ("bed", "sofa", "room")
    grid = grid_of(
        *(
            (tuple(point), LITRE * generator.uniform(0.01, 1.0), names[n % 3], f"part {n % 7}")
            for n, point in enumerate(points.tolist())
        )
    )
    selection = np.flatnonzero(generator.random(400) < 0.6)
    together = np.concatenate(find_regions(grid, selection))
    assert np.array_equal(np.sort(together), selection)


@pytest.mark.parametrize(("length", "pieces"), [(8, 1), (20, 2)])
def test_a_wide_region_is_divided_by_owner_and_a_narrow_one_is_not(
    length: int, pieces: int
) -> None:
    row = [
        ((0.1 + 0.2 * n, 0.1, 0.1), LITRE, "bed" if n < length // 2 else "sofa", "inside")
        for n in range(length)
    ]
    grid = grid_of(*row)
    assert len(find_regions(grid, everything(grid))) == pieces


def test_a_wide_region_of_one_owner_is_divided_by_group() -> None:
    row = [
        ((0.1 + 0.2 * n, 0.1, 0.1), LITRE, "room", "floor" if n < 14 else "baseboard")
        for n in range(28)
    ]
    grid = grid_of(*row)
    assert sorted(region.size for region in find_regions(grid, everything(grid))) == [14, 14]


def test_a_crumb_joins_the_larger_region_near_it_and_stays_alone_far_away() -> None:
    grid = grid_of(
        ((0.1, 0.1, 0.1), LITRE, "bed", "inside"),
        ((0.5, 0.1, 0.1), 0.01 * LITRE, "bed", "leg"),
        ((3.1, 0.1, 0.1), 0.01 * LITRE, "room", "behind a wall socket"),
    )
    assert members(find_regions(grid, everything(grid))) == {(0, 1), (2,)}
