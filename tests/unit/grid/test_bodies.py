"""Each part has solid nodes of its own; thin end slices join the node beside them."""

import numpy as np
import pytest
from builders import CLOTH, FOAM, OUTDOOR_WALL, WOOD, box_room, porous, solid, two_rooms

from simulator.case.parts import Refuge
from simulator.grid.bodies import join_end_slices
from simulator.grid.grid import Grid, RefugeKind
from simulator.grid.voxelise import voxelise


def layered_bed(shift: float = 0.0) -> list:
    """A mattress of 0.24 m with a blanket of 3 cm on it, moved along x and up."""
    low, soft = (0.5 + shift, 0.5, 0.3 + shift), Refuge.THROUGHOUT
    mattress = solid(low, (1.0, 0.8, 0.24), name="mattress", material=FOAM, refuge=soft)
    top = (low[0], low[1], low[2] + 0.24)
    blanket = solid(top, (1.0, 0.8, 0.03), name="blanket", material=CLOTH, refuge=soft)
    return [mattress, blanket]


def nodes_of(grid: Grid, part: int) -> np.ndarray:
    return np.flatnonzero(grid.solids.part == part)


@pytest.mark.parametrize("cell_size", [0.2, 0.13, 0.1, 0.05])
@pytest.mark.parametrize("shift", [0.0, 0.017, 0.05])
def test_every_part_keeps_its_own_mass_and_capacity(cell_size: float, shift: float) -> None:
    parts = [*layered_bed(shift), porous((1.6, 0.2, 0.0), (0.3, 0.3, 0.33))]
    solids = voxelise(box_room((2.4, 2.0, 1.2), parts=parts), cell_size).solids
    for number, part in enumerate(parts):
        share = 1.0 - getattr(part, "air_fraction", 0.0)
        mine = solids.part == number
        mass = share * part.box.volume * part.material.density
        assert solids.mass[mine].sum() == pytest.approx(mass, rel=1e-13)
        capacity = share * part.box.volume * part.material.volumetric_heat_capacity
        assert solids.heat_capacity[mine].sum() == pytest.approx(capacity, rel=1e-13)
        assert (solids.conductivity[mine] == part.material.conductivity).all()


@pytest.mark.parametrize("cell_size", [0.2, 0.1, 0.05])
@pytest.mark.parametrize("shift", [0.0, 0.013, 0.03])
def test_a_blanket_is_one_node_thick_wherever_the_cell_planes_are(
    cell_size: float, shift: float
) -> None:
    solids = voxelise(box_room((2.4, 2.0, 1.2), parts=layered_bed(shift)), cell_size).solids
    assert solids.span[solids.part == 1, 2] == pytest.approx(0.03)
    touch = solids.pair_area > 0.0
    assert (np.sort(solids.part[solids.pair[touch]], axis=1) == (0, 1)).all()
    assert solids.pair_area.sum() == pytest.approx(0.8, rel=1e-12)
    assert solids.pair_depth[touch & (solids.pair_axis == 2), 1] == pytest.approx(0.03)


def test_nodes_are_in_order_and_shares_know_theirs() -> None:
    grid = voxelise(box_room((2.4, 2.0, 1.2), parts=layered_bed(0.013)), 0.1)
    solids, shares = grid.solids, grid.shares
    key = solids.cell * 2 + solids.part
    assert (np.diff(key) > 0).all()
    assert np.array_equal(solids.part[shares.solid], shares.part)
    volume = np.bincount(shares.solid, shares.volume)
    assert volume == pytest.approx(solids.extent, rel=1e-12)


def test_end_slices_join_only_what_stays_thin_enough() -> None:
    assert join_end_slices(np.array([0.02, 0.1, 0.1, 0.06]), 0.1).tolist() == [0, 0, 1, 2]
    assert join_end_slices(np.array([0.005, 0.007]), 0.1).tolist() == [0, 0]
    assert join_end_slices(np.array([0.04, 0.1, 0.045]), 0.1).tolist() == [0, 0, 1]
    assert join_end_slices(np.array([0.1]), 0.1).tolist() == [0]


@pytest.mark.parametrize("cell_size", [0.2, 0.1])
def test_a_rug_has_the_floor_under_it_to_itself(cell_size: float) -> None:
    rug = solid((0.33, 0.41, 0.0), (0.9, 0.7, 0.012), name="rug", material=CLOTH)
    leg = solid((1.7, 1.2, 0.0), (0.06, 0.06, 0.4), owner="stool", name="leg", material=WOOD)
    words = {"block": "rug", "stool": "stool"}
    case = box_room((2.4, 2.0, 1.2), parts=[rug, leg], envelope=OUTDOOR_WALL, furniture_words=words)
    grid = voxelise(case, cell_size)
    c, r, s = grid.columns, grid.refuges, grid.surfaces
    floor = (c.axis == 2) & (c.sign < 0)
    assert c.area[floor].sum() == pytest.approx(2.4 * 2.0, rel=1e-12)
    rows = c.contact_column[grid.solids.part[c.contact_solid] == 0]
    assert c.area[rows].sum() == pytest.approx(0.9 * 0.7, rel=1e-12)
    assert c.contact_area.sum() == pytest.approx(0.9 * 0.7, rel=1e-12)
    assert not np.isin(s.column, rows).any()  # no air touches the floor there
    group = [group.words for group in r.groups].index("floor under the rug")
    assert set(r.index[r.group == group]) == set(rows)
    # the leg shares its patch: its floor still meets the air beside it
    beside = c.contact_column[grid.solids.part[c.contact_solid] == 1]
    assert np.isin(beside, s.column).all()


def test_partitions_keep_whole_patches_behind_what_lies_on_them() -> None:
    board = solid((2.98, 0.5, 0.2), (0.02, 1.0, 1.0))
    grid = voxelise(two_rooms(parts=[board], doorway=None), 0.1)
    shared = np.flatnonzero(grid.columns.partner >= 0)
    assert np.array_equal(grid.columns.partner[grid.columns.partner[shared]], shared)
    assert np.array_equal(
        grid.columns.area[grid.columns.partner[shared]], grid.columns.area[shared]
    )
    on = np.isin(grid.columns.contact_column, shared)
    assert grid.columns.contact_area[on].sum() == pytest.approx(1.0, rel=1e-12)


def test_the_place_under_a_blanket_is_a_refuge() -> None:
    grid = voxelise(box_room((2.4, 2.0, 1.2), parts=layered_bed()), 0.1)
    r = grid.refuges
    group = [group.words for group in r.groups].index("blanket, underside")
    mine = r.group == group
    assert (r.kind[mine] == RefugeKind.TOUCH).all()
    assert (grid.solids.pair_area[r.index[mine]] > 0.0).all()
    assert r.volume[mine].sum() == pytest.approx(0.01 * 0.8, rel=1e-12)
    assert r.position[mine, 2] == pytest.approx(0.54)
