"""The cold spots as a list to watch: where, how cold, when done, and where a sensor goes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.assessment.naming import short_name
from simulator.case.parts import Vector
from simulator.output.field_file import Result
from simulator.output.sheet.marks import Mark
from simulator.output.sheet.setting_out import from_walls
from simulator.units import System, format_quantity

#: A sensor of the layout within this of a cold place watches it [m] (estimate: a forearm).
WATCHES = 0.30


@dataclass(frozen=True, slots=True)
class WatchRow:
    """One place to watch; ``point`` [m] is where its sensor goes, all else is text."""

    number: str
    point: Vector
    where: str
    coldest: str
    done: str
    litres: str
    from_west: str
    from_south: str
    height: str
    watched_by: str


def watch_list(
    result: Result, assessment: Assessment, marks: Sequence[Mark], units: System
) -> tuple[WatchRow, ...]:
    """Return a row for each cold spot, or for each slow one if all are done."""
    return tuple(_row(result, assessment, spot, marks, units) for spot in assessment.cold_spots)


def _row(
    result: Result,
    assessment: Assessment,
    spot: ColdSpot,
    marks: Sequence[Mark],
    units: System,
) -> WatchRow:
    grid, case = result.grid, result.case
    final = result.history.refuge_temperature[assessment.end.index]
    slowest = slowest_refuge(assessment, spot, final)
    x, y, z = (float(value) for value in grid.refuges.position[slowest])
    group = grid.refuges.groups[grid.refuges.group[slowest]]
    horizon = format_quantity(case.treatment.horizon, "time")
    done = f"not in {horizon}"
    if math.isfinite(spot.time_to_done):
        done = f"after {format_quantity(spot.time_to_done, 'time')}"
    there = short_name(group.owner, group.words, case.furniture_words)
    west, south, height = from_walls((x, y, z), case.dwelling, group.room, units)
    return WatchRow(
        number=str(spot.rank),
        point=(x, y, z),
        where=spot.words if group.words in spot.words else f"{spot.words}; sensor: {there}",
        coldest=format_quantity(spot.coldest, "temperature", units),
        done=done,
        litres=_litres(spot.litres, units),
        from_west=west,
        from_south=south,
        height=height,
        watched_by=_watched_by((x, y, z), marks, units),
    )


def slowest_refuge(assessment: Assessment, spot: ColdSpot, final: NDArray[np.float32]) -> int:
    """Return the refuge of a spot that decides it: done last, or of the least dose the coldest.

    Parameters
    ----------
    final : temperature of every refuge at the end of the heat, shape (R,) [°C].
    """
    members = spot.refuges
    done = assessment.time_to_done[members]
    if not np.isnan(done).any():
        return int(members[np.argmax(done)])
    members = members[np.isnan(done)]
    dose = assessment.egg_dose[members]
    return int(members[np.lexsort((final[members], np.round(dose, 2)))[0]])


def _watched_by(point: Vector, marks: Sequence[Mark], units: System) -> str:
    """Return the sensor of the layout that is near enough, or that none is."""
    near = []
    for mark in marks:
        if mark.probe is not None:
            near.append((math.dist(point, mark.probe.position), mark.tag))
    if not near:
        return "add one"
    away, tag = min(near)
    if away > WATCHES:
        return "add one"
    return f"{tag}, {format_quantity(away, 'length', units)} away"


def _litres(litres: float, units: System) -> str:
    if units == "us":
        return format_quantity(litres * 1e-3, "volume", "us")
    return f"{litres:.2g} l" if litres < 10.0 else f"{litres:.0f} l"


def heading(assessment: Assessment, units: System) -> str:
    """Return what the list is a list of."""
    goal = format_quantity(REQUIRED_PEAK, "temperature", units)
    if assessment.is_all_done:
        return f"Watch list: the slowest places, the last first (done: dose and {goal})"
    return f"Watch list: places that stay cold, the worst first (done: dose and {goal})"
