"""A mirrored room gives the mirrored grid."""

import dataclasses

import numpy as np
import pytest
from builders import (
    FOAM,
    OUTDOOR_WALL,
    OUTDOOR_WINDOW,
    box_room,
    porous,
    solid,
)

from simulator.case.dwelling import Side, Window
from simulator.case.parts import Box, HeatedJet, Refuge
from simulator.grid.voxelise import voxelise

SIZE = (2.57, 2.2, 2.4)


def room(is_mirrored):
    def place(part):
        box = part.box
        if not is_mirrored:
            return part
        centre = (SIZE[0] - box.centre[0], *box.centre[1:])
        turn, tilt = -box.turn, box.tilt
        return dataclasses.replace(part, box=Box(centre, box.size, turn, tilt))

    parts = [
        solid((0.31, 0.43, 0.2), (0.83, 1.07, 0.21), name="base"),
        solid((0.31, 0.43, 0.41), (0.83, 1.07, 0.23), material=FOAM, refuge=Refuge.THROUGHOUT),
        solid((1.7, 1.2, 0.0), (0.5, 0.02, 1.1), turn=12.0, name="board"),
        solid((1.5, 0.3, 0.0), (0.4, 0.3, 0.6), turn=31.0, name="turned"),
        solid((1.45, 0.2, 0.9), (0.6, 0.5, 0.02), tilt=28.0, name="leaning"),
        porous((0.2, 1.7, 0.0), (0.5, 0.4, 0.3)),
    ]
    side = Side.EAST if is_mirrored else Side.WEST
    x = SIZE[0] if is_mirrored else 0.0
    window = Window("pane", "room", side, (x, 0.5, 0.9), (x, 1.3, 2.0), OUTDOOR_WINDOW)
    jet_x = SIZE[0] - 1.2 if is_mirrored else 1.2
    jet = HeatedJet(
        "heater", "outlet", (jet_x, 1.9, 0.5), (0.0, -1.0, 0.0), 0.3, 0.3, 5e3, 90.0, None
    )
    return box_room(
        SIZE,
        parts=[*map(place, parts), jet],
        envelope={side: OUTDOOR_WALL},
        windows=[window],
        leakage_sides=[side],
        air_changes=0.5,
        furniture_words={"block": "bed"},
    )


@pytest.fixture(scope="module")
def grids():
    return voxelise(room(False), 0.1), voxelise(room(True), 0.1)


def dense(grid, cell, values, flip):
    field = np.zeros(grid.shape)
    np.add.at(field.reshape(-1), cell, values)
    return field[::-1] if flip else field


@pytest.mark.parametrize("name", ["mass", "heat_capacity", "extent", "volume"])
def test_stuff_is_mirrored(grids, name):
    one, two = (
        dense(g, g.solids.cell, getattr(g.solids, name), flip)
        for g, flip in zip(grids, (False, True), strict=True)
    )
    assert one == pytest.approx(two, rel=1e-9, abs=1e-9 * one.max())


def test_cells_and_drag_are_mirrored(grids):
    one, two = grids
    assert np.array_equal(one.is_open, two.is_open[::-1])
    assert np.array_equal(one.closed_x, two.closed_x[::-1])
    assert np.array_equal(one.closed_y, two.closed_y[::-1])
    assert np.array_equal(one.closed_z, two.closed_z[::-1])
    assert one.darcy == pytest.approx(two.darcy[::-1], rel=1e-9)
    assert one.air_volume == pytest.approx(two.air_volume[::-1], rel=1e-9)


@pytest.mark.parametrize("axis", [-1, 0, 1, 2])
@pytest.mark.parametrize("sign", [-1, 0, 1])
def test_surfaces_are_mirrored(grids, axis, sign):
    fields = []
    for grid, flip in zip(grids, (False, True), strict=True):
        s = grid.surfaces
        wanted = -sign if flip and axis == 0 else sign
        rows = (s.axis == axis) & (s.sign == wanted)
        fields.append(dense(grid, s.air_cell[rows], s.area[rows], flip))
    # Askew faces are counted by tile centres, some of which lie on cell planes: a tile may fall to
    # either side, never more than one (1/64 of a cell's face of 0.01 m²) a cell and face.
    assert np.abs(fields[0] - fields[1]).sum() <= 1e-9 + 0.02 * fields[0].sum()
    if axis != 2:
        assert fields[0] == pytest.approx(fields[1], abs=1e-11)


def test_contacts_and_columns_are_mirrored(grids):
    one, two = grids
    for g in grids:
        assert g.columns.area.sum() == pytest.approx(
            2 * (SIZE[0] * SIZE[1] + SIZE[1] * SIZE[2] + SIZE[2] * SIZE[0]), rel=1e-12
        )
    assert one.solids.pair.shape == two.solids.pair.shape
    assert np.sort(one.solids.pair_conductance) == pytest.approx(
        np.sort(two.solids.pair_conductance), rel=0.02
    )
    assert np.sort(one.columns.contact_conductance) == pytest.approx(
        np.sort(two.columns.contact_conductance), rel=1e-9
    )


def test_terminals_and_refuges_are_mirrored(grids):
    one, two = (
        dense(g, g.jets[0].outlet.cells, g.jets[0].outlet.weights, flip)
        for g, flip in zip(grids, (False, True), strict=True)
    )
    assert one == pytest.approx(two, abs=1e-12)
    one, two = (
        dense(g, g.leaks[0].inlets.cells, g.leaks[0].inlets.weights, flip)
        for g, flip in zip(grids, (False, True), strict=True)
    )
    assert one == pytest.approx(two, abs=1e-12)
    assert len(grids[0].refuges.index) == len(grids[1].refuges.index)
    assert grids[0].refuges.volume.sum() == pytest.approx(grids[1].refuges.volume.sum(), rel=1e-9)
