"""What things are made of, each row with its source, and how loose mixes are averaged.

Standing of the sources: "EN 12524:2000" and "CIBSE Guide A" are design values as reprinted in open
material tables (the standards themselves were not read); "from memory" is not confirmed; "estimate"
says why. Emissivities are from memory (handbook values for ordinary finishes): 0.90 for everything
but bare metal.
"""

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from simulator.constants import AIR_CONDUCTIVITY, AIR_DENSITY, AIR_HEAT_CAPACITY
from simulator.errors import CaseError


@dataclass(frozen=True, slots=True)
class Material:
    """A homogeneous (or effective) material.

    Attributes
    ----------
    name : unique name used in case files.
    conductivity : k [W/(m K)].
    density : ρ [kg/m³].
    heat_capacity : c [J/(kg K)].
    emissivity : long-wave emissivity ε [-].
    harm_temperature : temperature at which it comes to harm [°C], or None.
    source : where the numbers come from, with standing.
    """

    name: str
    conductivity: float
    density: float
    heat_capacity: float
    emissivity: float
    harm_temperature: float | None
    source: str

    @property
    def volumetric_heat_capacity(self) -> float:
        """ρ c [J/(m³ K)]."""
        return self.density * self.heat_capacity


_EN = "EN 12524:2000"
_CIBSE = "CIBSE Guide A"
_AIR_LAYER_RESISTANCE = (
    0.18  # [m² K/W] ISO 6946, unventilated layer of 25 to 300 mm, horizontal flow
)

#: Resistance of a thin unventilated air layer, (thickness [m], [m² K/W]), horizontal heat flow.
#: ISO 6946 Table 2 (0.18 from 25 mm as in open reprints; the thinner rows from memory).
_AIR_LAYERS = (
    (0.0, 0.0),
    (0.005, 0.11),
    (0.007, 0.13),
    (0.010, 0.15),
    (0.015, 0.17),
    (0.025, _AIR_LAYER_RESISTANCE),
)

#: Depth of the shut space that ``still_air`` stands for [m]; estimate: a drawer, a stud cavity, a
#: box spring are 0.08 to 0.2 m deep.
_STILL_AIR_DEPTH = 0.10


def _still_air() -> Material:
    return Material(
        "still_air",
        _STILL_AIR_DEPTH / _AIR_LAYER_RESISTANCE,
        AIR_DENSITY,
        AIR_HEAT_CAPACITY,
        0.90,
        None,
        "ISO 6946: R = 0.18 m² K/W across an unventilated layer of 25 to 300 mm, here of 100 mm, so"
        " k = 0.56 with the layer's own convection and radiation; not for pores: use pore_air",
    )


_ROWS = (
    # name, k [W/(m K)], rho [kg/m3], c [J/(kg K)], emissivity, harm [°C], source
    Material("softwood", 0.13, 500.0, 1600.0, 0.90, None, f"{_EN}, timber"),
    Material("hardwood", 0.18, 700.0, 1600.0, 0.90, None, f"{_EN}, timber"),
    Material("plywood", 0.13, 500.0, 1600.0, 0.90, None, f"{_EN}, plywood 500 kg/m³"),
    Material(
        "particleboard", 0.14, 600.0, 1700.0, 0.90, 60.0,
        f"{_EN}, particleboard 600 kg/m³; harm: EVA edge glue above 60 °C, read at second hand",
    ),
    Material("mdf", 0.14, 600.0, 1700.0, 0.90, None, f"{_EN}, fibreboard 600 kg/m³"),
    Material("osb", 0.13, 650.0, 1700.0, 0.90, None, f"{_EN}, OSB"),
    Material("gypsum_board", 0.25, 900.0, 1000.0, 0.90, None, f"{_EN}, gypsum plasterboard"),
    Material("gypsum_plaster", 0.40, 1000.0, 1000.0, 0.90, None, f"{_EN}, gypsum plastering"),
    Material("lime_render", 0.80, 1600.0, 1000.0, 0.90, None, f"{_EN}, lime-sand render"),
    Material("concrete", 1.65, 2200.0, 1000.0, 0.90, None, f"{_EN}, concrete 2200 kg/m³"),
    Material("light_concrete", 1.15, 1800.0, 1000.0, 0.90, None, f"{_EN}, concrete 1800 kg/m³"),
    Material("reinforced_concrete", 2.3, 2300.0, 1000.0, 0.90, None, f"{_EN}, with 1 % of steel"),
    Material(
        "screed", 1.35, 2000.0, 1000.0, 0.90, None,
        f"{_EN}, concrete 2000 kg/m³; estimate: a cement screed is taken as that concrete",
    ),
    Material(
        "brick", 0.75, 1750.0, 900.0, 0.90, None,
        "typical design values 0.7 to 0.8, 1700 to 1800, 800 to 1000 (open tables, second hand)",
    ),
    Material(
        "soil", 2.0, 2000.0, 1000.0, 0.90, None,
        "ISO 13370, sand or gravel: k = 2.0, ρc = 2.0 MJ/(m³ K) (from memory)",
    ),
    Material("mineral_wool", 0.040, 30.0, 1030.0, 0.90, None, "ISO 10456 (c), k and ρ open tables"),
    Material("eps", 0.038, 20.0, 1450.0, 0.90, None, "open table: k 0.035 to 0.040 (second hand)"),
    Material("glass", 1.0, 2500.0, 750.0, 0.84, None, f"{_EN}, soda-lime; emissivity from memory"),
    Material("steel", 50.0, 7800.0, 450.0, 0.90, None, f"{_EN}; emissivity of a painted surface"),
    Material("stainless_steel", 17.0, 7900.0, 460.0, 0.20, None, f"{_EN}; emissivity from memory"),
    Material("aluminium", 160.0, 2800.0, 880.0, 0.10, None, f"{_EN}; emissivity from memory"),
    Material("copper", 380.0, 8900.0, 380.0, 0.10, None, f"{_EN}; emissivity from memory"),
    Material(
        "pvc", 0.17, 1390.0, 900.0, 0.90, 60.0,
        f"{_EN}; harm: vinyl softens from about 60 °C, read at second hand",
    ),
    Material(
        "vinyl_floor", 0.25, 1700.0, 1400.0, 0.90, 60.0,
        f"{_EN}, plastic floor; harm: vinyl softens from about 60 °C, read at second hand",
    ),
    Material("plastic", 0.22, 910.0, 1800.0, 0.90, None, f"{_EN}, polypropylene, for housings"),
    Material("rubber", 0.17, 1200.0, 1400.0, 0.90, None, f"{_EN}, rubber floor"),
    Material("carpet", 0.06, 200.0, 1300.0, 0.90, None, f"{_EN}, carpet"),
    Material("underlay", 0.10, 270.0, 1400.0, 0.90, None, f"{_EN}, underlay of rubber foam"),
    Material("linoleum", 0.17, 1200.0, 1400.0, 0.90, None, f"{_EN}, linoleum"),
    Material("ceramic_tile", 1.3, 2300.0, 840.0, 0.90, None, f"{_EN}, ceramic tile"),
    Material(
        "foam", 0.040, 35.0, 1400.0, 0.90, None,
        "estimate: flexible upholstery foam 25 to 50 kg/m³, k 0.035 to 0.05 (from memory)",
    ),
    Material("rigid_foam", 0.028, 30.0, 1470.0, 0.90, None, f"{_CIBSE}, polyurethane board"),
    Material(
        "textile", 0.06, 200.0, 1300.0, 0.90, None,
        "estimate: packed cotton or polyester, 150 to 250 kg/m³, k 0.05 to 0.07 (from memory)",
    ),
    Material("cotton_loose", 0.06, 80.0, 1300.0, 0.90, None, "handbook row of cotton, from memory"),
    Material(
        "fibre", 0.20, 1500.0, 1300.0, 0.90, None,
        "estimate: the solid stuff of cotton and paper, cellulose about 1500 kg/m³ (from memory)",
    ),
    Material("paper", 0.18, 930.0, 1340.0, 0.90, None, "handbook row for books, from memory"),
    Material("cardboard", 0.072, 480.0, 1380.0, 0.90, None, "ASHRAE, paperboard, as reprinted"),
    Material(
        "leather", 0.16, 1000.0, 1500.0, 0.90, None,
        "handbook k 0.159 and ρ 998 (from memory); c estimate: between textile and wood",
    ),
    Material("water", 0.63, 990.0, 4190.0, 0.95, None, f"{_EN}, water at 40 °C, held still"),
    Material(
        "pore_air", AIR_CONDUCTIVITY, AIR_DENSITY, AIR_HEAT_CAPACITY, 0.90, None,
        "air at 40 °C held in pores: molecular conduction only (Sutherland's law)",
    ),
    _still_air(),
)  # fmt: skip

#: Every material that a case file can name.
MATERIALS: Mapping[str, Material] = {row.name: row for row in _ROWS}


def material(name: str, known: Mapping[str, Material] = MATERIALS) -> Material:
    """Return the material of this name.

    Raises
    ------
    CaseError
        Names the nearest valid name and all that are allowed.
    """
    found = known.get(name)
    if found is None:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        raise CaseError(f"unknown material '{name}'; materials: {', '.join(sorted(known))}{hint}")
    return found


def air_layer(thickness: float) -> Material:
    """Return the effective material of an unventilated air layer within a construction.

    Parameters
    ----------
    thickness : [m].

    Notes
    -----
    The resistance of the layer (convection, radiation and conduction together) is that of ISO 6946
    Table 2 for horizontal heat flow; as a conductivity it is thickness over resistance.
    """
    resistance = _AIR_LAYERS[-1][1]
    for (low, low_resistance), (high, high_resistance) in pairwise(_AIR_LAYERS):
        if low < thickness <= high:
            share = (thickness - low) / (high - low)
            resistance = low_resistance + share * (high_resistance - low_resistance)
    return Material(
        f"air layer {1000 * thickness:g} mm",
        thickness / resistance,
        AIR_DENSITY,
        AIR_HEAT_CAPACITY,
        0.90,
        None,
        "ISO 6946 Table 2, unventilated air layer, horizontal heat flow",
    )


Shares = Mapping[Material, float]


def geometric_mean(shares: Shares) -> float:
    """Return the geometric mean of the conductivities by volume, k = Π kᵢ^φᵢ [W/(m K)].

    For stuff lying at random (clothes with air between, clutter): it always lies between the series
    and the parallel bound.

    References
    ----------
    Woodside & Messmer 1961, J. Appl. Phys. 32:1688 (from memory).
    """
    return math.exp(sum(share * math.log(m.conductivity) for m, share in shares.items()))


def parallel_mean(shares: Shares) -> float:
    """Return the upper bound, for heat along layers: k = Σ φᵢ kᵢ [W/(m K)].

    For boards and springs that cross from face to face (Wiener 1912, from memory).
    """
    return sum(share * m.conductivity for m, share in shares.items())


def series_mean(shares: Shares) -> float:
    """Return the lower bound, for heat across layers: 1/k = Σ φᵢ/kᵢ [W/(m K)].

    For stacks across the flow of heat (Wiener 1912, from memory).
    """
    return 1.0 / sum(share / m.conductivity for m, share in shares.items())


def mix(name: str, shares: Shares, mean: Callable[[Shares], float] = geometric_mean) -> Material:
    """Return the effective material of a mix by volume.

    Mass and heat capacity are exact sums. The conductivity is a mean of the shares: the geometric
    one unless the arrangement is known, because it needs no knowledge of it and keeps within both
    bounds.
    Emissivity is the mean by volume of all but air; harm begins at the lowest harm temperature.

    Parameters
    ----------
    name : of the new material.
    shares : volume share of each material [-]; they sum to one.
    mean : ``geometric_mean``, ``parallel_mean`` or ``series_mean``.
    """
    total = sum(shares.values())
    if abs(total - 1.0) > 1e-9 or min(shares.values()) < 0.0:
        raise ValueError(
            f"the volume shares of '{name}' must be positive and sum to 1, not {total}"
        )
    present = {m: share for m, share in shares.items() if share > 0.0}
    density = sum(share * m.density for m, share in present.items())
    capacity = sum(share * m.volumetric_heat_capacity for m, share in present.items())
    limits = [m.harm_temperature for m in present if m.harm_temperature is not None]
    solid = {m: share for m, share in present.items() if m.density > 10.0} or present
    emissivity = sum(share * m.emissivity for m, share in solid.items()) / sum(solid.values())
    kind = mean.__name__.replace("_", " ")
    parts = ", ".join(f"{100 * share:.0f} % {m.name}" for m, share in present.items())
    return Material(
        name,
        mean(present),
        density,
        capacity / density,
        emissivity,
        min(limits, default=None),
        f"mix by volume of {parts}; conductivity: {kind}",
    )
