"""What would help: every move of a crew tried by running the model, and the first plan that clears.

A move is worth what it takes off the *lateness*: the minutes by which places are done after the
planned end of the heat, summed over all hiding places. To have such minutes also for places that
never get there, the runs go on with heat for as long again (``prolonged``); a place that is not
done even then counts as done at their end. What is taken out of the dwelling is treated elsewhere
and is late no more.

The plan is greedy: it takes the best move, then the move that adds most to it, and so on, until no
place is late or no move is worth a minute. Of the moves left, those that gained most in the last
round are tried first, and as soon as one gains as much as the next can be expected to, it is taken:
gains mostly shrink as others are made. None of this is a proof that no better plan exists.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.harm import ORDER
from simulator.assessment.readiness_item import Cost
from simulator.case.case import Case
from simulator.case.changes import changed_texts
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.run_settings import THOROUGH, RunSettings
from simulator.studies.evaluate import Failed, Workers, one_thread, or_failed
from simulator.studies.grid_error import companion_cell_size
from simulator.studies.moves import Move, moves_for
from simulator.studies.prolonged import prolonged

#: Name of the findings in a result file.
NAME = "remedies"

#: A move that takes off less than this, over all places together, is not worth making [s].
LEAST_GAIN = 60.0

#: Places that are named where a plan leaves some cold.
MOST_NAMED = 6

#: Moves of a plan, at most (choice: more are no plan for a day).
MOST_STEPS = 12


@dataclass(frozen=True, slots=True)
class Score:
    """What a run comes to. Times in s, nan: not even in the prolonged run."""

    cold: int  # places not done by the planned end of the heat
    cold_litres: float
    lateness: float  # summed over all places [s]
    finishing: float  # the last place done [s]
    stops: int  # things that heat must not reach, or past their limit
    latest: tuple[str, ...] = ()  # the places that are done last or never, at most ``MOST_NAMED``

    @property
    def rank(self) -> tuple[float, float]:
        """Smaller is better: lateness, then the finishing time."""
        return (self.lateness, math.inf if math.isnan(self.finishing) else self.finishing)


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


@dataclass(frozen=True, slots=True)
class _Ask:
    """One run as it goes to a process: the case's texts with moves made."""

    sources: Mapping[str, str]
    main: str
    moves: tuple[Move, ...]
    cell_size: float
    settings: RunSettings


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
    trial = _Trial(case, cell_size, settings, workers, on_run)
    base = trial.score(())
    listed = moves_for(case, answer) if moves is None else tuple(moves)
    found = trial.scores([(move,) for move in listed])
    tried = [_tried(move, base, score) for move, score in zip(listed, found, strict=True)]
    gains = {
        move: base.lateness - score.lateness
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
        runs=trial.runs + (finer.runs if finer else 0),
        checked=checked,
        checked_cell_size=cell_size if checked else math.nan,
    )


def score_of(answer: Assessment, planned: float, end: float) -> Score:
    """Return what a prolonged run comes to, given the planned end of the heat and its own [s]."""
    late = [place for place in answer.places if not place.time_to_done <= planned]
    return Score(
        cold=len(late),
        cold_litres=sum(place.litres for place in late),
        lateness=sum(_until(place.time_to_done, end) - planned for place in late),
        finishing=answer.finishing_time,
        stops=sum(row.verdict == ORDER[0] for row in answer.harm),
        latest=tuple(f"{place.owner}, {place.words}" for place in late[:MOST_NAMED]),
    )


def _until(time: float, end: float) -> float:
    return end if math.isnan(time) else min(time, end)


def _run(ask: _Ask) -> Score | Failed:
    """Make the moves, run the case and score it, or tell why it cannot be done."""
    return or_failed(lambda: _scored(ask))


def _with_moves(sources: Mapping[str, str], main: str, moves: Sequence[Move]) -> Case:
    """Return the case after some moves."""
    texts = dict(sources)
    for move in moves:
        texts = changed_texts(texts, main, move.values, move.remove)
    return load_texts(texts, main)


def _scored(ask: _Ask) -> Score:
    """Make the moves, run the case and score it."""
    asked = _with_moves(ask.sources, ask.main, ask.moves)
    case = prolonged(asked)
    run = simulation.simulate(case, ask.cell_size, settings=one_thread(ask.settings))
    answer = assess(case, run.grid, run.history)
    return score_of(answer, asked.treatment.heat_ends, case.treatment.horizon)


class _Trial:
    """Scores lists of moves by running them; what has been run is not run again."""

    def __init__(
        self,
        case: Case,
        cell_size: float,
        settings: RunSettings,
        workers: Workers,
        on_run: Callable[[int, str], None],
        *,
        exactly: bool = False,
    ) -> None:
        self.cell_size = cell_size if exactly else companion_cell_size(cell_size) or cell_size
        self.runs = 0
        self.width = workers.count  # runs made at once
        self._case, self._settings, self._workers = case, settings, workers
        self._on_run = on_run
        self._known: dict[frozenset[str], Score | Failed] = {}

    def on_cells(self, cell_size: float) -> "_Trial":
        """Return the same on other cells [m]."""
        return _Trial(
            self._case, cell_size, self._settings, self._workers, self._on_run, exactly=True
        )

    def scores(self, lists: Sequence[Sequence[Move]]) -> list[Score | Failed]:
        """Return the score of each list of moves, or why it cannot be made."""
        names = [frozenset(move.words for move in moves) for moves in lists]
        all_of = dict(zip(names, lists, strict=True))
        new = {name: moves for name, moves in all_of.items() if name not in self._known}
        sources, main = dict(self._case.sources), main_of(self._case)
        asked = [
            _Ask(sources, main, tuple(moves), self.cell_size, self._settings)
            for moves in new.values()
        ]
        keys = list(new)
        for number, found in self._workers.each(_run, asked):
            self._known[keys[number]] = found
            self.runs += 1
            moves = asked[number].moves
            self._on_run(self.runs, moves[-1].words if moves else "as it is")
        return [self._known[name] for name in names]

    def score(self, moves: Sequence[Move]) -> Score:
        """Return the score of one list of moves.

        Raises
        ------
        CaseError
            If it cannot be run.
        """
        found = self.scores([moves])[0]
        if isinstance(found, Failed):
            raise CaseError(found.reason)
        return found

    def try_score(self, moves: Sequence[Move]) -> Score | None:
        """Return the score of one list of moves, None if it cannot be run."""
        found = self.scores([moves])[0]
        return None if isinstance(found, Failed) else found

    def together(self, moves: Sequence[Move]) -> Score | None:
        """Return the score of all moves that go together, the later giving way; None: no run."""
        chosen: list[Move] = []
        for move in moves:
            if isinstance(self.scores([(move,)])[0], Failed):
                continue
            if all(move.goes_with(other) for other in chosen) and self._can_stand([*chosen, move]):
                chosen.append(move)
        return self.try_score(chosen) if chosen else None

    def _can_stand(self, moves: Sequence[Move]) -> bool:
        """Tell whether the moves leave a case that can be laid out, without running it."""
        try:
            _with_moves(self._case.sources, main_of(self._case), moves)
        except CaseError:
            return False
        return True


def _greedy(
    trial: _Trial, base: Score, gains: Mapping[Move, float]
) -> tuple[tuple[Move, ...], list[Step]]:
    """Return the moves of the plan and what it comes to after each."""
    plan: tuple[Move, ...] = ()
    steps: list[Step] = []
    now = base
    expected = dict(gains)
    while now.cold and len(plan) < MOST_STEPS:
        best = _best_next(trial, plan, now, expected)
        if best is None:
            break
        move, now = best
        plan = (*plan, move)
        steps.append(Step(move.words, now))
    return plan, steps


def _best_next(
    trial: _Trial, plan: tuple[Move, ...], now: Score, expected: dict[Move, float]
) -> tuple[Move, Score] | None:
    """Return the move that gains most on top of a plan; ``expected`` gains are brought up to date.

    A few moves are tried at a time, the most promising first, until one has gained at least what
    the next is expected to.
    """
    left = [move for move in expected if all(move.goes_with(other) for other in plan)]
    left.sort(key=lambda move: -expected[move])
    best: tuple[Move, Score] | None = None
    gained = LEAST_GAIN
    while left and expected[left[0]] > gained:
        batch, left = left[: trial.width], left[trial.width :]
        found = trial.scores([(*plan, move) for move in batch])
        for move, score in zip(batch, found, strict=True):
            if isinstance(score, Failed):
                del expected[move]
                continue
            expected[move] = now.lateness - score.lateness
            if expected[move] > gained:
                best, gained = (move, score), expected[move]
    return best


def _tried(move: Move, base: Score, score: Score | Failed) -> Tried:
    if isinstance(score, Failed):
        return Tried(move.words, move.item, math.nan, 0, 0.0, None, score.reason)
    return Tried(
        words=move.words,
        item=move.item,
        minutes=(base.lateness - score.lateness) / max(base.cold, 1) / 60.0,
        places=base.cold - score.cold,
        litres=base.cold_litres - score.cold_litres,
        score=score,
    )


def _worth(tried: Tried) -> tuple[bool, float, float, str]:
    if tried.score is None:
        return (True, 0.0, 0.0, tried.words)
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
