"""Causes of lags: shares against whole re-runs, and rooms in which the cause is known."""

import re
from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
import pytest
from causes_rooms import CELL, KNOWN, MIXED, Known

from simulator import simulation
from simulator.assessment.assessment import ColdSpot
from simulator.assessment.summary import plain
from simulator.case.treatment import Phase
from simulator.errors import CaseError
from simulator.grid.grid import IntArray
from simulator.output.restored import restored
from simulator.output.sheet.finding_sections import finding_sections
from simulator.physics.airflow.settings import FIRST_LOOK, FlowPlan
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.neutral_states import BRISK, NOWHERE, STILL, Cause, neutral_speed
from simulator.run_settings import RunSettings
from simulator.studies import causes as study
from simulator.studies.causes import explained, nearest_place, shares_of, slowest_points
from simulator.studies.causes_words import in_words, row_of
from simulator.studies.evaluate import Workers
from simulator.studies.lag import lag
from simulator.studies.neutral_runs import (
    COALITIONS,
    Study,
    by_reruns,
    by_surroundings,
    local_task,
    until_heat_ends,
)
from simulator.studies.neutral_runs import study as study_of
from simulator.studies.shapley import shapley_values

#: One flow a run, shortly averaged, and coarse steps: what is compared is compared on equal terms.
CHEAP = RunSettings(
    first_flow=FlowPlan(5.0, 10.0, FIRST_LOOK.settings),
    next_flow=FlowPlan(5.0, 10.0, FIRST_LOOK.settings),
    epoch_ends=(900.0,),
    refresh_share=np.inf,
    march=ImplicitSteps(error=0.3, solver_tolerance=1e-2),
)

#: Order of the shares.
NAMES = [str(cause.name).lower() for cause in Cause]


def place_of(made: Study, known: Known) -> int:
    groups = made.grid.refuges.groups
    ours = [
        n
        for n, group in enumerate(groups)
        if (group.owner, group.words) == (known.owner, known.words)
    ]
    members: IntArray = np.flatnonzero(np.isin(made.grid.refuges.group, ours))
    return made.slowest(members)


# --- pieces


def test_values_share_out_what_all_bring_about_together() -> None:
    # A left and two right gloves, a pair is worth one (a textbook game, worked by hand): the left
    # one joins second or third in four of six orders.
    gloves = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0])
    np.testing.assert_allclose(shapley_values(gloves), [2 / 3, 1 / 6, 1 / 6])
    worth = np.random.default_rng(1).normal(size=64)
    assert shapley_values(worth).sum() == pytest.approx(worth[-1] - worth[0])
    without_third = worth[np.arange(64) & ~4]
    assert shapley_values(without_third)[2] == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(ValueError, match="coalitions"):
        shapley_values(np.zeros(6))


def test_a_lag_is_that_of_the_jump_that_is_short_of_as_much() -> None:
    time = np.array([0.0, 3600.0, 7200.0])
    courses = np.array([[20.0, 35.0, 20.0], [50.0, 35.0, 20.0], [60.0, 35.0, 20.0]])
    assert lag(time, courses, 20.0, 7200.0).tolist() == [1800.0, 3600.0, 7200.0]
    assert lag(time, courses, 20.0, 3600.0).tolist() == [1800.0, 1800.0, 3600.0]
    assert lag(time, courses, 50.0, 7200.0).tolist() == [0.0, 0.0, 0.0]


def test_still_air_and_shade_are_told_apart() -> None:
    speed = np.array([0.02, 0.2, 0.02, 0.3])
    unshaded = np.array([0.5 * STILL, 0.2, 2.0, 0.1])  # still, slow, shaded, sped up by things
    open_air, shut = np.zeros(4, dtype=np.bool_), np.ones(4, dtype=np.bool_)

    def felt(causes: Cause, is_shut: np.ndarray = open_air) -> list[float]:
        return neutral_speed(causes, speed, unshaded, is_shut).tolist()

    assert felt(Cause.NONE) == speed.tolist()
    assert felt(Cause.AIR_SPEED) == pytest.approx([BRISK, BRISK, 0.02, BRISK])
    assert felt(Cause.SHADING) == pytest.approx([0.5 * STILL, 0.2, 2.0, 0.3])
    assert felt(Cause.AIR_SPEED | Cause.SHADING) == pytest.approx([BRISK, BRISK, 2.0, BRISK])
    both = Cause.AIR_SPEED | Cause.SHADING
    assert felt(both, shut) == speed.tolist()
    assert felt(both | Cause.SHUT_IN, shut) == pytest.approx([BRISK, BRISK, 2.0, BRISK])


def test_a_study_ends_with_the_heat_and_changes_nothing_on_its_way() -> None:
    case = MIXED["cushion_in_corner"]().case
    phases = (Phase("heat", 0.0, 60.0), Phase("cool", 3600.0, 60.0, heaters_on=False))
    cooled = replace(case, treatment=replace(case.treatment, phases=phases))
    cut = until_heat_ends(cooled).treatment
    assert cut.horizon == 3600.0
    assert [phase.name for phase in cut.phases] == ["heat"]
    assert until_heat_ends(case) == case


# --- whole rooms


@pytest.fixture(scope="module", params=MIXED)
def mixed(request: pytest.FixtureRequest) -> tuple[Study, int]:
    known = MIXED[request.param]()
    made = study_of(known.case, CELL, settings=CHEAP)
    return made, place_of(made, known)


def test_surroundings_alone_repeat_the_run(mixed: tuple[Study, int]) -> None:
    made, place = mixed
    local = local_task(made, place).local
    for causes, run in ((Cause.NONE, made.history), (Cause.LATE_AIR, None)):
        time, temperature = local.temperature(causes)
        if run is None:
            held = made.neutral(Cause.LATE_AIR, NOWHERE)
            settings = replace(CHEAP, alteration=held)
            run = simulation.simulate(made.case, CELL, settings=settings).history
            # What holds the air is counted among the leaks: the balance closes all the same.
            assert run.ledger.largest_imbalance < 1e-6
        ours = np.interp(run.time, time, temperature)
        # Steps of up to 8 % of the time and records joined by lines: some tenths of a kelvin.
        assert np.abs(ours - run.refuge_temperature[:, place]).max() < 0.7


@pytest.mark.slow
def test_shares_agree_with_all_reruns(mixed: tuple[Study, int]) -> None:
    made, place = mixed
    shares = shares_of(by_surroundings(local_task(made, place)))
    exact = shares_of(by_reruns(made, place))
    assert np.abs(shares - exact).max() < 0.1
    assert np.sort(exact)[-2] > 0.05  # a mixture


@pytest.mark.parametrize("cause", KNOWN)
def test_the_known_cause_is_found(cause: str) -> None:
    known = KNOWN[cause]()
    made = study_of(known.case, CELL, settings=replace(CHEAP, refresh_share=0.2))
    shares = shares_of(by_surroundings(local_task(made, place_of(made, known))))
    assert NAMES[int(np.argmax(shares))] == cause
    assert shares.max() >= 0.8


# --- the finding


def spot(refuges: IntArray) -> ColdSpot:
    known = dict.fromkeys((field.name for field in fields(ColdSpot)), 0.0)
    known |= {"rank": 1, "words": "cushion, low", "room": "room", "refuges": refuges}
    return ColdSpot(**known)  # type: ignore[arg-type]


def test_a_finding_is_told_as_it_is_kept() -> None:
    known = MIXED["cushion_in_corner"]()
    made = study_of(known.case, CELL, settings=CHEAP)
    place = place_of(made, known)
    around = np.flatnonzero(made.grid.refuges.group == made.grid.refuges.group[place])
    points = slowest_points(known.case, made.grid, made.history, [spot(around)])
    assert nearest_place(made.grid, points[0]) == place
    elsewhere = replace(points[0], owner="nobody")
    assert nearest_place(made.grid, elsewhere) >= 0
    with Workers(1) as workers:
        found = study.causes(known.case, CELL, points, workers, settings=CHEAP)
    again = restored(study.Causes, plain(found))
    assert again == found
    one = found.spots[0]
    assert sum(cause.share for cause in one.causes) == pytest.approx(1.0)
    assert sum(cause.minutes for cause in one.causes) == pytest.approx(one.explained)
    alone = sum(cause.alone for cause in one.causes)
    assert one.interaction == pytest.approx(one.explained - alone)
    words = in_words(found, "us")
    assert "% heat lost to cold walls" in words[0]
    told = " ".join(words)
    assert "to 122 °F" in told and "air at 197 ft/min" in told and "than 0.39 in of" in told
    assert not re.search(r"°C|[0-9] (cm|m|m/s)\b", told)
    assert row_of(one)[0] == "1"
    (printed,) = finding_sections({study.NAME: plain(found)}, "si")
    assert printed.rows == (row_of(one),)


def test_no_shares_are_told_of_next_to_nothing(known_point: Callable[[], study.Point]) -> None:
    lags = np.full(len(COALITIONS), 3600.0)
    lags[-1] -= 30.0
    told = explained(known_point(), lags)
    assert all(np.isnan(cause.share) for cause in told.causes)
    assert plain(told)["causes"][0]["share"] is None
    found = study.Causes(0.2, 7200.0, 58.0, (told,))
    assert "none of the six causes" in in_words(found, "si")[0]
    assert in_words(replace(found, spots=()), "si") == ["No cold or slow place to explain."]


def test_causes_that_only_work_together_are_told_so(
    known_point: Callable[[], study.Point],
) -> None:
    both = int(Cause.HEAT_STORE | Cause.SHUT_IN)
    lags = np.array([3600.0 if number & both != both else 600.0 for number in range(64)])
    told = explained(known_point(), lags)
    assert told.interaction == pytest.approx(50.0)
    assert [round(cause.share, 6) for cause in told.causes[:3]] == [0.5, 0.5, 0.0]
    words = in_words(study.Causes(0.2, 7200.0, 58.0, (told,)), "si")[0]
    assert "they work together" in words


@pytest.fixture
def known_point() -> Callable[[], study.Point]:
    return lambda: study.Point(1, "bed, low", "room", "bed", "mattress, inside", (0.0, 0.0, 0.0))


def test_a_dwelling_without_hiding_places_is_refused() -> None:
    case = MIXED["cushion_in_corner"]().case
    made = study_of(case, CELL, settings=CHEAP)
    refuges = made.grid.refuges
    none = replace(refuges, index=np.zeros(0, dtype=np.int64))
    point = study.Point(1, "bed", "room", "bed", "mattress", (0.0, 0.0, 0.0))
    with pytest.raises(CaseError, match="no hiding place"):
        nearest_place(replace(made.grid, refuges=none), point)
