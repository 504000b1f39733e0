"""Stages of the same length are factored once, and those not used go where memory is short."""

import numpy as np
import pytest
from unit.heat.small_room import small_room

from simulator.physics.heat import factored_stages
from simulator.physics.heat.factored_stages import RESPONSE, FactoredStages
from simulator.physics.heat.linear_solver import no_pulse


def test_a_length_is_factored_once() -> None:
    stages = FactoredStages(small_room().model, no_pulse)
    assert stages.of(30.0) is stages.of(30.0)
    assert stages.of(30.0) is not stages.of(60.0)


def test_the_length_least_lately_used_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(factored_stages, "KEPT_ENTRIES", 0)  # two are kept whatever it costs
    stages = FactoredStages(small_room().model, no_pulse)
    first, second = stages.of(30.0), stages.of(60.0)
    assert stages.of(30.0) is first
    stages.of(120.0)
    assert stages.of(30.0) is first
    assert stages.of(60.0) is not second


def test_responses_are_those_of_a_watt_wherever_the_guess_begins() -> None:
    model = small_room(eddies=0.05).model
    stages = FactoredStages(model, no_pulse)
    for time_constant in (15.0, 30.0, 60.0, 240.0):  # no guess, one, then along a line
        stage = stages.of(time_constant)
        responses = stages.responses(stage)
        assert len(responses) == len(model.heaters) > 0
        for heater, response in zip(model.heaters, responses, strict=True):
            load = np.zeros(model.layout.retained)
            load[heater.node] += heater.weight
            exact = stage.system.improved(stage.system.attempt(load, np.zeros_like(load)), 1e-12)
            scale = (heater.weight / stage.system.diagonal[heater.node]).max()
            left = np.abs(response.load - stage.system._multiply(response.x))
            assert (left / stage.system.diagonal).max() <= 1.01 * RESPONSE * scale
            assert np.abs(response.x - exact.x).max() < 0.05 * exact.x.max()
