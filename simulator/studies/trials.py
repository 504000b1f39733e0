"""Try layouts: run those that the log does not know, on all cores, and keep their figures."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from simulator.case.case import Case
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.grid.switching import running
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.studies.evaluate import Failed, Task, Workers, laid_before
from simulator.studies.figures import Figures, as_record, figures_of, from_record
from simulator.studies.layout import Layout, laid_out
from simulator.studies.objectives import Objective
from simulator.studies.program_digest import program_digest
from simulator.studies.rungs import Rung
from simulator.studies.trial_log import TrialLog, key_of


@dataclass(frozen=True, slots=True)
class Trial:
    """One run of a layout: on which rung, from which start, from which layout's flow (None: rest).

    ``with_places`` keeps the time of every hiding place.
    """

    layout: Layout
    rung: Rung
    start: int = 0
    warm: Layout | None = None
    with_places: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """The figures of a layout in each state of the dwelling; none: it cannot stand like that."""

    states: tuple[Figures, ...]
    reason: str = ""

    def value(self, objective: Objective) -> float:
        """Return the value of an objective: that of the worst state, infinite if none was run."""
        return max((one.values[objective.name] for one in self.states), default=float("inf"))


class Trials:
    """Runs layouts of one dwelling in one or several states of preparation.

    Attributes
    ----------
    cases : the dwelling in its states, with the equipment that stays.
    run : how many runs were made, beside those that the log knew.
    """

    def __init__(
        self,
        cases: Sequence[Case],
        workers: Workers,
        log: TrialLog,
        on_run: Callable[[int], None] = lambda _: None,
    ) -> None:
        self.cases, self.run = tuple(cases), 0
        self._workers, self._log, self._on_run = workers, log, on_run
        self._laid: dict[tuple[Layout, int], Case] = {}
        self._flows: dict[tuple[Layout, int, float], tuple[Airflow, str]] = {}

    def of(self, cases: Sequence[Case]) -> "Trials":
        """Return trials of other cases with the same processes and log; runs count with these."""
        return Trials(cases, self._workers, self._log, self._counted)

    def _counted(self, _: int) -> None:
        self.run += 1
        self._on_run(self.run)

    def outcomes(self, trials: Sequence[Trial]) -> list[Outcome]:
        """Return the outcome of each trial, in their order."""
        reasons: dict[int, str] = {}
        keys: list[list[str]] = []
        missing: dict[str, tuple[Task, bool]] = {}
        for number, trial in enumerate(trials):
            keys.append([])
            for state in range(len(self.cases)):
                try:
                    key, task = self._asked(trial, state)
                except CaseError as error:
                    reasons[number] = str(error)
                    break
                keys[-1].append(key)
                if self._log.known(key) is None:
                    missing.setdefault(key, (task, trial.with_places))
        self._run(missing)
        return [
            Outcome((), reasons[number]) if number in reasons else self._known(keys[number])
            for number in range(len(trials))
        ]

    def _run(self, missing: Mapping[str, tuple[Task, bool]]) -> None:
        order = list(missing)
        for index, outcome in self._workers.run([task for task, _ in missing.values()]):
            key = order[index]
            if isinstance(outcome, Failed):
                self._log.keep(key, {"failed": outcome.reason})
            else:
                figures = figures_of(outcome, with_places=missing[key][1])
                self._log.keep(key, as_record(figures))
            self.run += 1
            self._on_run(self.run)

    def _known(self, keys: Sequence[str]) -> Outcome:
        records = [self._log.known(key) or {} for key in keys]
        failed = [str(record["failed"]) for record in records if "failed" in record]
        if failed:
            return Outcome((), failed[0])
        return Outcome(tuple(from_record(record) for record in records))

    def _asked(self, trial: Trial, state: int) -> tuple[str, Task]:
        """Return the key of a run and the task that makes it."""
        case = self.case(trial.layout, state)
        rung = trial.rung
        settings, digest = rung.from_start(trial.start), ""
        if trial.warm is not None:
            settings = rung.warm(trial.start)
            flow, digest = self._flow(trial.warm, state, rung)
        texts = sorted(case.sources.items())
        key = key_of(
            program_digest(__name__), texts, main_of(case), rung.cell_size, settings, digest,
            trial.with_places,
        )  # fmt: skip
        if trial.warm is not None:
            settings = replace(settings, begin_with=flow)
        return key, Task.of(case, rung.cell_size, settings)

    def case(self, layout: Layout, state: int = 0) -> Case:
        """Return the case of a state with a layout.

        Raises
        ------
        CaseError
            If a piece cannot stand where it is put.
        """
        key = (layout, state)
        if key not in self._laid:
            if len(self._laid) > 4096:
                self._laid.clear()
            self._laid[key] = laid_out(self.cases[state], layout, "placed by search")
        return self._laid[key]

    def _flow(self, layout: Layout, state: int, rung: Rung) -> tuple[Airflow, str]:
        """Return the flow that runs of layouts like this one begin with, and what tells it."""
        key = (layout, state, rung.cell_size)
        if key not in self._flows:
            case = self.case(layout, state)
            grid = running(laid_before(case, rung.cell_size).grid(case))
            plan = rung.settings.first_flow
            flow = solve_airflow(
                grid, discard=plan.discard, average=plan.average, settings=plan.settings
            )
            parts = (flow.x_velocity, flow.y_velocity, flow.z_velocity, flow.speed)
            digest = hashlib.sha256(b"".join(part.tobytes() for part in parts)).hexdigest()
            self._flows.clear()  # a search goes from one layout to the next and never back
            self._flows[key] = (flow, digest)
        return self._flows[key]
