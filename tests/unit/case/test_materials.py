"""The table of materials and mixes by volume."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.materials import (
    MATERIALS,
    air_layer,
    geometric_mean,
    material,
    mix,
    parallel_mean,
    series_mean,
)
from simulator.errors import CaseError

#: The same examples every time, without a clock.
steady = settings(deadline=None, derandomize=True)

NEEDED = [
    "softwood",
    "hardwood",
    "plywood",
    "particleboard",
    "mdf",
    "osb",
    "gypsum_board",
    "gypsum_plaster",
    "concrete",
    "reinforced_concrete",
    "brick",
    "mineral_wool",
    "eps",
    "glass",
    "steel",
    "aluminium",
    "pvc",
    "carpet",
    "underlay",
    "linoleum",
    "ceramic_tile",
    "foam",
    "textile",
    "cotton_loose",
    "paper",
    "water",
    "plastic",
    "leather",
    "still_air",
    "screed",
]


def test_the_usual_materials_are_there() -> None:
    assert set(NEEDED) <= set(MATERIALS)


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_is_possible_and_has_a_source(name: str) -> None:
    stuff = MATERIALS[name]
    assert stuff.name == name
    assert 0.02 < stuff.conductivity < 500
    assert 1.0 < stuff.density < 9000
    assert 350 < stuff.heat_capacity < 4200
    assert 0.0 < stuff.emissivity <= 1.0
    assert stuff.source
    # nothing that is not mostly air stores less than 0.03 or more than 4.2 MJ/(m³ K)
    if stuff.density > 10:
        assert 2.5e4 < stuff.volumetric_heat_capacity < 4.2e6


def test_an_unknown_material_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(CaseError, match=r"unknown material 'plywod'.*did you mean 'plywood'\?"):
        material("plywod")


SHARES = st.lists(
    st.tuples(st.sampled_from(sorted(MATERIALS)), st.floats(0.01, 1.0)),
    min_size=1,
    max_size=5,
    unique_by=lambda pair: pair[0],
)


@steady
@given(SHARES)
def test_a_mix_keeps_mass_and_heat_capacity_exactly(pairs: list[tuple[str, float]]) -> None:
    total = sum(share for _, share in pairs)
    shares = {MATERIALS[name]: share / total for name, share in pairs}
    mixed = mix("mixed", shares)
    density = math.fsum(share * m.density for m, share in shares.items())
    capacity = math.fsum(share * m.volumetric_heat_capacity for m, share in shares.items())
    # 1e-12: round-off of a few sums
    assert mixed.density == pytest.approx(density, rel=1e-12)
    assert mixed.volumetric_heat_capacity == pytest.approx(capacity, rel=1e-12)


@steady
@given(SHARES)
def test_the_geometric_mean_lies_between_both_bounds(pairs: list[tuple[str, float]]) -> None:
    total = sum(share for _, share in pairs)
    shares = {MATERIALS[name]: share / total for name, share in pairs}
    low, middle, high = series_mean(shares), geometric_mean(shares), parallel_mean(shares)
    assert low * (1 - 1e-9) <= middle <= high * (1 + 1e-9)
    assert mix("mixed", shares, series_mean).conductivity == pytest.approx(low)


def test_shares_must_be_whole() -> None:
    with pytest.raises(ValueError, match="sum to 1"):
        mix("half", {MATERIALS["steel"]: 0.5})


def test_a_mix_comes_to_harm_with_its_most_delicate_part() -> None:
    mixed = mix("mixed", {MATERIALS["pvc"]: 0.1, MATERIALS["steel"]: 0.9})
    assert mixed.harm_temperature == 60.0


@pytest.mark.parametrize(
    ("thickness", "resistance"),
    # ISO 6946: 0.18 m² K/W from 25 to 300 mm (read at second hand); 15 mm 0.17 (from memory)
    [(0.025, 0.18), (0.1, 0.18), (0.3, 0.18), (0.015, 0.17)],
)
def test_an_air_layer_has_the_resistance_of_the_standard(
    thickness: float, resistance: float
) -> None:
    assert thickness / air_layer(thickness).conductivity == pytest.approx(resistance)
