"""Remedies: which moves there are, what each gains, and how the plan is put together."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from runs import hand_history

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.summary import plain
from simulator.case.case import Case
from simulator.case.load import load, load_texts
from simulator.case.variants import varied
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise
from simulator.run_settings import QUICK
from simulator.studies import moved_runs
from simulator.studies.evaluate import Failed, Workers
from simulator.studies.moved_runs import Score, gain, score_of
from simulator.studies.moves import Move, moves_for
from simulator.studies.prolonged import prolonged
from simulator.studies.remedies import Remedies, remedies
from simulator.studies.remedies_words import in_words
from tests.small_cases import room_head

GEOMETRIES = Path(__file__).parents[3] / "geometries"

#: A small room, invented, with a pile that stays cold.
SMALL = (
    room_head("small room, invented", ("2.4 m", "2 m", "2 m"), start="21 degC")
    + """[[dwelling.furniture]]
kind = "clutter"
name = "pile"
room = "room"
at = ["0.6 m", "0.6 m"]
packing = "packed"

[layout]
name = "one fan"
[[layout.equipment]]
kind = "fan"
name = "fan 1"
room = "room"
at = ["1.9 m", "1.5 m"]
turn = "90 deg"
[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["1.0 m", "1.6 m"]
turn = "0 deg"

[treatment]
horizon = "30 min"
"""
)


def small() -> Case:
    return load_texts({"small.toml": SMALL}, "small.toml")


def judged_cold(case: Case) -> Assessment:
    """Return the verdict on a run that leaves every place at 40 °C."""
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, case.treatment.horizon, 9)
    course = np.linspace(20.0, 40.0, 9)[:, None] * np.ones(grid.refuges.index.size)
    return assess(case, grid, hand_history(case, grid, time, course))


def test_the_moves_of_crews_are_found_in_a_furnished_bedroom() -> None:
    case = load(GEOMETRIES / "bedroom_as_found.toml")
    moves = moves_for(case, judged_cold(case))
    words = [move.words for move in moves]
    for asked in (
        "bed: pull it",
        "bed: stand the mattress on edge",
        "dresser: pull out all drawers",
        "wardrobe: open its doors",
        "rug: take it up",
        "laundry: take it out",
        "boxes: take it out and treat it elsewhere",
        "fan 1: turn it to",
        "heater",
        "set up fan 5 in the bedroom, ",
        " in) from the ",
        "window: cover it",
    ):
        assert any(asked in one for one in words), asked
    assert len(set(words)) == len(words)
    made = 0
    for move in moves:
        try:
            other = varied(case, move.values, remove=move.remove)
        except CaseError as reason:
            assert "overlap" in str(reason) or "stands" in str(reason) or "wall" in str(reason)
        else:
            made += 1
            assert other.parts != case.parts or other.dwelling != case.dwelling, move.words
    assert made >= 0.8 * len(moves)


def test_moves_about_one_thing_are_not_combined() -> None:
    out = Move("out", ("pile",))
    loose, other = Move("loosen", ("pile", "packing")), Move("open", ("chest", "drawers"))
    assert not out.goes_with(loose)
    assert not loose.goes_with(out)
    assert loose.goes_with(other)
    assert not Move("here", ("fan", "aim")).goes_with(Move("there", ("fan", "aim")))


def test_a_prolonged_case_heats_on_and_does_nothing_else() -> None:
    case = load(GEOMETRIES / "bedroom_with_cool_down.toml")
    longer = prolonged(case)
    assert case.treatment.heat_ends == 7 * 3600.0
    assert longer.treatment.horizon == longer.treatment.heat_ends == 14 * 3600.0
    assert [phase.name for phase in longer.treatment.phases] == ["heat"]
    assert [change.words for change in longer.changes] == [
        "move fan 3 and aim it under the bed",
        "turn the mattress",
    ]
    assert {change.case.treatment for change in longer.changes} == {longer.treatment}


def test_lateness_counts_the_minutes_past_the_planned_end() -> None:
    answer = judged_cold(small())
    first, *rest = answer.places
    done = tuple(replace(place, time_to_done=900.0) for place in rest)
    late = replace(answer, places=(replace(first, time_to_done=2400.0), *done))
    score = score_of(late, planned=1800.0, end=3600.0)
    assert (score.cold, score.lateness) == (1, 600.0)
    assert score.cold_litres == first.litres
    never = replace(late, places=(replace(first, time_to_done=math.nan), *done))
    assert score_of(never, planned=1800.0, end=3600.0).lateness == 1800.0


def _scored(case: Case, move: Move) -> Score:
    """Return the score of a move by the plainest way there is."""
    other = varied(case, move.values, remove=move.remove)
    longer = prolonged(other)
    run = simulation.simulate(longer, 0.2, settings=QUICK)
    answer = assess(longer, run.grid, run.history)
    return score_of(answer, other.treatment.heat_ends, longer.treatment.horizon)


def test_gains_are_those_of_running_it_again() -> None:
    case = small()
    moves = [move for move in moves_for(case, judged_cold(case)) if "pile" in move.words][:2]
    with Workers(1) as workers:
        found = remedies(case, 0.2, judged_cold(case), workers, settings=QUICK, moves=moves)
    base = _scored(case, Move("nothing", ("nothing",)))
    assert plain(found.base) == plain(base)
    for move in moves:
        again = _scored(case, move)
        tried = next(one for one in found.moves if one.words == move.words)
        assert plain(tried.score) == plain(again)
        assert tried.places == base.cold - again.cold
        assert tried.minutes == (base.lateness - again.lateness) / base.cold / 60.0
    assert any(one.minutes > 0.0 for one in found.moves)


def test_litres_decide_where_minutes_do_not_tell() -> None:
    now = Score(4, 30.0, 7200.0, math.nan, 0)
    sooner, less = replace(now, lateness=7100.0), replace(now, lateness=7190.0, cold_litres=20.0)
    assert gain(now, sooner) == (100.0, 0.0)
    assert gain(now, less) == (0.0, 10.0)
    assert gain(now, sooner) > gain(now, less) > gain(now, now) == (0.0, 0.0)
    later = replace(less, lateness=7400.0)
    assert gain(now, later) < (0.0, 0.0)
    assert sorted([now, less, sooner], key=lambda score: score.rank) == [sooner, less, now]


def test_the_plan_goes_on_by_litres_among_places_that_never_finish(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Minutes end with the first move; p gains more litres than q, and r gains beside p only."""

    def run(ask: moved_runs._Ask) -> Score:
        names = {move.words for move in ask.moves}
        litres = {"p": 9.0, "q": 4.0, "r": 6.0 * ("p" in names), "a": 0.0, "z": -3.0}
        late = 7200.0 - 1800.0 * ("a" in names)
        return Score(4, 40.0 - sum(litres[name] for name in names), late, math.nan, 0)

    monkeypatch.setattr(moved_runs, "_run", run)
    moves = [Move(name, (name,)) for name in "zrqpa"]
    with Workers(1) as workers:
        found = remedies(small(), 0.2, judged_cold(small()), workers, moves=moves)
    assert [step.words for step in found.plan] == ["a", "p", "q", "r"]
    assert found.plan[-1].score.cold_litres == 21.0
    assert [move.words for move in found.moves] == ["a", "p", "q", "r", "z"]
    words = " ".join(in_words(found))
    assert "p: no minutes, 9.0 l less." in words
    assert "Gains nothing by itself: r." in words
    assert "Does harm by itself: z: no minutes, 3.0 l more." in words


#: What each move takes off by itself [s], and what it has left once another is made.
WORTH = {"a": 1000.0, "b": 700.0, "c": 600.0, "d": -50.0}


def pretended_run(ask: moved_runs._Ask) -> Score | Failed:
    """Score moves by a table: b adds nothing to a, c clears the rest, x cannot be made."""
    names = {move.words for move in ask.moves}
    if "x" in names:
        return Failed("small.toml:9: pile: no room for it; move one", "no room for it; move one")
    worth: Mapping[str, float] = {**WORTH, **({"b": 4.0} if "a" in names else {})}
    late = max(1600.0 - sum(worth[name] for name in names), 0.0)
    return Score(int(late > 0.0) * 4, late / 100.0, late, math.nan if late else 100.0, 0)


def pretended(monkeypatch: pytest.MonkeyPatch, names: str) -> Remedies:
    monkeypatch.setattr(moved_runs, "_run", pretended_run)
    moves = [Move(name, (name,), item=f"item {name}") for name in names]
    with Workers(1) as workers:
        return remedies(small(), 0.1, judged_cold(small()), workers, moves=moves)


def test_the_plan_takes_the_best_move_and_what_adds_most_to_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = pretended(monkeypatch, "dbxca")
    assert [step.words for step in found.plan] == ["a", "c"]
    assert found.clears
    assert found.cell_size == 0.2
    assert found.checked is not None
    assert found.checked.cold == 0
    assert [move.words for move in found.moves] == ["a", "b", "c", "d", "x"]
    assert found.moves[-1].why_not == "no room for it; move one"
    assert found.costs["item a"].litres == 10.0
    assert found.costs["item d"].litres == 0.0
    assert "item x" not in found.costs
    words = " ".join(in_words(found))
    assert "With all of them the model leaves no place cold." in words
    assert "Cannot be made as the rooms stand: x: no room for it." in words
    assert "Does harm by itself: d: " in words


def test_a_move_that_meets_a_fan_says_so_and_not_that_nothing_can_be_changed() -> None:
    """The pile is moved onto the fan: the reason is the fan, without file, line and key."""
    move = Move("pile: nearer", ("pile",), {"dwelling.furniture.pile.at": ["1.9 m", "1.4 m"]})
    case = small()
    with Workers(1) as workers:
        found = moved_runs.Trial(case, 0.2, QUICK, workers, lambda runs, words: None).scores(
            [[move]]
        )[0]
    assert isinstance(found, Failed)
    assert found.reason.startswith("small.toml:")
    assert found.short.startswith("fan 'fan 1' overlaps clutter 'pile' by ")


def test_where_no_plan_clears_the_home_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    found = pretended(monkeypatch, "abd")
    assert [step.words for step in found.plan] == ["a"]
    assert not found.clears
    assert "No plan of these moves was found that clears the home" in " ".join(in_words(found))
    nothing = pretended(monkeypatch, "d")
    assert nothing.plan == ()
    assert "No move that was tried takes anything off" in " ".join(in_words(nothing))
