"""What would help: every move of a crew tried by running the model, and the first plan that clears.

A move is worth what it takes off the *lateness*: the minutes by which places are done after the
planned end of the heat, summed over all hiding places. To have such minutes also for places that
never get there, the runs go on with heat for as long again (``prolonged``); a place that is not
done even then counts as done at their end. What is taken out of the dwelling is treated elsewhere
and is late no more.

The plan is greedy: it takes the best move, then the move that adds most to it, and so on, until no
place is late or no move is worth making. Of the moves left, those that gained most in the last
round are tried first, and as soon as one gains as much as the next can be expected to, it is taken:
gains mostly shrink as others are made. Where no move takes off a minute (a place that never gets
there is as late with it as without), the cold litres decide; and before the plan ends, all moves
left are tried on it once more, for some gain only beside others. None of this is a proof that no
better plan exists.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from simulator.assessment.assessment import Assessment
from simulator.assessment.readiness_item import Cost
from simulator.case.case import Case
from simulator.run_settings import THOROUGH, RunSettings
from simulator.studies.evaluate import Failed, Workers
from simulator.studies.moved_runs import Score, Trial, gain
from simulator.studies.moves import Move, moves_for
from simulator.studies.prolonged import prolonged

#: Name of the findings in a result file.
NAME = "remedies"

#: Moves of a plan, at most (choice: more are no plan for a day).
MOST_STEPS = 12


@dataclass(frozen=True, slots=True)
class Tried:
    """One move by itself. Gains against the case as it is; ``why_not``: it cannot be made."""

    words: str
    item: str
    minutes: float  # mean over the places that were late [min]
    places: int  # fewer cold ones
    litres: float  # fewer cold ones
    score: Score | None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """A move of the plan, and what the plan comes to with it."""

    words: str
    score: Score


@dataclass(frozen=True, slots=True)
class Remedies:
    """What ``remedies`` returns."""

    cell_size: float  # of the runs [m]
    planned: float  # end of the heat [s]
    prolonged: float  # end of the runs [s]
    base: Score
    moves: tuple[Tried, ...]  # the best first, those that cannot be made last
    plan: tuple[Step, ...]
    values: Mapping[str, object]  # of the whole plan, as for ``load(overrides=...)``
    remove: tuple[str, ...]
    clears: bool  # the plan leaves no cold place
    everything: Score | None  # every move of preparation together
    costs: Mapping[str, Cost]  # of readiness items left undone, by their key
    runs: int
    checked: Score | None = None  # the plan again on the cells of the answer
    checked_cell_size: float = math.nan


def remedies(
    case: Case,
    cell_size: float,
    answer: Assessment,
    workers: Workers,
    *,
    settings: RunSettings = THOROUGH,
    moves: Sequence[Move] | None = None,
    on_run: Callable[[int, str], None] = lambda runs, words: None,
) -> Remedies:
    """Return what each move gains and the plan that they make together.

    Parameters
    ----------
    cell_size : of the run that ``answer`` judges [m]; moves are tried on its companion's cells and
        the plan is run once more on its own.
    moves : those to try; None: all that ``moves_for`` finds.
    on_run : told after each run how many there were, and what was tried.

    Raises
    ------
    CaseError
        If the case itself cannot be run on those cells.
    """
    trial = Trial(case, cell_size, settings, workers, on_run)
    base = trial.score(())
    listed = moves_for(case, answer) if moves is None else tuple(moves)
    found = trial.scores([(move,) for move in listed])
    tried = [_tried(move, base, score) for move, score in zip(listed, found, strict=True)]
    gains = {
        move: gain(base, score)
        for move, score in zip(listed, found, strict=True)
        if isinstance(score, Score)
    }
    everything = trial.together([move for move in listed if move.item or move.remove])
    plan, steps = _greedy(trial, base, gains)
    last = steps[-1].score if steps else base
    finer = trial.on_cells(cell_size) if cell_size < trial.cell_size and plan else None
    checked = finer.try_score(plan) if finer else None
    return Remedies(
        cell_size=trial.cell_size,
        planned=case.treatment.heat_ends,
        prolonged=prolonged(case).treatment.horizon,
        base=base,
        moves=tuple(sorted(tried, key=_worth)),
        plan=tuple(steps),
        values={key: value for move in plan for key, value in move.values.items()},
        remove=tuple(name for move in plan for name in move.remove),
        clears=last.cold == 0,
        everything=everything,
        costs=_costs(listed, base, found),
        runs=finer.runs if finer else trial.runs,
        checked=checked,
        checked_cell_size=cell_size if checked else math.nan,
    )


def expected_runs(moves: int) -> int:
    """Return about how many runs it takes to try some moves and put a plan together.

    As it is, each move, and about as many again for the rounds of the plan (estimate: from half to
    twice as many in the shipped cases).
    """
    return 2 * (moves + 1)


#: What each move is expected to gain on top of a plan, and what is none.
Expected = dict[Move, tuple[float, float]]
NOTHING = (0.0, 0.0)


def _greedy(
    trial: Trial, base: Score, gains: Mapping[Move, tuple[float, float]]
) -> tuple[tuple[Move, ...], list[Step]]:
    """Return the moves of the plan and what it comes to after each."""
    plan: tuple[Move, ...] = ()
    steps: list[Step] = []
    now = base
    expected = dict(gains)
    while now.cold and len(plan) < MOST_STEPS:
        best = _best_next(trial, plan, now, expected) or _best_of_all(trial, plan, now, expected)
        if best is None:
            break
        move, now = best
        plan = (*plan, move)
        steps.append(Step(move.words, now))
    return plan, steps


def _best_next(
    trial: Trial, plan: tuple[Move, ...], now: Score, expected: Expected
) -> tuple[Move, Score] | None:
    """Return the move that gains most on top of a plan; ``expected`` gains are brought up to date.

    A few moves are tried at a time, the most promising first, until one has gained at least what
    the next is expected to.
    """
    left = [move for move in expected if all(move.goes_with(other) for other in plan)]
    left.sort(key=expected.__getitem__, reverse=True)
    best: tuple[Move, Score] | None = None
    gained = NOTHING
    while left and expected[left[0]] > gained:
        batch, left = left[: trial.width], left[trial.width :]
        found = trial.scores([(*plan, move) for move in batch])
        for move, score in zip(batch, found, strict=True):
            if isinstance(score, Failed):
                del expected[move]
                continue
            expected[move] = gain(now, score)
            if expected[move] > gained:
                best, gained = (move, score), expected[move]
    return best


def _best_of_all(
    trial: Trial, plan: tuple[Move, ...], now: Score, expected: Expected
) -> tuple[Move, Score] | None:
    """Return the same of all moves left, also of those that gained nothing so far."""
    if not plan:
        return None  # each has just been tried by itself
    hoped = dict.fromkeys(expected, (math.inf, math.inf))
    best = _best_next(trial, plan, now, hoped)
    for move in [*expected]:
        if move not in hoped:
            del expected[move]
    expected.update((move, found) for move, found in hoped.items() if math.isfinite(found[0]))
    return best


def _tried(move: Move, base: Score, score: Score | Failed) -> Tried:
    if isinstance(score, Failed):
        return Tried(move.words, move.item, math.nan, 0, 0.0, None, score.short or score.reason)
    return Tried(
        words=move.words,
        item=move.item,
        minutes=(base.lateness - score.lateness) / max(base.cold, 1) / 60.0,
        places=base.cold - score.cold,
        litres=base.cold_litres - score.cold_litres,
        score=score,
    )


def _worth(tried: Tried) -> tuple[bool, float, float, float, str]:
    if tried.score is None:
        return (True, 0.0, 0.0, 0.0, tried.words)
    return (False, *tried.score.rank, tried.words)


def _costs(moves: Sequence[Move], base: Score, found: Sequence[Score | Failed]) -> dict[str, Cost]:
    """Return what it costs to leave each item of the readiness lists undone."""
    return {
        move.item: Cost(
            minutes=(base.finishing - score.finishing) / 60.0,
            litres=max(base.cold_litres - score.cold_litres, 0.0),
        )
        for move, score in zip(moves, found, strict=True)
        if move.item and isinstance(score, Score)
    }
