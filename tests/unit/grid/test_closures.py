"""Thin boards stop air: what is shut in stays shut in, what stands open stays open."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from builders import box_room, solid, wardrobe
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.load import load
from simulator.case.parts import PorousPart
from simulator.grid.regions import connected_air
from simulator.grid.voxelise import voxelise


def flood(grid, start):
    """Return the open cells that air can reach from a cell, by spreading face by face."""
    reached = np.zeros(grid.shape, dtype=bool)
    reached[start] = True
    closed = (grid.closed_x, grid.closed_y, grid.closed_z)
    while True:
        before = reached.sum()
        for axis in range(3):
            low, high, inner = ([slice(None)] * 3 for _ in range(3))
            low[axis], high[axis], inner[axis] = slice(None, -1), slice(1, None), slice(1, -1)
            low, high, inner = tuple(low), tuple(high), tuple(inner)
            passes = grid.is_open[low] & grid.is_open[high] & ~closed[axis][inner]
            reached[high] |= reached[low] & passes
            reached[low] |= reached[high] & passes
        if reached.sum() == before:
            return reached


def within(grid, low, size, turn=0.0):
    """Return the cells whose centres are inside a wardrobe, clear of its boards."""
    x, y, z = np.meshgrid(*grid.centres, indexing="ij")
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = x - low[0] - size[0] / 2, y - low[1] - size[1] / 2
    u, v, w = cosine * dx + sine * dy, -sine * dx + cosine * dy, z - low[2] - size[2] / 2
    inner = [s / 2 - 0.021 for s in size]
    return (np.abs(u) < inner[0]) & (np.abs(v) < inner[1]) & (np.abs(w) < inner[2])


@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.tuples(st.floats(0.4, 0.6), st.floats(0.4, 0.6), st.floats(0.1, 0.25)),
    st.tuples(st.floats(0.4, 0.9), st.floats(0.4, 0.7), st.floats(0.5, 1.0)),
    st.one_of(st.sampled_from([0.0, 90.0]), st.floats(-180.0, 180.0)),
    st.sampled_from([0.1, 0.09, 0.2]),
)
def test_shut_wardrobe_is_airtight(low, size, turn, cell_size):
    parts = wardrobe(low, size, turn=turn)
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), cell_size)
    reached = flood(grid, (-1, -1, -1))
    inside = within(grid, low, size, turn) & grid.is_open
    assert not (reached & inside).any()
    # Nearly all of the room is still one space: cells touched by boards may be cut off.
    x, y, z = np.meshgrid(*grid.centres, indexing="ij")
    radius = 0.5 * math.hypot(*size[:2]) + cell_size
    middle = (low[0] + size[0] / 2, low[1] + size[1] / 2)
    far = np.hypot(x - middle[0], y - middle[1]) > radius
    assert reached[far | (z > low[2] + size[2] + cell_size)].all()


@pytest.mark.parametrize("turn", [0.0, 20.0])
def test_wardrobe_without_its_door_is_open(turn):
    low, size = (0.5, 0.5, 0.0), (0.8, 0.6, 1.0)
    parts = wardrobe(low, size, turn=turn, leave_out=["door"])
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), 0.1)
    inside = within(grid, low, size, turn) & grid.is_open
    assert inside.any()
    assert (flood(grid, (-1, -1, -1)) & inside).sum() > 0.9 * inside.sum()


def test_legs_and_a_table_top_do_not_stop_air_around_them():
    top = solid((0.5, 0.5, 0.7), (0.9, 0.8, 0.03))
    legs = [solid((x, y, 0.0), (0.04, 0.04, 0.7)) for x in (0.5, 1.36) for y in (0.5, 1.26)]
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=[top, *legs]), 0.1)
    assert not grid.closed_x.any()
    assert not grid.closed_y.any()
    assert grid.closed_z.sum() == 9 * 8
    assert flood(grid, (0, 0, 0)).all()


@pytest.mark.parametrize("turn", [0.0, 90.0, 20.0])
@pytest.mark.parametrize("cell_size", [0.1, 0.09, 0.05])
def test_gap_under_a_chest_stays_open_at_front_and_back(turn, cell_size):
    # Bottom, front, contents and back stand behind one another over a gap of 6 cm: together they
    # cover 4 cm of a cell of 10 cm, though their own heights add up to more.
    boards = [
        solid((0.0, 0.0, 0.0), (0.02, 0.4, 0.6)),
        solid((0.48, 0.0, 0.0), (0.02, 0.4, 0.6)),
        solid((0.02, 0.0, 0.06), (0.46, 0.4, 0.02)),
        solid((0.02, 0.0, 0.08), (0.46, 0.02, 0.52)),
        solid((0.02, 0.38, 0.08), (0.46, 0.02, 0.52)),
        solid((0.02, 0.02, 0.08), (0.46, 0.36, 0.52)),
    ]
    parts = [moved(board, (0.25, 0.2, 0.0), (0.95, 0.95, 0.0), turn) for board in boards]
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), cell_size)
    reached = flood(grid, (-1, -1, -1))
    middle = tuple(np.searchsorted(edges, 0.95) - 1 for edges in (grid.x_edges, grid.y_edges))
    assert reached[(*middle, 0)]


@pytest.mark.parametrize("width", [0.055, 0.065])
def test_air_about_a_leg_in_one_cell_with_it_is_not_sealed_off(width):
    leg = solid((0.91, 0.91, 0.0), (width, width, 0.3))
    top = solid((0.5, 0.5, 0.3), (0.8, 0.8, 0.03))
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=[leg, top]), 0.1)
    assert grid.is_open[9, 9, :3].all()
    assert flood(grid, (-1, -1, -1))[grid.is_open].all()


def moved(part, pivot, to, turn):
    """Return the part turned about a pivot that goes to a point."""
    box = part.box
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = box.centre[0] - pivot[0], box.centre[1] - pivot[1]
    centre = (
        to[0] + cosine * dx - sine * dy,
        to[1] + sine * dx + cosine * dy,
        to[2] + box.centre[2],
    )
    return dataclasses.replace(part, box=dataclasses.replace(box, centre=centre, turn=turn))


def test_closed_faces_lie_between_open_cells_only():
    parts = [*wardrobe((0.5, 0.5, 0.0), (0.8, 0.6, 1.0)), solid((0.5, 1.2, 0.0), (0.6, 0.6, 0.6))]
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), 0.1)
    for axis, closed in enumerate((grid.closed_x, grid.closed_y, grid.closed_z)):
        face = np.argwhere(closed)
        before = face.copy()
        before[:, axis] -= 1
        assert before.min() >= 0
        assert grid.is_open[tuple(face.T)].all()
        assert grid.is_open[tuple(before.T)].all()


def test_spaces_agree_with_flooding():
    parts = wardrobe((0.5, 0.5, 0.1), (0.8, 0.6, 1.0))
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), 0.1)
    space = connected_air(grid.is_open, (grid.closed_x, grid.closed_y, grid.closed_z))
    assert np.array_equal(space == space[0, 0, 0], flood(grid, (0, 0, 0)))


@pytest.mark.parametrize("turn", [0.0, 90.0, 3.0, 37.0, -120.0])
@pytest.mark.parametrize("cell_size", [0.2, 0.1, 0.09])
def test_shut_wardrobe_shows_its_outside_to_the_room_and_its_inside_to_itself(turn, cell_size):
    low, size, board = (0.5, 0.5, 0.2), (0.8, 0.63, 1.0), 0.02
    parts = wardrobe(low, size, board=board, turn=turn)
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), cell_size)
    reached = flood(grid, (-1, -1, -1)).reshape(-1)
    s = grid.surfaces
    own = s.solid >= 0
    w, d, h = size
    outside = s.area[own & reached[s.air_cell]].sum()
    assert outside == pytest.approx(2 * (w * d + d * h + h * w), rel=1e-9)
    w, d, h = (length - 2 * board for length in size)
    inside = s.area[own & ~reached[s.air_cell]].sum()
    assert inside == pytest.approx(2 * (w * d + d * h + h * w), rel=1e-9)


def test_slit_under_a_wardrobe_joins_floor_and_board_through_its_air():
    low, size = (0.5, 0.5, 0.03), (0.8, 0.7, 1.0)
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=wardrobe(low, size)), 0.1)
    c, s = grid.columns, grid.surfaces
    x, y, _ = np.unravel_index(c.cell, grid.shape)
    # Whole cells of its base: 3 cm of air, then half of a 2 cm board of wood.
    under = (c.axis == 2) & (c.sign == -1) & (x > 5) & (x < 12) & (y > 5) & (y < 11)
    assert under.sum() == 30
    joined = np.isin(c.contact_column, np.flatnonzero(under))
    expected = 0.01 / (1.0 / (1.25 + 5.7) + 0.01 / 0.13)
    assert c.contact_conductance[joined] == pytest.approx(np.full(30, expected), rel=1e-9)
    assert not np.isin(s.column, np.flatnonzero(under)).any()
    # The air in the wardrobe does not see the floor below its bottom board.
    inside = ~flood(grid, (-1, -1, -1)).reshape(-1)
    assert not (inside[s.air_cell] & (s.column >= 0)).any()


@pytest.mark.parametrize("start", [0.5, 0.535, 0.545, 0.56])
def test_no_air_is_left_that_touches_nothing(start):
    # From 0.535 on, some board holds the centres of a row of cells.
    parts = wardrobe((start, start, 0.035), (0.8, 0.6, 1.0))
    grid = voxelise(box_room((2.0, 2.0, 1.6), parts=parts), 0.1)
    space = connected_air(grid.is_open, (grid.closed_x, grid.closed_y, grid.closed_z))
    touched = np.unique(space.reshape(-1)[grid.surfaces.air_cell])
    assert set(np.unique(space[space >= 0])) == set(touched)
    assert len(touched) >= 2
    held = np.zeros(grid.shape, dtype=bool)
    held.reshape(-1)[grid.solids.cell] = True
    assert held[grid.is_blocked].all()
    assert (grid.air_volume[grid.is_blocked] == 0.0).all()


def test_a_dwelling_without_air_has_no_closed_faces():
    full = solid((0.0, 0.0, 0.0), (0.4, 0.4, 0.4))
    grid = voxelise(box_room((0.4, 0.4, 0.4), parts=[full]), 0.1)
    assert not grid.is_open.any()
    assert not (grid.closed_x.any() or grid.closed_y.any() or grid.closed_z.any())


@pytest.mark.parametrize(
    ("case", "cell_size"),
    [
        ("bedroom_prepared", 0.20),  # a third of the load touched no air and stayed at 20 °C
        ("bedroom_prepared", 0.15),
        ("two_bedroom_flat_prepared", 0.20),
    ],
)
def test_loads_of_open_drawers_keep_their_air_on_coarse_cells(case, cell_size):
    case = load(Path(__file__).parents[3] / "geometries" / f"{case}.toml")
    grid = voxelise(case, cell_size)
    is_drawer = np.array([isinstance(p, PorousPart) and "drawer" in p.name for p in case.parts])
    node = np.flatnonzero(is_drawer[grid.solids.part])
    extent = grid.solids.extent[node]
    served = np.isin(node, grid.surfaces.solid)  # these give heat to the air of their cell
    assert extent @ served > 0.97 * extent.sum()  # the rest lies in cells that boards fill
