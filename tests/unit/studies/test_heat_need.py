"""The balance of a whole dwelling that says before any run whether heaters are strong enough."""

from dataclasses import replace
from pathlib import Path

import pytest

from simulator.assessment.plugging import allowed_power
from simulator.case.constructions import CONSTRUCTIONS
from simulator.case.load import load
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.studies.heat_need import INSIDE, HeatNeed, _wall, heat_need, in_words

HOUR = 3600.0
CASE = Path(__file__).parents[3] / "geometries" / "bedroom_prepared.toml"
NEED = HeatNeed(
    hours=6 * HOUR,
    contents=1000.0,
    shell=2000.0,
    leaks=500.0,
    hold=1500.0,
    heaters=3400.0,
    fans=200.0,
    circuits=None,
)


def test_a_wall_that_is_heated_for_long_passes_heat_by_its_resistance() -> None:
    """Heat flow = difference over the sum of resistances (any textbook)."""
    wall = CONSTRUCTIONS["frame_wall"]
    layers = sum(layer.thickness / layer.material.conductivity for layer in wall.layers)
    outside = 0.04
    _, last = _wall(wall, 20.0, 60.0, (0.0, outside), 1000 * HOUR, is_heated_on_both_sides=False)
    assert last == pytest.approx(60.0 / (1.0 / INSIDE + layers + outside), rel=0.01)


def test_a_wall_with_nothing_behind_it_takes_what_it_holds() -> None:
    wall = CONSTRUCTIONS["frame_wall"]
    store = sum(
        layer.thickness * layer.material.density * layer.material.heat_capacity
        for layer in wall.layers
    )
    taken, last = _wall(wall, 20.0, 60.0, None, 2000 * HOUR, is_heated_on_both_sides=False)
    assert taken == pytest.approx(40.0 * store, rel=0.01)
    assert last == pytest.approx(0.0, abs=0.01)


def test_what_the_bedroom_needs_and_has() -> None:
    case = load(CASE)
    need = heat_need(case)
    equipment = {load.name: load.power for load in case.loads}
    heaters = sum(power for name, power in equipment.items() if "heater" in name)
    assert need.heaters == pytest.approx(heaters, rel=0.01)
    assert need.circuits is not None
    ratings = sum(allowed_power(circuit) for circuit in case.circuits)
    assert need.circuits == pytest.approx(ratings - sum(equipment.values()) + heaters, rel=0.01)
    hot = case.treatment.hottest_set_point
    leaked = sum(leak.flow for leak in case.dwelling.leakage)
    assert need.leaks == pytest.approx(
        AIR_VOLUMETRIC_HEAT_CAPACITY * leaked * (hot - case.dwelling.outdoor_temperature)
    )
    assert need.mean > need.hold > need.leaks


def test_contents_are_to_be_warm_by_the_end_of_the_heat() -> None:
    whole, half = (
        heat_need(load(CASE, overrides={"treatment.horizon": hours})) for hours in ("6 h", "3 h")
    )
    assert half.contents == pytest.approx(2.0 * whole.contents)
    assert whole.shell < half.shell < 2.0 * whole.shell  # cold walls take most at first


@pytest.mark.parametrize(("heaters", "is_enough"), [(3400.0, True), (3200.0, False)])
def test_words_tell_whether_the_heat_is_enough(heaters: float, *, is_enough: bool) -> None:
    lines = " ".join(in_words(replace(NEED, heaters=heaters)))
    assert ("NOT enough" in lines) is not is_enough
    assert ("set point all the same" in lines) is not is_enough
    assert "Circuits" not in lines
    assert "Circuits may carry 3.00 kW" in " ".join(in_words(replace(NEED, circuits=3000.0)))
