"""The band of an answer: what is varied, what a correction does, what the runs say together."""

import math
from dataclasses import replace

import numpy as np
import pytest
from runs import hand_history

from simulator.assessment.assessment import Assessment
from simulator.assessment.summary import plain
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.parts import PorousPart
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise
from simulator.run_settings import QUICK
from simulator.studies.band import FEWEST, band, corrected, plan_band, quantiles
from simulator.studies.band_words import in_words, plan_in_words
from simulator.studies.evaluate import Workers, evaluate
from simulator.studies.uncertain import (
    latin_hypercube,
    uncertain_things,
    varied_case,
    varied_settings,
)
from tests.small_cases import room_head

#: A small room, invented, with loose stuff in it.
SMALL = (
    room_head(
        "small room, invented",
        ("2.4 m", "2 m", "2 m"),
        start="21 degC",
        more='leakage = { air_changes = "0.5 1/h" }',
    )
    + """[[dwelling.furniture]]
kind = "clutter"
name = "pile"
room = "room"
at = ["0.6 m", "0.6 m"]

[layout]
name = "one fan"
[[layout.equipment]]
kind = "fan"
name = "fan"
room = "room"
at = ["1.6 m", "1.2 m"]
turn = "200 deg"

[treatment]
horizon = "10 min"
"""
)


@pytest.fixture(scope="module")
def case() -> Case:
    return load_texts({"small.toml": SMALL}, "small.toml")


@pytest.fixture(scope="module")
def answer(case: Case) -> Assessment:
    return evaluate(case, 0.2)


def test_each_thing_takes_each_part_of_its_range_once() -> None:
    things = uncertain_things(0.2, with_grid=True)
    table = latin_hypercube(things, 64, seed=3)
    for thing, column in zip(things, table.T, strict=True):
        scale = np.log if thing.is_ratio else np.asarray
        low, high = scale(thing.low), scale(thing.high)
        share = (scale(column) - low) / (high - low)
        assert sorted(np.floor(64 * share).astype(int)) == list(range(64)), thing.name
        assert thing.low <= thing.nominal <= thing.high
    np.testing.assert_array_equal(table, latin_hypercube(things, 64, seed=3))
    assert (table != latin_hypercube(things, 64, seed=4)).all()


def test_a_sample_varies_what_it_names_and_nothing_else(case: Case) -> None:
    assert varied_case(case, {}) == case
    assert varied_settings(QUICK, {}) == QUICK
    other = varied_case(case, {"leakage": 2.0, "outdoors": -3.0, "clutter": 1.2})
    for ours, theirs in zip(case.dwelling.leakage, other.dwelling.leakage, strict=True):
        assert theirs.flow == pytest.approx(2.0 * ours.flow)
    assert other.dwelling.outdoor_temperature == case.dwelling.outdoor_temperature - 3.0
    for before, room in zip(case.dwelling.rooms, other.dwelling.rooms, strict=True):
        for side, envelope in room.envelope.items():
            was = before.envelope[side].behind
            shift = -3.0 if was.name == "outdoors" else 0.0
            assert envelope.behind.temperature == (
                None if was.temperature is None else was.temperature + shift
            )
    for part, now in zip(case.parts, other.parts, strict=True):
        if isinstance(part, PorousPart):
            assert isinstance(now, PorousPart)
            assert 1.0 - now.air_fraction == pytest.approx(1.2 * (1.0 - part.air_fraction))
        else:
            assert now == part
    settings = varied_settings(QUICK, {"convection": 0.8, "speed": 1.1, "eddies": 0.5})
    assert (settings.convection_factor, settings.surface_speed_factor) == (0.8, 1.1)
    assert settings.eddy_factor == 0.5


def test_quantiles_count_never_as_later_than_all() -> None:
    found = quantiles([30.0, math.nan, 10.0, 20.0, 40.0, math.nan, 50.0, 60.0, 70.0, 80.0])
    assert (found.p10, found.p50) == (10.0, 50.0)
    assert math.isnan(found.p90)
    assert quantiles([5.0] * 9 + [math.nan]).p90 == 5.0


def test_a_correction_grows_with_the_warming(case: Case) -> None:
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 3600.0, 13)
    temperature = np.full((time.size, grid.refuges.index.size), 20.0)
    temperature[:, 0] = np.linspace(20.0, 60.0, time.size)
    history = hand_history(case, grid, time, temperature)
    shift = np.full(temperature.shape[1], 4.0)
    now = corrected(history, shift, -1).refuge_temperature - temperature
    np.testing.assert_allclose(now[:, 0], 0.1 * (temperature[:, 0] - 20.0), atol=1e-4)
    np.testing.assert_allclose(now[:, 1], 4.0 * time / 3600.0, atol=1e-4)


def _warmer(answer: Assessment, by: float) -> Assessment:
    """Return the answer of a finer grid on which every place ends warmer [K]."""
    places = tuple(replace(place, coldest=place.coldest + by) for place in answer.places)
    return replace(answer, places=places)


def test_the_error_of_the_cells_moves_the_runs_to_the_finer_answer(
    case: Case, answer: Assessment
) -> None:
    with Workers(1) as workers:
        coarse = band(case, 0.2, answer, workers, samples=3, settings=QUICK)
        fine = band(case, 0.1, _warmer(answer, 40.0), workers, samples=3, settings=QUICK)
    assert not coarse.has_grid_error
    assert fine.has_grid_error
    assert len(coarse.spots) == len(answer.cold_spots)
    for spot in coarse.spots:
        assert spot.cold_in == 3
        assert spot.coldest.p50 < 25.0
    # The three runs of the hypercube go 0 to 2/3, 2/3 to 4/3 and 4/3 to 2 of the 40 K.
    for spot in fine.spots:
        assert 20.0 + 26.0 < spot.coldest.p50 < 25.0 + 54.0
        assert spot.coldest.p10 < spot.coldest.p50 < spot.coldest.p90


def test_the_same_seed_gives_the_same_band_in_words(case: Case, answer: Assessment) -> None:
    with Workers(1) as workers:
        first, again = (
            band(case, 0.2, answer, workers, samples=2, settings=QUICK) for _ in range(2)
        )
    assert plain(first) == plain(again)
    words = " ".join(in_words(first, "us"))
    assert "0 of 2 runs" in words
    assert "seed 1" in words
    assert "not within 10 min" in words
    assert "error of the cells is not in it" in words


def test_too_few_samples_are_refused_and_the_cost_is_told(case: Case) -> None:
    with Workers(2) as workers:
        with pytest.raises(CaseError, match=f"take {FEWEST} or more"):
            plan_band(0.1, samples=63, workers=workers)
        plan = plan_band(0.1, samples=64, workers=workers)
    assert plan.cell_size == 0.2
    assert "64 runs on cells of 20.0 cm, 2 processes; how long" in plan_in_words(plan)
