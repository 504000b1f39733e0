"""Why a cold spot lags: shares of six causes, found by making each other than it is.

The causes and their neutral states: ``physics/neutral_states.py``; the measure of a lag, finite for
every place: ``lag.py``; the runs: ``neutral_runs.py``. The lag of a spot's slowest point is found
for each of the 64 coalitions of causes whose neutral states hold together. A cause's minutes are
the Shapley value of what it takes off the lag, its share is these over what all take off. It may be
negative: a neutral state can make a place slower. What is left with all six neutral is told too,
and so is the interaction: what all take off together less what each does alone.

The runs may have larger cells than the result that is asked about: each point is then followed to
the nearest hiding place of its group.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.assessment.assessment import ColdSpot
from simulator.case.case import Case
from simulator.case.parts import Vector
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.physics.neutral_states import Cause
from simulator.progress import Progress
from simulator.run_settings import QUICK, RunSettings
from simulator.studies.evaluate import Failed, Workers
from simulator.studies.lag import lag
from simulator.studies.neutral_runs import by_surroundings, local_task, study
from simulator.studies.shapley import shapley_values

#: Under which the finding stands in a result file.
NAME = "causes"

#: A lag of which all causes take less than this has no shares [s] (choice).
LEAST_EXPLAINED = 60.0


@dataclass(frozen=True, slots=True)
class Point:
    """The slowest hiding place of a cold spot."""

    rank: int
    spot: str  # words of the spot
    room: str
    owner: str  # of its group
    words: str  # of its group
    position: Vector  # [m]


@dataclass(frozen=True, slots=True)
class CauseOf:
    """What one cause does to the lag of a point."""

    name: str  # of ``Cause``, in small letters
    share: float  # of what all causes take off [-]; nan: they take off next to nothing
    minutes: float  # its Shapley value [min]
    alone: float  # what its neutral state takes off by itself [min]


@dataclass(frozen=True, slots=True)
class SpotCauses:
    """Why one cold spot lags; lags in minutes."""

    point: Point
    lag: float
    left: float  # with all six causes neutral
    interaction: float  # what they take off together less the sum of what each does alone
    causes: tuple[CauseOf, ...]  # the largest share first

    @property
    def explained(self) -> float:
        """What all causes take off together [min]."""
        return self.lag - self.left


@dataclass(frozen=True, slots=True)
class Causes:
    """What ``causes`` returns."""

    cell_size: float  # of the study's runs [m]
    until: float  # when the heat ends [s]
    air_temperature: float  # at which the room's air stands where it is not late [°C]
    spots: tuple[SpotCauses, ...]


def slowest_points(
    case: Case, grid: Grid, history: History, spots: Sequence[ColdSpot]
) -> tuple[Point, ...]:
    """Return the point of each cold spot that lags most."""
    start, until = case.dwelling.start_temperature, case.treatment.heat_ends
    points = []
    for spot in spots:
        lags = lag(history.time, history.refuge_temperature[:, spot.refuges], start, until)
        refuge = int(spot.refuges[int(np.argmax(lags))])
        group = grid.refuges.groups[int(grid.refuges.group[refuge])]
        x, y, z = grid.refuges.position[refuge].tolist()
        points.append(Point(spot.rank, spot.words, spot.room, group.owner, group.words, (x, y, z)))
    return tuple(points)


def nearest_place(grid: Grid, point: Point) -> int:
    """Return the hiding place of a grid nearest to a point, of its group if there is one."""
    refuges = grid.refuges
    if not refuges.index.size:
        raise CaseError("the dwelling has no hiding place on such cells")
    groups = [
        number
        for number, group in enumerate(refuges.groups)
        if (group.owner, group.words) == (point.owner, point.words)
    ]
    ours = np.flatnonzero(np.isin(refuges.group, groups))
    ours = ours if ours.size else np.arange(refuges.index.size)
    distance = ((refuges.position[ours] - np.array(point.position)) ** 2).sum(axis=1)
    return int(ours[int(np.argmin(distance))])


def causes(
    case: Case,
    cell_size: float,
    points: Sequence[Point],
    workers: Workers,
    *,
    settings: RunSettings = QUICK,
    progress: Callable[[Progress], None] | None = None,
    on_point: Callable[[int], None] | None = None,
) -> Causes:
    """Return why each point lags.

    Parameters
    ----------
    cell_size, settings : of the study's runs.
    points : what ``slowest_points`` found in a run of this case, on any cells.
    progress : as for ``simulate``.
    on_point : called with how many points are done, first with none when the runs of the whole
        dwelling are.

    Raises
    ------
    CaseError
        If the case cannot be run on such cells.
    """
    made = study(case, cell_size, settings=settings, progress=progress)
    tasks = [local_task(made, nearest_place(made.grid, point)) for point in points]
    found: dict[int, SpotCauses] = {}
    if on_point is not None:
        on_point(0)
    for number, lags in workers.each(by_surroundings, tasks):
        if isinstance(lags, Failed):
            raise CaseError(lags.reason)
        found[number] = explained(points[number], lags)
        if on_point is not None:
            on_point(len(found))
    return Causes(
        cell_size=cell_size,
        until=made.case.treatment.horizon,
        air_temperature=made.air_temperature,
        spots=tuple(found[number] for number in range(len(points))),
    )


def shares_of(lags: FloatArray) -> FloatArray:
    """Return the share of each cause in what all take off a lag (6,) [-], from all coalitions."""
    values = shapley_values(-lags)
    total = float(lags[0] - lags[-1])
    if total < LEAST_EXPLAINED:
        return np.full(values.size, np.nan)
    shares: FloatArray = values / total
    return shares


def explained(point: Point, lags: FloatArray) -> SpotCauses:
    """Return what the lags of a point in all coalitions (64,) [s] say."""
    minutes, shares = lags / 60.0, shares_of(lags)
    values = shapley_values(-minutes)
    alone = np.array([minutes[0] - minutes[cause] for cause in Cause])
    names = [str(cause.name).lower() for cause in Cause]
    return SpotCauses(
        point=point,
        lag=float(minutes[0]),
        left=float(minutes[-1]),
        interaction=float(minutes[0] - minutes[-1] - alone.sum()),
        causes=tuple(
            CauseOf(names[i], float(shares[i]), float(values[i]), float(alone[i]))
            for i in np.argsort(-values, kind="stable").tolist()
        ),
    )
