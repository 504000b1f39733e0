"""A room whose warming is a formula, as a basis and as logs: tests of following cost no runs."""

from collections.abc import Mapping

import numpy as np
from scipy.stats import qmc

from simulator.grid.grid import FloatArray
from simulator.studies.following.basis import Basis, reduced
from simulator.studies.following.courses import Course, Place
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import UNKNOWNS

#: Place: owner, words, time constant [h], how far it stays behind the air in the end [K].
PLACES = (
    ("bale", "floor under the clutter", 1.6, 4.0),
    ("bale", "packed pile", 1.1, 2.0),
    ("chair", "cushion, inside", 0.8, 2.0),
    ("room", "baseboard, north outside wall", 0.6, 5.0),
)

#: Sensor and the place that it is in; -1: in the air.
SENSORS = {"air": -1, "in the bale": 1, "chair seat": 2, "corner low": 3}

TIME = np.linspace(0.0, 36_000.0, 121)
NAMES = [thing.name for thing in UNKNOWNS]


def table(point: FloatArray, pace: Mapping[str, float] | None = None) -> FloatArray:
    """Return sensors, places and air against time at a point of the unknowns [°C]."""
    u = dict(zip(NAMES, point.tolist(), strict=True))
    hours = TIME / 3600.0
    start = 20.0 + 3.0 * u["start"]
    end = 60.0 + 4.0 * u["heater"] - 2.5 * u["leakage"] + 0.8 * u["outdoors"]
    air_constant = 0.5 * (1.0 - 0.3 * u["heater"] + 0.1 * u["clutter"])
    air = start + (end - start) * (1.0 - np.exp(-hours / air_constant))
    courses = []
    for owner, _, constant, behind in PLACES:
        slow = (pace or {}).get(owner, 1.0)
        own = slow * constant * (1.0 + 0.3 * u["clutter"] - 0.2 * u["convection"])
        level = end - behind * (1.0 + 0.3 * u["leakage"] - 0.3 * u["outdoors"])
        lag = (own * np.exp(-hours / own) - air_constant * np.exp(-hours / air_constant)) / (
            own - air_constant
        )
        courses.append(start + (level - start) * (1.0 - lag))
    sensed = [air if place < 0 else courses[place] for place in SENSORS.values()]
    return np.column_stack([*sensed, *courses, air])


def known_basis(runs: int = 40) -> Basis:
    """Return the reduced model of the formula."""
    points = (
        2.0 * qmc.LatinHypercube(len(UNKNOWNS), rng=np.random.default_rng(1)).random(runs) - 1.0
    )
    places = tuple(Place(owner, words, "room", 10.0) for owner, words, _, _ in PLACES)
    nearest = tuple(SENSORS.values())
    courses = [Course(TIME, table(point).astype(np.float32), places, nearest) for point in points]
    return reduced(
        tuple(SENSORS), points, courses, np.zeros(courses[0].temperature.size), 0.2, None
    )


def known_log(
    point: FloatArray,
    until: float,
    seed: int = 1,
    *,
    pace: Mapping[str, float] | None = None,
    sensors: tuple[str, ...] = tuple(SENSORS),
    noise: float = 0.2,
    clock: float = 0.0,
) -> SensorLog:
    """Return what sensors read every five minutes up to a moment [s]."""
    lots = np.random.default_rng(seed)
    moments = np.arange(0.0, until + 1.0, 300.0)
    whole = table(point, pace)
    columns = [
        np.interp(moments + clock, TIME, whole[:, list(SENSORS).index(name)]) for name in sensors
    ]
    value = np.column_stack(columns) + noise * lots.standard_normal((moments.size, len(sensors)))
    return SensorLog(sensors, moments, value)
