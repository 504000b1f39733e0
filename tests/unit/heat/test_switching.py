"""A thermostat with a differential: both ways of marching switch alike, and heat is kept."""

from dataclasses import replace

import numpy as np
import pytest
from unit.heat.small_room import PROBES, TREATMENT, SmallRoom, small_room

from simulator.case.parts import Probe
from simulator.grid.grid import FloatArray
from simulator.physics.heat.advance import advance
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.reduced_model import ReducedSteps
from simulator.physics.heat.watch import point_mean, watch

HOUR = 3600.0
METHODS = (ImplicitSteps(), ReducedSteps())
POWER = 2500.0


def run(
    room: SmallRoom,
    control: Control,
    method: MarchMethod | None = None,
    *,
    times: FloatArray | None = None,
    hours: float = 6.0,
    start: float = 20.0,
) -> EpochResult:
    end = hours * HOUR
    return advance(
        room.model,
        room.state(start),
        control,
        0.0,
        end,
        watch=room.watch,
        output_times=np.arange(0.0, end + 1.0, 300.0) if times is None else times,
        method=method,
    )


def switched(room: SmallRoom, differential: float = 2.0) -> Control:
    return replace(room.control, differential=differential)


@pytest.mark.parametrize("differential", [2.0, 4.0])
def test_both_ways_of_marching_switch_alike(differential: float) -> None:
    """The bands are 2.5 % of switches, 0.1 % of energy, 0.05 K.

    Control sampled once in 5 s and in 60 s instead of located is wrong by 0.3 K and 1.7 K.
    """
    room = small_room(power=POWER)
    control = switched(room, differential)
    steps, shapes = run(room, control, ImplicitSteps()), run(room, control, ReducedSteps())
    assert steps.ledger.largest_imbalance < 1e-10
    assert shapes.ledger.largest_imbalance < 1e-10
    count = steps.switch_time.size
    assert count > 150
    assert shapes.switch_time.size == pytest.approx(count, rel=0.025)  # measured 276, 276; 200, 196
    heat = steps.ledger.heaters
    assert shapes.ledger.heaters[-1] == pytest.approx(heat[-1], rel=1e-3)  # measured 5e-4
    apart = np.abs(steps.refuge_temperature - shapes.refuge_temperature)
    assert apart.max() < 0.05  # measured 0.006 K
    # the first time: the sensor nears 58 °C by 2 K/h, and 0.02 K are 36 s
    assert steps.switch_time[0] == pytest.approx(shapes.switch_time[0], abs=36.0)
    periods = [np.diff(r.switch_time[r.switch_heater == 0][::2]).mean() for r in (steps, shapes)]
    assert periods[0] == pytest.approx(periods[1], rel=0.03)


def test_default_location_lies_near_the_limit_of_short_steps() -> None:
    room = small_room(power=POWER)
    fine = ImplicitSteps(error=0.005, solver_tolerance=1e-5, shortest=1.0, switching=0.05)
    usual, limit = (run(room, switched(room), method) for method in (ImplicitSteps(), fine))
    assert usual.ledger.heaters[-1] == pytest.approx(limit.ledger.heaters[-1], rel=5e-4)
    apart = np.abs(usual.refuge_temperature - limit.refuge_temperature)
    assert apart.max() < 0.01


@pytest.mark.parametrize("method", METHODS, ids=lambda m: type(m).__name__)
def test_heaters_switch_at_the_set_point_and_a_differential_below(method: MarchMethod) -> None:
    """The sensor itself goes on for a while: warm air takes its time to reach it."""
    room = small_room(power=POWER)
    times = np.arange(3.5 * HOUR, 4.2 * HOUR, 0.25)
    result = run(room, switched(room, 4.0), method, times=times, hours=4.2)
    assert set(np.unique(result.switch_heater)) == {0, 1}
    moments = result.switch_time[result.switch_heater == 0]
    assert moments.size > 6 and moments[0] > times[0]
    reading = np.interp(moments, times, result.probe_temperature[:, 0])
    # Switched no later than 0.5 s after it is due, while the sensor moves by at most 0.1 K/s.
    assert reading[::2] == pytest.approx(58.0, abs=0.05)  # off
    assert reading[1::2] == pytest.approx(54.0, abs=0.05)  # on


@pytest.mark.parametrize("method", METHODS, ids=lambda m: type(m).__name__)
def test_recorded_powers_are_means_that_add_up_to_the_heat_given(method: MarchMethod) -> None:
    room = small_room(power=POWER)
    result = run(room, switched(room), method, hours=5.0)
    heat = (np.diff(result.time)[:, None] * result.heater_power[1:]).sum()
    assert heat == pytest.approx(result.ledger.heaters[-1], rel=1e-9)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: type(m).__name__)
def test_an_outlet_limit_holds_while_switched_on(method: MarchMethod) -> None:
    room = small_room(power=POWER, limit=62.0)
    result = run(room, switched(room), method, hours=3.0)
    assert result.outlet_temperature.max() <= 62.0 + 1e-9  # round-off
    assert result.ledger.largest_imbalance < 1e-10


@pytest.mark.parametrize("method", METHODS, ids=lambda m: type(m).__name__)
@pytest.mark.parametrize("differential", [None, 2.0])
def test_a_guard_keeps_every_heater_from_the_air_limit(
    method: MarchMethod, differential: float | None
) -> None:
    """The thermostat lies in the slow block; the guard hangs in the air and alone holds it."""
    inside = Probe("slow", "thermostat", PROBES[1].position, is_thermostat=True)
    guard = Probe("guard", "sensor", (1.1, 0.9, 1.2), guards_air_limit=True)
    treatment = replace(TREATMENT, air_limit=50.0, thermostat=48.0, differential=differential)
    room = small_room(power=POWER)
    probes = (inside, guard)
    control = build_control(room.grid, room.layout, treatment, probes)
    watched = replace(room, control=control, watch=watch(room.grid, room.layout, probes))
    result = run(watched, control, method, times=np.arange(0.0, 3.0 * HOUR, 20.0), hours=3.0)
    reading = result.probe_temperature[:, 1]
    assert reading.max() <= 50.0 + (0.3 if differential else 0.0)
    assert reading[-1] > 46.0
    assert result.probe_temperature[-1, 0] < 48.0  # the thermostat alone would have heated on


def test_each_heater_obeys_the_sensor_that_it_names() -> None:
    room = small_room()
    probes = (
        Probe("shared", "sensor", (1.1, 0.9, 1.2), is_thermostat=True),
        Probe("corner", "sensor", (1.9, 1.6, 0.1)),
    )
    first, second = room.grid.jets
    named = replace(second, part=replace(second.part, sensor="corner"))
    grid = replace(room.grid, jets=(first, named))
    control = build_control(grid, room.layout, TREATMENT, probes)
    state = np.random.default_rng(4).random(room.layout.size)
    for jet, probe in zip(control.jets, probes, strict=True):
        expected = point_mean(grid, room.layout, probe.position).of(state)
        assert jet.sensor.of(state) == expected


def test_a_room_that_is_switched_off_at_its_start_is_not_heated_within_the_differential() -> None:
    room = small_room(appliance=0.0)
    result = run(room, switched(room, 4.0), hours=0.005, start=59.0)
    assert result.switch_time.tolist() == [0.0, 0.0]
    assert result.ledger.heaters[-1] == 0.0
    assert not result.is_on.any()
