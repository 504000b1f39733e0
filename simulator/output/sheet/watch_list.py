"""The cold spots as a list to watch: where, how cold, when done, and where a sensor goes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.assessment.cold_spots import CORE
from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.assessment.naming import short_name
from simulator.case.case import Case
from simulator.case.parts import Vector
from simulator.output.field_file import Result
from simulator.output.sheet.finding_sections import chances
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
    chance = chances(result.findings)
    return tuple(
        _row(result, assessment, spot, marks, chance.get(spot.words, ""), units)
        for spot in assessment.cold_spots
    )


def _row(
    result: Result,
    assessment: Assessment,
    spot: ColdSpot,
    marks: Sequence[Mark],
    chance: str,
    units: System,
) -> WatchRow:
    grid, case = result.grid, result.case
    slowest = deciding_refuge(result, assessment, spot)
    x, y, z = (float(value) for value in grid.refuges.position[slowest])
    group = grid.refuges.groups[grid.refuges.group[slowest]]
    done = ""
    if math.isfinite(spot.time_to_done):
        done = f"after {format_quantity(spot.time_to_done, 'time')}"
    there = short_name(group.owner, group.words, case.furniture_words)
    beside = "" if group.words in spot.words else f"sensor: {there}"
    west, south, height = from_walls((x, y, z), case.dwelling, group.room, units)
    return WatchRow(
        number=str(spot.rank),
        point=(x, y, z),
        where="; ".join(part for part in (spot.words, beside, chance) if part),
        coldest=format_quantity(spot.coldest, "temperature", units),
        done=done,
        litres=_litres(spot.litres, units),
        from_west=west,
        from_south=south,
        height=height,
        watched_by=_watched_by((x, y, z), marks, units),
    )


def deciding_refuge(result: Result, assessment: Assessment, spot: ColdSpot) -> int:
    """Return the refuge of a spot that a sensor is to watch.

    If all are done, the one that was done last; else the coldest at the end of the heat in the part
    that gives the spot its name, which is what most of its coldest core belongs to.
    """
    members, refuges = spot.refuges, result.grid.refuges
    done = assessment.time_to_done[members]
    if not np.isnan(done).any():
        return int(members[np.argmax(done)])
    final = result.history.refuge_temperature[assessment.end.index].astype(np.float64)
    core = members[final[members] <= final[members].min() + CORE]
    held = np.bincount(refuges.group[core], weights=refuges.volume[core])
    named = core[refuges.group[core] == int(np.argmax(held))]
    return int(named[np.argmin(final[named])])


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


def heading(case: Case, assessment: Assessment, units: System) -> str:
    """Return what the list is a list of."""
    goal = format_quantity(REQUIRED_PEAK, "temperature", units)
    if assessment.is_all_done:
        return f"Watch list: the slowest places, the last first (done: egg dose and {goal})"
    horizon = format_quantity(case.treatment.horizon, "time")
    return f"Watch list: places not done within {horizon}, the worst first (egg dose and {goal})"
