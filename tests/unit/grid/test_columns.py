"""Wall columns: each wall patch once, partitions shared by the two rooms, reveals and ends."""

import dataclasses

import numpy as np
import pytest
from builders import (
    ADIABATIC,
    OUTDOOR_WALL,
    OUTDOOR_WINDOW,
    PARTITION,
    box_room,
    two_rooms,
)

from simulator.case.dwelling import Room, Side, Window
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise


def side_area(grid, room, side):
    c = grid.columns
    in_room = grid.room.reshape(-1)[c.cell] == grid.room_names.index(room)
    return c.area[in_room & (c.axis == side.axis) & (c.sign == side.sign)].sum()


def names(grid):
    return np.array([grid.constructions[i].name for i in grid.columns.construction])


def test_every_side_of_both_rooms_has_its_exact_area_less_the_doorway():
    size, door = (3.03, 2.97, 2.41), (1.04, 0.77, 2.03)
    grid = voxelise(two_rooms(size, gap=0.12, doorway=door), 0.1)
    opening = 0.77 * 2.03
    for room, towards in (("west", Side.EAST), ("east", Side.WEST)):
        for side in Side:
            exact = np.prod(size) / size[side.axis] - (opening if side is towards else 0.0)
            assert side_area(grid, room, side) == pytest.approx(exact, rel=1e-12)


def test_partition_joins_the_two_faces_one_to_one():
    grid = voxelise(two_rooms(), 0.1)
    c = grid.columns
    shared = np.flatnonzero(c.partner >= 0)
    assert shared.size > 0
    assert np.array_equal(c.partner[c.partner[shared]], shared)
    assert (c.partner[shared] != shared).all()
    assert np.array_equal(c.area[c.partner[shared]], c.area[shared])
    assert np.array_equal(c.construction[c.partner[shared]], c.construction[shared])
    assert np.array_equal(c.sign[c.partner[shared]], -c.sign[shared])
    index = np.array(np.unravel_index(c.cell, grid.shape))
    # The two cells look at each other: same y and z.
    assert np.array_equal(index[1:, c.partner[shared]], index[1:, shared])
    assert (names(grid)[shared] == PARTITION.name).all()
    assert c.area[shared].sum() == pytest.approx(2 * (3.0 * 2.4 - 0.8 * 2.0), rel=1e-12)


def test_shut_doorway_is_partition():
    grid = voxelise(two_rooms(is_open=False), 0.1)
    shared = grid.columns.partner >= 0
    assert grid.columns.area[shared].sum() == pytest.approx(2 * 3.0 * 2.4, rel=1e-12)


def test_doorway_reveals_are_jambs_head_and_sill_of_the_first_layer():
    grid = voxelise(two_rooms(gap=0.12), 0.1)
    reveal = names(grid) == f"reveal of {PARTITION.name}"
    assert grid.columns.area[reveal].sum() == pytest.approx(0.12 * (2 * 2.0 + 2 * 0.8), rel=1e-12)
    assert np.isnan(grid.columns.temperature[reveal]).all()
    used = grid.constructions[grid.columns.construction[np.flatnonzero(reveal)[0]]]
    assert used.layers == PARTITION.layers[:1]


def three_rooms():
    """A long room south of two rooms that have a partition between them."""
    case = two_rooms((3.0, 2.0, 2.4), gap=0.1, doorway=None, envelope=OUTDOOR_WALL)
    south = Room("south", (0.0, -2.1, 0.0), (6.1, 2.0, 2.4), case.dwelling.rooms[0].envelope)
    dwelling = dataclasses.replace(case.dwelling, rooms=(*case.dwelling.rooms, south))
    return dataclasses.replace(case, dwelling=dwelling)


def test_end_of_a_partition_is_half_a_partition_not_outdoors():
    grid = voxelise(three_rooms(), 0.1)
    c = grid.columns
    north = (grid.room.reshape(-1)[c.cell] == 2) & (c.axis == 1) & (c.sign == 1)
    half = north & (names(grid) == f"half of {PARTITION.name}")
    assert c.area[half].sum() == pytest.approx(0.1 * 2.4, rel=1e-12)
    assert np.isnan(c.temperature[half]).all()
    assert c.area[north & (c.partner >= 0)].sum() == pytest.approx(6.0 * 2.4, rel=1e-12)
    assert not (north & (c.temperature == 5.0)).any()
    thickness = sum(layer.thickness for layer in grid.constructions[c.construction[half][0]].layers)
    assert thickness == pytest.approx(0.5 * sum(layer.thickness for layer in PARTITION.layers))


def test_outer_sides_keep_their_own_envelope():
    grid = voxelise(three_rooms(), 0.1)
    c = grid.columns
    west = (c.axis == 0) & (c.sign == -1) & (c.partner < 0)
    assert (c.temperature[west] == 5.0).all()
    assert c.area[west].sum() == pytest.approx(2 * 2.0 * 2.4, rel=1e-12)


def test_window_in_a_partition_or_over_another_is_refused():
    case = two_rooms(doorway=None)
    window = Window("pane", "west", Side.EAST, (3.0, 1.0, 1.0), (3.0, 2.0, 2.0), OUTDOOR_WINDOW)
    dwelling = dataclasses.replace(case.dwelling, windows=(window,))
    with pytest.raises(CaseError, match="'pane' of room 'west' lies on a partition"):
        voxelise(dataclasses.replace(case, dwelling=dwelling), 0.1)
    one = Window("one", "room", Side.WEST, (0.0, 0.5, 1.0), (0.0, 1.2, 2.0), OUTDOOR_WINDOW)
    two = Window("two", "room", Side.WEST, (0.0, 1.0, 1.0), (0.0, 1.7, 2.0), OUTDOOR_WINDOW)
    with pytest.raises(CaseError, match="windows of room 'room' overlap"):
        voxelise(box_room((2.0, 2.0, 2.4), windows=[one, two]), 0.1)


def test_lengths_are_wall_height_and_area_over_perimeter():
    grid = voxelise(box_room((3.0, 2.0, 2.4), envelope=ADIABATIC), 0.1)
    s = grid.surfaces
    assert s.length[s.axis != 2] == pytest.approx(2.4)
    assert s.length[s.axis == 2] == pytest.approx(6.0 / 10.0)
    # Normals point into the room.
    x = np.unravel_index(s.air_cell, grid.shape)[0]
    assert (s.sign[(s.axis == 0) & (x == 0)] == 1).all()
    assert (s.sign[(s.axis == 0) & (x == grid.shape[0] - 1)] == -1).all()
