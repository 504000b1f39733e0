"""A run through a plan of the day: what each phase says is what the equipment does."""

import dataclasses
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from builders import FOAM, NO_TREATMENT, OUTDOOR_WALL, box_room, solid
from numpy.typing import NDArray

from simulator.case.case import Case
from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, Probe, Refuge
from simulator.case.treatment import Phase
from simulator.errors import Interrupted
from simulator.history import History
from simulator.progress import Progress
from simulator.simulation import Run, simulate

CELL = 0.25
COOL = 1800.0
HORIZON = 3000.0

FAN = AirMover("fan", "fan", (1.6, 0.4, 0.4), (0.0, 1.0, 0.0), 0.3, 0.2, 60.0)
HEATER = HeatedJet(
    "heater",
    "outlet",
    (0.4, 0.5, 0.4),
    (1.0, 0.0, 0.0),
    0.25,
    0.08,
    1500.0,
    80.0,
    Box((0.3, 0.5, 0.9), (0.4, 0.4, 0.4)),
)
DUCT = dataclasses.replace(HEATER, owner="duct", flow=0.05, power=4000.0, intake=None)
SASH = AirOutlet("sash", "exhaust", Box((1.95, 1.0, 1.0), (0.1, 0.5, 0.25)), 0.125)
MATTRESS = solid(
    (0.5, 1.0, 0.5), (1.0, 0.75, 0.25), owner="bed", material=FOAM, refuge=Refuge.THROUGHOUT
)
SENSOR = Probe("sensor", "sensor", (1.0, 1.0, 1.1), is_thermostat=True)

HEAT = Phase("heat", 0.0, 40.0)
OFF = Phase("cool-down", COOL, 40.0, heaters_on=False, heater_fans_on=False)


def planned(
    *phases: Phase, jet: HeatedJet = HEATER, differential: float | None = None, **changes: Any
) -> Case:
    treatment = dataclasses.replace(
        NO_TREATMENT,
        thermostat=40.0,
        horizon=HORIZON,
        phases=phases,
        differential=differential,
        **changes,
    )
    return box_room(
        (2.0, 2.0, 1.5),
        parts=(MATTRESS, FAN, jet, SASH),
        probes=(SENSOR,),
        air_changes=0.5,
        envelope=OUTDOOR_WALL,
        treatment=treatment,
    )


CASES = {
    "no plan": planned(),
    "one phase": planned(HEAT),
    "cool-down": planned(HEAT, OFF, differential=2.0),
    "still": planned(HEAT, dataclasses.replace(OFF, fans_on=False)),
    "duct off": planned(HEAT, OFF, jet=DUCT),
    "duct blows": planned(HEAT, dataclasses.replace(OFF, heater_fans_on=True), jet=DUCT),
    "slow": planned(dataclasses.replace(HEAT, ramp=20.0 / 3600.0)),
}


@cache
def run_of(name: str) -> Run:
    return simulate(CASES[name], CELL)


def same(one: History, other: History) -> bool:
    arrays = [
        (getattr(one, field.name), getattr(other, field.name))
        for field in dataclasses.fields(History)
        if isinstance(getattr(one, field.name), np.ndarray)
    ]
    return all(np.array_equal(a, b, equal_nan=True) for a, b in arrays)


def test_a_plan_of_one_phase_changes_nothing() -> None:
    assert same(run_of("no plan").history, run_of("one phase").history)


@pytest.mark.parametrize("name", ["cool-down", "still", "duct off", "duct blows", "slow"])
def test_heat_is_kept_through_all_phases(name: str) -> None:
    ledger = run_of(name).history.ledger
    assert np.abs(ledger.imbalance).max() < 1e-10
    assert ledger.heaters[-1] > 1e5


def test_heaters_give_nothing_and_the_air_cools_once_they_are_off() -> None:
    history = run_of("cool-down").history
    after = history.time > COOL
    assert history.heater_power[after].max() == 0.0
    assert history.heater_power[~after].max() > 500.0
    assert np.all(np.diff(history.air_mean[after]) < 0.0)
    fresh = next(epoch for epoch in history.epochs if epoch.start == COOL)
    assert fresh.new_flow
    assert [epoch.start for epoch in history.epochs if epoch.start > COOL] == [
        COOL + 120.0,
        COOL + 900.0,
    ]


def test_air_comes_to_rest_without_fans_and_their_heat() -> None:
    moving, still = run_of("cool-down").history, run_of("still").history
    assert still.epochs[-1].near_surface_speed < 0.5 * moving.epochs[-1].near_surface_speed
    before, end = np.searchsorted(still.time, COOL), -1
    given = still.ledger.fans_and_appliances
    assert given[end] == pytest.approx(given[before])
    assert moving.ledger.fans_and_appliances[end] == pytest.approx(60.0 * HORIZON)


def test_a_ducted_blower_goes_off_with_its_heat_or_blows_outdoor_air() -> None:
    off, blows = run_of("duct off").history, run_of("duct blows").history
    assert off.outlet_temperature[-1, 0] == 5.0  # of what would come in
    assert blows.air_mean[-1] < off.air_mean[-1] - 5.0
    leaked = blows.ledger.leaks[-1] - off.ledger.leaks[-1]
    assert leaked > 0.0


def test_a_ramp_keeps_the_sensor_from_warming_too_fast() -> None:
    history = run_of("slow").history
    allowed = np.minimum(20.0 + 20.0 / 3600.0 * history.time, 40.0)
    assert (history.probe_temperature[:, 0] <= allowed + 1e-6).all()
    assert history.probe_temperature[-1, 0] > allowed[-1] - 5.0


class Memory:
    """A checkpoint in memory."""

    where = "memory"

    def __init__(self) -> None:
        self.kept: tuple[dict[str, NDArray[Any]], dict[str, Any]] | None = None

    def save(self, arrays: Mapping[str, NDArray[Any]], meta: Mapping[str, Any]) -> None:
        self.kept = ({name: np.array(value) for name, value in arrays.items()}, dict(meta))

    def load(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]] | None:
        return self.kept


def test_a_switched_run_that_was_stopped_goes_on_to_the_same_bits() -> None:
    memory = Memory()

    def stop(progress: Progress) -> None:
        if progress.simulated_time > 1500.0:
            raise KeyboardInterrupt

    with pytest.raises(Interrupted):
        simulate(CASES["cool-down"], CELL, progress=stop, checkpoint=memory)
    again = simulate(CASES["cool-down"], CELL, checkpoint=memory, resume=True)
    assert same(again.history, run_of("cool-down").history)
