"""Rooms keep their size, planes lie where walls and jambs are."""

import dataclasses

import numpy as np
import pytest
from builders import box_room, solid, two_rooms

from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise


@pytest.mark.parametrize("cell_size", [0.2, 0.1, 0.07])
def test_single_room_keeps_its_size_with_uniform_cells(cell_size):
    size = (3.17, 2.43, 2.39)
    grid = voxelise(box_room(size, low=(0.4, -1.3, 0.0)), cell_size)
    for edges, length in zip((grid.x_edges, grid.y_edges, grid.z_edges), size, strict=True):
        steps = np.diff(edges)
        assert edges[-1] - edges[0] == pytest.approx(length, abs=1e-14)
        assert np.ptp(steps) < 1e-14
        assert abs(steps[0] / cell_size - 1.0) < 0.5 / round(length / cell_size) + 1e-9
    assert grid.air_volume.sum() == pytest.approx(np.prod(size), rel=1e-13)


def test_every_room_plane_and_jamb_is_a_cell_plane():
    grid = voxelise(two_rooms((3.03, 2.97, 2.4), gap=0.12, doorway=(1.04, 0.77, 2.03)), 0.1)
    for plane in (0.0, 3.03, 3.15, 6.18):
        assert np.min(np.abs(grid.x_edges - plane)) == 0.0
    for plane in (1.04, 1.81):
        assert np.min(np.abs(grid.y_edges - plane)) == 0.0
    assert np.min(np.abs(grid.z_edges - 2.03)) == 0.0
    door = grid.room == grid.room_names.index("door")
    assert grid.is_open[door].all()
    assert grid.air_volume[door].sum() == pytest.approx(0.12 * 0.77 * 2.03, rel=1e-12)


def test_jamb_near_a_wall_snaps_and_keeps_the_width_to_the_nearest_cell():
    grid = voxelise(two_rooms(doorway=(0.04, 0.8, 2.0)), 0.1)
    door = np.argwhere(grid.room == 2)
    assert np.min(np.diff(grid.y_edges)) > 0.069
    width = grid.y_edges[door[:, 1].max() + 1] - grid.y_edges[door[:, 1].min()]
    assert width == pytest.approx(0.8, abs=0.05)


def test_shut_doorway_is_void():
    grid = voxelise(two_rooms(is_open=False), 0.1)
    assert grid.room_names == ("west", "east")
    gap = (grid.centres[0] > 3.0) & (grid.centres[0] < 3.1)
    assert not grid.is_open[gap].any()


def test_planes_too_near_are_refused_by_name_with_a_remedy():
    with pytest.raises(CaseError, match=r"'west' and 'east'.*0\.020 m apart.*at most 0\.057 m"):
        voxelise(two_rooms(gap=0.02, doorway=None), 0.1)


def test_rooms_that_overlap_or_touch_are_refused():
    with pytest.raises(CaseError, match="overlap"):
        voxelise(two_rooms(gap=-0.5, doorway=None), 0.1)
    with pytest.raises(CaseError, match="touch: leave a gap"):
        voxelise(two_rooms(gap=0.0, doorway=None), 0.1)


def test_doorway_to_nowhere_is_refused():
    with pytest.raises(CaseError, match=r"'door'.*does not open into both rooms"):
        voxelise(two_rooms(doorway=(2.8, 0.8, 2.0)), 0.1)
    case = two_rooms()
    lost = dataclasses.replace(case.dwelling.doorways[0], rooms=("west", "attic"))
    dwelling = dataclasses.replace(case.dwelling, doorways=(lost,))
    with pytest.raises(CaseError, match="'attic', which is no room"):
        voxelise(dataclasses.replace(case, dwelling=dwelling), 0.1)


def test_too_many_cells_are_refused_before_memory_is_taken():
    with pytest.raises(CaseError, match="use larger cells"):
        voxelise(box_room((10.0, 10.0, 3.0)), 0.001)
    with pytest.raises(CaseError, match="cell size"):
        voxelise(box_room((1.0, 1.0, 1.0)), 0.0)


def test_arrays_are_read_only():
    grid = voxelise(box_room((1.0, 1.0, 1.0), parts=[solid((0.2, 0.2, 0.2), (0.4, 0.4, 0.4))]), 0.1)
    for array in (grid.is_open, grid.solids.mass, grid.surfaces.area, grid.columns.area):
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0
