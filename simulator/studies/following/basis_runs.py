"""The runs of a basis: which are made, made on all cores, kept one by one so that none is lost."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from simulator import simulation
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.run_settings import THOROUGH, RunSettings
from simulator.studies.evaluate import Failed, Workers, one_thread, or_failed
from simulator.studies.following.basis import Basis, reduced
from simulator.studies.following.courses import Course, course_of, matched, sensors_of
from simulator.studies.following.unknowns import UNKNOWNS, values_at
from simulator.studies.prolonged import prolonged
from simulator.studies.uncertain import hypercube_shares, varied_case, varied_settings

#: Runs of a basis: ten for each unknown (Loeppky, Sacks & Welch 2009, Technometrics 51:366).
RUNS = 60

#: Share of the runs that may fail (a corner of the ranges that cannot be run).
MOST_FAILED = 0.1


@dataclass(frozen=True, slots=True)
class BasisPlan:
    """Which runs a basis is made of.

    Attributes
    ----------
    cell_size : of its runs [m].
    finer : size of finer cells for one run of the case as described [m]; None: none.
    runs : of the Latin hypercube; ``basis.FEWEST_RUNS`` or more.
    seed : of the hypercube.
    settings : of every run.
    """

    case: Case
    cell_size: float
    finer: float | None = None
    runs: int = RUNS
    seed: int = 1
    settings: RunSettings = THOROUGH

    @property
    def points(self) -> FloatArray:
        """Where in the ranges of the unknowns the runs are, shape (runs, 6), from -1 to +1."""
        return 2.0 * hypercube_shares(len(UNKNOWNS), self.runs, self.seed) - 1.0

    @property
    def count(self) -> int:
        """How many runs there are in all."""
        return self.runs + (0 if self.finer is None else 2)

    def asked(self) -> "list[_Ask]":
        """Return the runs: on finer cells and on these as described, then the hypercube's."""
        common = (dict(self.case.sources), main_of(self.case))
        table = [
            _Ask(*common, values_at(p), self.cell_size, self.settings) for p in self.points.tolist()
        ]
        if self.finer is None:
            return table
        nominal = {thing.name: thing.nominal for thing in UNKNOWNS}
        described = [_Ask(*common, nominal, h, self.settings) for h in (self.finer, self.cell_size)]
        return [*described, *table]


@dataclass(frozen=True, slots=True)
class _Ask:
    """One run of a basis as it goes to a process."""

    sources: Mapping[str, str]
    main: str
    values: Mapping[str, float]
    cell_size: float
    settings: RunSettings


@dataclass(slots=True)
class Kept:
    """Runs that are made, by number, and what is told after each."""

    courses: dict[int, Course] = field(default_factory=dict)
    on_run: Callable[["Kept"], None] = lambda kept: None

    def add(self, number: int, course: Course) -> None:
        """Keep a run."""
        self.courses[number] = course
        self.on_run(self)


def build_basis(plan: BasisPlan, workers: Workers, kept: Kept | None = None) -> Basis:
    """Return the reduced model of a case, its heat prolonged.

    Parameters
    ----------
    kept : runs made before, which are not made again; new ones are added.

    Raises
    ------
    CaseError
        If the case has no sensor, or more than a tenth of the runs cannot be made.
    """
    sensors = sensors_of(plan.case)
    if not sensors:
        raise CaseError("the layout has no sensor; add [[layout.equipment]] of kind 'sensor'")
    made = kept or Kept()
    asked, failed = plan.asked(), ""
    numbers = [number for number in range(len(asked)) if number not in made.courses]
    for index, course in workers.each(_run, [asked[number] for number in numbers]):
        if isinstance(course, Failed):
            failed = course.reason
        else:
            made.add(numbers[index], course)
    first = plan.count - plan.runs
    here = [n for n in range(plan.runs) if first + n in made.courses]
    described = [made.courses.get(n) for n in range(first)]
    if len(here) < (1.0 - MOST_FAILED) * plan.runs or None in described:
        raise CaseError(f"too many runs of the basis failed; the last: {failed}")
    courses = [made.courses[first + n] for n in here]
    added = np.zeros(courses[0].temperature.size)
    if first:
        added = matched(made.courses[0], made.courses[1]).ravel()
    return reduced(sensors, plan.points[here], courses, added, plan.cell_size, plan.finer)


def _run(ask: _Ask) -> Course | Failed:
    """Run the case with its unknowns at given values and keep what a basis needs."""

    def course() -> Course:
        case = load_texts(ask.sources, ask.main)
        return course_at(case, ask.values, ask.cell_size, ask.settings)

    return or_failed(course)


def course_at(
    case: Case, values: Mapping[str, float], cell_size: float, settings: RunSettings = THOROUGH
) -> Course:
    """Return what a full run of the case comes to, with its unknowns at given values."""
    varied = varied_case(prolonged(case), values)
    chosen = varied_settings(one_thread(settings), values)
    run = simulation.simulate(varied, cell_size, settings=chosen)
    return course_of(varied, run.grid, run.history)
