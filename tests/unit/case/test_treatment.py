"""The plan of the day: phases in force, set points that move no faster than asked."""

from typing import Any

import pytest

from simulator.case.treatment import SetPoint, Treatment, TreatmentRecord

HOUR = 3600.0


def treatment(*phases: dict[str, Any], **keys: Any) -> Treatment:
    return TreatmentRecord.model_validate({"phase": phases, **keys}).compile()


DAY = treatment(
    {"name": "warm-up", "at": "0 h", "ramp": "5 K/h"},
    {"name": "hold", "at": "4 h", "ramp": "5 K/h", "thermostat": "50 degC"},
    {"name": "lower", "at": "10 h", "ramp": "10 K/h", "thermostat": "35 degC"},
    {"name": "air", "at": "12 h", "heaters": False, "heater_fans": True},
    {"name": "cool-down", "at": "13 h", "heaters": False, "fans": False},
    {"name": "again", "at": "14 h", "thermostat": "60 degC", "ramp": "5 K/h"},
    horizon="16 h",
)


def test_without_phases_the_run_is_one_way() -> None:
    plain = treatment(thermostat="58 degC")
    assert plain.phases == ()
    assert [phase.start for phase in plain.plan] == [0.0]
    assert plain.set_point_at(3 * HOUR, 20.0).at(4 * HOUR) == 58.0
    assert plain.differential is None
    assert treatment(control="on_off").differential == 2.0


@pytest.mark.parametrize(
    ("hour", "expected"),
    [
        (0.0, 20.0),  # the dwelling's temperature at the start
        (2.0, 30.0),  # 5 K/h, towards 60 °C
        (4.0, 40.0),
        (5.0, 45.0),  # now towards 50 °C, reached at 6 h
        (8.0, 50.0),
        (11.0, 40.0),  # down by 10 K/h, to 35 °C
        (11.9, 35.0),
        (15.0, 25.0),  # after no heat, from the temperature at the start
    ],
)
def test_the_set_point_moves_no_faster_than_asked(hour: float, expected: float) -> None:
    point = DAY.set_point_at(hour * HOUR, 20.0)
    assert point.at(hour * HOUR) == pytest.approx(expected)


def test_heater_fans_go_as_the_phase_says() -> None:
    phases = {phase.name: phase for phase in DAY.plan}
    assert phases["warm-up"].heater_fans_on
    assert phases["air"].heater_fans_on and not phases["air"].heaters_on
    assert not phases["cool-down"].heater_fans_on  # as heaters, unless said
    assert not phases["cool-down"].fans_on
    assert DAY.phase_at(12.5 * HOUR).name == "air"
    assert DAY.phase_at(13 * HOUR).name == "cool-down"


def test_a_set_point_without_ramp_is_there_at_once() -> None:
    point = SetPoint(100.0, 50.0, 50.0)
    assert [point.at(time) for time in (0.0, 100.0, 1e6)] == [50.0] * 3


def test_the_heat_ends_where_heaters_are_off_for_good() -> None:
    assert treatment().heat_ends == 8 * HOUR
    assert DAY.heat_ends == 16 * HOUR  # heated again
    cooled = treatment(
        {"name": "heat", "at": "0 h"},
        {"name": "air", "at": "5 h", "heaters": False, "heater_fans": True},
        {"name": "rest", "at": "6 h", "heaters": False, "fans": False},
    )
    assert cooled.heat_ends == 5 * HOUR
    assert cooled.hours(lambda phase: phase.heater_fans_on, 8 * HOUR) == 6 * HOUR
    assert cooled.hours(lambda phase: phase.fans_on, 5.5 * HOUR) == 5.5 * HOUR
