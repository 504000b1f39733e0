"""The factored systems of the stages' lengths, and what each heater does over a stage."""

from collections.abc import Sequence
from math import log

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.linear_solver import Attempt, HeatSolver, Pulse, ShiftedSystem

#: Error of a heater's response over its largest rise [-] (measured: at 1e-2 refuges under switched
#: heaters were 0.02 K off).
RESPONSE = 3e-3

#: Matrix entries of all lengths together that are kept factored: 16 B each (choice).
KEPT_ENTRIES = 20_000_000


class FactoredStage:
    """The factored system of one length and, once needed, the response to each heater."""

    def __init__(self, system: ShiftedSystem) -> None:
        self.system = system
        self.responses: list[Attempt] = []

    def ratio(self, other: "FactoredStage") -> float:
        """Return how many times longer the longer stage of the two is [-]."""
        one, two = self.system.time_constant, other.system.time_constant
        return max(one / two, two / one)


class FactoredStages:
    """Stages of one frozen flow; ``pulse`` is called once an iteration and may raise."""

    def __init__(self, model: HeatModel, pulse: Pulse) -> None:
        self._model, self._pulse = model, pulse
        self._solver = HeatSolver(model)
        self._stages: dict[float, FactoredStage] = {}  # the least lately used first

    def of(self, time_constant: float) -> FactoredStage:
        """Return the stage of a time constant [s]; others are given up where memory is short."""
        stage = self._stages.pop(time_constant, None)
        if stage is None:
            most = max(2, KEPT_ENTRIES // self._model.matrix.value.size)
            while len(self._stages) >= most:
                del self._stages[next(iter(self._stages))]
            stage = FactoredStage(self._solver.shifted(time_constant))
        self._stages[time_constant] = stage
        return stage

    def responses(self, stage: FactoredStage) -> list[Attempt]:
        """Return the rise of the retained nodes for one watt of each heater over a stage [K/W]."""
        if not stage.responses:
            model, system = self._model, stage.system
            known = [other for other in self._stages.values() if other.responses]
            known.sort(key=stage.ratio)
            for number, heater in enumerate(model.heaters):
                load = np.zeros(model.layout.retained)
                load[heater.node] += heater.weight
                scale = float((heater.weight / system.diagonal[heater.node]).max())
                guess = _likely(stage, known[:2], number)
                attempt = system.attempt(load, np.zeros_like(load) if guess is None else guess)
                stage.responses.append(system.improved(attempt, RESPONSE * scale, self._pulse))
        return stage.responses


def _likely(
    stage: FactoredStage, nearest: Sequence[FactoredStage], heater: int
) -> FloatArray | None:
    """Guess a response: on the line through those of the two stages nearest in length, over log."""
    if not nearest:
        return None
    near = nearest[0].responses[heater].x
    if len(nearest) == 1:
        return near
    here, there, beyond = (
        log(each.system.time_constant) for each in (stage, nearest[0], nearest[1])
    )
    share = (here - there) / (there - beyond)
    guess: FloatArray = near + share * (near - nearest[1].responses[heater].x)
    return guess
