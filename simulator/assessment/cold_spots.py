"""Cold spots: the connected places that are not done, or that were slowest, named and ranked."""

import dataclasses
import math
from collections.abc import Mapping

import numpy as np

from simulator.assessment.assessment import ColdSpot
from simulator.assessment.end_of_heat import end_of_heat
from simulator.assessment.extent import Extent, extent_of_points
from simulator.assessment.lethal_dose import DESIGN_DOSE, REQUIRED_PEAK
from simulator.assessment.naming import Thing, name_place, short_name, things_of
from simulator.assessment.places import Doses, last_of
from simulator.assessment.regions import find_regions
from simulator.assessment.taken_out import stays
from simulator.case.case import Case
from simulator.case.parts import Vector
from simulator.grid.grid import FloatArray, Grid, IntArray, RefugeGroup, Refuges
from simulator.grid.place_key import PlaceKey, place_key
from simulator.history import History

#: Share of the refuge volume that is called slow when every place is done [-] (our choice).
SLOW_SHARE = 0.05

#: Refuges within this of the coldest of a region are its core [K] (our choice).
CORE = 1.0

#: A second place is named if it holds at least this share of a region's volume [-] (our choice).
SECOND_SHARE = 0.3


def find_cold_spots(case: Case, grid: Grid, history: History, doses: Doses) -> tuple[ColdSpot, ...]:
    """Return all cold spots, the most severe first.

    Cold spots are ranked by what decides the day: the place with the least egg dose first, where
    doses are equal (below 45 °C all are zero) the coldest. Slow spots are ranked by the time at
    which they were done, the last first. Size does not raise a rank: one survivor is enough. What
    was taken out during the run is no cold spot.
    """
    here = stays(history)
    kind = "slow" if doses.is_done[here].all() else "cold"
    selection = slowest_share(grid, doses) if kind == "slow" else np.flatnonzero(~doses.is_done)
    selection = selection[here[selection]]
    rooms = {room.name: Extent(room.low, room.high) for room in case.dwelling.rooms}
    things = things_of(case)
    final = history.refuge_temperature[end_of_heat(case, history.time).index].astype(np.float64)
    places = _merge_by_name(
        [
            (_name(grid, final, region, rooms, things), region)
            for region in find_regions(grid, selection)
        ]
    )
    spots = [
        _describe(kind, words, room, region, grid, final, history, doses)
        for (words, room), region in places.items()
    ]
    spots.sort(key=_severity)
    return tuple(dataclasses.replace(spot, rank=rank) for rank, spot in enumerate(spots, start=1))


def slowest_share(grid: Grid, doses: Doses, share: float = SLOW_SHARE) -> IntArray:
    """Return the refuges that were done last and make up ``share`` of the refuge volume."""
    if doses.time_to_done.size == 0:
        return np.empty(0, dtype=np.int64)
    order = np.argsort(-doses.time_to_done, kind="stable")
    volume = np.cumsum(grid.refuges.volume[order])
    enough = share * volume[-1] * (1.0 - 1e-9)  # round-off must not ask for one refuge more
    last = min(int(np.searchsorted(volume, enough)), order.size - 1)
    return np.flatnonzero(doses.time_to_done >= doses.time_to_done[order[last]])


def first_time(time: FloatArray, series: FloatArray, level: float) -> float:
    """Return when a series first reaches a level, straight lines between its times [s]; or nan."""
    above = np.flatnonzero(series >= level)
    if above.size == 0:
        return math.nan
    index = int(above[0])
    if index == 0:
        return float(time[0])
    before, after = float(series[index - 1]), float(series[index])
    share = (level - before) / (after - before)
    return float(time[index - 1] + share * (time[index] - time[index - 1]))


def _name(
    grid: Grid,
    final: FloatArray,
    region: IntArray,
    rooms: Mapping[str, Extent],
    things: Mapping[str, Thing],
) -> tuple[str, str]:
    """Return the words for a region and its room: what its coldest core is, then what else.

    The core decides the day, so it gives the name: the refuges within ``CORE`` of the coldest, and
    of these the group with the largest volume.
    """
    refuges = grid.refuges
    core = region[final[region] <= final[region].min() + CORE]
    leading = int(np.argmax(_shares(refuges, core)))
    first = refuges.groups[leading]
    where = rooms.get(first.room, extent_of_points(refuges.position[region]))
    spread = extent_of_points(refuges.position[core[refuges.group[core] == leading]])
    words = name_place(first.owner, first.words, spread, where, things)
    words += _others(refuges, first, _shares(refuges, region), things)
    if len(rooms) > 1:
        words += f", {first.room}"
    return words, first.room


def _shares(refuges: Refuges, region: IntArray) -> FloatArray:
    """Return the share of a region's volume that each refuge group holds [-]."""
    volume = np.bincount(
        refuges.group[region], weights=refuges.volume[region], minlength=len(refuges.groups)
    )
    return volume / max(float(volume.sum()), 1e-12)


def _others(
    refuges: Refuges, first: RefugeGroup, shares: FloatArray, things: Mapping[str, Thing]
) -> str:
    """Return " (and …)": the largest other place if it matters, and how many more there are."""
    rest = {
        _without_layer(group.words, group.owner): (share, group)
        for group, share in sorted(
            zip(refuges.groups, shares.tolist(), strict=True), key=lambda pair: pair[1]
        )
        if share > 0.0
    }
    rest.pop(_without_layer(first.words, first.owner), None)
    largest = list(rest.values())[-1:]
    named = {owner: thing.words for owner, thing in things.items()}
    told = []
    for share, group in largest:
        if share >= SECOND_SHARE:
            same = group.owner == first.owner
            told.append(short_name(group.owner, group.words, {} if same else named))
    more = len(rest) - len(told)
    if more > 0:
        told.append(f"{more} more place{'s' if more > 1 else ''}")
    return f" (and {'; '.join(told)})" if told else ""


def _without_layer(words: str, owner: str) -> tuple[str, str]:
    """Return a part's words without "inside" or "surface", with its owner."""
    return owner, words.removesuffix(", surface").removesuffix(", inside")


def _merge_by_name(
    named: list[tuple[tuple[str, str], IntArray]],
) -> dict[tuple[str, str], IntArray]:
    """Return the regions with those of one name put together: to a crew they are one place."""
    together: dict[tuple[str, str], list[IntArray]] = {}
    for name, region in named:
        together.setdefault(name, []).append(region)
    return {name: np.sort(np.concatenate(regions)) for name, regions in together.items()}


def _describe(
    kind: str,
    words: str,
    room: str,
    region: IntArray,
    grid: Grid,
    final: FloatArray,
    history: History,
    doses: Doses,
) -> ColdSpot:
    volume = grid.refuges.volume[region]
    weight = np.maximum(volume, 1e-12)
    low, high = _corners(grid, grid.refuges.cell[region])
    x, y, z = np.average(grid.refuges.position[region], axis=0, weights=weight).tolist()
    air_at_50 = first_time(history.time, history.air_mean, REQUIRED_PEAK)
    return ColdSpot(
        rank=0,
        kind=kind,
        words=words,
        room=room,
        litres=1000.0 * float(volume.sum()),
        coldest=float(final[region].min()),
        mean=float(np.average(final[region], weights=weight)),
        egg_dose=float(doses.egg[region].min()),
        lag=last_of(doses.time_to_50[region]) - air_at_50,
        time_to_done=last_of(doses.time_to_done[region]),
        centre=(x, y, z),
        low=low,
        high=high,
        refuges=region,
        places=_places_in(grid.refuges, region),
    )


def _places_in(refuges: Refuges, region: IntArray) -> tuple[PlaceKey, ...]:
    """Return owner, words and room of the groups in a region, the one with most of it first."""
    shares = _shares(refuges, region)
    groups = np.unique(refuges.group[region])
    order = groups[np.argsort(-shares[groups], kind="stable")]
    found = (refuges.groups[index] for index in order)
    return tuple(place_key(group) for group in found)


def _corners(grid: Grid, cells: IntArray) -> tuple[Vector, Vector]:
    """Return the corners of the box around cells [m]."""
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    index = np.unravel_index(cells, grid.shape)
    x, y, z = (
        (float(planes[along.min()]), float(planes[along.max() + 1]))
        for planes, along in zip(edges, index, strict=True)
    )
    return (x[0], y[0], z[0]), (x[1], y[1], z[1])


def _severity(spot: ColdSpot) -> tuple[float, float, float]:
    """Return a key that puts the most severe spot first."""
    if spot.kind == "slow":
        return (-spot.time_to_done, spot.coldest, -spot.litres)
    return (min(spot.egg_dose, DESIGN_DOSE), spot.coldest, -spot.litres)
