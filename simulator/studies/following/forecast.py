"""When each hiding place will be done, from the corrected model: a middle and a band.

What was sought is drawn as often as the band needs from what the log left of it; places without a
sensor draw their departures from what those with one have shown. Every draw gives each place its
temperatures, its dose and the moment at which it is done.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from simulator.assessment.lethal_dose import DESIGN_DOSE, EGG_SLOW, accumulate
from simulator.grid.grid import FloatArray, IntArray
from simulator.studies.following.basis import Basis
from simulator.studies.following.calibrate import Calibration
from simulator.studies.following.courses import Place
from simulator.studies.following.departures import SHARE, Guess, between, departed, slowest
from simulator.studies.following.fit import CLOCK_AT, COORDINATES, GRID_AT
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import CLOCK_UNIT
from simulator.studies.quantiles import quantiles_with_never

#: Draws of a forecast, and the quantiles that bound nine tenths of them.
DRAWS = 400
LOW, MIDDLE, HIGH = 0.05, 0.50, 0.95


@dataclass(frozen=True, slots=True)
class Band:
    """A middle and the ends of nine tenths. Of times [s] nan: not within the model's time."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class PlaceForecast:
    """One hiding place. Doses and temperatures are those at the last reading."""

    owner: str
    words: str
    room: str
    done: Band  # [s] after heat on
    temperature: Band  # coldest in it now [°C]
    dose: Band  # egg dose now [-]
    done_now: float  # share of the draws in which it is done by now [-]
    decides: float  # share of the draws in which it is the last [-]
    sensors: tuple[str, ...]  # in or beside it


@dataclass(frozen=True, slots=True)
class SensorDose:
    """What a sensor itself measured, up to its last trusted reading."""

    name: str
    place: str  # words of the place that it is in, or "air"
    dose: float  # egg dose [-]
    peak: float  # [°C]
    is_done: bool  # dose 3.5 and 50 °C were measured


@dataclass(frozen=True, slots=True)
class Forecast:
    """What ``forecast`` returns."""

    now: float  # time of the last reading [s]
    horizon: float  # as far as the model goes [s]
    finishing: Band  # all places done [s]
    done_share: float  # share of the draws in which all are done within the horizon [-]
    places: tuple[PlaceForecast, ...]  # the last to be done first
    measured: tuple[SensorDose, ...]


def forecast(
    basis: Basis, calibration: Calibration, log: SensorLog, *, draws: int = DRAWS, seed: int = 1
) -> Forecast:
    """Return when each place will be done, as the log so far tells it.

    Parameters
    ----------
    draws : from which bands are taken.
    seed : of the draws; the same seed gives the same forecast.
    """
    courses = _courses(basis, calibration, draws, seed)  # (K, draws * P)
    places = len(basis.places)
    now = calibration.until
    result = accumulate(basis.time, courses, EGG_SLOW, (DESIGN_DOSE,))
    done = np.maximum(result.time_to[0], result.time_of_50).reshape(draws, places)
    dose, temperature = _at(basis.time, courses, now)
    last_place = _last_places(done, result.final.reshape(draws, places))
    rows = [
        PlaceForecast(
            owner=place.owner,
            words=place.words,
            room=place.room,
            done=_band(done[:, number]),
            temperature=_band(temperature.reshape(draws, places)[:, number]),
            dose=_band(dose.reshape(draws, places)[:, number]),
            done_now=float((done[:, number] <= now).mean()),
            decides=float((last_place == number).mean()),
            sensors=_sensors_at(basis, log, number),
        )
        for number, place in enumerate(basis.places)
    ]
    last = np.where(np.isnan(done), np.inf, done).max(axis=1) if places else np.zeros(draws)
    return Forecast(
        now=now,
        horizon=float(basis.time[-1]),
        finishing=_band(np.where(np.isinf(last), np.nan, last)),
        done_share=float(np.isfinite(last).mean()),
        places=tuple(sorted(rows, key=_lateness)),
        measured=tuple(_measured(basis, calibration, log)),
    )


def _last_places(done: FloatArray, dose: FloatArray) -> IntArray:
    """Return the last place of each draw (N,); of those never done that with the least dose."""
    if not done.shape[1]:
        return np.full(done.shape[0], -1)
    never = np.isnan(done)
    lateness = np.where(never, np.nanmax(done, initial=0.0) + 1.0 / (1e-9 + dose), done)
    found: IntArray = lateness.argmax(axis=1)
    return found


def _courses(basis: Basis, calibration: Calibration, draws: int, seed: int) -> FloatArray:
    """Return the temperatures of the places in each draw, shape (K, draws * P) [°C].

    A place counts with its coldest spot, so it is nowhere warmer than the spots of its sensors.
    """
    samples = calibration.draw(draws, seed)
    lots = np.random.default_rng((seed, 1))
    count, spots = len(basis.sensors), len(calibration.spots)
    columns = list(calibration.columns)
    guess = Guess.of(basis.places, calibration.spots)
    slower = slowest(basis.places, calibration.spots, calibration.pace_spread)
    finer = basis.finer.reshape(basis.time.size, -1)
    step = float(basis.time[1] - basis.time[0])
    sheets = []
    for sample in samples:
        whole = basis.temperatures(sample[:GRID_AT].tolist(), 1.0 + sample[GRID_AT])
        rows = (basis.time + CLOCK_UNIT * sample[CLOCK_AT]) / step
        paces, rises, shares = sample[COORDINATES : COORDINATES + 3 * spots].reshape(3, spots)
        table = whole[:, count:-1]
        table = table + lots.standard_normal(table.shape[1]) * basis.error[count:-1]
        table = table + guess.draw(shares, SHARE, lots) * finer[:, count:-1]
        guessed_paces = slower + guess.draw(paces, calibration.pace_spread, lots)
        guessed_rises = guess.draw(rises, calibration.rise_spread, lots)
        sheet = departed(table, rows, guessed_paces, guessed_rises)
        seen = departed(whole[:, columns] + shares * finer[:, columns], rows, paces, rises)
        for number, place in enumerate(calibration.spots):
            sheet[:, place] = np.minimum(sheet[:, place], seen[:, number])
        sheets.append(sheet)
    return np.concatenate(sheets, axis=1)


def _at(time: FloatArray, courses: FloatArray, now: float) -> tuple[FloatArray, FloatArray]:
    """Return dose and temperature of each course at a moment."""
    moment = min(max(now, float(time[0])), float(time[-1]))
    before = time < moment
    until = np.append(time[before], moment)
    end = between(courses, np.array([[moment / (time[1] - time[0])]]))
    if until.size < 2:
        return np.zeros(courses.shape[1]), end[0]
    rows = np.concatenate([courses[before], end])
    return accumulate(until, rows, EGG_SLOW, (DESIGN_DOSE,)).final, end[0]


def _band(values: FloatArray) -> Band:
    """Return the quantiles of values of which nan is later than all others."""
    return Band(*quantiles_with_never(values, (LOW, MIDDLE, HIGH)))


def _lateness(row: PlaceForecast) -> tuple[float, float, float]:
    middle = math.inf if math.isnan(row.done.middle) else row.done.middle
    high = math.inf if math.isnan(row.done.high) else row.done.high
    return (-middle, -high, row.dose.middle)


def _sensors_at(basis: Basis, log: SensorLog, number: int) -> tuple[str, ...]:
    return tuple(name for name in log.sensors if basis.nearest[basis.sensors.index(name)] == number)


def _measured(basis: Basis, calibration: Calibration, log: SensorLog) -> list[SensorDose]:
    """Return what each sensor itself measured; straight lines join its readings."""
    trusted: Mapping[str, bool] = {check.name: check.is_trusted for check in calibration.sensors}
    rows = []
    for column, name in enumerate(log.sensors):
        here = np.isfinite(log.value[:, column])
        if not trusted.get(name, True) or here.sum() < 2:
            continue
        reading = log.value[here, column][:, None]
        result = accumulate(log.time[here], reading, EGG_SLOW, (DESIGN_DOSE,))
        nearest = basis.nearest[basis.sensors.index(name)]
        place: Place | None = basis.places[nearest] if nearest >= 0 else None
        rows.append(
            SensorDose(
                name=name,
                place="air" if place is None else f"{place.owner}, {place.words}",
                dose=float(result.final[0]),
                peak=float(result.peak[0]),
                is_done=bool(np.isfinite(result.time_to[0, 0] + result.time_of_50[0])),
            )
        )
    return rows
