"""The least squares of one log on the reduced model: what is sought, what is left, how sure it is.

Sought are coordinates: the unknowns, the common share of the error of the cells and the clock; then
for each sensor in a thing its pace and its rise, and for every sensor a share of the error of the
cells of its own (``departures.py``).
"""

from collections.abc import Mapping

import numpy as np
from scipy.optimize import least_squares

from simulator.grid.grid import BoolArray, FloatArray
from simulator.studies.following.basis import Basis
from simulator.studies.following.departures import (
    GRID_SPREAD,
    PACE,
    RISE,
    SHARE,
    departed,
    learnt_spread,
    of_spots,
)
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import CLOCK_UNIT, PRIOR_SPREAD, UNKNOWNS

#: Error of a single sensor [K] (common practice, no source: half a degree for cheap probes).
SENSOR_ERROR = 0.5

#: Of each sensor one reading in this time is used [s]; and errors go together over this time [s]
#: (estimate: an offset or a thing out of place errs on for hours, noise for minutes).
THINNED, GO_TOGETHER = 600.0, 3600.0

#: Error of a course's shape over the harmonic mean of what it has risen and what still lies ahead
#: of it [-] (estimate, set like ``departures.PACE``).
SHAPE = 0.05

#: Departures and noise are learnt in so many rounds of fitting.
ROUNDS = 3

#: Where the error of the cells and the clock stand among the coordinates, and how many there are.
GRID_AT, CLOCK_AT = len(UNKNOWNS), len(UNKNOWNS) + 1
COORDINATES = len(UNKNOWNS) + 2


def fitted(
    basis: Basis, log: SensorLog, trusted: BoolArray, left_out: Mapping[int, float]
) -> "Fit":
    """Return the fit of a log without the readings of some columns since given times [s]."""
    used = trusted.copy()
    for column, since in left_out.items():
        used[log.time >= since, column] = False
    fit = Fit(basis, log, used)
    fit.run()
    return fit


class Fit:
    """The least squares of one log; ``run`` finds what is sought and learns how much is usual."""

    def __init__(self, basis: Basis, log: SensorLog, trusted: BoolArray) -> None:
        self.basis, self.log, self.trusted = basis, log, trusted
        self.columns = [basis.sensors.index(name) for name in log.sensors]
        nearest = [basis.nearest[column] for column in self.columns]
        self.in_things = [n for n, place in enumerate(nearest) if place >= 0]
        self._in_air = [n for n, place in enumerate(nearest) if place < 0]
        self.spots = tuple(nearest[n] for n in self.in_things)
        self._row, self._column = np.nonzero(_thinned(log.time, trusted))
        self._reading = log.value[self._row, self._column]
        self._finer = basis.finer.reshape(basis.time.size, -1)[:, self.columns]
        self.believed = np.full(COORDINATES, PRIOR_SPREAD)
        self.believed[GRID_AT], self.believed[CLOCK_AT] = GRID_SPREAD, 1.0
        self._alike = of_spots(basis.places, self.spots)
        self.spreads = [PACE, RISE, SHARE]
        self.point = np.zeros(COORDINATES + 3 * len(self.spots) + len(self._in_air))
        self.noise = SENSOR_ERROR
        self.covariance = self._prior()
        self._error = self._errors()

    def run(self) -> None:
        """Fit, and learn from what is left how noisy readings are and how much things depart."""
        for _ in range(ROUNDS):
            self._error = self._errors()
            self._least_squares()
            model_error = np.sqrt(np.maximum(self._error**2 - self.noise**2, 0.0))
            left = np.abs(self._left(self.point) * self._error)
            beyond = np.sqrt(np.maximum(left**2 - model_error**2, 0.0))
            self.noise = max(SENSOR_ERROR, 1.4826 * float(np.median(beyond)))
            self._learn_spreads()

    def _learn_spreads(self) -> None:
        if not self.spots:
            return
        for number, believed in enumerate((PACE, RISE)):
            part = self.part(number)
            self.spreads[number] = learnt_spread(
                believed, self._alike, self.point[part], self.covariance[part, part]
            )

    def part(self, number: int) -> slice:
        """Return where paces (0), rises (1) or shares (2) of sensors in things stand."""
        begin = COORDINATES + number * len(self.spots)
        return slice(begin, begin + len(self.spots))

    def _prior(self) -> FloatArray:
        """Return the covariance of what is believed beforehand."""
        found = SHARE**2 * np.eye(self.point.size)  # of sensors in the air
        found[:COORDINATES, :COORDINATES] = np.diag(self.believed**2)
        for number, spread in enumerate(self.spreads):
            part = self.part(number)
            found[part, part] = spread**2 * self._alike
        return found

    def _errors(self) -> FloatArray:
        """Return one standard deviation of each reading, with the model's own errors (N,) [K]."""
        table = self._table(self.point)[:, self.columns]
        model = self._model(self.point)
        ahead = np.maximum(table.max(axis=0) - model, 0.0)
        risen = np.maximum(model - table[0], 0.0)
        midst = 2.0 * risen * ahead / np.maximum(risen + ahead, 1e-9)
        shape = SHAPE * midst[self._row, self._column]
        basis = self.basis.error[self.columns][self._column]
        found: FloatArray = np.sqrt(self.noise**2 + basis**2 + shape**2)
        return found

    def _least_squares(self) -> None:
        low = np.full(self.point.size, -np.inf)
        high = np.full(self.point.size, np.inf)
        low[: GRID_AT + 1], high[: GRID_AT + 1] = -1.0, 1.0
        start = np.clip(self.point, low + 1e-6, high - 1e-6)
        prior = self._prior()
        scale = np.sqrt(np.diag(prior))
        root = np.linalg.inv(np.linalg.cholesky(prior))

        def residuals(point: FloatArray) -> FloatArray:
            left = self._left(point)  # soft L1: as the square where small, the distance where large
            soft = np.sign(left) * np.sqrt(2.0 * _TOGETHER * (np.sqrt(1.0 + left**2) - 1.0))
            return np.concatenate([soft, root @ point])

        self.point = least_squares(residuals, start, bounds=(low, high), x_scale=scale).x
        # Curvature of the robust cost: readings far off weigh less.
        weight = _TOGETHER / np.sqrt(1.0 + self._left(self.point) ** 2)
        slopes = self._slopes(scale)
        self.covariance = np.linalg.inv(
            slopes.T @ (weight[:, None] * slopes) + np.linalg.inv(prior)
        )

    def _left(self, point: FloatArray) -> FloatArray:
        """Return what is left of the readings, in units of their error (N,)."""
        model = self._model(point)[self._row, self._column]
        return (self._reading - model) / self._error

    def _slopes(self, scale: FloatArray) -> FloatArray:
        """Return the derivative of what is left by the coordinates, shape (N, D + 2 Q)."""
        columns = []
        for index, spread in enumerate(scale.tolist()):
            step = np.zeros(scale.size)
            step[index] = 1e-3 * spread
            ahead, behind = self._left(self.point + step), self._left(self.point - step)
            columns.append((ahead - behind) / (2.0 * step[index]))
        return np.column_stack(columns)

    def _model(self, point: FloatArray) -> FloatArray:
        """Return what the sensors of the log should read at its times, shape (T, sensors)."""
        table = self._table(point)
        time = self.log.time + CLOCK_UNIT * point[CLOCK_AT]
        paces, rises, shares = np.zeros((3, len(self.columns)))
        paces[self.in_things] = point[self.part(0)]
        rises[self.in_things] = point[self.part(1)]
        shares[self.in_things] = point[self.part(2)]
        shares[self._in_air] = point[self.part(2).stop :]
        table = table[:, self.columns] + shares * self._finer
        step = float(self.basis.time[1] - self.basis.time[0])
        return departed(table, time / step, paces, rises)

    def _table(self, point: FloatArray) -> FloatArray:
        return self.basis.temperatures(point[:GRID_AT].tolist(), 1.0 + point[GRID_AT])

    def expected(self) -> FloatArray:
        """Return what the sensors should read, shape (T, sensors) [°C]."""
        return self._model(self.point)

    def air(self) -> FloatArray:
        """Return the mean temperature of the air at the times of the log (T,) [°C]."""
        return np.interp(self.log.time, self.basis.time, self._table(self.point)[:, -1])


#: Weight of one reading among those that go together.
_TOGETHER = THINNED / GO_TOGETHER


def _thinned(time: FloatArray, trusted: BoolArray) -> BoolArray:
    """Return which readings are used: of each sensor one in each ``THINNED`` seconds."""
    used = np.zeros_like(trusted)
    slot = np.floor(time / THINNED)
    for column in range(trusted.shape[1]):
        rows = np.flatnonzero(trusted[:, column])
        _, first = np.unique(slot[rows], return_index=True)
        used[rows[first], column] = True
    return used
