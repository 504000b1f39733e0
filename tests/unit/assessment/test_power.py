"""The load sheet of a case and of a run, its words, and the energy used."""

import dataclasses

import numpy as np
import pytest
from builders import box_room
from runs import hand_history, open_grid

from simulator.assessment.energy import KILOWATT_HOUR, energy_uses, fuel_for
from simulator.assessment.power import planned_power, power_of_run
from simulator.assessment.power_words import circuit_warnings, plan_lines, power_lines
from simulator.case.case import Case, Circuit
from simulator.case.electrical import Cord, ElectricalLoad
from simulator.case.parts import AirMover, Box, HeatedJet
from simulator.case.treatment import Phase
from simulator.grid.grid import CellSet, Grid, GridFan, GridJet

TIME = np.linspace(0.0, 3600.0, 61)
HEATER = ElectricalLoad("heater", "electric heater", "room", 5600.0, None, Cord(30.0, 75.0, "x"))
FAN = ElectricalLoad("fan", "fan", "room", 200.0)
BURNER = ElectricalLoad("duct", "hot-air inlet", "room", 750.0, is_cord_in_heat=False)


def powered(*circuits: Circuit, loads: tuple[ElectricalLoad, ...] = (HEATER, FAN)) -> Case:
    return dataclasses.replace(box_room((4.0, 4.0, 2.4)), circuits=circuits, loads=loads)


def test_loads_add_up_and_an_overload_says_what_the_breaker_does() -> None:
    """6 kW on 30 A at 240 V are above 5.76 kW for hours and below 7.2 kW at once."""
    more = dataclasses.replace(HEATER, power=5800.0)
    case = powered(Circuit("dryer", 240.0, 30.0, ("heater", "fan")), loads=(more, FAN))
    (circuit,) = planned_power(case).circuits
    assert circuit.power == 6000.0 and circuit.is_overloaded
    assert circuit.trips.startswith("may trip within hours")
    small = powered(Circuit("dryer", 240.0, 20.0, ("heater", "fan")), loads=(more, FAN))
    assert planned_power(small).circuits[0].trips.startswith("trips")
    assert any("licensed electrician" in line for line in power_lines(planned_power(case), "si"))


def test_what_is_over_is_named_where_no_plan_fits_and_a_plan_where_one_does() -> None:
    none = powered(Circuit("room", 120.0, 15.0, ("heater", "fan")))
    (line,) = [text for text in plan_lines(planned_power(none).plan) if "no plan" in text]
    assert line.endswith("left over heater")
    room = Circuit("room", 240.0, 30.0, ("heater", "fan"))
    case = powered(room, Circuit("range", 240.0, 50.0, ()))
    assert planned_power(case).plan is not None
    moved = planned_power(case).plan
    assert moved is not None and moved.left_off == ()


def test_a_heater_put_down_for_a_wrong_circuit_does_not_take_its_voltage() -> None:
    """5.6 kW are 46.7 A at 120 V: no such heater is made, and the 240 V circuit carries it."""
    room, dryer = Circuit("room", 120.0, 20.0, ("heater", "fan")), Circuit("dryer", 240.0, 30.0, ())
    sheet = planned_power(powered(room, dryer))
    assert sheet.plan is not None and sheet.plan.left_off == ()
    assert dict(sheet.plan.plugs) == {"heater": "dryer", "fan": "room"}
    (line,) = plan_lines(sheet.plan)
    assert line.endswith("move heater into 'dryer' (only if it is made for 240 V)")
    assert any("'heater' draws more than any breaker" in text for text in circuit_warnings(sheet))
    assert [check.load for check in sheet.cords] == ["fan"]


def test_a_heater_that_a_full_breaker_carries_keeps_the_voltage_of_its_circuit() -> None:
    """1.5 kW on 15 A at 120 V is over 80 %, but such a heater exists: never moved to 240 V."""
    small = dataclasses.replace(HEATER, power=1500.0)
    room, dryer = Circuit("room", 120.0, 15.0, ("heater",)), Circuit("dryer", 240.0, 30.0, ())
    sheet = planned_power(powered(room, dryer, loads=(small,)))
    assert sheet.plan is not None and sheet.plan.left_off == ("heater",) and sheet.in_doubt == ()


def test_a_load_on_the_wrong_voltage_and_one_on_no_circuit_are_told() -> None:
    wrong = dataclasses.replace(FAN, voltage=120.0)
    case = powered(Circuit("dryer", 240.0, 30.0, ("fan",)), loads=(HEATER, wrong))
    warnings = circuit_warnings(planned_power(case))
    assert any("'fan' is made for another voltage" in text for text in warnings)
    assert "on no circuit: heater" in warnings


def test_cords_are_judged_in_the_air_of_the_thermostat_before_a_run() -> None:
    """60 °C: 0.58 of 30 A are 17.4 A; 5.6 kW at 240 V are 23.3 A. The burner's lies outdoors."""
    circuits = (
        Circuit("dryer", 240.0, 30.0, ("heater",)),
        Circuit("room", 120.0, 15.0, ("fan", "duct")),
    )
    case = powered(*circuits, loads=(HEATER, FAN, BURNER))
    checks = {check.load: check for check in planned_power(case).cords}
    assert set(checks) == {"heater", "fan"}
    assert checks["heater"].carries == pytest.approx(17.4) and checks["heater"].is_over
    assert any("cord of 'heater'" in text for text in circuit_warnings(planned_power(case)))


def test_cords_are_judged_at_the_hottest_set_point_of_the_plan() -> None:
    """A phase of 63 °C lies in the band to 65 °C: sqrt(10/45) = 0.47 for 75 °C insulation."""
    case = powered(Circuit("dryer", 240.0, 30.0, ("heater",)), loads=(HEATER,))
    phases = (Phase("warm-up", 0.0, 50.0), Phase("hold", 3600.0, 63.0), Phase("cool", 7200.0, 70.0))
    phases = (*phases[:2], dataclasses.replace(phases[2], heaters_on=False))
    case = dataclasses.replace(case, treatment=dataclasses.replace(case.treatment, phases=phases))
    (check,) = planned_power(case).cords
    assert check.ambient == 63.0
    assert check.carries == pytest.approx(0.47 * 30.0)


def test_cords_after_a_run_lie_in_the_air_near_the_floor() -> None:
    case = powered(Circuit("dryer", 240.0, 30.0, ("heater",)), loads=(HEATER,))
    grid = open_grid(case, [])
    history = hand_history(case, grid, TIME, np.zeros((TIME.size, 0)))
    frames = np.full((2, *grid.shape), 40.0, dtype=np.float32)
    frames[1, :, :, -1] = 63.0  # hot under the ceiling only
    frames[1, :, :, :3] = 44.0  # up to 0.5 m; a jet in one cell does not count
    frames[1, 0, 0, 0] = 80.0
    history = dataclasses.replace(history, frame_temperature=frames)
    (check,) = power_of_run(case, grid, history).cords
    assert check.ambient == pytest.approx(44.0, abs=0.1)


def heated(intake: Box | None, name: str) -> tuple[Case, Grid]:
    jet = HeatedJet(name, "jet", (1.0, 1.0, 0.4), (1.0, 0.0, 0.0), 0.3, 0.3, 6e3, 80.0, intake)
    case = powered(loads=(dataclasses.replace(BURNER, name=name), FAN))
    placed = GridJet(jet, CellSet(np.zeros(1, dtype=np.int64), np.ones(1)), None)
    return case, dataclasses.replace(open_grid(case, []), jets=(placed,))


def test_a_heater_uses_what_the_ledger_says_and_a_fan_runs_all_the_time() -> None:
    """The hand-made ledger holds 9 kJ of heaters; 200 W for an hour are 0.2 kWh."""
    case, grid = heated(Box((0.5, 1.0, 0.3), (0.2, 0.4, 0.6)), "heater")
    uses = energy_uses(case, grid, hand_history(case, grid, TIME, np.zeros((TIME.size, 0))))
    by_name = {use.name: use for use in uses}
    assert by_name["heater"].electricity == pytest.approx(9e3)
    assert by_name["heater"].fuel is None
    assert by_name["fan"].electricity == pytest.approx(0.2 * KILOWATT_HOUR)


def test_a_burner_uses_fuel_and_its_blower_electricity() -> None:
    case, grid = heated(None, "duct")
    history = hand_history(case, grid, TIME, np.zeros((TIME.size, 0)))
    use = energy_uses(case, grid, history)[0]
    assert use.electricity == pytest.approx(750.0 * 3600.0)
    assert use.heat == pytest.approx(9e3)
    assert use.fuel == fuel_for(use.heat)
    lines = power_lines(power_of_run(case, grid, history), "us")
    assert any("gal of heating oil" in line and "therms" in line for line in lines)
    assert any("from memory" in line for line in lines)


def test_a_therm_and_a_litre() -> None:
    """85 MJ given are 100 MJ burnt: 2.78 l of oil at 36 MJ/l, 4.24 l of propane at 23.6 MJ/l,
    and 111 MJ gross, 1.052 therms of 105.5 MJ."""
    fuel = fuel_for(85e6)
    assert fuel.heating_oil == pytest.approx(2.778, rel=1e-3)
    assert fuel.propane == pytest.approx(4.237, rel=1e-3)
    assert fuel.natural_gas == pytest.approx(1.052, rel=1e-3)


def test_fans_and_blowers_use_energy_in_the_phases_in_which_they_run() -> None:
    phases = (
        Phase("heat", 0.0, 60.0),
        Phase("air", 1200.0, 60.0, heaters_on=False, heater_fans_on=False),
        Phase("rest", 2400.0, 60.0, heaters_on=False, heater_fans_on=False, fans_on=False),
    )
    case = powered(loads=(BURNER, FAN))
    case = dataclasses.replace(case, treatment=dataclasses.replace(case.treatment, phases=phases))
    cells = CellSet(np.array([0]), np.ones(1))
    part = HeatedJet("duct", "x", (1.0, 1.0, 1.0), (1.0, 0.0, 0.0), 0.4, 0.5, 4e4, 75.0, None)
    mover = AirMover("fan", "fan", (1.0, 1.0, 1.0), (1.0, 0.0, 0.0), 0.4, 0.8, 200.0)
    grid = dataclasses.replace(
        open_grid(case, ()), jets=(GridJet(part, cells, None),), fans=(GridFan(mover, cells),)
    )
    blower, fan = energy_uses(case, grid, hand_history(case, grid, TIME, np.zeros((TIME.size, 0))))
    assert blower.electricity == 750.0 * 1200.0
    assert fan.electricity == 200.0 * 2400.0
