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

from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.studies.following.agreement import (
    SensorCheck,
    fell,
    has_fallen,
    jumps,
    rms,
    suggestion,
)
from simulator.studies.following.basis import Basis
from simulator.studies.following.departures import PACE
from simulator.studies.following.fit import COORDINATES, GRID_AT, Fit, fitted
from simulator.studies.following.null_directions import null_directions
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import CLOCK, GRID, UNKNOWNS

#: An unknown is told by the log if its spread falls below this share of that believed beforehand.
TOLD = 0.6

#: Nine tenths of a normal distribution lie within so many standard deviations.
NINE_TENTHS = 1.645

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

    centre: FloatArray  # (N,) as ``fit.Fit.point``
    covariance: FloatArray  # (N, N)
    spots: tuple[int, ...]  # (Q,) numbers of the places of those sensors
    columns: tuple[int, ...]  # (Q,) of those sensors in the basis
    pace_spread: float  # of places without a sensor
    rise_spread: float
    noise: float  # of readings, with what no departure explains [K]
    learnt: tuple[Learnt, ...]
    null_directions: tuple[str, ...]
    sensors: tuple[SensorCheck, ...]
    until: float  # time of the last reading [s]

    def draw(self, count: int, seed: int = 1) -> FloatArray:
        """Return samples of what was sought, shape (count, N), within their ranges."""
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
    fit = fitted(basis, log, trusted, {})
    jumped = jumps(log, trusted, fit.in_things, fit.air())
    fallen: dict[int, float] = {}
    if jumped:
        doubting = fitted(basis, log, trusted, jumped)
        expected, air = doubting.expected(), doubting.air()
        fallen = {
            column: since
            for column, since in jumped.items()
            if has_fallen(log, column, since, expected[:, column], air)
        }
        fit = doubting if fallen == jumped else fitted(basis, log, trusted, fallen)
    return _calibration(fit, fallen)


def _calibration(fit: Fit, fallen: Mapping[int, float]) -> Calibration:
    """Return what a fit found; ``fallen``: columns of sensors that fell, since when [s]."""
    return Calibration(
        centre=fit.point,
        covariance=fit.covariance,
        spots=fit.spots,
        columns=tuple(fit.columns[n] for n in fit.in_things),
        pace_spread=fit.spreads[0],
        rise_spread=fit.spreads[1],
        noise=fit.noise,
        learnt=_learnt(fit),
        null_directions=null_directions(
            fit.covariance[:COORDINATES, :COORDINATES], fit.believed, _WORDS
        ),
        sensors=_checks(fit, fallen),
        until=float(fit.log.time[-1]),
    )


def _learnt(fit: Fit) -> tuple[Learnt, ...]:
    spread = np.sqrt(np.diag(fit.covariance))
    rows = []
    for index, thing in enumerate(UNKNOWNS):
        middle, reach = fit.point[index], NINE_TENTHS * spread[index]
        ends = np.clip([middle - reach, middle + reach], -1.0, 1.0).tolist()
        value, low, high = (thing.at(0.5 * (u + 1.0)) for u in (middle, *ends))
        is_told = bool(spread[index] < TOLD * fit.believed[index])
        rows.append(Learnt(thing.name, thing.words, value, low, high, is_told))
    return tuple(rows)


def _checks(fit: Fit, fallen: Mapping[int, float]) -> tuple[SensorCheck, ...]:
    model, log = fit.expected(), fit.log
    paces = dict(zip(fit.in_things, fit.point[fit.part(0)].tolist(), strict=True))
    rows = []
    for column, name in enumerate(log.sensors):
        here = np.flatnonzero(fit.trusted[:, column])
        left = log.value[here, column] - model[here, column]
        seen = np.flatnonzero(np.isfinite(log.value[:, column]))
        pace = paces.get(column, 0.0)
        error = float(np.hypot(fit.noise, fit.basis.error[fit.columns[column]]))
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
