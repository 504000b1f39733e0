"""Equipment and cracks meet open air, or the case is refused by name."""

import itertools
import math

import numpy as np
import pytest
from builders import box_room, porous, solid, two_rooms, wardrobe

from simulator.case.dwelling import Leakage, Side
from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, HeatSource
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise

WITHIN = Box((0.5, 0.5, 0.5), (0.1, 0.1, 0.1))


def fan(centre=(1.0, 1.0, 0.8), owner="fan 1"):
    return AirMover(owner, "fan", centre, (1.0, 0.0, 0.0), 0.4, 0.8, 120.0)


def jet(centre=(1.0, 1.0, 0.5), direction=(1.0, 0.0, 0.0), intake=None):
    return HeatedJet("heater 1", "outlet", centre, direction, 0.3, 0.4, 5000.0, 90.0, intake)


def mean_place(grid, cells):
    index = np.unravel_index(cells.cells, grid.shape)
    return [np.average(grid.centres[w][index[w]], weights=cells.weights) for w in range(3)]


def test_weights_sum_to_one_and_sit_where_the_part_is():
    intake = Box((0.6, 1.0, 0.5), (0.1, 0.4, 0.4))
    lamp = HeatSource("lamp 1", "lamp", Box((1.45, 1.45, 1.5), (0.2, 0.2, 0.2)), 60.0)
    case = box_room((2.0, 2.0, 2.0), parts=[fan(), jet(intake=intake), lamp])
    grid = voxelise(case, 0.1)
    expected = [
        (grid.fans[0].motor, (1.0, 1.0, 0.8)),
        (grid.jets[0].outlet, (1.0, 1.0, 0.5)),
        (grid.jets[0].intake, (0.6, 1.0, 0.5)),
        (grid.sources[0].cells, (1.45, 1.45, 1.5)),
    ]
    for cells, place in expected:
        assert cells.weights.sum() == pytest.approx(1.0, abs=1e-14)
        assert cells.weights.min() > 0.0
        assert grid.is_open.reshape(-1)[cells.cells].all()
        assert mean_place(grid, cells) == pytest.approx(place, abs=1e-9)


def test_outlet_moves_smoothly():
    def weights(x):
        grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[jet((x, 1.03, 0.52), (1, 0.2, 0))]), 0.1)
        dense = np.zeros(math.prod(grid.shape))
        dense[grid.jets[0].outlet.cells] = grid.jets[0].outlet.weights
        return dense

    steps = [weights(1.0 + 0.002 * n) for n in range(26)]
    # Weight along the jet changes by at most step / cell size on either side.
    assert max(np.abs(b - a).sum() for a, b in itertools.pairwise(steps)) < 0.06


def test_outlet_area_is_a_disc():
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[jet((1.0, 1.0, 1.0))]), 0.05)
    cells = grid.jets[0].outlet
    x, y, z = (grid.centres[w][np.unravel_index(cells.cells, grid.shape)[w]] for w in range(3))
    assert np.hypot(y - 1.0, z - 1.0).max() < 0.15 + 0.05
    assert np.abs(x - 1.0).max() < 0.05


def test_outlet_does_not_reach_through_a_partition():
    grid = voxelise(two_rooms(gap=0.05, parts=[jet((2.97, 0.5, 0.5), (0.0, 0.0, 1.0))]), 0.1)
    x = np.unravel_index(grid.jets[0].outlet.cells, grid.shape)[0]
    assert grid.centres[0][x].max() < 3.0


def test_fridge_warms_the_air_around_it():
    body = solid((0.0, 0.7, 0.0), (0.6, 0.6, 1.5), owner="fridge")
    heat = HeatSource("fridge", "fridge", body.box, 100.0)
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[body, heat]), 0.1)
    cells = grid.sources[0].cells
    assert grid.is_open.reshape(-1)[cells.cells].all()
    index = np.unravel_index(cells.cells, grid.shape)
    for w, (low, high) in enumerate([(-0.1, 0.7), (0.6, 1.4), (-0.1, 1.6)]):
        assert ((grid.centres[w][index[w]] > low) & (grid.centres[w][index[w]] < high)).all()


def test_lamp_in_a_shut_cupboard_warms_the_cupboard():
    lamp = HeatSource("lamp 1", "lamp", Box((1.0, 1.0, 0.75), (0.1, 0.1, 0.1)), 40.0)
    cupboard = wardrobe((0.5, 0.5, 0.0), (1.0, 1.0, 1.5))
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[*cupboard, lamp]), 0.1)
    assert mean_place(grid, grid.sources[0].cells) == pytest.approx([1.0, 1.0, 0.75])


@pytest.mark.parametrize(
    ("part", "message"),
    [
        (fan((0.5, 0.5, 0.5), "fan 2"), "fan 2 is inside wardrobe 1: x 0.50"),
        (jet((0.5, 0.5, 0.5)), "heater 1 is inside wardrobe 1"),
        (jet((1.5, 1.5, 0.5), intake=WITHIN), "the intake of heater 1 is inside wardrobe 1"),
        (HeatSource("lamp", "lamp", WITHIN, 9.0), "lamp is inside wardrobe 1"),
        (fan((3.5, 0.5, 0.5)), "fan 1 is outside every room"),
    ],
)
def test_equipment_without_air_is_refused_by_name(part, message):
    block = solid((0.0, 0.0, 0.0), (1.0, 1.0, 1.0), owner="wardrobe 1")
    with pytest.raises(CaseError, match=message):
        voxelise(box_room((2.0, 2.0, 2.0), parts=[block, part]), 0.1)


def test_leaks_are_low_and_high_on_the_leaking_sides():
    case = box_room((2.0, 3.0, 2.4), air_changes=0.5, leakage_sides=[Side.WEST, Side.NORTH])
    grid = voxelise(case, 0.1)
    (leak,) = grid.leaks
    assert leak.flow == pytest.approx(0.5 * 14.4 / 3600.0)
    for cells, sign in ((leak.inlets, -1), (leak.outlets, +1)):
        x, y, z = np.unravel_index(cells.cells, grid.shape)
        off_middle = sign * (grid.centres[2][z] - 1.2)
        assert (off_middle > 0.0).all() and off_middle.max() == pytest.approx(1.15)
        assert ((x == 0) | (y == 29)).all()
        assert cells.weights.sum() == pytest.approx(1.0)
        # By length of wall: 3 m and 2 m, the corner cells on both.
        assert cells.weights[(x == 0) & (y < 29)].sum() == pytest.approx(2.9 / 5.0)
        # By distance from mid-height, where the stack effect has its neutral plane.
        column = (x == 0) & (y == 10)
        assert cells.weights[column] / cells.weights[column].max() == pytest.approx(
            off_middle[column] / 1.15
        )


def test_leak_behind_furniture_moves_up_and_never_into_a_shut_wardrobe():
    chest = solid((0.0, 0.0, 0.0), (0.5, 3.0, 0.55), owner="chest")
    case = box_room((2.0, 3.0, 2.4), parts=[chest], air_changes=0.5)
    grid = voxelise(case, 0.1)
    z = np.unravel_index(grid.leaks[0].inlets.cells, grid.shape)[2]
    assert set(z) == set(range(6, 12))
    shut = wardrobe((0.02, 0.5, 0.02), (0.7, 1.0, 2.0))
    grid = voxelise(box_room((2.0, 3.0, 2.4), parts=shut, air_changes=0.5), 0.1)
    y = grid.centres[1][np.unravel_index(grid.leaks[0].inlets.cells, grid.shape)[1]]
    x = np.unravel_index(grid.leaks[0].inlets.cells, grid.shape)[0]
    assert (x == 0).all()
    assert ((y < 0.6) | (y > 1.4)).all()


def test_no_leak_without_flow_and_none_in_no_room():
    assert voxelise(box_room((2.0, 2.0, 2.0)), 0.2).leaks == ()
    with pytest.raises(CaseError, match="'attic', which is no room"):
        voxelise(two_rooms(leakage=[Leakage("attic", 0.1, (Side.WEST,))]), 0.2)


def test_porous_stuff_may_hold_a_terminal():
    parts = [porous((0.5, 0.5, 0.0), (1.0, 1.0, 1.0)), fan((1.0, 1.0, 0.5))]
    assert voxelise(box_room((2.0, 2.0, 2.0), parts=parts), 0.1).fans[0].motor.cells.size > 0


def test_an_exhaust_draws_from_the_air_before_it_or_around_what_blocks_it():
    opening = AirOutlet("sash", "exhaust", Box((1.0, 1.95, 1.2), (0.6, 0.1, 0.2)), 0.12)
    case = box_room((2.0, 2.0, 2.0), parts=[opening])
    grid = voxelise(case, 0.1)
    (exhaust,) = grid.exhausts
    assert exhaust.cells.weights.sum() == pytest.approx(1.0)
    assert mean_place(grid, exhaust.cells) == pytest.approx([1.0, 1.95, 1.2])
    board = solid((0.5, 1.9, 1.0), (1.0, 0.1, 0.4), owner="board")
    grid = voxelise(box_room((2.0, 2.0, 2.0), parts=[board, opening]), 0.1)
    assert mean_place(grid, grid.exhausts[0].cells)[1] < 1.9
    assert grid.is_open.reshape(-1)[grid.exhausts[0].cells.cells].all()
    wall = solid((0.0, 1.0, 0.0), (2.0, 1.0, 2.0), owner="wardrobe 1")
    with pytest.raises(CaseError, match="sash is inside wardrobe 1"):
        voxelise(box_room((2.0, 2.0, 2.0), parts=[wall, opening]), 0.1)
