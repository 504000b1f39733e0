"""The runs of a lesson: every state once, however many series show it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from simulator.case.case import Case
from simulator.output.field_file import Result
from simulator.output.kept_results import KeptResults
from simulator.studies.lesson_plan import SERIES, Series, State, preparation_series

#: Characters of a run's hash that stand for it in a page.
SHOWN = 12

#: Begins the names of the files of a lesson's runs.
WORD = "run"


@dataclass(frozen=True, slots=True)
class Turn:
    """A state whose run comes next: the ``number``-th (from 1) of ``of`` in all series."""

    number: int
    of: int
    series: str
    state: State

    @property
    def words(self) -> str:
        """What it shows."""
        return f"{self.series}, {self.state.name}"


def lesson_plan(case: Case, names: Sequence[str], prepared: Case | None = None) -> list[Series]:
    """Return the series of a lesson by their names; ``prepared`` is shown as well."""
    return [
        preparation_series(case, prepared) if name == "preparation" else SERIES[name](case)
        for name in dict.fromkeys(names)
    ]


def lesson_results(
    plan: Sequence[Series],
    kept: KeptResults,
    cell_size: float,
    result_of: Callable[[Turn], Result],
) -> Mapping[str, tuple[str, Result]]:
    """Return the results as ``gather`` wants them: "series/state" -> key of its run, result.

    Parameters
    ----------
    result_of : reads or makes the run of a state; asked once for each different run.
    """
    states = [(series.name, state) for series in plan for state in series.states]
    by_key: dict[str, Result] = {}
    found = {}
    for number, (name, state) in enumerate(states, start=1):
        key = kept.hash(state.case, cell_size)[:SHOWN]
        if key not in by_key:
            by_key[key] = result_of(Turn(number, len(states), name, state))
        found[f"{name}/{state.name}"] = key, by_key[key]
    return found
