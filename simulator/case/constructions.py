"""Ready constructions that a dwelling file can name without describing their layers.

The build-ups are common practice, no source; the materials carry their own. Studs, joists and
fasteners are not in them, so a framed wall loses somewhat more than this through its studs.
"""

from collections.abc import Mapping

from simulator.case.dwelling import Construction, Layer
from simulator.case.materials import MATERIALS, Material, air_layer, material

#: Name -> (material, thickness [m]) from the room side outwards; "still_air" is an air layer.
_BUILD_UPS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "frame_wall": (("gypsum_board", 0.0127), ("mineral_wool", 0.089), ("osb", 0.011)),
    "brick_wall": (("gypsum_plaster", 0.013), ("brick", 0.215)),
    "insulated_brick_wall": (
        ("gypsum_plaster", 0.013),
        ("brick", 0.10),
        ("mineral_wool", 0.075),
        ("brick", 0.10),
    ),
    "concrete_wall": (("gypsum_plaster", 0.010), ("reinforced_concrete", 0.18)),
    "interior_wall": (("gypsum_board", 0.0127), ("still_air", 0.089), ("gypsum_board", 0.0127)),
    "wood_floor": (
        ("hardwood", 0.019),
        ("plywood", 0.019),
        ("still_air", 0.235),
        ("gypsum_board", 0.0127),
    ),
    "carpeted_wood_floor": (
        ("carpet", 0.008),
        ("underlay", 0.008),
        ("plywood", 0.019),
        ("still_air", 0.235),
        ("gypsum_board", 0.0127),
    ),
    "concrete_floor": (("linoleum", 0.003), ("screed", 0.05), ("reinforced_concrete", 0.18)),
    "carpeted_concrete_floor": (
        ("carpet", 0.008),
        ("underlay", 0.008),
        ("screed", 0.05),
        ("reinforced_concrete", 0.18),
    ),
    "slab_on_ground": (("linoleum", 0.003), ("concrete", 0.10), ("soil", 0.50)),
    "carpeted_slab_on_ground": (
        ("carpet", 0.008),
        ("underlay", 0.008),
        ("concrete", 0.10),
        ("soil", 0.50),
    ),
    "wood_ceiling": (
        ("gypsum_board", 0.0127),
        ("still_air", 0.235),
        ("plywood", 0.019),
        ("hardwood", 0.019),
    ),
    "attic_ceiling": (("gypsum_board", 0.0127), ("mineral_wool", 0.20)),
    "concrete_ceiling": (("gypsum_plaster", 0.010), ("reinforced_concrete", 0.18)),
    "single_glazing": (("glass", 0.004),),
    "double_glazing": (("glass", 0.004), ("still_air", 0.016), ("glass", 0.004)),
    "boarded_single_glazing": (("rigid_foam", 0.025), ("glass", 0.004)),
    "boarded_double_glazing": (
        ("rigid_foam", 0.025),
        ("glass", 0.004),
        ("still_air", 0.016),
        ("glass", 0.004),
    ),
    "wood_door": (("softwood", 0.04),),
}


def layer(name: str, thickness: float, known: Mapping[str, Material] = MATERIALS) -> Layer:
    """Return a layer [m]; one of still air gets the resistance of an air layer so thick."""
    if name == "still_air":
        return Layer(air_layer(thickness), thickness)
    return Layer(material(name, known), thickness)


#: Every construction that a dwelling file can name without describing it.
CONSTRUCTIONS: Mapping[str, Construction] = {
    name: Construction(name, tuple(layer(stuff, thickness) for stuff, thickness in layers))
    for name, layers in _BUILD_UPS.items()
}
