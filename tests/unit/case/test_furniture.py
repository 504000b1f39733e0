"""Single kinds of furniture and equipment: identities of volume and mass, states, refusals."""

from collections.abc import Callable
from itertools import combinations
from typing import Any

import pytest
from pydantic import ValidationError

from simulator.case.dwelling import Room
from simulator.case.equipment.electric_heater import ElectricHeater
from simulator.case.equipment.fan import Fan
from simulator.case.equipment.hot_air_inlet import HotAirInlet
from simulator.case.equipment.sensor import Sensor
from simulator.case.furniture import stuffing
from simulator.case.furniture.aquarium import Aquarium
from simulator.case.furniture.bed import Bed
from simulator.case.furniture.bookcase import Bookcase
from simulator.case.furniture.cabinet import Cabinet
from simulator.case.furniture.closet import Closet
from simulator.case.furniture.clutter import Clutter
from simulator.case.furniture.curtain import Curtain
from simulator.case.furniture.dresser import Dresser
from simulator.case.furniture.overhead import HeatDetector, SmokeAlarm, Sprinkler
from simulator.case.furniture.placement import Furniture
from simulator.case.furniture.refrigerator import Refrigerator
from simulator.case.furniture.rug import Rug
from simulator.case.furniture.sensitive_box import SensitiveBox
from simulator.case.furniture.sofa import Sofa
from simulator.case.furniture.table import Table
from simulator.case.furniture.wardrobe import Wardrobe
from simulator.case.furniture.water_bed import WaterBed
from simulator.case.materials import material
from simulator.case.parts import (
    AirMover,
    HeatedJet,
    HeatSource,
    PorousPart,
    Refuge,
    SolidPart,
)
from simulator.case.pieces import Pieces
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY

ROOM = Room("room", (0.0, 0.0, 0.0), (6.0, 6.0, 2.5), {})
PLACE = {"name": "piece", "room": "room", "at": ["3 m", "3 m"]}

ROUND_OFF = 1e-12


def make(kind: type[Furniture], **fields: Any) -> Pieces:
    return kind.model_validate({**PLACE, **fields}).compile(ROOM)


def stuff(pieces: Pieces) -> list[SolidPart | PorousPart]:
    return [part for part in pieces.parts if isinstance(part, SolidPart | PorousPart)]


def named(pieces: Pieces, name: str) -> list[SolidPart | PorousPart]:
    return [part for part in stuff(pieces) if part.name == name]


def mass(parts: list[SolidPart | PorousPart]) -> float:
    return sum(
        part.box.volume
        * part.material.density
        * (1.0 - part.air_fraction if isinstance(part, PorousPart) else 1.0)
        for part in parts
    )


def volume(parts: list[SolidPart | PorousPart]) -> float:
    return sum(part.box.volume for part in parts)


#: (kind, one state, the other): a state moves things about, it neither makes nor destroys them.
STATES: list[tuple[type[Furniture], dict[str, Any], dict[str, Any]]] = [
    (Bed, {"bedding": "stripped"}, {"bedding": "stripped", "mattress": "on_edge"}),
    (Bed, {}, {"bedding": "heaped"}),
    (Sofa, {}, {"cushions_are": "on_edge"}),
    (Dresser, {}, {"drawers_are": "open"}),
    (Wardrobe, {}, {"doors": "open"}),
    (Closet, {}, {"doors": "open"}),
    (Cabinet, {}, {"doors": "open"}),
]


@pytest.mark.parametrize(("kind", "one", "other"), STATES, ids=lambda v: getattr(v, "__name__", ""))
def test_a_change_of_state_keeps_the_mass(
    kind: type[Furniture], one: dict[str, Any], other: dict[str, Any]
) -> None:
    before, after = make(kind, **one), make(kind, **other)
    air = 0.15  # [kg] 0.12 m³ of air that is counted with the shut drawers' load
    assert before != after
    assert mass(stuff(after)) == pytest.approx(mass(stuff(before)), abs=air)
    solid_before = [p for p in stuff(before) if "contents" not in p.name]
    solid_after = [p for p in stuff(after) if "contents" not in p.name]
    assert mass(solid_after) == pytest.approx(mass(solid_before), rel=1e-9)


def test_a_curtain_holds_the_same_cloth_shut_and_parted() -> None:
    shut, parted = stuff(make(Curtain)), stuff(make(Curtain, drawn="parted"))
    assert volume(parted) == pytest.approx(volume(shut), rel=1e-12)
    cloth = stuffing.CURTAIN_CLOTH * volume(shut) * stuffing.TEXTILE.density
    assert mass(parted) == pytest.approx(cloth, rel=1e-9)
    air = 1.3 * volume(shut)  # [kg] at most: the air between the folds counts with the shut one
    assert cloth < mass(shut) < cloth + air


@pytest.mark.parametrize(("kind", "one", "other"), STATES, ids=lambda v: getattr(v, "__name__", ""))
def test_parts_do_not_overlap_in_either_state(
    kind: type[Furniture], one: dict[str, Any], other: dict[str, Any]
) -> None:
    for state in (one, other):
        pieces = make(kind, **state)
        for a, b in combinations(stuff(pieces), 2):
            edges = [
                min(c + s / 2, d + t / 2) - max(c - s / 2, d - t / 2)
                for c, s, d, t in zip(
                    a.box.centre, a.box.size, b.box.centre, b.box.size, strict=True
                )
            ]
            assert min(edges) < 1e-9, f"{a.name} and {b.name}"
        for part in stuff(pieces):
            assert any(
                all(
                    abs(c - d) + s / 2 <= t / 2 + 1e-9
                    for c, s, d, t in zip(
                        part.box.centre, part.box.size, claim.centre, claim.size, strict=True
                    )
                )
                for claim in pieces.footprint
            ), part.name


def test_shell_of_a_shut_wardrobe_is_its_outside_less_its_inside() -> None:
    measures = {"width": "1 m", "depth": "0.6 m", "height": "2 m", "board": "20 mm"}
    pieces = make(Wardrobe, plinth="0 m", **measures)
    shell = [part for part in pieces.parts if isinstance(part, SolidPart)]
    inside = (1.0 - 0.04) * (0.6 - 0.02 - 0.005) * (2.0 - 0.04)
    assert volume(list(shell)) == pytest.approx(1.0 * 0.6 * 2.0 - inside, rel=ROUND_OFF)


def test_shut_dresser_has_no_hole() -> None:
    """Carcass, fronts, bottoms and loads fill the outside but the space between its feet."""
    pieces = make(Dresser)
    between_sides = (0.90 - 2 * 0.018) * 0.45 * 0.06
    assert volume(stuff(pieces)) == pytest.approx(0.90 * 0.45 * 0.95 - between_sides, rel=1e-9)


def test_refrigerator_fills_its_outside_above_its_feet() -> None:
    for feet in (0.0, 0.03):
        pieces = stuff(make(Refrigerator, feet=f"{feet} m"))
        assert volume(pieces) == pytest.approx(0.75 * 0.70 * (1.70 - feet), rel=1e-9)
        lowest = min(part.box.centre[2] - 0.5 * part.box.size[2] for part in pieces)
        assert lowest == pytest.approx(feet, abs=1e-12)


def test_mattress_and_box_spring_have_their_measures() -> None:
    pieces = make(Bed, width="60 in", length="80 in")
    area = 60 * 80 * 0.0254**2
    box_spring = [part for part in stuff(pieces) if part.name.startswith("box spring")]
    assert volume(named(pieces, "mattress")) == pytest.approx(area * 0.25, rel=1e-9)
    assert volume(box_spring) == pytest.approx(area * 0.20, rel=1e-9)
    assert all(part.refuge is Refuge.THROUGHOUT for part in box_spring)


def test_bed_without_extras_leaves_them_out() -> None:
    pieces = make(Bed, box_spring_height="0 in", headboard_height="0 in", bedding="stripped")
    names = {part.name for part in stuff(pieces)}
    assert names == {"side board", "foot board", "leg", "slat", "mattress"}


@pytest.mark.parametrize("share", (0.25, 0.5, 1.0))
def test_what_is_stuffed_under_a_bed_grows_with_its_share(share: float) -> None:
    whole = volume(named(make(Bed, stuffed_under=1.0), "things under the bed"))
    part = volume(named(make(Bed, stuffed_under=share), "things under the bed"))
    assert part == pytest.approx(share * whole, rel=1e-9)
    assert not named(make(Bed), "things under the bed")


def test_heaped_bedding_is_the_same_cloth_in_a_loose_heap() -> None:
    made, heaped = (named(make(Bed, bedding=how), "bedding") for how in ("made", "heaped"))
    assert isinstance(heaped[0], PorousPart)
    cloth = heaped[0].box.volume * (1.0 - heaped[0].air_fraction)
    assert cloth == pytest.approx(made[0].box.volume, rel=1e-12)
    assert heaped[0].material == made[0].material
    assert heaped[0].box.size[2] > 3.0 * made[0].box.size[2]


def test_bedding_hangs_down_the_sides_and_the_foot() -> None:
    pieces = make(Bed, bedding_hang="0.2 m")
    hanging = named(pieces, "hanging bedding")
    assert len(hanging) == 3
    (mattress,) = named(pieces, "mattress")
    top = mattress.box.centre[2] + 0.5 * mattress.box.size[2]
    for part in hanging:
        assert part.box.centre[2] - 0.5 * part.box.size[2] == pytest.approx(top - 0.2)
        assert min(part.box.size[:2]) == pytest.approx(0.03)
    assert not named(make(Bed), "hanging bedding")


def test_load_under_a_bed_begins_at_the_head() -> None:
    (load,) = named(make(Bed, stuffed_under=0.3), "things under the bed")
    assert load.box.centre[1] > 3.0


def test_mattress_on_edge_stands_as_high_as_it_is_wide() -> None:
    (mattress,) = named(make(Bed, mattress="on_edge", bedding="stripped"), "mattress")
    assert mattress.box.size == pytest.approx((0.25, 2.03, 1.52), rel=ROUND_OFF)


def test_open_drawers_let_air_through_and_stand_out_like_stairs() -> None:
    shut, opened = make(Dresser), make(Dresser, drawers_are="open")
    assert all(isinstance(part, SolidPart) for part in named(shut, "drawer contents"))
    loads = named(opened, "drawer contents")
    assert len(loads) == 4
    assert all(isinstance(part, PorousPart) for part in loads)
    reach = [part.box.centre[1] for part in loads]  # from the lowest drawer up
    assert reach == sorted(reach)
    assert reach[0] == pytest.approx(named(shut, "drawer contents")[0].box.centre[1] - 0.28)


def test_crowded_clothes_hold_more_and_less_air() -> None:
    (loose,) = named(make(Wardrobe), "hanging clothes")
    (crowded,) = named(make(Wardrobe, clothes="crowded"), "hanging clothes")
    assert isinstance(loose, PorousPart)
    assert isinstance(crowded, PorousPart)
    assert crowded.air_fraction < loose.air_fraction
    assert crowded.box == loose.box


def test_packed_clutter_is_heavier_than_loose() -> None:
    loose, packed = make(Clutter), make(Clutter, packing="packed")
    assert mass(stuff(packed)) > 1.5 * mass(stuff(loose))
    own = make(Clutter, air_fraction=0.9, piece_size="30 mm").parts[0]
    assert isinstance(own, PorousPart)
    assert (own.air_fraction, own.piece_size) == (0.9, pytest.approx(0.03))


@pytest.mark.parametrize("kind", (WaterBed, Aquarium))
def test_drained_of_water_it_loses_all_its_water_and_nothing_else(kind: type[Furniture]) -> None:
    full, drained = make(kind), make(kind, state="drained")
    water = [part for part in stuff(full) if part.material is material("water")]
    assert water
    assert all(part.refuge is Refuge.NOWHERE for part in water)
    assert not [part for part in stuff(drained) if part.material is material("water")]
    assert mass(stuff(full)) - mass(stuff(drained)) == pytest.approx(mass(water), rel=1e-9)


def test_books_fill_their_share_of_each_shelf() -> None:
    half, whole = (make(Bookcase, fill=share) for share in (0.5, 1.0))
    assert volume(named(half, "books")) == pytest.approx(0.5 * volume(named(whole, "books")))
    assert not named(make(Bookcase, fill=0.0), "books")


def test_running_refrigerator_heats_the_air_behind_it() -> None:
    (source,) = [p for p in make(Refrigerator).parts if isinstance(p, HeatSource)]
    assert source.power == 150.0
    assert source.box.centre[1] > max(p.box.centre[1] for p in stuff(make(Refrigerator)))
    off = make(Refrigerator, running=False)
    assert not [part for part in off.parts if isinstance(part, HeatSource)]


def test_chairs_come_with_their_table() -> None:
    assert len(named(make(Table, chairs=3), "chair seat")) == 3
    assert not named(make(Table, chairs=0), "chair seat")


def test_closet_reaches_the_ceiling_and_keeps_only_the_walls_it_needs() -> None:
    pieces = make(Closet, side_walls="left")
    assert max(box.centre[2] + box.size[2] / 2 for box in pieces.footprint) == pytest.approx(2.5)
    assert named(pieces, "left wall")
    assert not named(pieces, "right wall")


@pytest.mark.parametrize(
    ("kind", "fields", "limit"),
    (
        (Sprinkler, {}, 38.0),
        (Sprinkler, {"rating": "intermediate"}, 66.0),
        (Sprinkler, {"rating": "high"}, 107.0),
        (SmokeAlarm, {}, 38.0),
        (HeatDetector, {}, 46.0),
        (SensitiveBox, {"contents": "aerosol_cans"}, 50.0),
        (SensitiveBox, {"contents": "medicines"}, 40.0),
    ),
)
def test_watched_things_carry_their_limit(
    kind: type[Furniture], fields: dict[str, Any], limit: float
) -> None:
    (probe,) = make(kind, **fields).probes
    assert probe.limit == limit
    assert probe.basis
    assert not probe.is_thermostat


def test_sprinkler_head_hangs_below_the_ceiling_of_its_room() -> None:
    (probe,) = make(Sprinkler, below_ceiling="100 mm").probes
    assert probe.position == pytest.approx((3.0, 3.0, 2.4))


def test_rugs_and_fire_devices_may_share_their_place() -> None:
    assert Rug.may_overlap
    assert Sprinkler.may_overlap
    assert not Bed.may_overlap


@pytest.mark.parametrize(
    ("kind", "fields", "word"),
    (
        (Bed, {"mattress": "on_edge"}, "bedding"),
        (Bed, {"bedding_hang": "0.5 m"}, "side boards"),
        (Bed, {"width": "0 m"}, "greater than 0"),
        (Bed, {"slats": "5"}, "integer"),
        (Bed, {"mattress": "upright"}, "on_edge"),
        (Bed, {"stuffed_under": 1.5}, "less than or equal to 1"),
        (Sofa, {"width": "0.3 m"}, "no seat"),
        (Dresser, {"drawers": 8, "height": "0.2 m"}, "no room"),
        (Wardrobe, {"height": "1.2 m"}, "too low"),
        (Bookcase, {"book_depth": "0.5 m"}, "book_depth"),
        (Table, {"chairs": 8}, "do not fit"),
        (Sprinkler, {"elevation": "1 m"}, "below_ceiling"),
        (Refrigerator, {"wall": "0.5 m"}, "walls"),
    ),
)
def test_impossible_furniture_is_refused(
    kind: type[Furniture], fields: dict[str, Any], word: str
) -> None:
    with pytest.raises(ValidationError, match=word):
        kind.model_validate({**PLACE, **fields})


# Equipment ----------------------------------------------------------------------------------------

BLOWER = {**PLACE, "turn": "90 deg"}


def test_heater_blows_in_front_and_draws_behind() -> None:
    (jet,) = ElectricHeater.model_validate(BLOWER).compile(ROOM).parts
    assert isinstance(jet, HeatedJet)
    assert jet.intake is not None
    assert jet.direction == (0.0, 1.0, 0.0)
    assert jet.centre[1] > 3.0 > jet.intake.centre[1] + 0.5 * jet.intake.size[1]


def test_heater_never_promises_more_than_its_flow_carries() -> None:
    fields = {**BLOWER, "flow": "0.05 m3/s", "outlet_limit": "80 degC"}
    carried = AIR_VOLUMETRIC_HEAT_CAPACITY * 0.05 * (80.0 - 20.0)
    ElectricHeater.model_validate({**fields, "power": f"{0.999 * carried} W"})
    with pytest.raises(ValidationError, match="more than the flow carries"):
        ElectricHeater.model_validate({**fields, "power": f"{1.001 * carried} W"})


def test_heater_draws_what_it_gives() -> None:
    heater = ElectricHeater.model_validate({**BLOWER, "power": "1.4 kW"})
    (jet,) = heater.compile(ROOM).parts
    assert isinstance(jet, HeatedJet)
    assert jet.power == heater.electrical_power == 1400.0


def test_ducted_air_has_no_intake_and_only_its_blower_draws_power() -> None:
    inlet = HotAirInlet.model_validate({**BLOWER, "blower_power": "600 W"})
    (jet,) = inlet.compile(ROOM).parts
    assert isinstance(jet, HeatedJet)
    assert jet.intake is None
    assert inlet.electrical_power == 600.0


@pytest.mark.parametrize(
    ("turn", "tilt", "expected"),
    (
        ("0 deg", "0 deg", (1.0, 0.0, 0.0)),
        ("90 deg", "0 deg", (0.0, 1.0, 0.0)),
        ("270 deg", "0 deg", (0.0, -1.0, 0.0)),
        ("0 deg", "90 deg", (0.0, 0.0, 1.0)),
        ("180 deg", "-30 deg", (-0.8660254037844386, 0.0, -0.5)),
    ),
)
def test_fan_is_aimed_by_turn_and_tilt(
    turn: str, tilt: str, expected: tuple[float, float, float]
) -> None:
    (fan,) = Fan.model_validate({**PLACE, "turn": turn, "tilt": tilt}).compile(ROOM).parts
    assert isinstance(fan, AirMover)
    assert fan.direction == pytest.approx(expected, abs=1e-15)
    assert fan.centre == pytest.approx((3.0, 3.0, 0.40))


def test_sensor_watches_its_point_and_may_be_the_thermostat() -> None:
    fields = {"name": "s", "room": "room", "at": ["1 m", "2 m", "1.5 m"], "thermostat": True}
    sensor = Sensor.model_validate(fields)
    pieces = sensor.compile(ROOM)
    (probe,) = pieces.probes
    assert probe.position == (1.0, 2.0, 1.5)
    assert probe.is_thermostat
    assert probe.limit is None
    assert not pieces.parts
    assert sensor.electrical_power == 0.0


@pytest.mark.parametrize(
    ("make_it", "word"),
    (
        (lambda: Fan.model_validate({**BLOWER, "height": "0.1 m"}), "floor"),
        (lambda: ElectricHeater.model_validate({**BLOWER, "outlet_height": "0.1 m"}), "floor"),
        (lambda: HotAirInlet.model_validate({**BLOWER, "height": "0.1 m"}), "floor"),
        (lambda: Fan.model_validate({**BLOWER, "flow": "0 m3/s"}), "greater than 0"),
    ),
)
def test_impossible_equipment_is_refused(make_it: Callable[[], object], word: str) -> None:
    with pytest.raises(ValidationError, match=word):
        make_it()
