"""Conduction between nodes: exact contact areas over the half thicknesses in series."""

import numpy as np
import pytest
from builders import CLOTH, FOAM, WOOD, box_room, porous, solid, two_rooms

from simulator.grid.voxelise import voxelise


def conductance(grid, one, other):
    """Return the conductance between the nodes of two cells (i, j, k), 0 if not joined."""
    nodes = [
        int(np.searchsorted(grid.solids.cell, np.ravel_multi_index(cell, grid.shape)))
        for cell in (one, other)
    ]
    pair = np.sort(grid.solids.pair, axis=1)
    match = (pair == np.sort(nodes)).all(axis=1)
    return grid.solids.pair_conductance[match].sum()


def test_stacked_boxes_conduct_in_series():
    base = solid((0.5, 0.5, 0.0), (0.5, 0.5, 0.2), material=WOOD)
    top = solid((0.5, 0.5, 0.2), (0.5, 0.5, 0.2), material=FOAM)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[base, top]), 0.1)
    within = conductance(grid, (7, 7, 0), (7, 7, 1))
    across = conductance(grid, (7, 7, 1), (7, 7, 2))
    assert within == pytest.approx(0.13 * 0.01 / 0.1, rel=1e-9)
    assert across == pytest.approx(0.01 / (0.05 / 0.13 + 0.05 / 0.04), rel=1e-9)


@pytest.mark.parametrize("turn", [0.0, 20.0])
def test_contact_between_stacked_boxes_sums_to_the_shared_area(turn):
    base = solid((0.55, 0.55, 0.0), (0.9, 0.8, 0.2), turn=turn)
    top = solid((0.65, 0.7, 0.2), (0.7, 0.5, 0.2), turn=turn)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[base, top]), 0.1)
    layer = np.unravel_index(grid.solids.cell, grid.shape)[2]
    ends = layer[grid.solids.pair]
    rows = (ends.min(axis=1) == 1) & (ends.max(axis=1) == 2)
    # One material, both cells full to their thickness of 0.1 m: G = A k / 0.1 whatever the area.
    area = grid.solids.pair_conductance[rows].sum() * 0.1 / 0.13
    # Askew tiles are counted by their centres; a cell's area is bounded by its thinner side.
    assert area == pytest.approx(0.35, rel=1e-9 if turn == 0.0 else 0.01)


def test_thin_board_conducts_along_itself_by_its_section():
    board = solid((0.2, 0.5, 0.54), (1.0, 0.6, 0.02))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[board]), 0.1)
    along = conductance(grid, (5, 7, 5), (6, 7, 5))
    assert along == pytest.approx(0.13 * 0.02 * 0.1 / 0.1, rel=1e-9)


def test_partly_filled_cell_conducts_over_its_own_thickness():
    part = solid((0.5, 0.5, 0.0), (0.5, 0.5, 0.26))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    up = conductance(grid, (7, 7, 1), (7, 7, 2))
    assert up == pytest.approx(0.13 * 0.01 / (0.05 + 0.03), rel=1e-9)


def test_separate_boxes_are_not_joined_through_an_open_cell():
    one = solid((0.5, 0.5, 0.0), (0.5, 0.5, 0.2))
    two = solid((0.5, 0.5, 0.3), (0.5, 0.5, 0.2))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[one, two]), 0.1)
    layer = np.unravel_index(grid.solids.cell, grid.shape)[2]
    assert not (np.diff(np.sort(layer[grid.solids.pair], axis=1), axis=1) > 1).any()
    assert conductance(grid, (7, 7, 1), (7, 7, 3)) == 0.0


def test_slit_between_blocked_cells_conducts_as_an_air_gap():
    one = solid((0.5, 0.5, 0.0), (0.48, 0.5, 0.5))
    two = solid((1.02, 0.5, 0.0), (0.48, 0.5, 0.5))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[one, two]), 0.1)
    got = conductance(grid, (9, 7, 2), (10, 7, 2))
    # Both faces (0.5 each) of 0.01 m², 4 cm of air between, 4 cm of wood to each node.
    expected = 0.01 / (1.0 / (1.25 + 5.7) + 2 * 0.04 / 0.13)
    assert got == pytest.approx(expected, rel=1e-9)


def test_porous_stuff_conducts_by_its_solid_share():
    part = porous((0.5, 0.5, 0.0), (0.5, 0.5, 0.5), material=CLOTH, air_fraction=0.75)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    got = conductance(grid, (7, 7, 2), (8, 7, 2))
    assert got == pytest.approx(0.25 * CLOTH.conductivity * 0.1, rel=1e-9)


def test_floor_contact_goes_through_half_of_the_box():
    part = solid((0.5, 0.5, 0.0), (0.45, 0.5, 0.04), material=FOAM)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    c = grid.columns
    # k A / (4 cm / 2), all under the box
    expected = 0.04 * 0.45 * 0.5 / 0.02
    assert c.contact_conductance.sum() == pytest.approx(expected, rel=1e-9)
    floor = (c.axis == 2) & (c.sign == -1)
    assert floor[c.contact_column].all()
    air = grid.surfaces.area[np.isin(grid.surfaces.column, np.flatnonzero(floor))].sum()
    assert air == pytest.approx(4.0 - 0.45 * 0.5, rel=1e-9)


def test_turned_legs_stand_on_the_floor_with_their_exact_area():
    legs = [
        solid((0.6 + dx, 0.6 + dy, 0.0), (0.05, 0.05, 0.3), turn=25.0)
        for dx in (0.0, 0.7)
        for dy in (0.0, 0.5)
    ]
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=legs), 0.1)
    floor = (grid.columns.axis == 2) & (grid.columns.sign == -1)
    air = grid.surfaces.area[np.isin(grid.surfaces.column, np.flatnonzero(floor))].sum()
    assert air == pytest.approx(4.0 - 4 * 0.05**2, rel=1e-9)


def test_no_pair_crosses_a_partition():
    parts = [
        solid((2.5, 2.0, 0.0), (0.5, 0.5, 0.5)),
        solid((3.1, 2.0, 0.0), (0.5, 0.5, 0.5)),
    ]
    grid = voxelise(two_rooms(parts=parts), 0.1)
    room = grid.room.reshape(-1)[grid.solids.cell]
    assert (room[grid.solids.pair[:, 0]] == room[grid.solids.pair[:, 1]]).all()
