"""Marching by SDIRK2: two implicit stages a step, steps as long as the error allows.

Alexander (1977, SIAM J. Numer. Anal. 14:1006): γ = 1 - 1/√2, L-stable, order two; both stages share
one matrix. The heaters' laws hold in each stage, so control is part of the implicit system and
nothing lags.
"""

from dataclasses import dataclass
from math import ceil, log2, sqrt

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.heat.control import intake_temperatures, sensor_temperatures
from simulator.physics.heat.epoch_log import HeatFlows, heat_rates
from simulator.physics.heat.linear_solver import HeatSolver, ShiftedSystem
from simulator.physics.heat.march import March

GAMMA = 1.0 - 1.0 / sqrt(2.0)

#: Local error of the method over dt³ T''' [-]: |1/6 - 4 γ³ - 3 γ² (1 - 2 γ)|.
ERROR_CONSTANT = abs(1.0 / 6.0 - 4.0 * GAMMA**3 - 3.0 * GAMMA**2 * (1.0 - 2.0 * GAMMA))

#: Powers count as settled within this share of the most power.
SETTLED = 1e-3

#: Passes over a stage's heater laws before its powers are kept.
MOST_SETTLING = 5


@dataclass(frozen=True, slots=True)
class ImplicitSteps:
    """SDIRK2 with steps chosen by the error of solids and surfaces.

    Attributes
    ----------
    error : allowed error of one step in any solid or surface [K].
    solver_tolerance : error of each linear solution [K].
    longest, shortest : bounds of the step [s].
    """

    error: float = 0.05
    solver_tolerance: float = 1e-3
    longest: float = 300.0
    shortest: float = 5.0

    def march(self, epoch: March) -> None:
        """March the epoch; its steps are halves, quarters ... of equal parts of it."""
        stepper = _Stepper(epoch, self)
        length = epoch.end - epoch.start
        parts = max(1, ceil(length / self.longest - 1e-9))
        finest = max(0, ceil(log2(max(length / parts / self.shortest, 1.0))))
        tick = length / parts / 2**finest
        at, level = 0, 0  # position in ticks; steps of 2**level ticks
        while at < parts * 2**finest:
            error = stepper.try_step(epoch.start + at * tick, tick * 2**level)
            if error > self.error and level > 0:
                level -= 1
                continue
            stepper.accept()
            at += 2**level
            if error < self.error / 8.0 and level < finest and at % 2 ** (level + 1) == 0:
                level += 1


@dataclass(frozen=True, slots=True)
class _Step:
    """A step that may be accepted."""

    start: float
    length: float
    state: FloatArray
    rate: FloatArray  # dT/dt at the end [K/s]
    power: FloatArray
    flows: HeatFlows  # over the step [J]


class _Factored:
    """The factored system of one step length and, when needed, the response to each heater."""

    def __init__(self, solver: HeatSolver, length: float) -> None:
        self.system: ShiftedSystem = solver.shifted(GAMMA * length)
        self.responses: list[FloatArray] = []


class _Stepper:
    """Tries steps from the log's latest state."""

    def __init__(self, epoch: March, method: ImplicitSteps) -> None:
        self.epoch, self.method = epoch, method
        self.solver = HeatSolver(epoch.model)
        self.factored: dict[float, _Factored] = {}
        self.rate: FloatArray | None = None  # dT/dt at the start of the step [K/s]
        self.tried: _Step | None = None
        layout = epoch.model.layout
        self.judged = slice(layout.air_cell.size, layout.retained)

    def try_step(self, start: float, length: float) -> float:
        """Make a step and return its estimated error [K]; zero for the first of an epoch."""
        epoch, log = self.epoch, self.epoch.log
        state, capacity_rate = log.state, 1.0 / (GAMMA * length)
        factored = self._factored(length)
        rate = self.rate if self.rate is not None else np.zeros_like(state)

        middle_guess = state + (GAMMA * length) * rate
        middle, middle_power = self._stage(factored, state, middle_guess, log.power)
        middle_rate = (middle - state) * capacity_rate

        base = state + ((1.0 - GAMMA) * length) * middle_rate
        guess = state + (middle - state) / GAMMA
        end, end_power = self._stage(factored, base, guess, middle_power)
        end_rate = (end - base) * capacity_rate

        flows = HeatFlows()
        for share, at, power in ((1.0 - GAMMA, middle, middle_power), (GAMMA, end, end_power)):
            flows = flows.plus(heat_rates(epoch.model, at, power), share * length)
        self.tried = _Step(start, length, end, end_rate, end_power, flows)
        return 0.0 if self.rate is None else self._error(length, rate, middle_rate, end_rate)

    def _error(
        self, length: float, rate: FloatArray, middle_rate: FloatArray, end_rate: FloatArray
    ) -> float:
        """Largest local error C dt³ T''' of any solid or surface, from three rates [K]."""
        first, second, third = (r[self.judged] for r in (rate, middle_rate, end_rate))
        bend = (third - second) / (1.0 - GAMMA) - (second - first) / GAMMA  # dt² T''' / 2
        return float(2.0 * ERROR_CONSTANT * length * np.abs(bend).max(initial=0.0))

    def accept(self) -> None:
        """Record the step that was tried and go on from its end."""
        step, log = self.tried, self.epoch.log
        assert step is not None
        end = step.start + step.length
        flows = log.flows.plus(step.flows)
        stored_before, stored_after = log.stored(log.state), log.stored(step.state)
        for time in log.times_within(step.start, end):
            share = min(1.0, (float(time) - step.start) / step.length)
            log.note(
                float(time),
                self._between(step, share),
                log.power + share * (step.power - log.power),
                log.flows.plus(step.flows, share),
                stored_before + share * (stored_after - stored_before),
            )
        log.reach(end, step.state, step.power, flows)
        self.rate = step.rate

    def _between(self, step: _Step, share: float) -> FloatArray:
        """State within a step: the cubic through both ends and their rates; a line in the first.

        At the start of an epoch the rates of the thinnest nodes jump and would bend the cubic.
        """
        start = self.epoch.log.state
        line = start + share * (step.state - start)
        if self.rate is None or share >= 1.0:
            return line
        secant = (step.state - start) / step.length
        s, r = share, 1.0 - share
        bend = (s * r * step.length) * (r * (self.rate - secant) - s * (step.rate - secant))
        return line + bend

    def _stage(
        self, factored: _Factored, base: FloatArray, guess: FloatArray, power: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Solve one stage with powers that agree with the temperatures at its end."""
        epoch, system = self.epoch, factored.system
        n, tolerance = epoch.model.layout.retained, self.method.solver_tolerance
        reduced = system.reduce(system.storage * base + epoch.model.constant)
        state = guess[:n]
        for _ in range(MOST_SETTLING):
            load = epoch.heated(reduced.retained, power)
            state = system.solve_retained(load, state, tolerance, epoch.pulse)
            wanted = epoch.wanted_power(state)
            if np.all(np.abs(wanted - power) <= SETTLED * epoch.law.power):
                break
            new = self._settled(factored, state, power)
            for change, response in zip(new - power, factored.responses, strict=True):
                if change != 0.0:
                    state = state + change * response
            power = new
        return system.expand(reduced, state), power

    def _settled(self, factored: _Factored, state: FloatArray, power: FloatArray) -> FloatArray:
        epoch = self.epoch
        responses = self._responses(factored)
        at_sensors = [sensor_temperatures(epoch.control, response) for response in responses]
        nothing = intake_temperatures(epoch.model, np.zeros_like(state))
        at_intakes = [
            intake_temperatures(epoch.model, response) - nothing for response in responses
        ]
        return epoch.law.settle(
            power,
            sensor_temperatures(epoch.control, state),
            intake_temperatures(epoch.model, state),
            np.array(at_sensors).T,
            np.array(at_intakes).T,
        )

    def _responses(self, factored: _Factored) -> list[FloatArray]:
        """Rise of the retained nodes for one watt of each heater over a stage [K/W]."""
        if not factored.responses:
            model, system = self.epoch.model, factored.system
            none = np.zeros(model.layout.retained)
            for heater in model.heaters:
                load = none.copy()
                load[heater.node] += heater.weight
                scale = float((heater.weight / system.diagonal[heater.node]).max())
                factored.responses.append(
                    system.solve_retained(load, none, 1e-3 * scale, self.epoch.pulse)
                )
        return factored.responses

    def _factored(self, length: float) -> _Factored:
        if length not in self.factored:
            self.factored[length] = _Factored(self.solver, length)
        return self.factored[length]
