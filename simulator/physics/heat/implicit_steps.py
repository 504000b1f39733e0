"""Marching by SDIRK2: two implicit stages a step, steps as long as the error allows.

Alexander (1977, SIAM J. Numer. Anal. 14:1006): γ = 1 - 1/√2, L-stable, order two; both stages share
one matrix. The heaters' laws hold in each stage, so control is part of the implicit system and
nothing lags. Where a thermostat switches a heater within a step, the step is cut short there.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, inf, sqrt

import numpy as np
from scipy.optimize import brentq

from simulator.grid.grid import FloatArray
from simulator.physics.heat.control import intake_temperatures, sensor_temperatures
from simulator.physics.heat.epoch_log import HeatFlows, heat_rates
from simulator.physics.heat.factored_stages import FactoredStage, FactoredStages
from simulator.physics.heat.kernels import go_by_cubic, go_straight, load_stage
from simulator.physics.heat.march import March
from simulator.physics.heat.step_ladder import step_ladder

GAMMA = 1.0 - 1.0 / sqrt(2.0)

#: Local error of the method over dt³ T''' [-]: |1/6 - 4 γ³ - 3 γ² (1 - 2 γ)|.
ERROR_CONSTANT = abs(1.0 / 6.0 - 4.0 * GAMMA**3 - 3.0 * GAMMA**2 * (1.0 - 2.0 * GAMMA))

#: Powers count as settled within this share of the most power.
SETTLED = 1e-3

#: So many more shortest steps that may not grow than such that may are hunting, no passing change
#: (choice); steps of four times the shortest end the count.
HUNTING = 16

#: Passes over a stage's heater laws before its powers are kept.
MOST_SETTLING = 5

#: Longest step where heaters are switched [s] (measured: by steps of 1800 s refuges in a furnished
#: bedroom were 0.07 K late).
LONGEST_SWITCHED = 1200.0

#: Shares of a step at which its sensors are looked at for a heater that is due to be switched
#: (choice).
LOOKS = np.linspace(0.0, 1.0, 9)


@dataclass(frozen=True, slots=True)
class ImplicitSteps:
    """SDIRK2 with steps chosen by the error of solids and surfaces.

    Attributes
    ----------
    error : allowed error of one step in any solid or surface, and with on/off control in any
        thermostat's sensor [K].
    solver_tolerance : error of each linear solution [K].
    longest, shortest : bounds of the step [s]; where heaters are switched no step is longer than
        ``LONGEST_SWITCHED``. Shorter ones than 8 s take more time in the first minute and bring
        refuges no nearer to the truth (0.14 K off at most with 5 and with 8 s; measured).
    hunting : up to here the shortest step grows where the error holds it down for long: a strong
        heater that is throttled by the air on its way to the sensor hunts in half a minute, which
        solids do not feel; steps longer than that damp it. The heat given is then that of a heater
        which does not hunt [s].
    switching : a heater is switched no later than this after it is due [s].
    """

    error: float = 0.1
    solver_tolerance: float = 4e-3
    longest: float = 1800.0
    shortest: float = 8.0
    hunting: float = 60.0
    switching: float = 0.5

    def march(self, epoch: March) -> None:
        """March the epoch; its steps are halves, quarters ... of equal parts of it.

        A step may be twice as long as the last if its error is allowed when it falls on as it fell
        last (predictive control: Gustafsson 1994, ACM Trans. Math. Softw. 20:496, from memory).
        """
        stepper = _Stepper(epoch, self)
        is_switched = epoch.thermostats.is_switched
        ladder = step_ladder(
            epoch.end - epoch.start,
            min(self.longest, LONGEST_SWITCHED) if is_switched else self.longest,
            self.shortest,
            self.switching if is_switched else self.shortest,
        )
        lowest, held = ladder.lowest, 0
        at, level, due = 0, lowest, ladder.ticks  # ``due``: no step may reach beyond it
        before = inf  # error of the last step over the cube of its ticks
        while at < ladder.ticks:
            level = ladder.fitting(level, at, due)
            error = stepper.try_step(epoch.start + at * ladder.tick, ladder.tick * 2**level)
            if error > self.error and level > lowest:
                while error > self.error and level > lowest:  # errors go by the cube of the step
                    error, level = error / 8.0, level - 1
                continue
            bend = error / 8.0**level
            falling, before = min(1.0, bend / before if before > 0.0 else 1.0), bend
            may_grow = falling * error < self.error / 8.0
            if level > lowest + 1:
                held = 0
            elif may_grow:
                held = max(0, held - 1)
            elif level == lowest:
                held += 1
            if held >= HUNTING and ladder.tick * 2**lowest < self.hunting:
                lowest, held = min(lowest + 1, ladder.highest), 0
            ticks = max(1, ceil(stepper.share_to_switch() * 2**level))  # 0: due as it begins
            if ticks < 2**level:
                due = at + ticks
                continue
            stepper.accept()
            at += 2**level
            if stepper.switch():
                level, due = lowest, ladder.ticks
            elif level < lowest or may_grow:
                level += 1
            if at == due:
                due = ladder.ticks


@dataclass(frozen=True, slots=True)
class _Step:
    """A step that may be accepted."""

    start: float
    length: float
    state: FloatArray
    rate: FloatArray  # dT/dt at the end [K/s]
    power: FloatArray
    given: FloatArray  # by each heater over the step [J]
    flows: HeatFlows  # over the step [J]


class _Stepper:
    """Tries steps from the log's latest state."""

    def __init__(self, epoch: March, method: ImplicitSteps) -> None:
        self.epoch, self.method = epoch, method
        self.stages = FactoredStages(epoch.model, epoch.pulse)
        self.rate: FloatArray | None = None  # dT/dt at the start of the step [K/s]
        self.tried: _Step | None = None
        self.stored = epoch.log.stored(epoch.log.state)  # where the step starts [J]
        layout = epoch.model.layout
        self.judged = slice(layout.air_cell.size, layout.retained)

    def try_step(self, start: float, length: float) -> float:
        """Make a step and return its estimated error [K]; zero for the first of an epoch."""
        epoch, log = self.epoch, self.epoch.log
        state, capacity_rate = log.state, 1.0 / (GAMMA * length)
        factored = self.stages.of(GAMMA * length)
        guess = state[: epoch.model.layout.retained].copy()
        if self.rate is not None:
            guess += (GAMMA * length) * self.rate[: guess.size]
        middle, middle_power = self._stage(
            factored, start + GAMMA * length, state, guess, log.power
        )

        base = middle - state
        guess = state[: guess.size] + base[: guess.size] / GAMMA
        middle_rate = self._judge(base) * capacity_rate
        base *= (1.0 - GAMMA) / GAMMA
        base += state
        end, end_power = self._stage(factored, start + length, base, guess, middle_power)
        end_rate = np.subtract(end, base, out=base)
        end_rate *= capacity_rate

        flows = HeatFlows()
        for share, at, power in ((1.0 - GAMMA, middle, middle_power), (GAMMA, end, end_power)):
            flows = flows.plus(heat_rates(epoch.model, at, power), share * length)
        given = length * ((1.0 - GAMMA) * middle_power + GAMMA * end_power)
        self.tried = _Step(start, length, end, end_rate, end_power, given, flows)
        if self.rate is None:
            return 0.0
        return _error(length, self._judge(self.rate), middle_rate, self._judge(end_rate))

    def _judge(self, rate: FloatArray) -> FloatArray:
        """Rates (or rises) of solids and surfaces, and of the sensors of switched heaters."""
        if not self.epoch.thermostats.is_switched:
            return rate[self.judged]
        return np.append(rate[self.judged], sensor_temperatures(self.epoch.control, rate))

    def share_to_switch(self) -> float:
        """Return the share of the tried step after which a heater is due; 1 if none before."""
        step, epoch, log = self.tried, self.epoch, self.epoch.log
        assert step is not None
        if not epoch.thermostats.is_switched:
            return 1.0
        first, last, last_rate = (
            sensor_temperatures(epoch.control, at) for at in (log.state, step.state, step.rate)
        )
        first_rate = None if self.rate is None else sensor_temperatures(epoch.control, self.rate)

        def margin(share: float) -> float:
            sensor = _cubic(share, step.length, first, last, first_rate, last_rate)
            time = step.start + share * step.length
            return float(epoch.thermostats.margin(time, sensor, log.is_on).min(initial=np.inf))

        for low, high in pairwise(LOOKS):
            if margin(high) <= 0.0:
                return high if margin(low) <= 0.0 else float(brentq(margin, low, high, xtol=1e-4))
        return 1.0

    def switch(self) -> bool:
        """Switch the heaters that are due at the latest state; return whether any was.

        The rates jump there, so that of the step before is of no use to the next.
        """
        epoch, log = self.epoch, self.epoch.log
        if not epoch.switch(log.time, sensor_temperatures(epoch.control, log.state)):
            return False
        log.power = epoch.wanted_power(log.time, log.state)
        self.rate = None
        return True

    def accept(self) -> None:
        """Record the step that was tried and go on from its end."""
        step, log = self.tried, self.epoch.log
        assert step is not None
        end = step.start + step.length
        flows, given = log.flows.plus(step.flows), log.given + step.given
        stored_before, stored_after = self.stored, log.stored(step.state)
        for time in log.times_within(step.start, end):
            share = min(1.0, (float(time) - step.start) / step.length)
            state = self._between(step, share)
            power = log.power + share * (step.power - log.power)
            log.note(
                float(time),
                state,
                np.minimum(power, self.epoch.by_outlets(state)),
                log.given + share * step.given,
                log.flows.plus(step.flows, share),
                stored_before + share * (stored_after - stored_before),
            )
        log.reach(end, step.state, step.power, given, flows)
        self.rate, self.stored = step.rate, stored_after

    def _between(self, step: _Step, share: float) -> FloatArray:
        """State within a step: the cubic through both ends and their rates; a line in the first.

        At the start of an epoch the rates of the thinnest nodes jump and would bend the cubic.
        """
        start = self.epoch.log.state
        first_rate = self.rate if share < 1.0 else None
        return _cubic(share, step.length, start, step.state, first_rate, step.rate)

    def _stage(
        self,
        factored: FactoredStage,
        time: float,
        base: FloatArray,
        guess: FloatArray,
        power: FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        """Solve one stage with powers that agree with the temperatures at its end, ``time``.

        ``guess`` is of the retained nodes.
        """
        epoch, system = self.epoch, factored.system
        tolerance = self.method.solver_tolerance
        load = np.empty_like(base)
        load_stage(system.storage, base, epoch.model.constant, load)
        reduced = system.reduce(load)
        attempt = system.attempt(epoch.heated(reduced.retained, power), guess)
        for _ in range(MOST_SETTLING):
            attempt = system.improved(attempt, tolerance, epoch.pulse)
            wanted = epoch.wanted_power(time, attempt.x)
            if np.all(np.abs(wanted - power) <= SETTLED * epoch.most_power):
                break
            new = self._settled(factored, time, attempt.x, power)
            for change, response in zip(new - power, factored.responses, strict=True):
                if change != 0.0:
                    attempt = attempt.plus(change, response)
            power = new
        return system.expand(reduced, system.balanced(attempt)), power

    def _settled(
        self, factored: FactoredStage, time: float, state: FloatArray, power: FloatArray
    ) -> FloatArray:
        epoch = self.epoch
        responses = [response.x for response in self.stages.responses(factored)]
        at_sensors = [sensor_temperatures(epoch.control, response) for response in responses]
        nothing = intake_temperatures(epoch.model, np.zeros_like(state))
        at_intakes = [
            intake_temperatures(epoch.model, response) - nothing for response in responses
        ]
        return epoch.law(time).settle(
            power,
            sensor_temperatures(epoch.control, state),
            intake_temperatures(epoch.model, state),
            np.array(at_sensors).T,
            np.array(at_intakes).T,
        )


def _error(length: float, first: FloatArray, second: FloatArray, third: FloatArray) -> float:
    """Largest local error C dt³ T''' [K] from the rates at a step's start, middle stage and end."""
    bend = (third - second) / (1.0 - GAMMA) - (second - first) / GAMMA  # dt² T''' / 2
    return float(2.0 * ERROR_CONSTANT * length * np.abs(bend).max(initial=0.0))


def _cubic(
    share: float,
    length: float,
    first: FloatArray,
    last: FloatArray,
    first_rate: FloatArray | None,
    last_rate: FloatArray,
) -> FloatArray:
    """Value within a step by the cubic through both ends and their rates; a line without a rate."""
    between = np.empty_like(first)
    if first_rate is None:
        go_straight(share, first, last, between)
    else:
        go_by_cubic(share, length, first, last, first_rate, last_rate, between)
    return between
