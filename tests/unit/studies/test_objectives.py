"""What a search makes small: finite for any run, and smaller for the better of two."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from runs import hand_history

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.case.load import load
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise
from simulator.studies.figures import as_record, figures_of, from_record
from simulator.studies.objectives import (
    OBJECTIVES,
    missing_warmth,
    objective_named,
    time_with_penalty,
    worst,
)

SOUND = Path(__file__).parents[2] / "contracts" / "sound.toml"
CASE = load(SOUND)
GRID = voxelise(CASE, 0.2)


def run_to(end: float, *, slowest: float | None = None) -> Assessment:
    """Return the verdict on a made-up run that ends at ``end`` [°C], its first place elsewhere."""
    time = np.linspace(0.0, 6 * 3600.0, 37)
    ends = np.full(GRID.refuges.index.size, end)
    if slowest is not None:
        ends[GRID.refuges.group == 0] = slowest
    rise = (1.0 - np.exp(-time / 1800.0))[:, None]
    return assess(CASE, GRID, hand_history(CASE, GRID, time, 20.0 + (ends - 20.0) * rise))


def test_warmer_is_better_whether_done_or_never() -> None:
    runs = [run_to(end) for end in (25.0, 40.0, 46.0, 48.0, 49.5, 52.0, 56.0)]
    for name in ("finish", "last"):
        values = [objective_named(name).of(run) for run in runs]
        assert values == sorted(values, reverse=True), name
        assert len(set(values)) == len(values), name
        assert all(math.isfinite(value) for value in values)
    cold = [objective_named("cold").of(run) for run in runs]
    assert cold == sorted(cold, reverse=True)
    assert cold[-1] < cold[-2] < cold[0]


def test_a_hopeless_place_leaves_the_others_their_say() -> None:
    finish = objective_named("finish")
    slow, quick = run_to(52.0, slowest=25.0), run_to(56.0, slowest=25.0)
    assert finish.of(slow) - finish.of(quick) > finish.width(finish.of(slow))
    last = objective_named("last")
    assert last.of(slow) == last.of(quick)


def test_the_last_place_is_the_finishing_time_where_all_are_done() -> None:
    done = run_to(56.0, slowest=52.0)
    assert done.is_all_done
    assert objective_named("last").of(done) == done.finishing_time
    assert all(time_with_penalty(p, done.duration) == p.time_to_done for p in done.places)


def test_missing_warmth_grows_without_a_jump() -> None:
    assert missing_warmth(3.5, 50.0) == 0.0
    assert missing_warmth(3.5, 49.0) == pytest.approx(1.0)
    doses = np.geomspace(1e-12, 3.5, 200)
    found = [missing_warmth(dose, 48.0) for dose in doses]
    assert found[0] == missing_warmth(0.0, 48.0) == 7.0
    assert np.all(np.diff(found) <= 0.0)
    assert np.abs(np.diff(found)).max() < 0.3


def test_harm_counts_kelvins_above_limits() -> None:
    kind = objective_named("harm")
    cool = run_to(50.0)
    verdict = dataclasses.replace(cool.harm[0], verdict="warn", peak=64.0, limit=60.0)
    assert kind.of(dataclasses.replace(cool, harm=(verdict, verdict))) == 8.0
    assert kind.of(dataclasses.replace(cool, harm=())) == 0.0


def test_the_worst_state_counts() -> None:
    one, other = run_to(56.0), run_to(52.0)
    finish = objective_named("finish")
    assert worst(finish, (one, other)) == finish.of(other)


def test_names_and_figures_keep_their_meaning() -> None:
    assert len({objective.name for objective in OBJECTIVES}) == len(OBJECTIVES)
    with pytest.raises(CaseError, match="unknown objective 'x'; objectives: finish"):
        objective_named("x")
    for end in (40.0, 56.0):
        figures = figures_of(run_to(end), with_places=True)
        again = from_record(as_record(figures))
        assert repr(again) == repr(figures)
        assert set(figures.values) == {objective.name for objective in OBJECTIVES}
        assert (figures.places_left == 0) == (figures.litres_left == 0.0) == (end > 50.0)
