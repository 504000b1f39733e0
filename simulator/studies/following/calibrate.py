"""The model corrected by a log: robust least squares on the reduced model, and what it cannot tell.

Sought are the unknowns of ``unknowns.py``, how far the error of the cells goes, the clock of the
log, and for each thing that holds a sensor its *pace*: it warms faster or slower than the model
has it, because fans stand elsewhere or more is stuffed in it than anybody knew. A pace p stretches
the time of a place: T(t) = model(t / p). Paces of things without a sensor are not known; how much
they spread is learnt from those that have one.

Everything has a spread that is believed beforehand (its prior), so what a log cannot tell stays as
wide as it was, and is told as not known. Directions of the unknowns that the log leaves as they
were are named: along them the readings are the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from simulator.errors import CaseError
from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.studies.following.basis import Basis
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

#: Readings nearer to each other in time than this say the same [s] (choice: what one misses, the
#: next does too).
THINNED = 600.0

#: Natural logarithm of a pace: its spread before any sensor has told, for things and for air, and
#: the weight of that belief against the sensors', in sensors (estimates).
PACE_OF_THINGS, PACE_OF_AIR, PACE_WEIGHT = 0.20, 0.05, 4.0

#: Paces are learnt in so many rounds of fitting.
ROUNDS = 3

#: A direction is not told by the log if its spread stays above this share of that believed
#: beforehand; a single unknown is told if its spread falls below the other.
NOT_TOLD, TOLD = 0.85, 0.6

#: A coordinate belongs to a direction's name if it makes up this much of it [-].
NAMED = 0.35


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
class SensorCheck:
    """How a sensor agrees with the corrected model."""

    name: str
    readings: int
    rms: float  # of what is left [K]
    pace: float  # of the thing it is in, over the model's [-]
    last_reading: float  # [°C]; nan: none
    words: str  # what it suggests, empty: it agrees
    is_trusted: bool  # False: its later readings are left out


@dataclass(frozen=True, slots=True)
class Calibration:
    """What ``calibrate`` returns. D unknowns (``UNKNOWNS``, grid, clock), O owners with sensors."""

    centre: FloatArray  # (D + O,) in units of ranges, and logarithms of paces
    covariance: FloatArray  # (D + O, D + O)
    owners: tuple[str, ...]
    pace_spread: float  # of a thing without a sensor, of the logarithm
    noise: float  # rms of what is left [K]
    learnt: tuple[Learnt, ...]
    null_directions: tuple[str, ...]
    sensors: tuple[SensorCheck, ...]
    until: float  # time of the last reading [s]

    def draw(self, count: int, seed: int = 1) -> FloatArray:
        """Return samples of the unknowns and paces, shape (count, D + O), within their ranges."""
        lots = np.random.default_rng(seed)
        # The covariance is that of a quadratic fit: round-off may leave it a hair short of one.
        sample = lots.multivariate_normal(
            self.centre, self.covariance, size=count, method="eigh", check_valid="ignore"
        )
        sample[:, : GRID_AT + 1] = np.clip(sample[:, : GRID_AT + 1], -1.0, 1.0)
        return sample


#: Where the error of the cells and the clock stand among the coordinates.
GRID_AT, CLOCK_AT = len(UNKNOWNS), len(UNKNOWNS) + 1
COORDINATES = len(UNKNOWNS) + 2
_WORDS = (*(thing.words for thing in UNKNOWNS), GRID, CLOCK)


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
    fit = _Fit(basis, log, trusted)
    fit.run()
    fallen = fit.fallen()
    if fallen:
        trusted = trusted.copy()
        for column, since in fallen.items():
            trusted[log.time >= since, column] = False
        fit = _Fit(basis, log, trusted)
        fit.run()
    return fit.calibration(fallen)


class _Fit:
    """The least squares of one log; ``run`` finds the unknowns and learns the paces' spread."""

    def __init__(self, basis: Basis, log: SensorLog, trusted: BoolArray) -> None:
        self._basis, self._log, self._trusted = basis, log, trusted
        self._columns = [basis.sensors.index(name) for name in log.sensors]
        in_things = [basis.nearest[column] for column in self._columns]
        self._owner_of = [basis.places[n].owner if n >= 0 else "" for n in in_things]
        self.owners = tuple(dict.fromkeys(owner for owner in self._owner_of if owner))
        self._air = [column for column, owner in enumerate(self._owner_of) if not owner]
        used = _thinned(log.time, trusted)
        self._row, self._column = np.nonzero(used)
        self._reading = log.value[self._row, self._column]
        size = COORDINATES + len(self.owners)
        self._point = np.zeros(size)
        self._spread = np.full(size, PRIOR_SPREAD)
        self._spread[CLOCK_AT] = 1.0
        self.pace_spread = PACE_OF_THINGS
        self.noise = 1.0
        self._covariance = np.diag(self._spread**2)

    def run(self) -> None:
        """Fit, and learn from what is left how noisy the readings are and how paces spread."""
        for _ in range(ROUNDS):
            self._spread[COORDINATES:] = self.pace_spread
            self._least_squares()
            left = self._reading - self._model(self._point)[self._row, self._column]
            middle = 1.4826 * float(np.median(np.abs(left)))
            self.noise = max(SENSOR_ERROR, middle)
            self._learn_paces()

    def _learn_paces(self) -> None:
        """Bring the spread of paces up to date by those that were found."""
        count = len(self.owners)
        if not count:
            return
        found = self._point[COORDINATES:] ** 2 + np.diag(self._covariance)[COORDINATES:]
        belief = PACE_WEIGHT * PACE_OF_THINGS**2
        self.pace_spread = math.sqrt((belief + float(found.sum())) / (PACE_WEIGHT + count))

    def _least_squares(self) -> None:
        low = np.full(self._point.size, -np.inf)
        high = np.full(self._point.size, np.inf)
        low[: GRID_AT + 1], high[: GRID_AT + 1] = -1.0, 1.0
        start = np.clip(self._point, low + 1e-6, high - 1e-6)
        result = least_squares(self._residuals, start, bounds=(low, high), x_scale=self._spread)
        self._point = result.x
        left = self._residuals(self._point, is_plain=True)
        # Curvature of the robust cost: readings far off weigh less.
        weight = np.ones(left.size)
        weight[: self._reading.size] = 1.0 / np.sqrt(1.0 + left[: self._reading.size] ** 2)
        slopes = self._slopes(self._point)
        self._covariance = np.linalg.inv(slopes.T @ (weight[:, None] * slopes))

    def _residuals(self, point: FloatArray, *, is_plain: bool = False) -> FloatArray:
        """Return what is left of readings and beliefs, in units of their spreads."""
        model = self._model(point)[self._row, self._column]
        error = np.hypot(self.noise, self._basis.error[self._columns][self._column])
        left = (self._reading - model) / error
        if not is_plain:  # soft L1: as the square where small, as the distance where large
            left = np.sign(left) * np.sqrt(2.0 * (np.sqrt(1.0 + left**2) - 1.0))
        return np.concatenate([left, point / self._spread])

    def _slopes(self, point: FloatArray) -> FloatArray:
        """Return the derivative of the plain residuals, shape (N + D + O, D + O)."""
        columns = []
        for index, spread in enumerate(self._spread):
            step = np.zeros(point.size)
            step[index] = 1e-3 * spread
            ahead = self._residuals(point + step, is_plain=True)
            behind = self._residuals(point - step, is_plain=True)
            columns.append((ahead - behind) / (2.0 * step[index]))
        return np.column_stack(columns)

    def _model(self, point: FloatArray) -> FloatArray:
        """Return what the sensors of the log should read at its times, shape (T, sensors)."""
        table = self._basis.temperatures(point[:GRID_AT].tolist(), 1.0 + point[GRID_AT])
        time = self._log.time + CLOCK_UNIT * point[CLOCK_AT]
        paces = dict(zip(self.owners, np.exp(point[COORDINATES:]), strict=True))
        return np.column_stack(
            [
                np.interp(time / paces.get(owner, 1.0), self._basis.time, table[:, column])
                for column, owner in zip(self._columns, self._owner_of, strict=True)
            ]
        )

    def _air_at(self) -> FloatArray:
        """Return the mean temperature of the air at the times of the log (T,) [°C]."""
        table = self._basis.temperatures(self._point[:GRID_AT].tolist(), 1.0 + self._point[GRID_AT])
        return np.interp(self._log.time, self._basis.time, table[:, -1])

    def fallen(self) -> dict[int, float]:
        """Return the sensors of things that jumped to the air and stayed there, and since when.

        A jump is a change between two readings of half of the way to the air and 5 K or more; after
        it the sensor stays nearer to the air than to where it was expected.
        """
        air, expected = self._air_at(), self._model(self._point)
        found: dict[int, float] = {}
        for column, owner in enumerate(self._owner_of):
            rows = np.flatnonzero(self._trusted[:, column])
            if not owner or rows.size < 4:
                continue
            reading = self._log.value[rows, column]
            jump = np.diff(reading)
            gap = air[rows][:-1] - reading[:-1]
            hits = np.flatnonzero((jump >= 5.0) & (jump >= 0.5 * gap) & (gap > 0.0))
            for hit in hits.tolist():
                after = rows[hit + 1 :]
                to_air = np.abs(self._log.value[after, column] - air[after])
                to_model = np.abs(self._log.value[after, column] - expected[after, column])
                if np.median(to_air) < max(3.0, 0.5 * float(np.median(to_model))):
                    found[column] = float(self._log.time[after[0]])
                    break
        return found

    def calibration(self, fallen: dict[int, float]) -> Calibration:
        """Return what was found."""
        return Calibration(
            centre=self._point,
            covariance=self._covariance,
            owners=self.owners,
            pace_spread=self.pace_spread,
            noise=self.noise,
            learnt=self._learnt(),
            null_directions=self._null_directions(),
            sensors=self._checks(fallen),
            until=float(self._log.time[-1]),
        )

    def _learnt(self) -> tuple[Learnt, ...]:
        spread = np.sqrt(np.diag(self._covariance))
        rows = []
        for index, thing in enumerate(UNKNOWNS):
            middle = self._point[index]
            ends = np.clip([middle - 1.645 * spread[index], middle + 1.645 * spread[index]], -1, 1)
            value, low, high = (thing.at(0.5 * (u + 1.0)) for u in (middle, *ends.tolist()))
            is_told = bool(spread[index] < TOLD * self._spread[index])
            rows.append(Learnt(thing.name, thing.words, value, low, high, is_told))
        return tuple(rows)

    def _null_directions(self) -> tuple[str, ...]:
        """Return in words the directions along which the readings are the same."""
        scale = self._spread[:COORDINATES]
        relative = self._covariance[:COORDINATES, :COORDINATES] / np.outer(scale, scale)
        sizes, directions = np.linalg.eigh(relative)
        words = []
        for size, direction in zip(np.sqrt(np.maximum(sizes, 0.0)), directions.T, strict=True):
            if size <= NOT_TOLD:
                continue
            strong = np.flatnonzero(np.abs(direction) >= NAMED)
            strong = strong[np.argsort(-np.abs(direction[strong]), kind="stable")]
            words.append(_direction_in_words(direction, strong.tolist()))
        return tuple(words)

    def _checks(self, fallen: dict[int, float]) -> tuple[SensorCheck, ...]:
        model, air = self._model(self._point), self._air_at()
        paces = dict(zip(self.owners, self._point[COORDINATES:].tolist(), strict=True))
        rows = []
        for column, (name, owner) in enumerate(zip(self._log.sensors, self._owner_of, strict=True)):
            here = np.flatnonzero(self._trusted[:, column])
            left = self._log.value[here, column] - model[here, column]
            seen = np.flatnonzero(np.isfinite(self._log.value[:, column]))
            rows.append(
                SensorCheck(
                    name=name,
                    readings=int(seen.size),
                    rms=float(np.sqrt(np.mean(left**2))) if here.size else math.nan,
                    pace=math.exp(paces.get(owner, 0.0)),
                    last_reading=float(self._log.value[seen[-1], column])
                    if seen.size
                    else math.nan,
                    words=self._suggests(column, here, left, air, paces.get(owner, 0.0), fallen),
                    is_trusted=column not in fallen,
                )
            )
        return tuple(rows)

    def _suggests(
        self,
        column: int,
        here: IntArray,
        left: FloatArray,
        air: FloatArray,
        pace: float,
        fallen: dict[int, float],
    ) -> str:
        """Return what a sensor's disagreement suggests, or nothing where it agrees."""
        if column in fallen:
            return (
                f"jumped to the air's temperature after {fallen[column] / 3600.0:.1f} h: it may "
                "have fallen out of its place; put it back"
            )
        if not here.size:
            return "has no reading"
        last = left[self._log.time[here] >= self._log.time[-1] - 1800.0]
        off = float(np.median(last)) if last.size else 0.0
        limit = 3.0 * float(np.hypot(self.noise, self._basis.error[self._columns[column]]))
        if abs(off) > limit:
            side = "colder" if off < 0.0 else "warmer"
            return (
                f"reads {abs(off):.1f} K {side} than all else explains: look where it is, whether "
                "something shields it or blows on it, and whether it reads right"
            )
        if abs(pace) > 2.0 * PACE_OF_THINGS:
            if pace > 0.0:
                return (
                    "warms slower than the model has it: more in it, or less air at it, than known"
                )
            return "warms faster than the model has it: less in it, or more air at it, than known"
        return ""


def _thinned(time: FloatArray, trusted: BoolArray) -> BoolArray:
    """Return which readings are used: of each sensor one in each ``THINNED`` seconds."""
    used = np.zeros_like(trusted)
    slot = np.floor(time / THINNED)
    for column in range(trusted.shape[1]):
        rows = np.flatnonzero(trusted[:, column])
        _, first = np.unique(slot[rows], return_index=True)
        used[rows[first], column] = True
    return used


def _direction_in_words(direction: FloatArray, strong: Sequence[int]) -> str:
    """Return a direction in words: one unknown that is not told, or several that stand in."""
    names = [_WORDS[index] for index in strong]
    if len(names) == 1:
        return f"{names[0]}: the log does not tell it"
    lead = direction[strong[0]]
    others = [
        f"{'more' if direction[index] * lead > 0.0 else 'less'} of '{_WORDS[index]}'"
        for index in strong[1:]
    ]
    return f"more of '{names[0]}' with {' and '.join(others)}: the readings would be the same"
