"""The reduced model of one case: what some dozens of runs have in common, as a few modes in time.

Runs over the ranges of the unknowns (a Latin hypercube) give the temperatures of every sensor and
hiding place against time. Their differences from the mean run are laid into the few directions that
hold nearly all of them (singular value decomposition: proper orthogonal modes), and the share of
each mode is a quadratic polynomial of the unknowns, by ridge regression. What this model misses is
measured on the runs themselves, each left out in turn, and belongs to every answer.

A place counts with the temperature of its coldest member at each moment.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from simulator import simulation
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError, RoomsoakError
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.run_settings import THOROUGH, RunSettings
from simulator.studies.evaluate import Failed, Workers, one_thread
from simulator.studies.following.unknowns import UNKNOWNS, values_at
from simulator.studies.prolonged import prolonged
from simulator.studies.uncertain import varied_case, varied_settings

#: Runs of a basis: over twice the terms of a quadratic in six unknowns.
RUNS = 60

#: Time between the temperatures that are kept [s].
INTERVAL = 300.0

#: Modes are kept until what they miss is this share of the runs' variance [-], and no more.
LEFT_OVER, MOST_MODES = 1e-6, 24

#: Strength of the ridge against the mean square of a column [-] (choice: only steadies it).
RIDGE = 1e-6


@dataclass(frozen=True, slots=True)
class Place:
    """A hiding place as a basis keeps it."""

    owner: str
    words: str
    room: str
    litres: float


@dataclass(frozen=True, slots=True)
class Basis:
    """The reduced model of a case. K times, S sensors, P places, M modes, Q terms.

    Columns of the model are the sensors, then the places, then the mean of the air.
    """

    time: FloatArray  # (K,) [s], even
    sensors: tuple[str, ...]
    places: tuple[Place, ...]
    nearest: tuple[int, ...]  # place that each sensor is in or beside; -1: in the air
    mean: FloatArray  # (K * (S + P + 1),) [°C]
    modes: FloatArray  # (M, K * (S + P + 1))
    weights: FloatArray  # (Q, M)
    error: FloatArray  # (S + P + 1,) what the model misses of runs left out, rms over time [K]
    worst: float  # the largest that it misses of any of them, at any place and time [K]
    finer: FloatArray  # (K * (S + P + 1),) what finer cells add to the run as described [K]
    cell_size: float
    finer_cell_size: float  # nan: none was run
    runs: int

    def temperatures(self, point: Sequence[float], finer: float = 0.0) -> FloatArray:
        """Return the temperatures at a point of the unknowns, shape (K, S + P + 1) [°C].

        ``finer`` is the share of the difference to finer cells that is added [-].
        """
        shares = terms(np.asarray(point, dtype=np.float64)[None, :])[0] @ self.weights
        flat: FloatArray = self.mean + shares @ self.modes + finer * self.finer
        return flat.reshape(self.time.size, -1)

    def kept(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
        """Return arrays and plain values to be kept in a file."""
        arrays = {
            "time": self.time,
            "mean": self.mean,
            "modes": self.modes,
            "weights": self.weights,
            "error": self.error,
            "finer": self.finer,
        }
        return arrays, {
            "sensors": list(self.sensors),
            "places": [[p.owner, p.words, p.room, p.litres] for p in self.places],
            "nearest": list(self.nearest),
            "worst": self.worst,
            "cell_size": self.cell_size,
            "finer_cell_size": self.finer_cell_size,
            "runs": self.runs,
        }

    @classmethod
    def restored(cls, arrays: Mapping[str, NDArray[Any]], facts: Mapping[str, Any]) -> Self:
        """Return the basis that was kept."""
        return cls(
            **{name: np.asarray(arrays[name], dtype=np.float64) for name in _ARRAYS},
            sensors=tuple(facts["sensors"]),
            places=tuple(Place(*row) for row in facts["places"]),
            nearest=tuple(facts["nearest"]),
            worst=facts["worst"],
            cell_size=facts["cell_size"],
            finer_cell_size=facts["finer_cell_size"],
            runs=facts["runs"],
        )


_ARRAYS = ("time", "mean", "modes", "weights", "error", "finer")


@dataclass(frozen=True, slots=True)
class _Ask:
    """One run of a basis as it goes to a process."""

    sources: Mapping[str, str]
    main: str
    values: Mapping[str, float]
    cell_size: float
    settings: RunSettings


@dataclass(frozen=True, slots=True)
class _Course:
    """What is kept of a run: temperatures (K, S + P + 1) and what they belong to."""

    time: FloatArray
    temperature: NDArray[np.float32]
    places: tuple[Place, ...]
    nearest: tuple[int, ...]


def terms(points: FloatArray) -> FloatArray:
    """Return the terms of a quadratic polynomial at points (n, d), shape (n, 1 + d + d (d+1)/2)."""
    n, d = points.shape
    pairs = combinations_with_replacement(range(d), 2)
    squares = [points[:, a] * points[:, b] for a, b in pairs]
    return np.column_stack([np.ones(n), points, *squares])


def build_basis(
    case: Case,
    cell_size: float,
    workers: Workers,
    *,
    finer: float | None = None,
    runs: int = RUNS,
    seed: int = 1,
    settings: RunSettings = THOROUGH,
    on_run: Callable[[int, int], None] = lambda done, of: None,
) -> Basis:
    """Return the reduced model of a case, its heat prolonged.

    Parameters
    ----------
    cell_size : of its runs [m].
    finer : size of finer cells for one run of the case as described [m]; None: none.
    runs : of the hypercube; at least one for each term of the polynomial.
    seed : of the hypercube.
    on_run : told after each run how many of how many are made.

    Raises
    ------
    CaseError
        If the case has no sensor, or too few runs can be made.
    """
    if not sensors_of(case):
        raise CaseError("the layout has no sensor; add [[equipment]] of kind 'sensor'")
    points = 2.0 * qmc.LatinHypercube(len(UNKNOWNS), rng=np.random.default_rng(seed)).random(runs)
    points -= 1.0
    common = (dict(case.sources), main_of(case))
    nominal = {thing.name: thing.nominal for thing in UNKNOWNS}
    asked = [_Ask(*common, values_at(p), cell_size, settings) for p in points.tolist()]
    if finer is not None:
        asked = [
            _Ask(*common, nominal, finer, settings),
            _Ask(*common, nominal, cell_size, settings),
            *asked,
        ]
    found: dict[int, _Course] = {}
    for done, (number, course) in enumerate(workers.each(_run, asked), start=1):
        if isinstance(course, Failed):
            raise CaseError(f"a run of the basis failed: {course.reason}")
        found[number] = course
        on_run(done, len(asked))
    first = len(asked) - runs
    courses = [found[first + number] for number in range(runs)]
    added = np.zeros(courses[0].temperature.size)
    if finer is not None:
        added = _matched(found[0], found[1]).ravel()
    return _reduced(case, points, courses, added, cell_size, finer)


def sensors_of(case: Case) -> tuple[str, ...]:
    """Return the names of the layout's sensors."""
    return tuple(dict.fromkeys(probe.owner for probe in case.probes if probe.name == "sensor"))


def _run(ask: _Ask) -> _Course | Failed:
    """Run the case with its unknowns at given values and keep what a basis needs."""
    try:
        case = varied_case(prolonged(load_texts(ask.sources, ask.main)), ask.values)
        settings = varied_settings(one_thread(ask.settings), ask.values)
        run = simulation.simulate(case, ask.cell_size, settings=settings)
    except RoomsoakError as error:
        return Failed(" ".join(str(error).split()))
    return course_of(case, run.grid, run.history)


def course_of(case: Case, grid: Grid, history: History) -> _Course:
    """Return the temperatures of sensors, places and air of a run at even times."""
    horizon = float(history.time[-1])
    time = np.linspace(0.0, horizon, max(round(horizon / INTERVAL), 1) + 1)
    names = [probe.owner for probe in case.probes]
    sensed = [history.probe_temperature[:, names.index(name)] for name in sensors_of(case)]
    members = [np.flatnonzero(grid.refuges.group == g) for g in range(len(grid.refuges.groups))]
    groups = [
        (group, here) for group, here in zip(grid.refuges.groups, members, strict=True) if here.size
    ]
    coldest = [history.refuge_temperature[:, here].min(axis=1) for _, here in groups]
    columns = [*sensed, *coldest, history.air_mean]
    table = np.column_stack([np.interp(time, history.time, column) for column in columns])
    places = tuple(
        Place(g.owner, g.words, g.room, 1000.0 * float(grid.refuges.volume[here].sum()))
        for g, here in groups
    )
    return _Course(time, table.astype(np.float32), places, _nearest(case, grid, groups))


#: A sensor is in or at a place within this of one of its members [m] (choice: two cells).
_REACH = 0.25


def _nearest(case: Case, grid: Grid, groups: Sequence[tuple[Any, Any]]) -> tuple[int, ...]:
    """Return the number of the place that each sensor is in or beside, -1: in the air."""
    position = {probe.owner: probe.position for probe in case.probes}
    found = []
    for name in sensors_of(case):
        apart = [
            float(np.linalg.norm(grid.refuges.position[here] - position[name], axis=1).min())
            for _, here in groups
        ]
        best = int(np.argmin(apart)) if apart else -1
        found.append(best if best >= 0 and apart[best] <= _REACH else -1)
    return tuple(found)


def _matched(finer: _Course, coarse: _Course) -> FloatArray:
    """Return what finer cells add, place by place; a place that only one grid knows gets none."""
    sensors = coarse.temperature.shape[1] - len(coarse.places) - 1
    where = {(p.owner, p.words, p.room): n for n, p in enumerate(finer.places)}
    added = np.zeros(coarse.temperature.shape)
    for column in range(sensors):
        added[:, column] = finer.temperature[:, column] - coarse.temperature[:, column]
    for number, place in enumerate(coarse.places):
        other = where.get((place.owner, place.words, place.room))
        if other is not None:
            fine = finer.temperature[:, sensors + other]
            added[:, sensors + number] = fine - coarse.temperature[:, sensors + number]
    added[:, -1] = finer.temperature[:, -1] - coarse.temperature[:, -1]
    return added


def _reduced(
    case: Case,
    points: FloatArray,
    courses: Sequence[_Course],
    added: FloatArray,
    cell_size: float,
    finer: float | None,
) -> Basis:
    """Return the modes of the runs and their polynomials."""
    flat = np.array([course.temperature.ravel() for course in courses], dtype=np.float64)
    mean = flat.mean(axis=0)
    left, sizes, right = np.linalg.svd(flat - mean, full_matrices=False)
    missed = 1.0 - np.cumsum(sizes**2) / max(float((sizes**2).sum()), 1e-30)
    count = min(int(np.searchsorted(-missed, -LEFT_OVER)) + 1, MOST_MODES, sizes.size)
    modes = right[:count]
    shares = left[:, :count] * sizes[:count]
    design = terms(points)
    if design.shape[0] <= design.shape[1]:
        raise CaseError(f"{design.shape[0]} runs are too few for {design.shape[1]} terms")
    weights, hat = _ridge(design, shares)
    left_out = (shares - design @ weights) / (1.0 - hat)[:, None]
    outside = (flat - mean) - shares @ modes
    misses = (left_out @ modes + outside).reshape(len(courses), courses[0].time.size, -1)
    return Basis(
        time=courses[0].time,
        sensors=sensors_of(case),
        places=courses[0].places,
        nearest=courses[0].nearest,
        mean=mean,
        modes=modes,
        weights=weights,
        error=np.sqrt((misses**2).mean(axis=(0, 1))),
        worst=float(np.abs(misses).max()),
        finer=added,
        cell_size=cell_size,
        finer_cell_size=np.nan if finer is None else finer,
        runs=len(courses),
    )


def _ridge(design: FloatArray, target: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the weights of a ridge regression, and how much each row holds its own fit (n,)."""
    square = design.T @ design
    square += RIDGE * np.trace(square) / square.shape[0] * np.eye(square.shape[0])
    solved = np.linalg.solve(square, design.T)
    return solved @ target, np.einsum("ij,ji->i", design, solved)
