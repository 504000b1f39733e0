"""What every kind of furniture and equipment keeps, run over the tuples of kinds."""

import math
import tempfile
from itertools import combinations
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from pydantic import ValidationError

from simulator.case.dwelling import Room
from simulator.case.equipment.exhaust import Exhaust
from simulator.case.equipment.fan import Fan
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Blower, Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.mesh import Mesh
from simulator.case.furniture.overhead import Overhead
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import AXIAL_SHUT_OFF, AirMover, Box, HeatedJet, PorousPart, SolidPart
from simulator.case.pieces import Pieces
from simulator.errors import CaseError
from tests.meshes import box, file_of

ROOM = Room("room", (10.0, 20.0, 3.0), (6.0, 5.0, 2.5), {})

#: Plausible mass of each kind's default piece with its contents [kg]; estimates, by the
#: weights that such pieces are sold or moved at (common practice, no source).
PLAUSIBLE_MASS = {
    "bed": (80.0, 160.0),  # queen: mattress 30 to 45, box spring 25 to 35, frame 30 to 60
    "sofa": (40.0, 80.0),
    "armchair": (18.0, 40.0),
    "dresser": (50.0, 100.0),  # 30 to 50 empty, and clothes
    "nightstand": (12.0, 35.0),
    "wardrobe": (70.0, 150.0),  # 60 to 90 empty, and 20 kg of clothes a metre of rail
    "closet": (100.0, 250.0),  # with its walls and doors
    "bookcase": (90.0, 180.0),  # 25 to 40 empty, and 20 kg a shelf
    "table": (30.0, 70.0),  # 20 to 35, and four chairs of 4 to 7
    "cabinet": (70.0, 160.0),
    "television": (8.0, 20.0),
    "rug": (5.0, 15.0),
    "curtain": (1.5, 6.0),
    "clutter": (12.0, 35.0),  # 0.29 m³ of loose things
    "water_bed": (700.0, 1000.0),  # 0.71 m³ of water in a wooden frame
    "aquarium": (150.0, 230.0),  # 0.14 m³ of water, glass and stand
    "refrigerator": (80.0, 160.0),
    "sensitive_box": (2.0, 12.0),
    "mesh": (6.0, 18.0),  # 0.24 m³, a tenth of it softwood
}

#: A crate of 80 x 60 x 50 cm from a mesh file: 24 kg/m³ of a tenth of softwood.
CRATE = file_of("stl", *box((0, 0, 0), (80, 60, 50)), Path(tempfile.mkdtemp()))

NOT_A_LENGTH = ("turn", "elevation", "limit", "compressor_power", "air_fraction")

EXACT = 1e-9  # [m] round-off of coordinates of some 10 m, far below any thickness


def furniture(kind: type[Furniture], **fields: Any) -> Furniture:
    place = {"name": "piece", "room": "room", "at": ["3 m", "2.5 m"]}
    if issubclass(kind, Mesh):  # it asks for what no mesh file says
        asked = {"file": "crate.stl", "unit": "1 cm", "material": "softwood", "air_fraction": 0.9}
        return kind.model_validate({**place, **asked, **fields}).supplied(CRATE)
    return kind.model_validate({**place, **fields})


def equipment(kind: type[Equipment], **fields: Any) -> Equipment:
    place: dict[str, Any] = {"at": ["3 m", "2.5 m"], "turn": "0 deg"}
    if kind is Exhaust:
        place = {"side": "north", "along": "2 m"}
    elif not issubclass(kind, Blower):
        place = {"at": ["3 m", "2.5 m", "1 m"]}
    return kind.model_validate({"name": "piece", "room": "room", **place, **fields})


def stuff(pieces: Pieces) -> list[SolidPart | PorousPart]:
    return [part for part in pieces.parts if isinstance(part, SolidPart | PorousPart)]


def mass(pieces: Pieces) -> float:
    return sum(
        part.box.volume
        * part.material.density
        * (1.0 - part.air_fraction if isinstance(part, PorousPart) else 1.0)
        for part in stuff(pieces)
    )


def overlap(one: Box, other: Box) -> float:
    """Return the volume that two upright boxes share [m³]."""
    assert one.turn == other.turn == one.tilt == other.tilt == 0.0
    edges = [
        min(c + 0.5 * s, d + 0.5 * t) - max(c - 0.5 * s, d - 0.5 * t)
        for c, s, d, t in zip(one.centre, one.size, other.centre, other.size, strict=True)
    ]
    return math.prod(max(edge, 0.0) for edge in edges)


def is_inside(inner: Box, outer: Box) -> bool:
    return all(
        abs(c - d) + 0.5 * s <= 0.5 * t + EXACT
        for c, s, d, t in zip(inner.centre, inner.size, outer.centre, outer.size, strict=True)
    )


def test_kinds_have_names_of_their_own() -> None:
    names = [kind.model_fields["kind"].default for kind in (*FURNITURE, *EQUIPMENT)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("kind", (*FURNITURE, *EQUIPMENT), ids=lambda kind: kind.__name__)
def test_a_kind_says_what_it_is(kind: type[Furniture] | type[Equipment]) -> None:
    assert kind.__doc__
    assert kind.words
    for name, field in kind.model_fields.items():
        if name == "kind":
            continue
        assert field.description, name
        for choice in get_args(field.annotation) if isinstance(field.default, str) else ():
            assert choice in field.description, f"{name}: '{choice}' is not said to be allowed"


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_defaults_compile_inside_their_claim(kind: type[Furniture]) -> None:
    pieces = furniture(kind).compile(ROOM)
    assert pieces.words == kind.words
    assert pieces.footprint
    assert pieces.parts or pieces.probes
    for part in pieces.parts:
        assert part.owner == "piece"
        box = getattr(part, "box", None)
        assert isinstance(box, Box)
        assert min(box.size) > 0.0
        assert any(is_inside(box, claim) for claim in pieces.footprint), part.name


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_parts_of_one_piece_do_not_overlap(kind: type[Furniture]) -> None:
    boxes = [(part.name, part.box) for part in stuff(furniture(kind).compile(ROOM))]
    for (name, one), (other_name, other) in combinations(boxes, 2):
        assert overlap(one, other) < EXACT, f"{name} and {other_name}"


def stretched(kind: type[Furniture], rng: np.random.Generator) -> dict[str, Any]:
    """Return fields of odd but possible size: every measure stretched, every choice drawn."""
    fields: dict[str, Any] = {}
    for name, info in kind.model_fields.items():
        choices = get_args(info.annotation)
        if isinstance(info.default, bool):
            fields[name] = bool(rng.integers(2))
        elif isinstance(info.default, str) and name != "kind":
            fields[name] = choices[rng.integers(len(choices))]
        elif isinstance(info.default, int):
            fields[name] = int(rng.integers(0, 9))
        elif name in ("fill", "stuffed_under", "water_level"):
            fields[name] = float(rng.choice([0.0, rng.random(), 1.0]))
        elif isinstance(info.default, float) and name not in NOT_A_LENGTH:
            fields[name] = f"{info.default * 2.0 ** rng.uniform(-1.5, 1.5)} m"
    return fields


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_odd_sizes_are_refused_or_fit_together(kind: type[Furniture]) -> None:
    """No measures that are let through make parts overlap or stick out of the claim."""
    rng = np.random.default_rng(2)
    compiled = 0
    for _ in range(80):
        try:
            pieces = furniture(kind, **stretched(kind, rng)).compile(ROOM)
        except (ValidationError, CaseError):
            continue
        compiled += 1
        parts = stuff(pieces)
        for one, other in combinations(parts, 2):
            assert overlap(one.box, other.box) < EXACT, f"{one.name} and {other.name}"
        for part in parts:
            assert any(is_inside(part.box, claim) for claim in pieces.footprint), part.name
    assert compiled >= 3


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_default_piece_weighs_what_such_pieces_weigh(kind: type[Furniture]) -> None:
    total = mass(furniture(kind).compile(ROOM))
    if issubclass(kind, Overhead):
        assert total == 0.0
        return
    low, high = PLAUSIBLE_MASS[kind.model_fields["kind"].default]
    assert low <= total <= high


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_a_piece_stands_on_the_floor_or_hangs_below_the_ceiling(kind: type[Furniture]) -> None:
    pieces = furniture(kind).compile(ROOM)
    floor, ceiling = ROOM.low[2], ROOM.high[2]
    lows = [box.centre[2] - 0.5 * box.size[2] for box in pieces.footprint]
    highs = [box.centre[2] + 0.5 * box.size[2] for box in pieces.footprint]
    assert max(highs) <= ceiling + EXACT
    if issubclass(kind, Overhead):
        assert min(lows) > floor + 0.5 * (ceiling - floor)
    else:
        assert min(lows) == pytest.approx(floor, abs=EXACT)


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_the_claim_is_centred_where_the_piece_is_put(kind: type[Furniture]) -> None:
    """``at`` is the middle of the footprint, also after a quarter turn."""
    for turn in ("0 deg", "90 deg"):
        boxes = furniture(kind, turn=turn).compile(ROOM).footprint
        for axis, middle in ((0, ROOM.low[0] + 3.0), (1, ROOM.low[1] + 2.5)):
            low = min(box.centre[axis] - 0.5 * box.size[axis] for box in boxes)
            high = max(box.centre[axis] + 0.5 * box.size[axis] for box in boxes)
            assert 0.5 * (low + high) == pytest.approx(middle, abs=EXACT)


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("turn", ("90 deg", "180 deg", "-90 deg", "37 deg"))
def test_turning_keeps_mass_and_probes(kind: type[Furniture], turn: str) -> None:
    straight, turned = (furniture(kind, turn=t).compile(ROOM) for t in ("0 deg", turn))
    assert mass(turned) == pytest.approx(mass(straight), rel=1e-12)
    assert len(turned.probes) == len(straight.probes)


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_a_full_turn_by_quarters_comes_back_exactly(kind: type[Furniture]) -> None:
    assert furniture(kind, turn="360 deg").compile(ROOM) == furniture(kind).compile(ROOM)


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_limits_come_with_their_basis(kind: type[Furniture]) -> None:
    for probe in furniture(kind).compile(ROOM).probes:
        assert probe.limit is not None or (probe.hazard and probe.hazard.never_stays)
        assert probe.basis


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_elevation_lifts_the_whole_piece(kind: type[Furniture]) -> None:
    if issubclass(kind, Overhead) or kind.model_fields["kind"].default == "closet":
        return  # they hang from the ceiling or reach up to it
    standing = furniture(kind).compile(ROOM)
    lifted = furniture(kind, elevation="100 mm").compile(ROOM)
    for one, other in zip(stuff(standing), stuff(lifted), strict=True):
        assert other.box.centre[2] - one.box.centre[2] == pytest.approx(0.1, abs=EXACT)


@pytest.mark.parametrize("kind", EQUIPMENT, ids=lambda kind: kind.__name__)
def test_equipment_compiles_with_its_power(kind: type[Equipment]) -> None:
    piece = equipment(kind)
    pieces = piece.compile(ROOM)
    assert pieces.parts or pieces.probes
    assert piece.electrical_power >= 0.0
    for part in pieces.parts:
        if isinstance(part, AirMover):
            assert part.power == piece.electrical_power > 0.0
        if isinstance(part, HeatedJet):
            assert part.power > 0.0
            assert part.outlet_limit > 40.0


def test_a_fan_takes_its_shut_off_pressure_from_its_data_sheet() -> None:
    """0.5 * 1.2 kg/m³ * (1.0 m³/s / 0.196 m²)² = 15.56 Pa is the dynamic pressure of its blow."""
    (usual,) = equipment(Fan).compile(ROOM).parts
    (stiff,) = equipment(Fan, shut_off_pressure="0.625 inH2O").compile(ROOM).parts
    assert isinstance(usual, AirMover)
    assert isinstance(stiff, AirMover)
    assert usual.shut_off == AXIAL_SHUT_OFF
    assert stiff.shut_off == pytest.approx(0.625 * 249.09 / 15.56, rel=1e-3)


@pytest.mark.parametrize("kind", EQUIPMENT, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize(
    ("turn", "direction"), (("0 deg", (1, 0)), ("90 deg", (0, 1)), ("180 deg", (-1, 0)))
)
def test_blowers_blow_along_their_compass_aim(
    kind: type[Equipment], turn: str, direction: tuple[int, int]
) -> None:
    if not issubclass(kind, Blower):
        return
    level = equipment(kind, turn=turn).compile(ROOM).parts[0]
    raised = equipment(kind, turn=turn, tilt="30 deg").compile(ROOM).parts[0]
    assert isinstance(level, AirMover | HeatedJet)
    assert isinstance(raised, AirMover | HeatedJet)
    assert level.direction == (*direction, 0.0)
    assert math.hypot(*raised.direction) == pytest.approx(1.0, rel=1e-12)
    assert raised.direction[2] == pytest.approx(0.5, rel=1e-12)


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_advice_names_the_piece_and_following_it_ends_it(kind: type[Furniture]) -> None:
    for given in furniture(kind).advice(ROOM):
        assert given.words.startswith("piece")
        assert given.reason
        if given.changes:
            assert not given.removes
            after = furniture(kind, **given.changes).advice(ROOM)
            assert given.key not in {other.key for other in after}


#: What a crew or an occupant can set before the heat, and how it is found.
SETTINGS = {
    "drawers_are": "shut",
    "doors": "shut",
    "cushions_are": "in_place",
    "drawn": "shut",
    "state": "full",
    "bedding": "made",
    "mattress": "flat",
    "stuffed_under": 1.0,
    "packing": "packed",
    "clothes": "crowded",
    "running": True,
}


@pytest.mark.parametrize("kind", FURNITURE, ids=lambda kind: kind.__name__)
def test_every_preparation_setting_of_a_kind_has_its_advice(kind: type[Furniture]) -> None:
    settings = {key: value for key, value in SETTINGS.items() if key in kind.model_fields}
    advice = furniture(kind, **settings).advice(ROOM)
    assert {key for given in advice for key in given.changes} >= set(settings)


def test_a_piece_against_a_wall_is_to_be_pulled_off() -> None:
    near = furniture(kinds_by_name()["dresser"], at=["3 m", "0.23 m"], turn="180 deg")
    assert "off the wall" in {given.key for given in near.advice(ROOM)}
    far = furniture(kinds_by_name()["dresser"], at=["3 m", "0.60 m"], turn="180 deg")
    assert "off the wall" not in {given.key for given in far.advice(ROOM)}


def kinds_by_name() -> dict[str, type[Furniture]]:
    return {str(kind.model_fields["kind"].default): kind for kind in FURNITURE}
