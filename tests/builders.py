"""Small dwellings for tests, built straight from the dataclasses: no case file is read."""

import math
from collections.abc import Mapping, Sequence

from simulator.case.case import Case
from simulator.case.dwelling import (
    Behind,
    Construction,
    Doorway,
    Dwelling,
    Envelope,
    Layer,
    Leakage,
    Room,
    Side,
    WallSocket,
    Window,
)
from simulator.case.materials import Material
from simulator.case.parts import Box, Part, PorousPart, Probe, Refuge, SolidPart, Vector
from simulator.case.treatment import Treatment

SOURCE = "invented for tests"
#                   name       k     rho     c       eps   harm
WOOD = Material("test wood", 0.13, 500.0, 1600.0, 0.90, None, SOURCE)
FOAM = Material("test foam", 0.04, 30.0, 1400.0, 0.90, None, SOURCE)
CLOTH = Material("test cloth", 0.06, 250.0, 1300.0, 0.85, None, SOURCE)
PLASTER = Material("test plaster", 0.25, 900.0, 1000.0, 0.92, None, SOURCE)
GLASS = Material("test glass", 1.0, 2500.0, 800.0, 0.84, None, SOURCE)

PLASTERBOARD = Construction("test plasterboard", (Layer(PLASTER, 0.0125), Layer(WOOD, 0.05)))
PANE = Construction("test pane", (Layer(GLASS, 0.004),))
PARTITION = Construction("test partition", (Layer(PLASTER, 0.0125), Layer(PLASTER, 0.0125)))

ADIABATIC = Envelope(PLASTERBOARD, Behind("a mirror-image room", None, 0.0))
OUTDOOR_WALL = Envelope(PLASTERBOARD, Behind("outdoors", 5.0, 0.04))
OUTDOOR_WINDOW = Envelope(PANE, Behind("outdoors", 5.0, 0.04))

NO_TREATMENT = Treatment(
    target_temperature=50.0,
    air_limit=70.0,
    thermostat=60.0,
    proportional_band=5.0,
    horizon=6 * 3600.0,
)


def box_room(
    size: Vector,
    *,
    low: Vector = (0.0, 0.0, 0.0),
    parts: Sequence[Part] = (),
    probes: Sequence[Probe] = (),
    air_changes: float = 0.0,
    leakage_sides: Sequence[Side] = (Side.WEST,),
    envelope: Envelope | Mapping[Side, Envelope] = ADIABATIC,
    windows: Sequence[Window] = (),
    sockets: Sequence[WallSocket] = (),
    start_temperature: float = 20.0,
    outdoor_temperature: float = 5.0,
    treatment: Treatment = NO_TREATMENT,
    furniture_words: Mapping[str, str] | None = None,
) -> Case:
    """Return one room called "room"; ``air_changes`` in 1/h; ``envelope``: one, or one a side."""
    room = Room("room", low, size, _by_side(envelope))
    flow = air_changes * size[0] * size[1] * size[2] / 3600.0
    dwelling = Dwelling(
        name="test dwelling",
        rooms=(room,),
        partition=PARTITION,
        doorways=(),
        windows=tuple(windows),
        sockets=tuple(sockets),
        leakage=(Leakage("room", flow, tuple(leakage_sides)),) if flow > 0.0 else (),
        start_temperature=start_temperature,
        outdoor_temperature=outdoor_temperature,
    )
    return _case(dwelling, parts, probes, treatment, furniture_words)


def two_rooms(
    size: Vector = (3.0, 3.0, 2.4),
    *,
    gap: float = 0.1,
    doorway: tuple[float, float, float] | None = (1.0, 0.8, 2.0),
    is_open: bool = True,
    parts: Sequence[Part] = (),
    probes: Sequence[Probe] = (),
    envelope: Envelope | Mapping[Side, Envelope] = ADIABATIC,
    leakage: Sequence[Leakage] = (),
    sockets: Sequence[WallSocket] = (),
    start_temperature: float = 20.0,
    outdoor_temperature: float = 5.0,
    treatment: Treatment = NO_TREATMENT,
    furniture_words: Mapping[str, str] | None = None,
) -> Case:
    """Return two equal rooms, "west" and "east", with a partition ``gap`` [m] between them.

    ``doorway`` is (y of its south jamb, width, height) [m], or None for no doorway.
    """
    east_low = (size[0] + gap, 0.0, 0.0)
    rooms = (
        Room("west", (0.0, 0.0, 0.0), size, _by_side(envelope)),
        Room("east", east_low, size, _by_side(envelope)),
    )
    doorways: tuple[Doorway, ...] = ()
    if doorway is not None:
        start, width, height = doorway
        low, high = (size[0], start, 0.0), (size[0] + gap, start + width, height)
        doorways = (Doorway("door", ("west", "east"), low, high, is_open),)
    dwelling = Dwelling(
        name="test dwelling",
        rooms=rooms,
        partition=PARTITION,
        doorways=doorways,
        windows=(),
        sockets=tuple(sockets),
        leakage=tuple(leakage),
        start_temperature=start_temperature,
        outdoor_temperature=outdoor_temperature,
    )
    return _case(dwelling, parts, probes, treatment, furniture_words)


def solid(
    low: Vector,
    size: Vector,
    *,
    owner: str = "block",
    name: str = "body",
    material: Material = WOOD,
    refuge: Refuge = Refuge.NOWHERE,
    turn: float = 0.0,
    tilt: float = 0.0,
) -> SolidPart:
    """Return a solid box from its low corner (before turning) and size [m]."""
    return SolidPart(owner, name, _box(low, size, turn, tilt), material, refuge)


def porous(
    low: Vector,
    size: Vector,
    *,
    owner: str = "pile",
    name: str = "clothes",
    material: Material = CLOTH,
    air_fraction: float = 0.8,
    piece_size: float = 0.03,
    refuge: Refuge = Refuge.THROUGHOUT,
    turn: float = 0.0,
) -> PorousPart:
    """Return a box of loose stuff from its low corner (before turning) and size [m]."""
    box = _box(low, size, turn, 0.0)
    return PorousPart(owner, name, box, material, air_fraction, piece_size, refuge)


def wardrobe(
    low: Vector,
    size: Vector,
    *,
    board: float = 0.02,
    turn: float = 0.0,
    leave_out: Sequence[str] = (),
) -> list[SolidPart]:
    """Return six boards of a box, butt-jointed, turned about the middle of the box."""
    w, d, h = size
    t = board
    boards = {
        "bottom": ((0, 0, t / 2), (w, d, t)),
        "top": ((0, 0, h - t / 2), (w, d, t)),
        "left": ((-(w - t) / 2, 0, h / 2), (t, d, h - 2 * t)),
        "right": ((+(w - t) / 2, 0, h / 2), (t, d, h - 2 * t)),
        "back": ((0, +(d - t) / 2, h / 2), (w - 2 * t, t, h - 2 * t)),
        "door": ((0, -(d - t) / 2, h / 2), (w - 2 * t, t, h - 2 * t)),
    }
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    middle = (low[0] + w / 2, low[1] + d / 2, low[2])
    return [
        SolidPart(
            "wardrobe",
            name,
            Box(
                (
                    middle[0] + cosine * at[0] - sine * at[1],
                    middle[1] + sine * at[0] + cosine * at[1],
                    middle[2] + at[2],
                ),
                box_size,
                turn,
            ),
            WOOD,
            Refuge.NOWHERE,
        )
        for name, (at, box_size) in boards.items()
        if name not in leave_out
    ]


def _box(low: Vector, size: Vector, turn: float, tilt: float) -> Box:
    x, y, z = (low[axis] + 0.5 * size[axis] for axis in range(3))
    return Box((x, y, z), size, turn, tilt)


def _by_side(envelope: Envelope | Mapping[Side, Envelope]) -> Mapping[Side, Envelope]:
    if isinstance(envelope, Envelope):
        return dict.fromkeys(Side, envelope)
    return {side: envelope.get(side, ADIABATIC) for side in Side}


def _case(
    dwelling: Dwelling,
    parts: Sequence[Part],
    probes: Sequence[Probe],
    treatment: Treatment,
    furniture_words: Mapping[str, str] | None,
) -> Case:
    return Case(
        title="test case",
        preparation="as found",
        layout="test layout",
        dwelling=dwelling,
        parts=tuple(parts),
        probes=tuple(probes),
        circuits=(),
        treatment=treatment,
        furniture_words=dict(furniture_words or {}),
        sources={},
    )
