"""Small invented rooms in which it is known what one place lags for, and three with a mixture."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from builders import ADIABATIC, CLOTH, FOAM, WOOD, box_room, porous, solid, wardrobe

from simulator.case.case import Case
from simulator.case.dwelling import Behind, Construction, Envelope, Layer, Side
from simulator.case.materials import Material
from simulator.case.parts import AirMover, Box, HeatedJet, Part, Refuge, SolidPart, Vector
from simulator.case.treatment import Treatment

SIZE = (2.4, 2.0, 1.6)
CELL = 0.2

#: Gives and takes little heat by radiation.
METAL = Material("test metal", 50.0, 8000.0, 1000.0, 0.05, None, "invented for tests")
CONCRETE = Material("test concrete", 1.7, 2300.0, 900.0, 0.9, None, "invented for tests")

#: Walls that store next to nothing, so that the air is hot at once.
LIGHT_WALL = Envelope(
    Construction("test foam wall", (Layer(FOAM, 0.05),)), Behind("a mirror-image room", None, 0.0)
)
COLD_SLAB = Envelope(
    Construction("test slab", (Layer(CONCRETE, 0.15),)), Behind("ground", 10.0, 0.1)
)
COLD_WALL = Envelope(
    Construction("test outside wall", (Layer(WOOD, 0.02),)), Behind("outdoors", 0.0, 0.1)
)


@dataclass(frozen=True)
class Known:
    """A room, and the hiding place that lags in it: owner and words of its group."""

    case: Case
    owner: str
    words: str


def heater(power: float = 3000.0, diameter: float = 0.4, flow: float = 0.1) -> HeatedJet:
    return HeatedJet(
        owner="heater",
        name="outlet",
        centre=(0.3, 0.3, 0.9),
        direction=(1.0, 0.0, 0.0),
        diameter=diameter,
        flow=flow,
        power=power,
        outlet_limit=90.0,
        intake=Box((0.3, 0.3, 0.3), (0.4, 0.4, 0.4)),
    )


def fan(centre: Vector, direction: Vector, flow: float = 0.5) -> AirMover:
    return AirMover("fan", "fan", centre, direction, 0.4, flow, 20.0)


def room(
    *parts: Part,
    hours: float = 2.0,
    sides: Mapping[Side, Envelope] | None = None,
    size: Vector = SIZE,
) -> Case:
    envelope = dict.fromkeys(Side, LIGHT_WALL) | dict(sides or {})
    return box_room(
        size,
        parts=parts,
        envelope=envelope,
        treatment=Treatment(
            target_temperature=58.0,
            air_limit=80.0,
            thermostat=60.0,
            proportional_band=3.0,
            horizon=hours * 3600.0,
        ),
    )


def plate(
    low: Vector, size: Vector, *, material: Material = METAL, owner: str = "plate"
) -> SolidPart:
    return solid(low, size, owner=owner, name="body", material=material, refuge=Refuge.THROUGHOUT)


def still_air() -> Known:
    """A bare plate in a room without fans, its heater all but silent."""
    board = plate((1.5, 1.1, 0.5), (0.01, 0.4, 0.4))
    return Known(room(heater(4000.0, 0.8, 0.12), board, hours=3.0), "plate", "body, inside")


def thick_block() -> Known:
    """A packed block in the stream of a fan."""
    block = solid((1.2, 0.8, 0.4), (0.4, 0.4, 0.4), material=CLOTH, refuge=Refuge.THROUGHOUT)
    return Known(
        room(heater(), fan((0.5, 1.0, 0.6), (1.0, 0.0, 0.0)), block), "block", "body, inside"
    )


def cold_slab() -> Known:
    """A thin mat on a cold slab."""
    mat = solid(
        (1.0, 0.8, 0.0), (0.8, 0.6, 0.008), owner="mat", material=CLOTH, refuge=Refuge.THROUGHOUT
    )
    parts = (heater(6000.0), fan((0.5, 1.0, 0.5), (1.0, 0.0, 0.0)), mat)
    return Known(room(*parts, sides={Side.FLOOR: COLD_SLAB}), "mat", "body, inside")


def behind_screen() -> Known:
    """A plate that a fan would blow at, were there no screens about it."""
    screens = [
        solid((1.4, 0.5, 0.0), (0.01, 1.0, 1.4), owner="screen", material=FOAM),
        solid((1.4, 0.5, 0.0), (0.8, 0.01, 1.4), owner="screen", material=FOAM),
        solid((1.4, 1.5, 0.0), (0.8, 0.01, 1.4), owner="screen", material=FOAM),
    ]
    board = plate((1.7, 0.99, 0.5), (0.3, 0.01, 0.4))
    blower = fan((0.6, 1.0, 0.7), (1.0, 0.0, 0.0), 1.2)
    parts = (heater(8000.0, flow=0.2), blower, *screens, board)
    return Known(room(*parts, hours=3.0), "plate", "body, inside")


def closed_box() -> Known:
    """A thin plate in a shut box of foam boards."""
    box = [
        solid((1.2, 0.6, 0.2), (0.8, 0.8, 0.03), owner="box", material=FOAM),
        solid((1.2, 0.6, 0.97), (0.8, 0.8, 0.03), owner="box", material=FOAM),
        solid((1.2, 0.6, 0.23), (0.03, 0.8, 0.74), owner="box", material=FOAM),
        solid((1.97, 0.6, 0.23), (0.03, 0.8, 0.74), owner="box", material=FOAM),
        solid((1.23, 0.6, 0.23), (0.74, 0.03, 0.74), owner="box", material=FOAM),
        solid((1.23, 1.37, 0.23), (0.74, 0.03, 0.74), owner="box", material=FOAM),
    ]
    board = plate((1.5, 0.99, 0.45), (0.3, 0.004, 0.3))
    blower = fan((0.5, 1.0, 0.7), (1.0, 0.0, 0.0), 0.9)
    return Known(room(heater(), blower, *box, board), "plate", "body, inside")


def late_heater() -> Known:
    """A thin board in a room whose heater is weak."""
    board = plate((1.5, 0.9, 0.5), (0.01, 0.4, 0.4), material=WOOD)
    parts = (heater(500.0), fan((0.5, 1.0, 0.7), (1.0, 0.0, 0.0)), board)
    return Known(room(*parts, sides=dict.fromkeys(Side, ADIABATIC)), "plate", "body, inside")


#: Each with the cause that it shows.
KNOWN = {
    "air_speed": still_air,
    "heat_store": thick_block,
    "cold_boundary": cold_slab,
    "shading": behind_screen,
    "shut_in": closed_box,
    "late_air": late_heater,
}


def small_room(*parts: Part, sides: Mapping[Side, Envelope], hours: float = 1.2) -> Case:
    """Return a room of 1.6 m by 1.4 m with a heater, in which 64 runs take seconds."""
    jet = replace(heater(1500.0, 0.3, 0.08), centre=(0.2, 0.2, 0.9))
    return room(jet, *parts, sides=sides, hours=hours, size=(1.6, 1.4, 1.2))


def cushion_in_corner() -> Known:
    """A cushion on a cold slab, against an outside wall, aside from the stream of a fan."""
    cushion = solid((0.8, 0.6, 0.0), (0.8, 0.8, 0.1), owner="bed", name="cushion", material=FOAM,
                    refuge=Refuge.THROUGHOUT)  # fmt: skip
    sides = {Side.FLOOR: COLD_SLAB, Side.NORTH: COLD_WALL}
    blower = fan((0.3, 1.1, 0.6), (1.0, 0.0, 0.0), 0.3)
    return Known(small_room(blower, cushion, sides=sides), "bed", "cushion, inside")


def full_closet() -> Known:
    """Clothes in a shut wardrobe that stands against an outside wall."""
    closet = wardrobe((0.9, 0.8, 0.0), (0.6, 0.58, 1.0))
    clothes = porous((0.95, 0.85, 0.1), (0.5, 0.45, 0.6), owner="wardrobe", air_fraction=0.85)
    blower = fan((0.4, 1.0, 0.6), (1.0, 0.0, 0.0), 0.3)
    return Known(
        small_room(blower, *closet, clothes, sides={Side.NORTH: COLD_WALL}), "wardrobe", "clothes"
    )


def pile_behind_chest() -> Known:
    """Loose clothes on a cold slab behind a solid chest; no fan."""
    chest = solid((0.7, 0.8, 0.0), (0.2, 0.6, 0.6), owner="chest", material=WOOD)
    pile = porous((1.1, 0.9, 0.0), (0.4, 0.4, 0.3), air_fraction=0.5, piece_size=0.02)
    return Known(small_room(chest, pile, sides={Side.FLOOR: COLD_SLAB}), "pile", "clothes")


MIXED = {
    "cushion_in_corner": cushion_in_corner,
    "full_closet": full_closet,
    "pile_behind_chest": pile_behind_chest,
}
