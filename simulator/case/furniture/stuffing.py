"""The effective materials of furniture: what a mattress, a cushion, a row of books is on average.

Shares are by volume. All of them are estimates, chosen so that the default pieces weigh what such
pieces weigh (the ranges stand in ``tests/contracts/test_kinds.py``); none is measured. The air is
of three kinds: ``PORE_AIR`` between fibres and sheets, ``SMALL_HOLLOWS`` of a few centimetres, and
``STILL_AIR`` of hollows as wide as a hand, which carry more heat by convection and radiation.
"""

from simulator.case.materials import Material, air_layer, material, mix, series_mean

SOFTWOOD = material("softwood")
HARDWOOD = material("hardwood")
PLYWOOD = material("plywood")
PARTICLEBOARD = material("particleboard")
FIBREBOARD = material("mdf")
GYPSUM_BOARD = material("gypsum_board")
STEEL = material("steel")
GLASS = material("glass")
PLASTIC = material("plastic")
VINYL = material("pvc")
FOAM = material("foam")
RIGID_FOAM = material("rigid_foam")
TEXTILE = material("textile")
COTTON_LOOSE = material("cotton_loose")
CARPET = material("carpet")
PAPER = material("paper")
WATER = material("water")
PORE_AIR = material("pore_air")
SMALL_HOLLOWS = air_layer(0.025)
STILL_AIR = material("still_air")


def household_goods(name: str, cloth: float, paper: float, plastic: float) -> Material:
    """Return a mix of household goods by volume shares; the rest is air inside the pieces."""
    rest = 1.0 - cloth - paper - plastic
    return mix(name, {TEXTILE: cloth, PAPER: paper, PLASTIC: plastic, SMALL_HOLLOWS: rest})


# Beds ---------------------------------------------------------------------------------------------

#: Core of foam with a quilted cover.
MATTRESS = mix("mattress", {FOAM: 0.95, TEXTILE: 0.05})
#: Sheets, blanket and quilt lying flat.
BEDDING = COTTON_LOOSE
#: A pillow weighs about 1 kg.
PILLOW = mix("pillow", {COTTON_LOOSE: 0.35, PORE_AIR: 0.65})
#: Ticking, wadding and card over the springs.
BOX_SPRING_TOP = mix("box spring top", {TEXTILE: 0.4, PAPER: 0.05, PORE_AIR: 0.55})
#: Springs, their wires and the border of wood, in air.
BOX_SPRING_INSIDE = mix("box spring inside", {STEEL: 0.003, SOFTWOOD: 0.015, STILL_AIR: 0.982})
#: The wooden grid with the dust cover stapled under it.
BOX_SPRING_BOTTOM = mix("box spring bottom", {SOFTWOOD: 0.33, TEXTILE: 0.04, SMALL_HOLLOWS: 0.63})

# Seats --------------------------------------------------------------------------------------------

#: Foam in a woven cover.
CUSHION = mix("seat cushion", {FOAM: 0.92, TEXTILE: 0.08})
#: Frame, springs and webbing under the seat, cloth in front and beneath.
SEAT_BASE = mix(
    "seat base", {SOFTWOOD: 0.08, STEEL: 0.002, TEXTILE: 0.03, FOAM: 0.05, STILL_AIR: 0.838}
)
#: Upholstered back: foam over a frame.
SEAT_BACK = mix("seat back", {FOAM: 0.70, SOFTWOOD: 0.07, TEXTILE: 0.06, SMALL_HOLLOWS: 0.17})
#: Upholstered arm: a boxed frame with little foam.
SEAT_ARM = mix("seat arm", {SOFTWOOD: 0.10, FOAM: 0.25, TEXTILE: 0.06, STILL_AIR: 0.59})
#: Seat of a chair: padding on plywood.
CHAIR_SEAT = mix("chair seat", {PLYWOOD: 0.25, FOAM: 0.65, TEXTILE: 0.10})

# Contents -----------------------------------------------------------------------------------------

#: Books upright in a row: paper with a little air between the leaves.
BOOKS = mix("books", {PAPER: 0.75, PORE_AIR: 0.25})
#: What lies about in a home, piece by piece: 0.4 of its volume is air inside boxes, bags, toys.
HOUSEHOLD_GOODS = household_goods("household goods", cloth=0.40, paper=0.15, plastic=0.05)
#: Papers, magazines, mail.
PAPER_GOODS = mix("stacked paper", {PAPER: 0.80, PORE_AIR: 0.20})
#: Plates, tins, jars and packets: an eighth of the volume counts as glass.
KITCHEN_GOODS = mix("kitchen goods", {GLASS: 0.12, PAPER: 0.10, PLASTIC: 0.05, SMALL_HOLLOWS: 0.73})
#: The inside of a refrigerator with food: a tenth of it counts as water.
FOOD = mix("refrigerator inside", {WATER: 0.10, PLASTIC: 0.03, STILL_AIR: 0.87})

# Shells -------------------------------------------------------------------------------------------

#: Foamed wall of a refrigerator between steel outside and plastic inside; layers across the heat.
REFRIGERATOR_WALL = mix(
    "refrigerator wall", {RIGID_FOAM: 0.94, STEEL: 0.01, PLASTIC: 0.05}, series_mean
)
#: Flat television: screen, boards and housing around air.
TELEVISION = mix("television", {PLASTIC: 0.15, GLASS: 0.05, STEEL: 0.01, SMALL_HOLLOWS: 0.79})
#: Hollow-core door: two skins on a paper honeycomb; layers across the heat.
HOLLOW_DOOR = mix("hollow-core door", {FIBREBOARD: 0.25, SMALL_HOLLOWS: 0.75}, series_mean)
#: Wall of a built-in closet: gypsum board on both sides of a stud cavity; layers across the heat.
STUD_WALL = mix("stud wall", {GYPSUM_BOARD: 0.25, air_layer(0.075): 0.75}, series_mean)
#: Cloth hanging in folds. estimate: 0.35 kg/m² of cloth, gathered to half its width, in 5 cm.
CURTAIN_CLOTH = 0.08  # share of the folds' volume that is cloth [-]
CURTAIN_FOLDS = mix("curtain", {TEXTILE: CURTAIN_CLOTH, SMALL_HOLLOWS: 1.0 - CURTAIN_CLOTH})
