"""Marching by a reduced model: a few dozen shapes of the temperature field carry a whole epoch.

The shapes are answers of the dwelling to its inputs at time constants from seconds to half a day
(rational Krylov: Ruhe 1984, Linear Algebra Appl. 58:391, from memory). Projection keeps heat
exactly because the uniform field is one of the shapes, and is stable because K + K^T is positive
semidefinite. Once the shapes are there, six hours take milliseconds: worth it where one flow is
marched many times; for a single run the implicit steps are quicker.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy.linalg import expm

from simulator.grid.grid import FloatArray
from simulator.physics.heat.control import intake_temperatures, sensor_temperatures
from simulator.physics.heat.epoch_log import HeatFlows
from simulator.physics.heat.linear_solver import HeatSolver, Pulse
from simulator.physics.heat.march import March

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
    control_step : time between two settings of the heaters [s].
    """

    shifts: int = 16
    slowest: float = 2e-5
    fastest: float = 0.1
    solver_tolerance: float = 1e-4
    control_step: float = 10.0

    def march(self, epoch: March) -> None:
        """Build the reduced model at the state the epoch begins with, and march it."""
        basis = _Basis(epoch)
        for rate in np.geomspace(self.slowest, self.fastest, self.shifts):
            basis.extend(float(rate), self.solver_tolerance, epoch.pulse)
        length = epoch.end - epoch.start
        steps = ceil(length / self.control_step - 1e-9)
        _ReducedMarch(epoch, basis, length / steps).run(steps)


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
        self.watts = np.maximum(epoch.law.power, 1.0)
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


class _ReducedMarch:
    """Marches the amounts of the shapes exactly between settings of the heaters."""

    def __init__(self, epoch: March, basis: _Basis, step: float) -> None:
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
        exact = expm(rates * step)
        self.carry, self.drive = exact[:r, :r], exact[:r, r : r + heaters + 1]
        self.sum_carry = exact[r + heaters + 1 :, :r]
        self.sum_drive = exact[r + heaters + 1 :, r : r + heaters + 1]

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
        total = np.zeros(amounts.size)  # time integral of the amounts
        power, given = epoch.wanted_power(log.state), np.zeros(len(epoch.model.heaters))
        last_look = epoch.start
        for number in range(steps):
            epoch.pulse()
            start = epoch.start + number * self.step
            end = start + self.step
            power = self._settled(amounts, power)
            inputs = np.append(power, 1.0)
            after = self.carry @ amounts + self.drive @ inputs
            total_after = total + self.sum_carry @ amounts + self.sum_drive @ inputs
            given_after = given + self.step * power
            for time, share in self._asked(start, end):
                state = self._state(amounts + share * (after - amounts))
                at = total + share * (total_after - total)
                heat = given + share * (given_after - given)
                # heat between two settings of the heaters is shared out evenly, stored heat too
                stored = self._stored(amounts, after, share)
                log.note(time, state, power, self._flows(time, at, heat), stored)
            amounts, total, given = after, total_after, given_after
            if end - last_look >= LOOK or number == steps - 1:
                last_look = end
                log.reach(end, self._state(amounts), power, self._flows(end, total, given))

    def _asked(self, start: float, end: float) -> Iterator[tuple[float, float]]:
        for time in self.epoch.log.times_within(start, end):
            yield float(time), min(1.0, (float(time) - start) / self.step)

    def _settled(self, amounts: FloatArray, power: FloatArray) -> FloatArray:
        """Powers that agree with the temperatures which they bring about by the end of the step."""
        if not power.size:
            return power
        heaters = power.size
        after = self.carry @ amounts + self.drive @ np.append(power, 1.0)
        response = self.drive[:, :heaters]
        return self.epoch.law.settle(
            power,
            self.base_sensors + self.sensors @ after,
            self.base_intakes + self.intakes @ after,
            self.sensors @ response,
            self.intakes @ response,
        )

    def _state(self, amounts: FloatArray) -> FloatArray:
        state: FloatArray = self.basis.reference + amounts @ self.basis.shapes
        return state

    def _stored(self, before: FloatArray, after: FloatArray, share: float) -> FloatArray:
        return self.epoch.log.stored(self._state(before + share * (after - before)))

    def _flows(self, time: float, total: FloatArray, given: FloatArray) -> HeatFlows:
        elapsed = time - self.epoch.start
        leaks, envelope = self.base_losses * elapsed + self.losses @ total
        return HeatFlows(
            heaters=float(given.sum()),
            fans_and_appliances=self.epoch.model.appliance_power * elapsed,
            leaks=float(leaks),
            envelope=float(envelope),
        )
