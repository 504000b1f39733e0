"""Draughts: room air finds the gaps that are open at an edge, and no others."""

import numpy as np
import pytest
from builders import FOAM, WOOD, box_room

from simulator.case.case import Case
from simulator.case.parts import Box, Refuge, SolidPart, Vector
from simulator.grid.grid import Grid, Touched
from simulator.grid.voxelise import voxelise

ROOM = (3.0, 3.0, 2.4)


def block(name: str, low: Vector, high: Vector) -> SolidPart:
    x, y, z = (0.5 * (a + b) for a, b in zip(low, high, strict=True))
    size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
    stuff = WOOD if min(size) < 0.1 else FOAM
    return SolidPart("chest", name, Box((x, y, z), size), stuff, Refuge.NOWHERE)


def raised(gap: float) -> SolidPart:
    """Return a block in the middle of the room, off the floor by a gap [m]."""
    return block("seat", (1.0, 1.0, gap), (2.0, 2.0, 0.5))


def areas(grid: Grid, kind: Touched) -> float:
    return float(grid.draughts.area[grid.draughts.kind == kind].sum())


def case_of(*parts: SolidPart) -> Case:
    return box_room(ROOM, parts=parts)


@pytest.mark.parametrize("cell_size", [0.2, 0.15, 0.1])
def test_both_sides_of_an_open_gap_are_reached_by_their_whole_area(cell_size: float) -> None:
    grid = voxelise(case_of(raised(0.03)), cell_size)
    assert areas(grid, Touched.SOLID) == pytest.approx(1.0, rel=1e-6)
    assert areas(grid, Touched.COLUMN) == pytest.approx(1.0, rel=0.05)
    under = grid.draughts.kind == Touched.COLUMN
    np.testing.assert_allclose(grid.draughts.width[under], 0.03, atol=1e-6)
    assert grid.draughts.length.max() <= 0.5 + 2.0 * cell_size


def test_a_gap_with_a_plinth_all_round_is_shut_in() -> None:
    plinth = [
        block("plinth", (1.0, 1.0, 0.0), (1.02, 2.0, 0.03)),
        block("plinth", (1.98, 1.0, 0.0), (2.0, 2.0, 0.03)),
        block("plinth", (1.0, 1.0, 0.0), (2.0, 1.02, 0.03)),
        block("plinth", (1.0, 1.98, 0.0), (2.0, 2.0, 0.03)),
    ]
    shut = voxelise(case_of(raised(0.03), *plinth), 0.2)
    assert areas(shut, Touched.SOLID) < 0.01
    assert areas(shut, Touched.COLUMN) < 0.01
    one_side_open = voxelise(case_of(raised(0.03), *plinth[:3]), 0.2)
    assert areas(one_side_open, Touched.SOLID) > 0.5


def test_the_inside_of_closed_boards_has_no_draught() -> None:
    """A box of boards around a load with a centimetre of air: nothing blows in there."""
    low, high, t = (1.0, 1.0, 0.0), (1.5, 1.5, 0.4), 0.02
    boards = []
    for axis in range(3):
        for side in (0, 1):
            a, b = list(low), list(high)
            if side:
                a[axis] = high[axis] - t
            else:
                b[axis] = low[axis] + t
            boards.append(block("board", (a[0], a[1], a[2]), (b[0], b[1], b[2])))
    load = block("load", (1.03, 1.03, 0.03), (1.47, 1.47, 0.37))
    grid = voxelise(case_of(*boards, load), 0.2)
    solids = grid.draughts.index[grid.draughts.kind == Touched.SOLID]
    reached = {grid.parts[part].name for part in grid.solids.part[solids]}
    assert "load" not in reached


def test_a_gap_that_cells_resolve_has_no_draught() -> None:
    grid = voxelise(case_of(raised(0.3)), 0.1)
    assert grid.draughts.index.size == 0


def test_the_air_of_a_slot_one_cell_wide_is_joined_to_the_room() -> None:
    parts = (
        block("left", (1.0, 1.0, 0.0), (1.4, 2.0, 0.8)),
        block("right", (1.5, 1.0, 0.0), (1.9, 2.0, 0.8)),
    )
    grid = voxelise(case_of(*parts), 0.1)
    slot = grid.draughts.kind == Touched.AIR
    assert slot.any()
    index = np.unravel_index(grid.draughts.index[slot], grid.shape)
    x = 0.5 * (grid.x_edges[index[0]] + grid.x_edges[index[0] + 1])
    assert ((x > 1.4) & (x < 1.5)).all()
    np.testing.assert_allclose(grid.draughts.width[slot], 0.1, rtol=0.3)
    assert grid.draughts.rise[slot].max() > 0.0
