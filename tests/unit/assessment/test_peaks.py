"""Harm: the hottest point of every thing against the limit of its own material or sensor."""

import dataclasses

import numpy as np
import pytest
from builders import FOAM, WOOD, box_room, solid
from runs import hand_history, open_grid

from simulator.assessment.assessment import ObjectPeak
from simulator.assessment.peaks import AIR, find_peaks, margin
from simulator.case.case import Case
from simulator.case.parts import Part, Probe

VINYL = dataclasses.replace(WOOD, name="test vinyl", harm_temperature=60.0)
GLUE = dataclasses.replace(WOOD, name="test glue", harm_temperature=55.0)
PARTS: tuple[Part, ...] = (
    solid((0.1, 0.1, 0.0), (0.2, 0.2, 0.2), owner="desk", name="top", material=VINYL),
    solid((0.5, 0.1, 0.0), (0.2, 0.2, 0.2), owner="desk", name="edge", material=GLUE),
    solid((0.9, 0.1, 0.0), (0.2, 0.2, 0.2), owner="desk", name="leg", material=WOOD),
    solid((0.1, 0.9, 0.0), (0.2, 0.2, 0.2), owner="bed", name="mattress", material=FOAM),
    solid((0.5, 0.9, 0.0), (0.2, 0.2, 0.2), owner="bed", name="frame", material=WOOD),
)
PROBES = (
    Probe("sprinkler", "head", (1.0, 1.0, 2.3), 38.0, "NFPA 13, ordinary"),
    Probe("sensor", "air", (1.0, 1.0, 1.5)),
)


def peaks_of(solid_peak: list[float], parts: tuple[Part, ...] = PARTS) -> dict[str, ObjectPeak]:
    case: Case = box_room((2.0, 2.0, 2.4), parts=parts, probes=PROBES)
    grid = open_grid(case, [])
    time = np.linspace(0.0, 3600.0, 3)
    history = hand_history(
        case,
        grid,
        time,
        np.zeros((3, 0)),
        air_mean=np.array([20.0, 58.0, 50.0]),
        solid_peak=by_cell(grid.shares.cell, solid_peak),
    )
    return {peak.owner: peak for peak in find_peaks(case, grid, history)}


def by_cell(cells: np.ndarray[tuple[int], np.dtype[np.int64]], values: list[float]) -> object:
    """Order the peaks of parts as solid nodes are ordered: by cell."""
    return np.array(values, dtype=np.float32)[np.argsort(cells)]


def test_each_part_is_held_against_its_own_limit_and_the_least_margin_is_shown() -> None:
    """The leg is hottest but knows no limit; the edge passes its own by one kelvin."""
    desk = peaks_of([59.0, 56.0, 62.0, 50.0, 51.0])["desk"]
    assert (desk.name, desk.peak, desk.limit) == ("edge", 56.0, 55.0)
    assert margin(desk) == -1.0
    assert desk.basis.startswith("test glue")


def test_without_a_limit_the_hottest_part_is_shown() -> None:
    bed = peaks_of([59.0, 56.0, 62.0, 50.0, 51.0])["bed"]
    assert (bed.name, bed.peak, bed.limit) == ("frame", 51.0, None)


def test_probes_with_limits_are_judged_by_their_highest_reading_and_others_are_not() -> None:
    peaks = peaks_of([50.0] * 5)
    assert peaks["sprinkler"].peak == 58.0
    assert margin(peaks["sprinkler"]) == -20.0
    assert "sensor" not in peaks


def test_the_air_is_held_against_the_limit_of_the_treatment() -> None:
    air = peaks_of([50.0] * 5)[AIR]
    assert (air.peak, air.limit) == (62.0, 70.0)


def test_the_least_margin_comes_first() -> None:
    margins = [margin(peak) for peak in peaks_of([59.0, 56.0, 62.0, 50.0, 51.0]).values()]
    assert margins == sorted(margins)


def test_more_heat_in_any_part_never_raises_a_margin() -> None:
    base = [50.0, 51.0, 52.0, 53.0, 54.0]
    before = peaks_of(base)
    for index in range(len(base)):
        hotter = peaks_of([value + 4.0 * (n == index) for n, value in enumerate(base)])
        assert all(margin(hotter[owner]) <= margin(peak) for owner, peak in before.items())


@pytest.mark.parametrize("parts", [()])
def test_an_empty_room_still_shows_air_and_probes(parts: tuple[Part, ...]) -> None:
    assert set(peaks_of([], parts)) == {"sprinkler", AIR}
