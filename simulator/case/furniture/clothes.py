"""Clothes on a rail, and the heap on the floor below them: what wardrobe and closet hold."""

from simulator.case.advice import Advice, thin_out
from simulator.case.furniture import stuffing
from simulator.case.parts import Vector
from simulator.case.workbench import Workbench

#: Depth that hanging clothes take, shoulder to shoulder [m] (estimate: a hanger is 17 in wide).
HANGING_DEPTH = 0.50
#: Length of hanging clothes, rail to hem [m] (estimate: shirts to coats).
HANGING_LENGTH = 1.10
#: Distance between garments, which sets how air finds its way between them [m] (estimate).
GARMENT = 0.02
#: Air share of clothes on a rail [-]. estimate: a rail of 1 m holds about 20 kg, that is 36 kg/m³.
HANGING_AIR = 0.82
#: The same pushed together on an overfull rail.
CROWDED_AIR = 0.65
#: Air share and piece size of shoes, bags and folded things heaped on a closet floor (estimate).
HEAP_AIR, HEAP_PIECE = 0.65, 0.12

#: A heap higher than this is cleared before the day [m] (estimate: a layer of shoes is lower).
HIGHEST_HEAP = 0.20


def clothes_advice(name: str, clothes: str, heap_height: float) -> list[Advice]:
    """Return what is yet to be done to a rail and the heap [m] below it."""
    found = []
    if clothes == "crowded":
        what = "take out clothes until those on the rail hang apart; wash or tumble them hot"
        found.append(thin_out(name, "clothes", what, {"clothes": "loose"}))
    if heap_height > HIGHEST_HEAP:
        what = "clear the heap on its floor; wash or tumble hot what bears it"
        found.append(thin_out(name, "heap", what, {"heap_height": "0 m"}))
    return found


def hang_clothes(
    bench: Workbench, low: Vector, high: Vector, fill: float, *, is_crowded: bool
) -> None:
    """Hang clothes between two corners [m], over a share ``fill`` of the rail from its left end."""
    if fill == 0.0:
        return
    east = low[0] + fill * (high[0] - low[0])
    bench.porous(
        "hanging clothes",
        low,
        (east, high[1], high[2]),
        stuffing.TEXTILE,
        air_fraction=CROWDED_AIR if is_crowded else HANGING_AIR,
        piece_size=GARMENT,
    )


def heap(bench: Workbench, name: str, low: Vector, high: Vector) -> None:
    """Heap shoes, bags and folded things between two corners [m]."""
    bench.porous(
        name, low, high, stuffing.HOUSEHOLD_GOODS, air_fraction=HEAP_AIR, piece_size=HEAP_PIECE
    )
