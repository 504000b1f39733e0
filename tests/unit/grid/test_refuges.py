"""Every hiding place of the room is a refuge, named as a crew would name it."""

import numpy as np
import pytest
from builders import FOAM, OUTDOOR_WALL, box_room, porous, solid, two_rooms

from simulator.case.dwelling import Side, WallSocket
from simulator.case.parts import Refuge
from simulator.errors import CaseError
from simulator.grid.grid import RefugeGroup, RefugeKind
from simulator.grid.voxelise import voxelise


def bed(x=0.5, y=0.6):
    base = solid((x, y, 0.2), (2.0, 1.4, 0.1), owner="bed 1", name="slats", refuge=Refuge.SURFACE)
    mattress = solid(
        (x, y, 0.3),
        (2.0, 1.4, 0.2),
        owner="bed 1",
        name="mattress",
        material=FOAM,
        refuge=Refuge.THROUGHOUT,
    )
    return [base, mattress]


def members(grid, owner, words):
    group = [i for i, g in enumerate(grid.refuges.groups) if (g.owner, g.words) == (owner, words)]
    assert len(group) == 1
    return np.flatnonzero(grid.refuges.group == group[0])


@pytest.fixture(scope="module")
def bedroom():
    return voxelise(
        box_room(
            (3.0, 2.6, 2.4),
            parts=[*bed(), porous((2.6, 0.2, 0.0), (0.3, 0.3, 0.4), owner="pile 1")],
            envelope={Side.NORTH: OUTDOOR_WALL},
            sockets=[WallSocket("room", Side.EAST, (3.0, 1.31, 0.32))],
            furniture_words={"bed 1": "bed", "pile 1": "clutter"},
        ),
        0.1,
    )


def test_bed_has_refuges_inside_on_and_under_it(bedroom):
    r = bedroom.refuges
    inside = members(bedroom, "bed 1", "mattress, inside")
    assert (r.kind[inside] == RefugeKind.SOLID).all()
    assert r.volume[inside].sum() == pytest.approx(2.0 * 1.4 * 0.2, rel=1e-12)
    assert np.array_equal(bedroom.solids.cell[r.index[inside]], r.cell[inside])
    surface = members(bedroom, "bed 1", "mattress, surface")
    assert (r.kind[surface] == RefugeKind.SURFACE).all()
    area = bedroom.surfaces.area[r.index[surface]].sum()
    assert area == pytest.approx(2.0 * 1.4 + 0.2 * 2 * 3.4, rel=1e-9)
    assert r.volume[surface].sum() == pytest.approx(0.01 * area, rel=1e-9)
    under = members(bedroom, "bed 1", "floor under the bed")
    assert (r.kind[under] == RefugeKind.COLUMN).all()
    assert bedroom.columns.area[r.index[under]].sum() == pytest.approx(2.0 * 1.4, rel=1e-9)
    assert r.position[under, 2] == pytest.approx(0.0)
    slats = members(bedroom, "bed 1", "slats, surface")
    assert bedroom.surfaces.area[r.index[slats]].sum() == pytest.approx(2.8 + 0.68, rel=1e-9)


def test_porous_stuff_is_a_refuge_throughout(bedroom):
    pile = members(bedroom, "pile 1", "clothes")
    assert bedroom.refuges.volume[pile].sum() == pytest.approx(0.3 * 0.3 * 0.4, rel=1e-12)
    assert (bedroom.refuges.kind[pile] == RefugeKind.SOLID).all()


def test_baseboards_go_round_the_room_and_know_the_outside_wall(bedroom):
    lengths = {"west wall": 2.6, "east wall": 2.6, "south wall": 3.0, "north outside wall": 3.0}
    for wall, length in lengths.items():
        rows = members(bedroom, "room", f"baseboard, {wall}")
        area = bedroom.columns.area[bedroom.refuges.index[rows]].sum()
        assert area == pytest.approx(0.1 * length, rel=1e-9)
        assert bedroom.refuges.position[rows, 2] == pytest.approx(0.05)


def test_socket_reads_the_cavity_of_the_nearest_patch(bedroom):
    (row,) = members(bedroom, "room", "behind the wall socket, east wall")
    assert bedroom.refuges.kind[row] == RefugeKind.CAVITY
    column = bedroom.refuges.index[row]
    assert (bedroom.columns.axis[column], bedroom.columns.sign[column]) == (0, 1)
    assert np.unravel_index(bedroom.columns.cell[column], bedroom.shape) == (29, 13, 3)


def test_groups_come_in_the_order_of_the_case(bedroom):
    words = [group.words for group in bedroom.refuges.groups]
    assert words == [
        "slats, surface",
        "mattress, inside",
        "mattress, surface",
        "clothes",
        "floor under the bed",
        "floor under the clutter",
        "baseboard, west wall",
        "baseboard, east wall",
        "baseboard, south wall",
        "baseboard, north outside wall",
        "behind the wall socket, east wall",
    ]
    assert set(bedroom.refuges.group) == set(range(len(words)))


def test_rug_under_a_bed_leaves_the_floor_to_the_bed():
    rug = solid((0.0, 0.0, 0.0), (3.0, 2.6, 0.01), owner="rug 1", name="rug")
    words = {"bed 1": "bed", "rug 1": "rug"}
    grid = voxelise(box_room((3.0, 2.6, 2.4), parts=[rug, *bed()], furniture_words=words), 0.1)
    r = grid.refuges
    under_bed = members(grid, "bed 1", "floor under the bed")
    under_rug = members(grid, "rug 1", "floor under the rug")
    assert not set(r.index[under_bed]) & set(r.index[under_rug])
    area = grid.columns.area
    assert area[r.index[under_bed]].sum() == pytest.approx(2.8, rel=1e-9)
    assert area[r.index[under_rug]].sum() == pytest.approx(7.8 - 2.8, rel=1e-9)


def test_refuges_name_the_room_they_are_in():
    case = two_rooms(parts=bed(x=3.4), furniture_words={"bed 1": "bed"})
    grid = voxelise(case, 0.1)
    assert RefugeGroup("bed 1", "mattress, inside", "east") in grid.refuges.groups
    assert RefugeGroup("bed 1", "floor under the bed", "east") in grid.refuges.groups
    assert RefugeGroup("west", "baseboard, north wall", "west") in grid.refuges.groups


def test_socket_in_no_room_is_refused():
    with pytest.raises(CaseError, match="'attic', which is no room"):
        voxelise(
            box_room((2.0, 2.0, 2.0), sockets=[WallSocket("attic", Side.EAST, (2.0, 1.0, 0.3))]),
            0.1,
        )
