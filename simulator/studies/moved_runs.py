"""What a case comes to with some moves made: run on with heat, scored by how late places are."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.harm import ORDER
from simulator.case.case import Case
from simulator.case.changes import changed_texts
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.run_settings import RunSettings
from simulator.studies.evaluate import Failed, Workers, one_thread, or_failed
from simulator.studies.grid_error import companion_cell_size
from simulator.studies.moves import Move
from simulator.studies.prolonged import prolonged

#: A move that takes off less than these, over all places together, is not worth making [s], [l].
LEAST_GAIN, LEAST_LITRES = 60.0, 0.05

#: Places that are named where a plan leaves some cold.
MOST_NAMED = 6


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
    def rank(self) -> tuple[float, float, float]:
        """Smaller is better: lateness, then the cold litres, then the finishing time."""
        finishing = math.inf if math.isnan(self.finishing) else self.finishing
        return (self.lateness, self.cold_litres, finishing)


@dataclass(frozen=True, slots=True)
class _Ask:
    """One run as it goes to a process: the case's texts with moves made."""

    sources: Mapping[str, str]
    main: str
    moves: tuple[Move, ...]
    cell_size: float
    settings: RunSettings


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


def gain(now: Score, then: Score) -> tuple[float, float]:
    """Return what is gained from one score to another, larger is better: time [s], then litres.

    Less than a minute counts as none, so that the litres decide.
    """
    time, litres = now.lateness - then.lateness, now.cold_litres - then.cold_litres
    if abs(time) >= LEAST_GAIN:
        return (time, litres)
    return (0.0, litres) if litres >= LEAST_LITRES else (0.0, 0.0)


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


class Trial:
    """Scores lists of moves by running them; what has been run is not run again."""

    def __init__(
        self,
        case: Case,
        cell_size: float,
        settings: RunSettings,
        workers: Workers,
        on_run: Callable[[int, str], None],
        *,
        runs_before: int | None = None,
    ) -> None:
        self._is_check = runs_before is not None
        companion = None if self._is_check else companion_cell_size(cell_size)
        self.cell_size = companion or cell_size
        self.runs = runs_before or 0
        self.width = workers.count  # runs made at once
        self._case, self._settings, self._workers = case, settings, workers
        self._on_run = on_run
        self._known: dict[frozenset[str], Score | Failed] = {}

    def on_cells(self, cell_size: float) -> "Trial":
        """Return the same on other cells [m], to check a plan; its count of runs goes on."""
        return Trial(
            self._case,
            cell_size,
            self._settings,
            self._workers,
            self._on_run,
            runs_before=self.runs,
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
            words = moves[-1].words if moves else "as it is"
            words = "the whole plan on the cells of the result" if self._is_check else words
            self._on_run(self.runs, words)
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
