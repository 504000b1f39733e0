"""The model corrected by a log: robust least squares on the reduced model, and what it cannot tell.

Sought are the unknowns of ``unknowns.py``, how far the error of the cells goes, the clock of the
log, and for each sensor in a thing how that departs from the model (``departures.py``).

Everything has a spread that is believed beforehand (its prior), so what a log cannot tell stays as
wide as it was, and is told as not known. What a sensor misses at one moment it misses at the next
as well: readings within an hour of each other count together as one. And in the midst of its rise
the shape of a course errs most: such readings weigh less.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from simulator.errors import CaseError
from simulator.grid.grid import BoolArray, FloatArray
from simulator.studies.following.agreement import (
    SensorCheck,
    fell,
    has_fallen,
    jumps,
    rms,
    suggestion,
)
from simulator.studies.following.basis import Basis
from simulator.studies.following.departures import PACE, RISE, learnt_spread, of_spots
from simulator.studies.following.null_directions import null_directions
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import (
    CLOCK,
    CLOCK_UNIT,
    GRID,
    PRIOR_SPREAD,
    UNKNOWNS,
)

#: Error of a single sensor [K] (common practice, no source: half a degree for cheap probes).
SENSOR_ERROR = 0.5

#: Of each sensor one reading in this time is used [s]; and errors go together over this time [s]
#: (estimate: an offset or a thing out of place errs on for hours, noise for minutes).
THINNED, GO_TOGETHER = 600.0, 3600.0

#: Error of a course's shape over the harmonic mean of what it has risen and what still lies ahead
#: of it [-] (estimate, set like ``departures.PACE``).
SHAPE = 0.06

#: Departures and noise are learnt in so many rounds of fitting.
ROUNDS = 3

#: An unknown is told by the log if its spread falls below this share of that believed beforehand.
TOLD = 0.6

#: Nine tenths of a normal distribution lie within so many standard deviations.
NINE_TENTHS = 1.645

#: Where the error of the cells and the clock stand among the coordinates, and how many there are.
GRID_AT, CLOCK_AT = len(UNKNOWNS), len(UNKNOWNS) + 1
COORDINATES = len(UNKNOWNS) + 2
_WORDS = (*(thing.words for thing in UNKNOWNS), GRID, CLOCK)


@dataclass(frozen=True, slots=True)
class Learnt:
    """One unknown after a log. ``low`` and ``high`` bound nine tenths of what is believed."""

    name: str
    words: str
    value: float
    low: float
    high: float
    is_told: bool  # False: the log says little; value and bounds are mostly what was believed


@dataclass(frozen=True, slots=True)
class Calibration:
    """What ``calibrate`` returns. D unknowns (``UNKNOWNS``, grid, clock), Q sensors in things."""

    centre: FloatArray  # (D + 2 Q,) in units of ranges; logarithms of paces, then of rises
    covariance: FloatArray  # (D + 2 Q, D + 2 Q)
    spots: tuple[int, ...]  # (Q,) numbers of the places of those sensors
    pace_spread: float  # of places without a sensor
    rise_spread: float
    noise: float  # of readings, with what no departure explains [K]
    learnt: tuple[Learnt, ...]
    null_directions: tuple[str, ...]
    sensors: tuple[SensorCheck, ...]
    until: float  # time of the last reading [s]

    def draw(self, count: int, seed: int = 1) -> FloatArray:
        """Return samples of what was sought, shape (count, D + 2 Q), within their ranges."""
        lots = np.random.default_rng(seed)
        # The covariance is that of a quadratic fit: round-off may leave it a hair short of one.
        sample = lots.multivariate_normal(
            self.centre, self.covariance, size=count, method="eigh", check_valid="ignore"
        )
        sample[:, : GRID_AT + 1] = np.clip(sample[:, : GRID_AT + 1], -1.0, 1.0)
        return sample

    @property
    def values(self) -> dict[str, float]:
        """The unknowns' values by name, as ``varied_case`` takes them."""
        return {row.name: row.value for row in self.learnt}


def calibrate(basis: Basis, log: SensorLog) -> Calibration:
    """Return the unknowns of a case as its log so far tells them.

    Raises
    ------
    CaseError
        If the log has no reading that the basis covers.
    """
    trusted = np.isfinite(log.value)
    trusted &= (log.time <= basis.time[-1])[:, None]
    if not trusted.any():
        raise CaseError("the log has no reading within the time of the model")
    fit = _fitted(basis, log, trusted, {})
    jumped = jumps(log, trusted, fit.in_things, fit.air())
    fallen: dict[int, float] = {}
    if jumped:
        doubting = _fitted(basis, log, trusted, jumped)
        expected, air = doubting.expected(), doubting.air()
        fallen = {
            column: since
            for column, since in jumped.items()
            if has_fallen(log, column, since, expected[:, column], air)
        }
        fit = doubting if fallen == jumped else _fitted(basis, log, trusted, fallen)
    return fit.calibration(fallen)


def _fitted(
    basis: Basis, log: SensorLog, trusted: BoolArray, left_out: Mapping[int, float]
) -> "_Fit":
    """Return the fit of a log without the readings of some columns since given times [s]."""
    used = trusted.copy()
    for column, since in left_out.items():
        used[log.time >= since, column] = False
    fit = _Fit(basis, log, used)
    fit.run()
    return fit


class _Fit:
    """The least squares of one log; ``run`` finds what is sought and learns how much is usual."""

    def __init__(self, basis: Basis, log: SensorLog, trusted: BoolArray) -> None:
        self._basis, self._log, self._trusted = basis, log, trusted
        self._columns = [basis.sensors.index(name) for name in log.sensors]
        nearest = [basis.nearest[column] for column in self._columns]
        self.in_things = [n for n, place in enumerate(nearest) if place >= 0]
        self._spots = tuple(nearest[n] for n in self.in_things)
        self._row, self._column = np.nonzero(_thinned(log.time, trusted))
        self._reading = log.value[self._row, self._column]
        self._believed = np.full(COORDINATES, PRIOR_SPREAD)
        self._believed[CLOCK_AT] = 1.0
        self._alike = of_spots(basis.places, self._spots)
        self._spreads = [PACE, RISE]
        self._point = np.zeros(COORDINATES + 2 * len(self._spots))
        self._noise = SENSOR_ERROR
        self._covariance = self._prior()
        self._error = self._errors()

    def run(self) -> None:
        """Fit, and learn from what is left how noisy readings are and how much things depart."""
        for _ in range(ROUNDS):
            self._error = self._errors()
            self._least_squares()
            model_error = np.sqrt(np.maximum(self._error**2 - self._noise**2, 0.0))
            left = np.abs(self._left(self._point) * self._error)
            beyond = np.sqrt(np.maximum(left**2 - model_error**2, 0.0))
            self._noise = max(SENSOR_ERROR, 1.4826 * float(np.median(beyond)))
            self._learn_spreads()

    def _learn_spreads(self) -> None:
        if not self._spots:
            return
        for number, believed in enumerate((PACE, RISE)):
            part = self._part(number)
            self._spreads[number] = learnt_spread(
                believed, self._alike, self._point[part], self._covariance[part, part]
            )

    def _part(self, number: int) -> slice:
        """Return where the paces (0) or rises (1) stand among the coordinates."""
        begin = COORDINATES + number * len(self._spots)
        return slice(begin, begin + len(self._spots))

    def _prior(self) -> FloatArray:
        """Return the covariance of what is believed beforehand."""
        found = np.zeros((self._point.size, self._point.size))
        found[:COORDINATES, :COORDINATES] = np.diag(self._believed**2)
        for number, spread in enumerate(self._spreads):
            part = self._part(number)
            found[part, part] = spread**2 * self._alike
        return found

    def _errors(self) -> FloatArray:
        """Return one standard deviation of each reading, with the model's own errors (N,) [K]."""
        table = self._table(self._point)[:, self._columns]
        model = self._model(self._point)
        ahead = np.maximum(table.max(axis=0) - model, 0.0)
        risen = np.maximum(model - table[0], 0.0)
        midst = 2.0 * risen * ahead / np.maximum(risen + ahead, 1e-9)
        shape = SHAPE * midst[self._row, self._column]
        basis = self._basis.error[self._columns][self._column]
        found: FloatArray = np.sqrt(self._noise**2 + basis**2 + shape**2)
        return found

    def _least_squares(self) -> None:
        low = np.full(self._point.size, -np.inf)
        high = np.full(self._point.size, np.inf)
        low[: GRID_AT + 1], high[: GRID_AT + 1] = -1.0, 1.0
        start = np.clip(self._point, low + 1e-6, high - 1e-6)
        prior = self._prior()
        scale = np.sqrt(np.diag(prior))
        root = np.linalg.inv(np.linalg.cholesky(prior))

        def residuals(point: FloatArray) -> FloatArray:
            left = self._left(point)  # soft L1: as the square where small, the distance where large
            soft = np.sign(left) * np.sqrt(2.0 * _TOGETHER * (np.sqrt(1.0 + left**2) - 1.0))
            return np.concatenate([soft, root @ point])

        self._point = least_squares(residuals, start, bounds=(low, high), x_scale=scale).x
        # Curvature of the robust cost: readings far off weigh less.
        weight = _TOGETHER / np.sqrt(1.0 + self._left(self._point) ** 2)
        slopes = self._slopes(scale)
        self._covariance = np.linalg.inv(
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
            ahead, behind = self._left(self._point + step), self._left(self._point - step)
            columns.append((ahead - behind) / (2.0 * step[index]))
        return np.column_stack(columns)

    def _model(self, point: FloatArray) -> FloatArray:
        """Return what the sensors of the log should read at its times, shape (T, sensors)."""
        table = self._table(point)
        time = self._log.time + CLOCK_UNIT * point[CLOCK_AT]
        paces, rises = np.zeros(len(self._columns)), np.zeros(len(self._columns))
        paces[self.in_things] = point[self._part(0)]
        rises[self.in_things] = point[self._part(1)]
        stretched = [
            np.interp(time * math.exp(-pace), self._basis.time, table[:, column])
            for column, pace in zip(self._columns, paces.tolist(), strict=True)
        ]
        start = table[0, self._columns]
        found: FloatArray = start + np.exp(rises) * (np.column_stack(stretched) - start)
        return found

    def _table(self, point: FloatArray) -> FloatArray:
        return self._basis.temperatures(point[:GRID_AT].tolist(), 1.0 + point[GRID_AT])

    def expected(self) -> FloatArray:
        """Return what the sensors should read, shape (T, sensors) [°C]."""
        return self._model(self._point)

    def air(self) -> FloatArray:
        """Return the mean temperature of the air at the times of the log (T,) [°C]."""
        return np.interp(self._log.time, self._basis.time, self._table(self._point)[:, -1])

    def calibration(self, fallen: dict[int, float]) -> Calibration:
        """Return what was found; ``fallen``: columns of sensors that fell, since when [s]."""
        return Calibration(
            centre=self._point,
            covariance=self._covariance,
            spots=self._spots,
            pace_spread=self._spreads[0],
            rise_spread=self._spreads[1],
            noise=self._noise,
            learnt=self._learnt(),
            null_directions=null_directions(
                self._covariance[:COORDINATES, :COORDINATES], self._believed, _WORDS
            ),
            sensors=self._checks(fallen),
            until=float(self._log.time[-1]),
        )

    def _learnt(self) -> tuple[Learnt, ...]:
        spread = np.sqrt(np.diag(self._covariance))
        rows = []
        for index, thing in enumerate(UNKNOWNS):
            middle, reach = self._point[index], NINE_TENTHS * spread[index]
            ends = np.clip([middle - reach, middle + reach], -1.0, 1.0).tolist()
            value, low, high = (thing.at(0.5 * (u + 1.0)) for u in (middle, *ends))
            is_told = bool(spread[index] < TOLD * self._believed[index])
            rows.append(Learnt(thing.name, thing.words, value, low, high, is_told))
        return tuple(rows)

    def _checks(self, fallen: dict[int, float]) -> tuple[SensorCheck, ...]:
        model, log = self._model(self._point), self._log
        paces = dict(zip(self.in_things, self._point[self._part(0)].tolist(), strict=True))
        rows = []
        for column, name in enumerate(log.sensors):
            here = np.flatnonzero(self._trusted[:, column])
            left = log.value[here, column] - model[here, column]
            seen = np.flatnonzero(np.isfinite(log.value[:, column]))
            pace = paces.get(column, 0.0)
            error = float(np.hypot(self._noise, self._basis.error[self._columns[column]]))
            words = suggestion(log.time[here], left, error, pace, PACE)
            rows.append(
                SensorCheck(
                    name=name,
                    readings=int(seen.size),
                    rms=rms(left),
                    pace=math.exp(pace),
                    last_reading=float(log.value[seen[-1], column]) if seen.size else math.nan,
                    words=fell(fallen[column]) if column in fallen else words,
                    is_trusted=column not in fallen,
                )
            )
        return tuple(rows)


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
