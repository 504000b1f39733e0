"""What is in the cells is what is in the case, at any cell size, turn, tilt and place."""

import dataclasses
import itertools

import fluids
import numpy as np
import pytest
from builders import CLOTH, FOAM, WOOD, box_room, porous, solid
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.errors import CaseError
from simulator.grid.fill import ergun
from simulator.grid.voxelise import voxelise

SIZES = [0.2, 0.1, 0.05]


def furnished(turn, tilt):
    return [
        solid((0.61, 0.53, 0.27), (1.02, 0.83, 0.18), turn=turn, material=WOOD),
        solid((0.61, 0.53, 0.45), (1.02, 0.83, 0.23), turn=turn, material=FOAM),
        solid((0.7, 0.9, 1.2), (0.95, 0.6, 0.021), turn=turn, tilt=tilt, material=WOOD),
        porous((1.9, 0.3, 0.0), (0.43, 0.77, 0.91), turn=turn, material=CLOTH),
    ]


def exact(parts, quantity):
    return sum(
        quantity(part.material) * part.box.volume * (1.0 - getattr(part, "air_fraction", 0.0))
        for part in parts
    )


@pytest.mark.parametrize("cell_size", SIZES)
@pytest.mark.parametrize(("turn", "tilt"), [(0, 0), (90, 0), (17, 0), (0, 35), (90, 35), (17, 35)])
def test_mass_and_heat_capacity_are_exact_at_any_cell_size(cell_size, turn, tilt):
    parts = furnished(turn, tilt)
    grid = voxelise(box_room((2.6, 2.2, 2.4), parts=parts), cell_size)
    solids = grid.solids
    assert solids.mass.sum() == pytest.approx(exact(parts, lambda m: m.density), rel=1e-9)
    capacity = exact(parts, lambda m: m.volumetric_heat_capacity)
    assert solids.heat_capacity.sum() == pytest.approx(capacity, rel=1e-9)
    for index, part in enumerate(parts):
        share = grid.shares.volume[grid.shares.part == index]
        assert share.sum() == pytest.approx(part.box.volume, rel=1e-12)
        assert share.min() > 0.0


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.tuples(*[st.floats(0.05, 0.9)] * 3),
    st.tuples(*[st.floats(1.0, 1.4)] * 3),
    st.floats(-180.0, 180.0),
    st.sampled_from([0.2, 0.13, 0.1]),
)
def test_any_turned_box_keeps_volume_and_centre_of_mass(size, centre, turn, cell_size):
    low = tuple(c - 0.5 * s for c, s in zip(centre, size, strict=True))
    part = solid(low, size, turn=turn)
    grid = voxelise(box_room((2.4, 2.4, 2.4), parts=[part]), cell_size)
    volume = grid.shares.volume
    assert volume.sum() == pytest.approx(part.box.volume, rel=1e-12)
    # No cell holds more than itself, and the mean of cell centres is within half a cell.
    index = np.unravel_index(grid.shares.cell, grid.shape)
    cell_volume = np.prod([np.diff(e)[0] for e in (grid.x_edges, grid.y_edges, grid.z_edges)])
    assert volume.max() <= cell_volume * (1.0 + 2e-3)
    for axis in range(3):
        mean = np.average(grid.centres[axis][index[axis]], weights=volume)
        assert abs(mean - centre[axis]) < 0.5 * cell_size


def test_turned_box_area_in_each_cell_is_the_polygon_clip():
    # A square turned by 45 degrees, corner to corner over four cells: a quarter in each.
    part = solid((0.8, 0.8, 0.0), (0.4, 0.4, 0.5), turn=45.0)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.5)
    assert grid.shares.volume == pytest.approx(np.full(4, 0.25 * 0.4 * 0.4 * 0.5), rel=1e-12)


def test_quarter_turns_are_the_same_as_swapped_sizes():
    parts = [
        solid((0.5, 0.7, 0.2), (0.9, 0.5, 0.3), turn=90.0),
        solid((0.7, 0.5, 0.2), (0.5, 0.9, 0.3)),
    ]
    turned, plain = (voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1) for part in parts)
    assert np.array_equal(turned.shares.cell, plain.shares.cell)
    assert turned.shares.volume == pytest.approx(plain.shares.volume, rel=1e-12)
    assert turned.surfaces.area == pytest.approx(plain.surfaces.area, rel=1e-12)


@pytest.mark.parametrize("turn", [0.0, 25.0])
def test_moving_a_sofa_moves_its_capacity_smoothly(turn):
    def capacity(shift):
        part = solid((0.5 + shift, 0.6, 0.1), (0.8, 0.7, 0.4), turn=turn)
        grid = voxelise(box_room((2.4, 2.0, 1.0), parts=[part]), 0.1)
        dense = np.zeros(grid.shape)
        per_volume = grid.solids.heat_capacity / grid.solids.extent
        shares = grid.shares
        np.add.at(dense.reshape(-1), shares.cell, shares.volume * per_volume[shares.solid])
        return dense

    whole = capacity(0.0).sum()
    steps = [capacity(0.001 * n) for n in range(31)]
    for before, after in itertools.pairwise(steps):
        # A millimetre of 0.8 m of sofa: at most the two end faces' slabs change hands.
        assert np.abs(after - before).sum() / whole < 2.0 * 2.0 * 0.001 / 0.7 * 1.1


def test_half_full_cells_are_blocked_and_others_keep_their_air():
    part = solid((0.5, 0.5, 0.0), (0.5, 0.5, 0.25))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    assert grid.is_blocked.sum() == 5 * 5 * 3
    part = solid((0.5, 0.5, 0.0), (0.5, 0.5, 0.24))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    assert grid.is_blocked.sum() == 5 * 5 * 2
    assert grid.air_volume[7, 7, 2] == pytest.approx(0.6e-3, rel=1e-9)
    assert grid.air_volume[7, 7, 1] == 0.0


def test_porous_stuff_has_its_solid_share_and_ergun_drag():
    part = porous((0.5, 0.5, 0.0), (0.5, 0.5, 0.25), air_fraction=0.8, piece_size=0.02)
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[part]), 0.1)
    assert grid.is_open.all()
    assert grid.solids.extent.sum() == pytest.approx(part.box.volume, rel=1e-12)
    assert grid.solids.volume.sum() == pytest.approx(0.2 * part.box.volume, rel=1e-12)
    assert grid.solids.conductivity == pytest.approx(np.full(75, CLOTH.conductivity), rel=1e-12)
    viscous, inertial = ergun(0.8, 0.02)
    assert grid.darcy[7, 7, :4] == pytest.approx(viscous * np.array([1, 1, 0.5, 0]), rel=1e-9)
    assert grid.forchheimer[7, 7, 0] == pytest.approx(inertial, rel=1e-9)
    # 6 (1 - e) / d of the box
    rows = grid.surfaces.axis == -1
    assert grid.surfaces.area[rows].sum() == pytest.approx(6 * 0.2 / 0.02 * part.box.volume)


def test_stuff_outside_the_rooms_is_an_error_and_a_hair_outside_is_kept():
    sticking = solid((-0.3, 0.5, 0.0), (0.6, 0.4, 0.4), owner="sofa", name="seat")
    with pytest.raises(CaseError, match="sofa: its seat lies 50 % outside the rooms"):
        voxelise(box_room((2.0, 2.0, 1.0), parts=[sticking]), 0.1)
    hair = solid((-0.002, 0.5, 0.0), (0.6, 0.4, 0.4))
    grid = voxelise(box_room((2.0, 2.0, 1.0), parts=[hair]), 0.1)
    assert grid.solids.volume.sum() == pytest.approx(hair.box.volume, rel=1e-12)


def test_same_case_gives_the_same_grid():
    case = box_room((2.6, 2.2, 2.4), parts=furnished(17, 35))
    one, two = voxelise(case, 0.1), voxelise(case, 0.1)
    for table in ("solids", "surfaces", "columns", "refuges", "shares"):
        for field in dataclasses.fields(getattr(one, table)):
            first, second = (getattr(getattr(g, table), field.name) for g in (one, two))
            if isinstance(first, np.ndarray):
                assert np.array_equal(first, second, equal_nan=first.dtype.kind == "f")


@pytest.mark.parametrize("speed", [0.1, 0.5, 2.0])
def test_drag_of_loose_pieces_agrees_with_an_independent_library(speed):
    """Pieces of 5 cm, 60 % air, 0.5 m long: Δp = L (μ v / K + ρ β v²), Ergun 1952."""
    density, viscosity, length = 1.0923, 1.9535e-5, 0.5
    viscous, inertial = ergun(0.6, 0.05)
    found = length * (viscosity * viscous * speed + density * inertial * speed**2)
    expected = fluids.Ergun(dp=0.05, voidage=0.6, vs=speed, rho=density, mu=viscosity, L=length)
    assert found == pytest.approx(expected, rel=1e-9)
