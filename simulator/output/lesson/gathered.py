"""A lesson's runs and what they mean, gathered for pictures and page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simulator.assessment.assess import assess
from simulator.output.comparison_picture import Room
from simulator.output.field_file import Result
from simulator.studies.comparison import Answer, Comparison, answer_of, compare
from simulator.studies.lesson_plan import Series, State


@dataclass(frozen=True, slots=True)
class Shown:
    """A state with its run, judged; ``key`` is the same for states of the same run."""

    key: str
    state: State
    answer: Answer
    room: Room


@dataclass(frozen=True, slots=True)
class Chapter:
    """A series with its states shown and compared."""

    series: Series
    shown: tuple[Shown, ...]
    found: Comparison


@dataclass(frozen=True, slots=True)
class Lesson:
    """All chapters; ``title`` is that of the case, ``cell_size`` [m] of all runs."""

    title: str
    cell_size: float
    chapters: tuple[Chapter, ...]

    def rooms(self) -> dict[str, Shown]:
        """Return every run once, by its key, in the order of the chapters."""
        rooms: dict[str, Shown] = {}
        for chapter in self.chapters:
            for one in chapter.shown:
                rooms.setdefault(one.key, one)
        return rooms


def gather(
    title: str, cell_size: float, plan: Sequence[Series], results: Mapping[str, tuple[str, Result]]
) -> Lesson:
    """Return the lesson.

    Parameters
    ----------
    results : "series/state" -> a key of the run and its result.
    """
    answers: dict[str, tuple[Answer, Room]] = {}
    chapters = []
    for series in plan:
        shown = []
        for state in series.states:
            key, result = results[f"{series.name}/{state.name}"]
            if key not in answers:
                judged = assess(result.case, result.grid, result.history)
                answer = answer_of(
                    state.name,
                    result.case,
                    result.cell_size,
                    result.grid,
                    result.history,
                    judged,
                    result.findings,
                )
                answers[key] = answer, Room(result.grid, result.history)
            answer, room = answers[key]
            shown.append(Shown(key, state, _called(answer, state.name), room))
        found = compare([one.answer for one in shown]) if len(shown) > 1 else None
        if found is not None:
            chapters.append(Chapter(series, tuple(shown), found))
    return Lesson(title, cell_size, tuple(chapters))


def _called(answer: Answer, label: str) -> Answer:
    return replace(answer, label=label)
