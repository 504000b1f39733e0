"""Long-wave exchange follows the temperatures from epoch to epoch of a run."""

import dataclasses

import numpy as np
import pytest
from builders import NO_TREATMENT, box_room, solid

from simulator.case.parts import Box, HeatedJet
from simulator.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from simulator.grid.grid import FloatArray
from simulator.physics.heat import balance
from simulator.simulation import simulate
from simulator.timetable import epochs


def test_every_epoch_linearises_anew_about_warmer_surfaces(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sealed room that warms from 20 °C: each epoch's 4 σ T³ is greater than the one before."""
    about: list[FloatArray] = []
    given: list[float] = []
    linearise = balance.long_wave

    def seen(*arguments: object) -> object:
        radiated = linearise(*arguments)
        about.append(np.asarray(arguments[-1]))
        given.append(float(radiated.diagonal.sum()))
        return radiated

    monkeypatch.setattr(balance, "long_wave", seen)
    whole = Box((0.5, 0.5, 0.5), (1.0, 1.0, 1.0))
    heater = HeatedJet(
        "heater", "outlet", (0.3, 0.3, 0.3), (1.0, 0.0, 0.0), 0.2, 0.02, 500.0, 80.0, whole
    )
    treatment = dataclasses.replace(NO_TREATMENT, horizon=3.0 * 3600.0)
    block = solid((0.5, 0.5, 0.0), (0.25, 0.25, 0.25))
    case = box_room((1.0, 1.0, 1.0), parts=[heater, block], treatment=treatment)
    simulate(case, 0.25)
    assert len(about) >= len(epochs(treatment.horizon)) > 2
    means = [float(state.mean()) for state in about]
    assert means[0] == pytest.approx(20.0, abs=1e-9)
    assert means[-1] > means[0] + 5.0
    # as the cube of the surfaces' temperature, between those of the coldest and the hottest node
    kelvin = [about[-1].min() + ZERO_CELSIUS, about[-1].max() + ZERO_CELSIUS]
    start = 4.0 * STEFAN_BOLTZMANN * (20.0 + ZERO_CELSIUS) ** 3
    low, high = (4.0 * STEFAN_BOLTZMANN * t**3 / start for t in kelvin)
    assert low < given[-1] / given[0] < high
