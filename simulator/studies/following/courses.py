"""What a basis keeps of a run: temperatures of sensors, hiding places and air at even times."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.case.case import Case
from simulator.case.parts import Vector
from simulator.grid.grid import FloatArray, Grid, IntArray, RefugeGroup
from simulator.grid.place_key import place_key
from simulator.history import History

#: Time between the temperatures that are kept [s].
INTERVAL = 300.0

#: A sensor within this of a surface or a floor touches it [m] (choice: a bead under a pile lies on
#: the floor). One inside a thing touches its stuff. Each reads what it touches, not the air beside.
REACH = 0.05


@dataclass(frozen=True, slots=True)
class Place:
    """A hiding place as a basis keeps it."""

    owner: str
    words: str
    room: str
    litres: float


@dataclass(frozen=True, slots=True)
class Course:
    """A run in short. K times, S sensors, P places; the last column is the mean of the air."""

    time: FloatArray  # (K,) [s]
    temperature: NDArray[np.float32]  # (K, S + P + 1) [°C]
    places: tuple[Place, ...]
    nearest: tuple[int, ...]  # place that each sensor is in or beside; -1: in the air


def sensors_of(case: Case) -> tuple[str, ...]:
    """Return the names of the layout's sensors."""
    return tuple(dict.fromkeys(probe.owner for probe in case.probes if probe.name == "sensor"))


def course_of(case: Case, grid: Grid, history: History) -> Course:
    """Return the temperatures of sensors, places and air of a run at even times.

    A place counts with the temperature of its coldest member at each moment.
    """
    horizon = float(history.time[-1])
    time = np.linspace(0.0, horizon, max(round(horizon / INTERVAL), 1) + 1)
    members = [np.flatnonzero(grid.refuges.group == g) for g in range(len(grid.refuges.groups))]
    groups = [
        (group, here) for group, here in zip(grid.refuges.groups, members, strict=True) if here.size
    ]
    spots = _spots(case, grid, groups)
    sensed = [_reading(case, history, name, row) for name, (_, row) in spots.items()]
    coldest = [history.refuge_temperature[:, here].min(axis=1) for _, here in groups]
    columns = [*sensed, *coldest, history.air_mean]
    table = np.column_stack([np.interp(time, history.time, column) for column in columns])
    places = tuple(
        Place(g.owner, g.words, g.room, 1000.0 * float(grid.refuges.volume[here].sum()))
        for g, here in groups
    )
    nearest = tuple(place for place, _ in spots.values())
    return Course(time, table.astype(np.float32), places, nearest)


def matched(finer: Course, coarse: Course) -> FloatArray:
    """Return what finer cells add, place by place; a place that only one grid knows gets none."""
    sensors = coarse.temperature.shape[1] - len(coarse.places) - 1
    where = {place_key(p): n for n, p in enumerate(finer.places)}
    added = np.zeros(coarse.temperature.shape)
    added[:, :sensors] = finer.temperature[:, :sensors] - coarse.temperature[:, :sensors]
    for number, place in enumerate(coarse.places):
        other = where.get(place_key(place))
        if other is not None:
            fine = finer.temperature[:, sensors + other]
            added[:, sensors + number] = fine - coarse.temperature[:, sensors + number]
    added[:, -1] = finer.temperature[:, -1] - coarse.temperature[:, -1]
    return added


def _reading(case: Case, history: History, name: str, row: int) -> FloatArray:
    """Return what a sensor reads (T,) [°C]: the refuge of number ``row``, or the air if -1."""
    if row >= 0:
        return history.refuge_temperature[:, row].astype(np.float64)
    names = [probe.owner for probe in case.probes]
    return history.probe_temperature[:, names.index(name)].astype(np.float64)


def _spots(
    case: Case, grid: Grid, groups: Sequence[tuple[RefugeGroup, IntArray]]
) -> dict[str, tuple[int, int]]:
    """Return each sensor's place and the refuge that it touches; -1, -1: it hangs in the air."""
    probes = {probe.owner: probe for probe in case.probes}
    place_of = np.full(grid.refuges.index.size, -1, dtype=np.int64)
    for number, (_, here) in enumerate(groups):
        place_of[here] = number
    found = {}
    for name in sensors_of(case):
        probe, spot = probes[name], (-1, -1)
        gap = _gaps(grid, probe.position)
        if not probe.is_thermostat and gap.size and gap.min() <= REACH:
            row = int(gap.argmin())
            spot = (int(place_of[row]), row)
        found[name] = spot
    return found


def _gaps(grid: Grid, point: Vector) -> FloatArray:
    """Return how far a point is from every refuge (R,) [m]; inf from those beside its cell.

    A refuge on a face of its cell lies across one axis: there the distance counts. One that fills
    its cell counts as ``REACH`` away, so that faces that are nearer come first.
    """
    gap = np.full(grid.refuges.index.size, REACH)
    reachable = np.ones(gap.size, dtype=np.bool_)
    on_face = np.zeros(gap.size, dtype=np.bool_)
    for axis, edges in enumerate((grid.x_edges, grid.y_edges, grid.z_edges)):
        at = grid.refuges.position[:, axis]
        apart = np.abs(at - point[axis])
        to_edge = np.abs(edges[None, :] - at[:, None]).min(axis=1)
        across = (to_edge < 1e-6) & ~on_face
        gap[across] = apart[across]
        on_face |= across
        half = 0.5 * float(np.diff(edges).max()) + 1e-9
        reachable &= across | (apart <= half)
    return np.where(reachable, gap, np.inf)


def packed(courses: Mapping[int, Course]) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    """Return courses by number as arrays and plain values to be kept in a file."""
    arrays: dict[str, NDArray[Any]] = {}
    facts: dict[str, Any] = {}
    for number, course in courses.items():
        arrays[f"time {number}"], arrays[f"run {number}"] = course.time, course.temperature
        facts[str(number)] = {
            "places": [[p.owner, p.words, p.room, p.litres] for p in course.places],
            "nearest": list(course.nearest),
        }
    return arrays, facts


def unpacked(arrays: Mapping[str, NDArray[Any]], facts: Mapping[str, Any]) -> dict[int, Course]:
    """Return the courses that were kept."""
    return {
        int(number): Course(
            arrays[f"time {number}"],
            arrays[f"run {number}"],
            tuple(Place(*row) for row in table["places"]),
            tuple(table["nearest"]),
        )
        for number, table in facts.items()
    }
