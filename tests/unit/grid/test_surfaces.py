"""What air touches: exact areas, each in the cell whose air it faces."""

import math

import numpy as np
import pytest
from builders import (
    ADIABATIC,
    FOAM,
    OUTDOOR_WALL,
    OUTDOOR_WINDOW,
    box_room,
    solid,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.dwelling import Side, Window
from simulator.grid.voxelise import voxelise


def solid_area(grid):
    return grid.surfaces.area[grid.surfaces.solid >= 0].sum()


def box_area(size):
    return 2.0 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0])


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.tuples(*[st.floats(0.2, 0.9)] * 3),
    st.tuples(*[st.floats(1.0, 1.4)] * 3),
    st.one_of(st.just(0.0), st.floats(-180.0, 180.0)),
    st.sampled_from([0.2, 0.1, 0.085]),
)
def test_lone_box_shows_its_whole_surface(size, centre, turn, cell_size):
    low = tuple(c - 0.5 * s for c, s in zip(centre, size, strict=True))
    grid = voxelise(box_room((2.5, 2.5, 2.5), parts=[solid(low, size, turn=turn)]), cell_size)
    assert solid_area(grid) == pytest.approx(box_area(size), rel=1e-9)
    assert grid.is_open.reshape(-1)[grid.surfaces.air_cell].all()


@pytest.mark.parametrize("tilt", [0.0, 90.0, 40.0])
def test_tilted_board_shows_its_whole_surface(tilt):
    size = (0.9, 0.6, 0.02)
    grid = voxelise(box_room((2.5, 2.5, 2.5), parts=[solid((0.8, 0.9, 1.2), size, tilt=tilt)]), 0.1)
    assert solid_area(grid) == pytest.approx(box_area(size), rel=1e-9)


def test_aligned_box_shows_each_side_in_its_direction():
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[solid((0.5, 0.5, 0.5), (0.5, 0.7, 0.3))]), 0.1)
    s = grid.surfaces
    for axis, area in ((0, 0.21), (1, 0.15), (2, 0.35)):
        for sign in (-1, 1):
            rows = (s.solid >= 0) & (s.axis == axis) & (s.sign == sign)
            assert s.area[rows].sum() == pytest.approx(area, rel=1e-12)
            # The air is in the next cell along the normal, the stuff behind fills its cell.
            assert s.depth[rows] == pytest.approx(np.full(rows.sum(), 0.1))
            own = np.array(np.unravel_index(grid.solids.cell[s.solid[rows]], grid.shape))
            air = np.array(np.unravel_index(s.air_cell[rows], grid.shape))
            assert np.array_equal(air[axis] - own[axis], np.full(rows.sum(), sign))


def test_turned_sides_face_their_dominant_axis():
    part = solid((0.8, 0.8, 0.5), (0.6, 0.4, 0.3), turn=30.0)
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[part]), 0.1)
    s = grid.surfaces
    # The ends (normals 30 degrees off x) count to x, the sides to y.
    assert s.area[(s.solid >= 0) & (s.axis == 0)].sum() == pytest.approx(2 * 0.4 * 0.3, rel=1e-9)
    assert s.area[(s.solid >= 0) & (s.axis == 1)].sum() == pytest.approx(2 * 0.6 * 0.3, rel=1e-9)
    assert s.length[(s.solid >= 0) & (s.axis == 0)] == pytest.approx(0.3)
    assert s.length[(s.solid >= 0) & (s.axis == 2)] == pytest.approx(0.6 * 0.4 / 2.0)


@pytest.mark.parametrize("turn", [0.0, 33.0])
@pytest.mark.parametrize("height", [0.3, 0.34, 0.36])
def test_stacked_boxes_hide_what_they_share(turn, height):
    base = solid((0.6, 0.6, 0.1), (1.0, 0.8, height - 0.1), turn=turn)
    top = solid((0.7, 0.7, height), (0.8, 0.6, 0.25), turn=turn, material=FOAM)
    grid = voxelise(box_room((2.4, 2.4, 1.5), parts=[base, top]), 0.1)
    expected = box_area((1.0, 0.8, height - 0.1)) + box_area((0.8, 0.6, 0.25)) - 2 * 0.8 * 0.6
    assert solid_area(grid) == pytest.approx(expected, rel=1e-9)


def test_askew_box_on_another_hides_nearly_its_base():
    base = solid((0.6, 0.6, 0.0), (1.0, 0.9, 0.3))
    top = solid((0.8, 0.8, 0.3), (0.6, 0.5, 0.25), turn=33.0)
    grid = voxelise(box_room((2.4, 2.4, 1.5), parts=[base, top]), 0.1)
    s = grid.surfaces
    hidden = 0.9 - s.area[(s.part == 0) & (s.axis == 2)].sum()
    # Counted by fine tiles of an eighth of a cell: a percent or two of the base.
    assert hidden == pytest.approx(0.3, rel=0.02)
    assert s.area[(s.part == 1) & (s.axis == 2)].sum() == pytest.approx(0.3, rel=1e-9)


def test_box_on_the_floor_against_a_wall_hides_two_sides():
    size = (0.5, 0.7, 0.43)
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[solid((0.0, 0.6, 0.0), size)]), 0.1)
    assert solid_area(grid) == pytest.approx(box_area(size) - 0.5 * 0.7 - 0.7 * 0.43, rel=1e-9)
    walls = grid.surfaces.column >= 0
    free = box_area((2.0, 2.0, 2.0)) - 0.5 * 0.7 - 0.7 * 0.43
    # Cells that the box fills by less than half keep their wall in the air.
    assert grid.surfaces.area[walls].sum() == pytest.approx(free - 0.7 * 0.0, rel=1e-9)


def test_board_gives_each_side_to_the_air_before_it():
    # The board's outer face lies in a cell plane; its own cell's air is behind it.
    board = solid((1.0, 0.0, 0.0), (0.02, 2.0, 2.0))
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[board]), 0.1)
    s = grid.surfaces
    x = np.unravel_index(s.air_cell, grid.shape)[0]
    assert set(x[(s.part == 0) & (s.sign == -1)]) == {9}
    assert set(x[(s.part == 0) & (s.sign == 1)]) == {10}
    for sign in (-1, 1):
        rows = (s.part == 0) & (s.axis == 0) & (s.sign == sign)
        assert s.area[rows].sum() == pytest.approx(4.0, rel=1e-9)
        assert s.depth[rows] == pytest.approx(0.02)


@pytest.mark.parametrize("start", [1.0, 1.02, 1.035, 1.045, 1.06, 1.08, 1.09])
def test_board_faces_different_air_on_its_two_sides_wherever_it_stands(start):
    board = solid((start, 0.0, 0.0), (0.02, 2.0, 2.0))
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[board]), 0.1)
    s = grid.surfaces
    middle = grid.centres[0][np.unravel_index(s.air_cell, grid.shape)[0]]
    rows = (s.part == 0) & (s.axis == 0)
    assert (middle[rows & (s.sign == -1)] < start).all()
    assert (middle[rows & (s.sign == 1)] > start + 0.02).all()


def test_wall_areas_are_exact_and_windows_split_them():
    window = Window("pane", "room", Side.WEST, (0.0, 0.53, 0.91), (0.0, 1.77, 2.02), OUTDOOR_WINDOW)
    envelope = {Side.WEST: OUTDOOR_WALL, Side.FLOOR: ADIABATIC}
    size = (3.1, 2.3, 2.45)
    grid = voxelise(box_room(size, envelope=envelope, windows=[window]), 0.1)
    c = grid.columns
    for side in Side:
        rows = (c.axis == side.axis) & (c.sign == side.sign)
        exact = math.prod(size) / size[side.axis]
        assert c.area[rows].sum() == pytest.approx(exact, rel=1e-12)
    pane = c.construction == grid.constructions.index(OUTDOOR_WINDOW.construction)
    assert c.area[pane].sum() == pytest.approx(1.24 * 1.11, rel=1e-12)
    west = (c.axis == 0) & (c.sign == -1)
    assert (west[pane]).all()
    assert c.temperature[west] == pytest.approx(5.0)
    assert np.isnan(c.temperature[~west]).all()
    glass = OUTDOOR_WINDOW.construction.layers[0].material.emissivity
    s = grid.surfaces
    assert s.emissivity[np.isin(s.column, np.flatnonzero(pane))] == pytest.approx(glass)


def test_box_behind_a_sliver_of_air_leaves_no_air_to_the_wall_but_a_gap():
    part = solid((0.03, 0.5, 0.0), (0.57, 0.7, 0.5))
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[part]), 0.1)
    c = grid.columns
    west = np.flatnonzero((c.axis == 0) & (c.sign == -1))
    behind = west[grid.is_blocked.reshape(-1)[c.cell[west]]]
    assert behind.size == 7 * 5
    assert not np.isin(behind, grid.surfaces.column).any()
    joined = np.isin(c.contact_column, behind)
    # 3 cm of air: 1.25 + 5.7 W/(m² K), and 3.5 cm of wood to the node.
    expected = 0.01 / (1.0 / (1.25 + 5.7) + 0.035 / 0.13)
    assert c.contact_conductance[joined] == pytest.approx(np.full(35, expected), rel=1e-9)
