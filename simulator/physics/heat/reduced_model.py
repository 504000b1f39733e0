"""Marching by a reduced model: a few dozen shapes of the temperature field carry a whole epoch.

The shapes are answers of the dwelling to its inputs at time constants from seconds to half a day
(rational Krylov: Ruhe 1984, Linear Algebra Appl. 58:391, from memory). Projection keeps heat
exactly because the uniform field is one of the shapes, and is stable because K + K^T is positive
semidefinite. Once the shapes are there, six hours take milliseconds: worth it where one flow is
marched many times, or where thermostats switch heaters hundreds of times; for a single run with
throttled heaters the implicit steps are quicker.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy.linalg import expm

from simulator.grid.grid import FloatArray
from simulator.physics.heat.control import intake_temperatures, sensor_temperatures
from simulator.physics.heat.epoch_log import HeatFlows
from simulator.physics.heat.linear_solver import HeatSolver, Pulse
from simulator.physics.heat.march import March
from simulator.physics.heat.step_ladder import halvings

#: A shape is dropped if less than this share of it is new [-].
LEAST_NOVELTY = 1e-9

#: Time over which the temperatures at the start of an epoch are brought in as heat [s].
START_TIME = 3600.0

#: Longest time between two looks at the whole field, for the peaks of solids [s].
LOOK = 300.0


@dataclass(frozen=True, slots=True)
class ReducedSteps:
    """A rational-Krylov model of each epoch, marched at the steps of its control.

    Attributes
    ----------
    shifts : number of time constants.
    slowest, fastest : ends of their range, as rates [1/s].
    solver_tolerance : error of each solution [K].
    control_step : time between two settings of throttled heaters [s].
    switched_step : time between two looks at the sensors of switched heaters [s].
    switching : a heater is switched no later than this after it is due [s].
    """

    shifts: int = 16
    slowest: float = 2e-5
    fastest: float = 0.1
    solver_tolerance: float = 1e-4
    control_step: float = 10.0
    switched_step: float = 2.0
    switching: float = 0.01

    def march(self, epoch: March) -> None:
        """Build the reduced model at the state the epoch begins with, and march it."""
        basis = _Basis(epoch)
        for rate in np.geomspace(self.slowest, self.fastest, self.shifts):
            basis.extend(float(rate), self.solver_tolerance, epoch.pulse)
        length = epoch.end - epoch.start
        is_switched = epoch.thermostats.is_switched
        steps = ceil(length / (self.switched_step if is_switched else self.control_step) - 1e-9)
        step = length / steps
        cuts = halvings(step, self.switching) if is_switched else 0
        _ReducedMarch(epoch, basis, step, cuts).run(steps)


class _Basis:
    """Shapes that are orthonormal in heat capacity, and the balance projected on them.

    Temperatures are counted from ``reference``, the mean of the state that the epoch begins with.
    """

    def __init__(self, epoch: March) -> None:
        self.model = model = epoch.model
        self.capacity = model.layout.capacity
        self.solver = HeatSolver(model)
        n = self.capacity.size
        self.shapes = np.zeros((0, n))
        self.outflows = np.zeros((0, n))  # K applied to each shape
        self.reduced = np.zeros((0, 0))
        state = epoch.log.state
        self.reference = float(self.capacity @ state / self.capacity.sum())
        self.start = state - self.reference
        self.constant = model.constant - model.outflow(np.full(n, self.reference))
        # loads of the size that they will have, so that tolerances in kelvin mean something
        self.watts = np.maximum(epoch.most_power, 1.0)
        self.heater_loads = [epoch.heated(np.zeros(n), row) for row in np.diag(self.watts)]
        self._add(np.ones(n))
        self._add(self.start)

    def extend(self, rate: float, tolerance: float, pulse: Pulse) -> None:
        """Add the answers to all inputs at the time constant 1 / ``rate``."""
        system = self.solver.shifted(1.0 / rate)
        beginning = self.capacity * self.start / START_TIME
        for load in (*self.heater_loads, self.constant, beginning):
            self._add(system.solve(load, self._guess(rate, load), tolerance, pulse))

    def _add(self, shape: FloatArray) -> None:
        norm = self._norm(shape)
        for _ in range(2):
            shape = shape - (self.shapes @ (self.capacity * shape)) @ self.shapes
        novelty = self._norm(shape)
        if novelty <= LEAST_NOVELTY * norm:
            return
        shape = shape / novelty
        outflow = self.model.outflow(shape)
        column, row = self.shapes @ outflow, self.outflows @ shape
        corner = np.array([[shape @ outflow]])
        self.reduced = np.block([[self.reduced, column[:, None]], [row[None, :], corner]])
        self.shapes = np.vstack([self.shapes, shape])
        self.outflows = np.vstack([self.outflows, outflow])

    def _norm(self, shape: FloatArray) -> float:
        return float(np.sqrt(shape @ (self.capacity * shape)))

    def _guess(self, rate: float, load: FloatArray) -> FloatArray:
        """The best field among the shapes: it takes about two thirds of the iterations away."""
        matrix = rate * np.eye(len(self.shapes)) + self.reduced
        field: FloatArray = np.linalg.solve(matrix, self.shapes @ load) @ self.shapes
        return field


@dataclass(frozen=True, slots=True)
class _Propagator:
    """What a step of one length makes of amounts a and inputs u that are held over it."""

    length: float  # [s]
    carry: FloatArray  # a := carry a + drive u
    drive: FloatArray
    sum_carry: FloatArray  # the same for the time integral of the amounts
    sum_drive: FloatArray


@dataclass(frozen=True, slots=True)
class _Moment:
    """Where a march stands."""

    time: float  # [s]
    amounts: FloatArray
    total: FloatArray  # time integral of the amounts
    power: FloatArray  # of the step that led here [W]
    given: FloatArray  # by each heater since the start [J]


class _ReducedMarch:
    """Marches the amounts of the shapes exactly between settings of the heaters.

    A step in which a heater is due to be switched is halved as often as is allowed.
    """

    def __init__(self, epoch: March, basis: _Basis, step: float, halvings: int) -> None:
        self.epoch, self.basis, self.step = epoch, basis, step
        self._read_shapes()
        model, shapes = epoch.model, basis.shapes
        r, heaters = len(shapes), len(model.heaters)
        per_watt = np.array(basis.heater_loads).reshape(heaters, shapes.shape[1])
        per_watt /= basis.watts[:, None]
        inputs = np.hstack([(shapes @ per_watt.T), (shapes @ basis.constant)[:, None]])
        # amounts, inputs held over the step, time integral of the amounts
        rates = np.zeros((2 * r + heaters + 1, 2 * r + heaters + 1))
        rates[:r, :r] = -basis.reduced
        rates[:r, r : r + heaters + 1] = inputs
        rates[r + heaters + 1 :, :r] = np.eye(r)
        self._close_balance(rates)
        lengths = [step / 2**level for level in range(halvings + 1)]
        self.propagators = [_propagator(rates, length, r) for length in lengths]

    def _close_balance(self, rates: FloatArray) -> None:
        """Write the row of the uniform shape from what is lost and given: exact to the last digit.

        As a sum over all nodes it would carry their round-off, which grows with time.
        """
        r, heaters = self.losses.shape[1], len(self.epoch.model.heaters)
        scale = 1.0 / np.sqrt(self.basis.capacity.sum())
        rates[0, :r] = -scale * self.losses.sum(axis=0)
        rates[0, r : r + heaters] = scale
        rates[0, r + heaters] = scale * (self.epoch.model.appliance_power - self.base_losses.sum())

    def _read_shapes(self) -> None:
        """Find what sensors, intakes, leaks and outer walls read of each shape."""
        model, control = self.epoch.model, self.epoch.control
        zero = np.zeros(model.layout.size)
        uniform = np.full(model.layout.size, self.basis.reference)
        self.base_sensors = sensor_temperatures(control, uniform)
        self.base_intakes = intake_temperatures(model, uniform)
        self.base_losses = np.array([model.leak_loss(uniform), model.envelope_loss(uniform)])
        at_zero = intake_temperatures(model, zero)
        no_losses = np.array([model.leak_loss(zero), model.envelope_loss(zero)])
        sensors, intakes, losses = [], [], []
        for shape in self.basis.shapes:
            sensors.append(sensor_temperatures(control, shape))
            intakes.append(intake_temperatures(model, shape) - at_zero)
            losses.append([model.leak_loss(shape), model.envelope_loss(shape)] - no_losses)
        self.sensors, self.intakes = np.array(sensors).T, np.array(intakes).T
        self.losses = np.array(losses).T

    def run(self, steps: int) -> None:
        """March all steps, noting what is asked for in the log."""
        epoch, log = self.epoch, self.epoch.log
        amounts = self.basis.shapes @ (self.basis.capacity * self.basis.start)
        power, given = epoch.wanted_power(epoch.start, log.state), np.zeros(log.power.size)
        self.at = _Moment(epoch.start, amounts, np.zeros(amounts.size), power, given)
        for number in range(steps):
            epoch.pulse()
            self._go(epoch.start + number * self.step, 0)
            if self.at.time - log.time >= LOOK or number == steps - 1:
                self._reach()

    def _go(self, start: float, level: int) -> None:
        """Go one step of a level from ``start``; by its halves if a heater is due within it."""
        epoch, propagator = self.epoch, self.propagators[level]
        after = self._after(start, propagator)
        sensor = self.base_sensors + self.sensors @ after.amounts
        margin = epoch.thermostats.margin(after.time, sensor, epoch.log.is_on)
        if level + 1 < len(self.propagators) and margin.min(initial=np.inf) <= 0.0:
            self._go(start, level + 1)
            self._go(start + 0.5 * propagator.length, level + 1)
            return
        self._note(self.at, after, start)
        self.at = after
        epoch.switch(after.time, sensor)

    def _after(self, start: float, propagator: _Propagator) -> _Moment:
        at, length = self.at, propagator.length
        power = self._settled(start + length, propagator)
        inputs = np.append(power, 1.0)
        return _Moment(
            time=start + length,
            amounts=propagator.carry @ at.amounts + propagator.drive @ inputs,
            total=at.total + propagator.sum_carry @ at.amounts + propagator.sum_drive @ inputs,
            power=power,
            given=at.given + length * power,
        )

    def _note(self, before: _Moment, after: _Moment, start: float) -> None:
        """Note what is asked for within a step."""
        log = self.epoch.log
        for asked in log.times_within(start, after.time):
            time = float(asked)
            share = min(1.0, (time - start) / (after.time - start))
            state = self._state(before.amounts + share * (after.amounts - before.amounts))
            total = before.total + share * (after.total - before.total)
            given = before.given + share * (after.given - before.given)
            # heat between two settings of the heaters is shared out evenly, stored heat too
            stored = log.stored(state)
            log.note(time, state, after.power, given, self._flows(time, total, given), stored)

    def _reach(self) -> None:
        at = self.at
        flows = self._flows(at.time, at.total, at.given)
        self.epoch.log.reach(at.time, self._state(at.amounts), at.power, at.given, flows)

    def _settled(self, time: float, propagator: _Propagator) -> FloatArray:
        """Powers that agree with the temperatures which they bring about by the step's end."""
        amounts, power = self.at.amounts, self.at.power
        if not power.size:
            return power
        heaters = power.size
        after = propagator.carry @ amounts + propagator.drive @ np.append(power, 1.0)
        response = propagator.drive[:, :heaters]
        return self.epoch.law(time).settle(
            power,
            self.base_sensors + self.sensors @ after,
            self.base_intakes + self.intakes @ after,
            self.sensors @ response,
            self.intakes @ response,
        )

    def _state(self, amounts: FloatArray) -> FloatArray:
        state: FloatArray = self.basis.reference + amounts @ self.basis.shapes
        return state

    def _flows(self, time: float, total: FloatArray, given: FloatArray) -> HeatFlows:
        elapsed = time - self.epoch.start
        leaks, envelope = self.base_losses * elapsed + self.losses @ total
        return HeatFlows(
            heaters=float(given.sum()),
            fans_and_appliances=self.epoch.model.appliance_power * elapsed,
            leaks=float(leaks),
            envelope=float(envelope),
        )


def _propagator(rates: FloatArray, length: float, amounts: int) -> _Propagator:
    """Return the propagator of amounts, inputs held over the step, and integrals of the amounts."""
    exact, r = expm(rates * length), amounts
    sums = rates.shape[0] - r
    return _Propagator(
        length, exact[:r, :r], exact[:r, r:sums], exact[sums:, :r], exact[sums:, r:sums]
    )
