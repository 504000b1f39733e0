"""Heaters obey the tightest of their limits, and the laws agree with what they bring about."""

from dataclasses import replace

import numpy as np
import pytest
from unit.heat.small_room import small_room, with_full_power

from simulator.physics.heat.advance import advance
from simulator.physics.heat.control import HeaterLaw, outlet_temperatures
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.reduced_model import ReducedSteps

INF = np.inf
LAW = HeaterLaw(
    power=np.array([5000.0, 3000.0, 4000.0]),
    capacity_flow=np.array([200.0, 100.0, 300.0]),
    outlet_limit=np.array([75.0, 70.0, 80.0]),
    gain=np.array([1000.0, 600.0, 800.0]),
    # each heater obeys its own sensor, and all of them a guard at 63 °C
    set_temperature=np.array(
        [[58.0, INF, INF, 63.0], [INF, 58.0, INF, 63.0], [INF, INF, 60.0, 63.0]]
    ),
)


@pytest.mark.parametrize(
    ("sensor", "intake", "expected"),
    [
        (20.0, 20.0, 5000.0),  # full power
        (20.0, 60.0, 3000.0),  # 200 W/K below the outlet limit by 15 K
        (56.0, 40.0, 2000.0),  # 2 K below the set temperature at 1000 W/K
        (61.0, 40.0, 0.0),  # warmer than set
        (20.0, 90.0, 0.0),  # intake hotter than the outlet may be
    ],
)
def test_law_is_the_least_of_three_lines_and_never_cools(
    sensor: float, intake: float, expected: float
) -> None:
    power = LAW.wanted(np.append(np.full(3, sensor), 20.0), np.full(3, intake))
    assert power[0] == pytest.approx(expected)
    assert (power >= 0.0).all()
    assert (power <= LAW.power).all()


@pytest.mark.parametrize("seed", range(20))
def test_settled_powers_agree_with_the_temperatures_they_bring_about(seed: int) -> None:
    chance = np.random.default_rng(seed)
    power = LAW.power * chance.random(3)
    sensor, intake = 40.0 + 25.0 * chance.random(4), 30.0 + 50.0 * chance.random(3)
    sensors, intakes = 1e-3 * chance.random((4, 3)), 3e-3 * chance.random((3, 3))
    settled = LAW.settle(power, sensor, intake, sensors, intakes)
    change = settled - power
    wanted = LAW.wanted(sensor + sensors @ change, intake + intakes @ change)
    assert settled == pytest.approx(wanted, abs=1e-4)


def test_a_heater_unwanted_at_full_power_and_wanted_in_full_without_settles_between() -> None:
    """Over a long stage its sensor follows the power through its whole band and far beyond."""
    law = replace(LAW, gain=LAW.power / 0.5)
    sensor, intake = np.array([80.0, 75.0, 90.0, 20.0]), np.full(3, 20.0)  # at full power
    sensors = np.diag([8e-3, 9e-3, 7e-3, 0.0])[:, :3] + 1e-3
    settled = law.settle(LAW.power, sensor, intake, sensors, np.zeros((3, 3)))
    wanted = law.wanted(sensor + sensors @ (settled - LAW.power), intake)
    assert settled == pytest.approx(wanted, abs=1e-4)
    assert (settled > 0.0).all()
    assert (settled < LAW.power).all()


def test_outlet_never_exceeds_its_limit_and_room_settles_below_the_thermostat() -> None:
    room = small_room(limit=62.0)
    times = np.arange(0.0, 4 * 3600.0 + 1.0, 300.0)
    result = advance(
        room.model,
        room.state(),
        room.control,
        0.0,
        times[-1],
        watch=room.watch,
        output_times=times,
    )
    assert result.outlet_temperature.max() <= 62.0 + 1e-9  # round-off
    assert result.heater_power.min() >= 0.0
    assert result.heater_power.max() <= 1500.0
    assert result.probe_temperature[-1, 0] < 58.0


def test_a_room_hotter_than_set_gets_no_heat_and_none_is_taken() -> None:
    room = small_room(appliance=0.0, ducted=False)
    result = advance(
        room.model,
        room.state(90.0),
        room.control,
        0.0,
        60.0,
        watch=room.watch,
        output_times=[0.0, 60.0],
    )
    assert result.heater_power == pytest.approx(np.zeros((2, 1)))
    assert result.ledger.heaters[-1] == 0.0


def test_outlet_is_intake_plus_power_over_capacity_flow() -> None:
    room = small_room()
    state = room.state(30.0)
    outlet = outlet_temperatures(room.model, state, np.array([1000.0, 500.0]))
    flows = [heater.capacity_flow for heater in room.model.heaters]
    assert outlet == pytest.approx([30.0 + 1000.0 / flows[0], 5.0 + 500.0 / flows[1]])


def test_full_power_control_never_throttles() -> None:
    room = small_room()
    result = advance(
        room.model,
        room.state(),
        with_full_power(room.control),
        0.0,
        1800.0,
        watch=room.watch,
        output_times=[900.0, 1800.0],
    )
    assert result.heater_power == pytest.approx(np.full((2, 2), 1500.0))
    assert result.ledger.heaters == pytest.approx([2 * 1500.0 * 900.0, 2 * 1500.0 * 1800.0])


def test_heaters_of_different_limits_share_one_thermostat() -> None:
    """Each line is held at once: two outlet limits, and the band of one sensor for both."""
    room = small_room()
    limits = (62.0, 55.0)
    jets = tuple(
        replace(jet, outlet_limit=limit)
        for jet, limit in zip(room.control.jets, limits, strict=True)
    )
    control = replace(room.control, jets=jets)
    times = np.arange(0.0, 8 * 3600.0 + 1.0, 60.0)
    for method in (ImplicitSteps(), ReducedSteps()):
        result = advance(
            room.model,
            room.state(),
            control,
            0.0,
            times[-1],
            watch=room.watch,
            output_times=times,
            method=method,
        )
        over = result.outlet_temperature.max(axis=0) - limits
        assert over.max() <= 1e-9
        assert over.min() > -1e-6  # both are reached
        by_sensor = 300.0 * (58.0 - result.probe_temperature[:, 0])
        assert (result.heater_power <= by_sensor[:, None] + 0.02 * 1500.0).all()
        assert (result.heater_power >= 0.0).all()
        assert (result.heater_power <= 1500.0).all()
