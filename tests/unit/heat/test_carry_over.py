"""Heat carried from grid to grid: exact for each thing, no new extremes, what rests to the bit."""

import dataclasses
from collections.abc import Sequence

import numpy as np
import pytest
from builders import CLOTH, FOAM, OUTDOOR_WALL, WOOD, box_room, porous, solid, two_rooms

from simulator.case.case import Case
from simulator.case.parts import ON_EDGE, UPSIDE_DOWN, Box, Part, PorousPart, Refuge, SolidPart
from simulator.grid.grid import FloatArray, RefugeKind
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.carry_over import HeatNodes, carry_over, heat_nodes, heat_of_parts
from simulator.physics.heat.follow import follow
from simulator.physics.heat.nodes import node_layout
from simulator.physics.heat.watch import watch

CELL = 0.1
SIZE = (2.0, 2.0, 1.2)
ENTERS_AT = 17.0

MATTRESS = SolidPart(
    "bed", "mattress", Box((1.0, 1.0, 0.62), (1.2, 0.8, 0.2)), FOAM, Refuge.THROUGHOUT
)
SPRING = solid((0.4, 0.6, 0.3), (1.2, 0.8, 0.22), owner="bed", name="box spring", material=FOAM)
BLANKET = solid((0.4, 0.6, 0.72), (1.2, 0.8, 0.03), owner="bed", name="blanket", material=CLOTH)
BLOCK = solid((0.05, 0.05, 0.0), (0.3, 0.3, 0.43), refuge=Refuge.SURFACE)
PILE = porous((1.6, 1.6, 0.0), (0.35, 0.35, 0.5), refuge=Refuge.THROUGHOUT)
BOARD = solid((0.05, 1.5, 0.2), (0.6, 0.018, 0.7), owner="board", name="leaf")


def nodes(*parts: Part) -> HeatNodes:
    return nodes_of(box_room(SIZE, parts=parts, envelope=OUTDOOR_WALL))


def nodes_of(case: Case, cell: float = CELL) -> HeatNodes:
    grid = voxelise(case, cell)
    return heat_nodes(grid, node_layout(grid))


def at(part: SolidPart, **changes: object) -> SolidPart:
    return dataclasses.replace(part, box=dataclasses.replace(part.box, **changes))  # type: ignore[arg-type]


def scattered(where: HeatNodes, seed: int = 1) -> FloatArray:
    return 20.0 + 35.0 * np.random.default_rng(seed).random(where.layout.size)


def solid_range(where: HeatNodes, state: FloatArray) -> tuple[float, float]:
    ours = np.concatenate([where.layers.core_node, where.layers.node[where.layers.node >= 0]])
    return float(state[ours].min()), float(state[ours].max())


REST: Sequence[Part] = (SPRING, BLOCK, PILE, BOARD)

#: What is done to the mattress that lies free above the block.
MOVES = {
    "pushed by a third of a cell": at(MATTRESS, centre=(1.033, 1.0, 0.62)),
    "pushed and lifted": at(MATTRESS, centre=(0.95, 1.07, 0.77)),
    "turned by a quarter": at(MATTRESS, turn=90.0),
    "turned by 23 degrees": at(MATTRESS, turn=23.0),
    "leaned": at(MATTRESS, tilt=35.0, centre=(1.0, 1.0, 0.6)),
    "turned and leaned": at(MATTRESS, turn=23.0, tilt=35.0, centre=(1.0, 1.0, 0.6)),
    "upside down": at(MATTRESS, lie=UPSIDE_DOWN),
    "on edge": at(MATTRESS, size=(0.2, 0.8, 1.1), centre=(1.0, 1.0, 0.6), lie=ON_EDGE),
}


@pytest.mark.parametrize("cell", [0.1, 0.2])
@pytest.mark.parametrize("name", list(MOVES))
def test_each_thing_keeps_its_heat_when_one_moves(name: str, cell: float) -> None:
    lying = MATTRESS if name != "on edge" else at(MATTRESS, size=(1.1, 0.8, 0.2))
    first = box_room(SIZE, parts=(lying, BLOCK, PILE, BOARD), envelope=OUTDOOR_WALL)
    later = dataclasses.replace(first, parts=(MOVES[name], BLOCK, PILE, BOARD))
    before, after = nodes_of(first, cell), nodes_of(later, cell)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    held, now = heat_of_parts(before, state), heat_of_parts(after, new)
    assert held.keys() == now.keys()
    for thing, heat in held.items():
        assert now[thing] == pytest.approx(heat, rel=1e-12)
    assert abs(came.solids) < 1e-12 * sum(held.values())
    assert came.envelope == pytest.approx(0.0, abs=1e-6)
    low, high = solid_range(before, state)
    new_low, new_high = solid_range(after, new)
    assert low - 1e-9 <= new_low and new_high <= high + 1e-9


def test_everything_that_stays_is_the_same_to_the_bit() -> None:
    before, after = nodes(MATTRESS, *REST), nodes(MATTRESS, *REST)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    assert np.array_equal(new, state)
    assert came.total == 0.0


def test_what_a_moved_thing_never_touched_keeps_every_bit() -> None:
    """The block is far from the mattress: its nodes, and all air far away, are copied."""
    before = nodes(MATTRESS, BLOCK)
    after = nodes(at(MATTRESS, centre=(1.1, 1.1, 0.8)), BLOCK)
    state = scattered(before)
    new, _ = carry_over(before, state, after, ENTERS_AT)
    for where, values in ((before, state), (after, new)):
        part = [part.owner for part in where.grid.parts].index("block")
        cores = np.flatnonzero(where.grid.solids.part == part)
        faces = np.isin(where.layers.faces.solid, cores)
        skin = where.layers.node[faces]
        found = np.concatenate([values[where.layers.core_node[cores]], values[skin[skin >= 0]]])
        if where is before:
            expected = found
    assert np.array_equal(found, expected)
    columns = before.layout.column_node
    assert np.array_equal(state[columns], new[after.layout.column_node])


#: With two whole layers of cells, so that turned it fits the same cells.
FITTING = at(MATTRESS, centre=(1.0, 1.0, 0.6))


def test_a_turned_mattress_has_its_warm_side_below() -> None:
    """Heated from above by hand, then turned: layer by layer the same profile, upside down."""
    before, after = nodes(FITTING), nodes(at(FITTING, lie=UPSIDE_DOWN))
    height = before.grid.centres[2][np.unravel_index(before.grid.solids.cell, before.grid.shape)[2]]
    state, expected = np.full((2, before.layout.size), 20.0)
    _set_solids(before, state, 20.0 + 100.0 * (height - 0.5))
    _set_solids(before, expected, 20.0 + 100.0 * (0.7 - height))
    new, _ = carry_over(before, state, after, ENTERS_AT)
    ours = _solid_nodes(before)
    assert np.ptp(expected[ours]) > 9.0
    assert np.abs(new[ours] - expected[ours]).max() < 1e-9


def test_the_skins_of_a_turned_mattress_turn_with_it() -> None:
    """Hot skins on top, cool ones below: after turning each skin has its opposite's value."""
    before, after = nodes(FITTING), nodes(at(FITTING, lie=UPSIDE_DOWN))
    faces, node = before.layers.faces, before.layers.node
    state, expected = np.full((2, before.layout.size), 30.0)
    for side, values in ((1, (50.0, 45.0, 40.0)), (-1, (20.0, 23.0, 26.0))):
        ours = (faces.axis == 2) & (faces.sign == side) & (node >= 0).all(axis=1)
        assert ours.any()
        state[node[ours]] = values
        opposite = (faces.axis == 2) & (faces.sign == -side) & (node >= 0).all(axis=1)
        expected[node[opposite]] = values
    new, _ = carry_over(before, state, after, ENTERS_AT)
    inner = _away_from_edges(before)
    level = (faces.axis == 2) & inner[faces.solid]
    assert level.sum() > 20
    assert np.abs(new[node[level]] - expected[node[level]]).max() < 1e-9
    assert np.abs(new[before.layers.core_node[inner]] - 30.0).max() < 1e-9


def _away_from_edges(where: HeatNodes) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Return which solids have faces along z alone."""
    faces = where.layers.faces
    sideways = np.bincount(faces.solid[faces.axis != 2], minlength=where.layers.core_node.size)
    here: np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = sideways == 0
    return here


def _solid_nodes(where: HeatNodes) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    layers = where.layers
    return np.unique(np.concatenate([layers.core_node, layers.node[layers.node >= 0]]))


def _set_solids(where: HeatNodes, state: FloatArray, warm: FloatArray) -> None:
    """Give each solid one temperature with its skins."""
    layers = where.layers
    state[layers.core_node] = warm
    for face, solid_of in enumerate(layers.faces.solid.tolist()):
        for node in layers.node[face].tolist():
            if node >= 0:
                state[node] = warm[solid_of]


def test_things_that_touch_keep_their_heat_when_the_blanket_comes_off() -> None:
    before, after = nodes(MATTRESS, BLANKET, *REST), nodes(MATTRESS, *REST)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    held, now = heat_of_parts(before, state), heat_of_parts(after, new)
    for thing, heat in now.items():
        assert heat == pytest.approx(held[thing], rel=1e-12)
    assert came.solids == pytest.approx(-held["bed", "blanket"], rel=1e-9)


def test_what_is_brought_in_has_its_temperature_and_heats_nothing() -> None:
    """A cold blanket on a warm bed shares one node with it; all heat is counted."""
    before, after = nodes(MATTRESS, *REST), nodes(MATTRESS, BLANKET, *REST)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    capacity = BLANKET.box.volume * CLOTH.volumetric_heat_capacity
    assert came.solids == pytest.approx(capacity * ENTERS_AT, rel=1e-9)
    low, high = solid_range(before, state)
    new_low, new_high = solid_range(after, new)
    assert min(low, ENTERS_AT) - 1e-9 <= new_low and new_high <= high + 1e-9


def test_an_opened_drawer_keeps_its_contents_heat() -> None:
    """Shut it is a solid, open it is loose: the same clothes, and the same temperatures."""
    stuff = dataclasses.replace(CLOTH, density=0.4 * CLOTH.density, name="clothes and air")
    shut = solid((0.5, 0.5, 0.3), (0.8, 0.4, 0.2), owner="chest", name="load", material=stuff)
    pulled = Box((1.0, 1.0, 0.4), (0.8, 0.4, 0.2))
    loose = PorousPart("chest", "load", pulled, CLOTH, 0.6, 0.03, Refuge.THROUGHOUT)
    before, after = nodes(shut, BLOCK), nodes(loose, BLOCK)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    held, now = heat_of_parts(before, state), heat_of_parts(after, new)
    assert now["chest", "load"] == pytest.approx(held["chest", "load"], rel=1e-12)
    assert abs(came.solids) < 1e-12 * sum(held.values())


def test_air_that_comes_is_as_warm_as_the_room_and_counted() -> None:
    before, after = nodes(PILE, BLOCK), nodes(PILE)
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    was_air = before.layout.air_node[after.layout.air_cell] >= 0
    air = before.layout.air
    weight = before.layout.capacity[air]
    mean = weight @ state[air] / weight.sum()
    assert not was_air.all()
    assert new[after.layout.air][~was_air] == pytest.approx(mean, rel=1e-12)
    kept = before.layout.air_node[after.layout.air_cell[was_air]]
    assert np.array_equal(new[after.layout.air][was_air], state[kept])
    assert came.air > 0.0


def test_a_rug_that_is_pulled_away_leaves_the_floors_heat() -> None:
    """The floor is divided by what lies on it: its columns change, their heat does not."""
    rug = solid((0.4, 0.6, 0.0), (1.17, 0.8, 0.03), owner="rug", name="rug", material=CLOTH)
    before, after = nodes(rug), nodes(at(rug, centre=(1.03, 1.13, 0.015)))
    assert before.layout.column_node.size != after.layout.column_node.size
    state = scattered(before)
    _, came = carry_over(before, state, after, ENTERS_AT)
    held = float((before.layout.capacity * state)[before.layout.is_envelope].sum())
    assert abs(came.envelope) < 1e-12 * held


def test_a_door_that_opens_lets_the_wall_out_and_the_air_in() -> None:
    """The patch of partition takes its heat along; the reveals come with the start's."""
    shut, opened = two_rooms(is_open=False), two_rooms()

    def ever(case: Case) -> Case:
        doors = tuple(dataclasses.replace(d, is_ever_open=True) for d in case.dwelling.doorways)
        return dataclasses.replace(
            case, dwelling=dataclasses.replace(case.dwelling, doorways=doors)
        )

    before, after = nodes_of(ever(shut), 0.2), nodes_of(ever(opened), 0.2)
    assert before.grid.shape == after.grid.shape
    state = scattered(before)
    new, came = carry_over(before, state, after, ENTERS_AT)
    assert np.isfinite(new).all()
    assert came.air > 0.0
    assert came.envelope < 0.0


@pytest.mark.parametrize("name", list(MOVES))
def test_hiding_places_read_the_same_temperature_after_as_before(name: str) -> None:
    """A thing of one temperature gradient: each place goes with its point of stuff."""
    lying = MATTRESS if name != "on edge" else at(MATTRESS, size=(1.1, 0.8, 0.2))
    before, after = nodes(lying, BLOCK), nodes(MOVES[name], BLOCK)
    state = np.full(before.layout.size, 30.0)
    x = before.grid.centres[0][np.unravel_index(before.grid.solids.cell, before.grid.shape)[0]]
    _set_solids(before, state, 30.0 + 10.0 * x)
    new, _ = carry_over(before, state, after, ENTERS_AT)
    found = follow(before, after)
    assert found.is_here.all()
    seen = watch(before.grid, before.layout, ())
    is_part = np.isin(before.grid.refuges.kind, [RefugeKind.SOLID, RefugeKind.SURFACE])
    was = state[seen.refuge_node][is_part]
    now = new[found.refuge_node][is_part]
    # a place lies within a cell of its node's middle, before and after; a cell spans 1 K
    assert np.abs(now - was).max() < (1e-9 if name == "upside down" else 2.0)
    assert np.abs(now - was).mean() < 0.5


def test_hiding_places_of_what_is_gone_are_told() -> None:
    before, after = nodes(MATTRESS, BLOCK), nodes(BLOCK)
    found = follow(before, after)
    owner = [before.grid.refuges.groups[g].owner for g in before.grid.refuges.group]
    assert np.array_equal(found.is_here, np.array([name != "bed" for name in owner]))


def test_a_part_of_other_stuff_keeps_its_temperatures() -> None:
    before = nodes(solid((0.5, 0.5, 0.3), (0.4, 0.4, 0.4), material=WOOD))
    after = nodes(solid((0.5, 0.5, 0.3), (0.4, 0.4, 0.4), material=FOAM))
    state = np.full(before.layout.size, 43.0)
    new, came = carry_over(before, state, after, ENTERS_AT)
    assert np.abs(new[_solid_nodes(after)] - 43.0).max() < 1e-9
    ratio = FOAM.volumetric_heat_capacity / WOOD.volumetric_heat_capacity
    held = heat_of_parts(before, state)["block", "body"]
    assert came.solids == pytest.approx((ratio - 1.0) * held, rel=1e-9)
