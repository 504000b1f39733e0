"""One run of a study: what it is, by which key it is known, how it is done."""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from functools import cache
from pathlib import Path
from time import process_time
from typing import Any

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.variants import varied
from simulator.errors import Interrupted, RoomsoakError, reason_of
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.run_settings import ORDINARY, QUICK, THOROUGH, RunSettings
from simulator.studies.campaign.outcome import OUTCOMES, outcome_of
from simulator.studies.evaluate import laid_before, one_thread
from simulator.studies.layout_rules import RuleNumbers, case_by_rule, rule_named
from simulator.studies.objectives import objective_named
from simulator.studies.placement import Question, place
from simulator.studies.placement_effort import Effort
from simulator.studies.program_digest import program_digest
from simulator.studies.random_dwellings.random_dwelling import RandomDwelling, random_dwelling
from simulator.studies.rungs import WHOLE

#: How runs are solved, by the words of a plan; all on one thread. "coarse" marches with ten times
#: the allowed error of "quick": the mean time to done of two runs on cells of 0.25 m moved by less
#: than 0.01 h.
METHODS: Mapping[str, RunSettings] = {
    "coarse": replace(QUICK, march=ImplicitSteps(error=0.5, solver_tolerance=1e-2, longest=900.0)),
    "quick": QUICK,
    "thorough": THOROUGH,
    "ordinary": one_thread(ORDINARY),
}

#: What makes the figures of a run; the rest of this room words and orders rows.
_MAKERS = (
    "simulator.assessment.assess",
    "simulator.case.load",
    "simulator.simulation",
    "simulator.studies.layout_rules",
    "simulator.studies.placement",
    "simulator.studies.random_dwellings.random_dwelling",
)

Row = dict[str, Any]

#: Processor time of a run [s]: kept with its row and left out of tables, which are the same always.
COST = "_processor_s"

#: Takes a job's key, its case, its run and the verdict on it, such as to write its result file.
Keep = Callable[[str, Case, simulation.Run, Assessment], None]

#: In place of a rule's name: the layout that the placement search finds, with as many fans as the
#: rule that it starts from. A short search for litre-hours, some 60 looks and 4 whole runs.
PLACE, PLACE_START = "place", "corners"
SHORT_SEARCH = Effort(passes=1, close=2, decide=WHOLE, ladder=((WHOLE, 4),), compare=WHOLE)


@dataclass(frozen=True, slots=True)
class Beside:
    """What a run does beside its row: ``keep`` takes it, ``logs`` is a folder for searches."""

    keep: Keep | None = None
    logs: Path | None = None


NOTHING = Beside()


@dataclass(frozen=True, slots=True)
class Job:
    """A run to be made; plain values only, so that it can be sent and written.

    Attributes
    ----------
    dwelling : "seed 7", or the name of a case file.
    seed : of a drawn dwelling, else None.
    preparation : state of a drawn dwelling, or the file of one.
    layout : file of a layout, or nothing.
    rule : name of a placement rule, or nothing: the layout's own fans.
    numbers : of the rule, those that differ from the usual.
    changes : dotted keys of the case with other values.
    cell_size : [m].
    method : how a run is solved, a key of ``METHODS``.
    texts : of a case file: name -> text, the case file's first; none for a drawn dwelling.
    point : words of a point of a sensitivity study, or nothing.
    """

    dwelling: str
    seed: int | None
    preparation: str
    layout: str
    rule: str
    numbers: tuple[tuple[str, float], ...]
    changes: tuple[tuple[str, Any], ...]
    cell_size: float
    method: str
    texts: tuple[tuple[str, str], ...] = field(default=(), repr=False)
    point: str = ""

    @property
    def key(self) -> str:
        """Hash of all that its figures follow from: its words, its texts, the program."""
        facts = [asdict(self), program_digest(*_MAKERS)]
        told = json.dumps(facts, sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(told.encode()).hexdigest()[:16]

    @property
    def place(self) -> tuple[str, str, str, str]:
        """What is laid into cells once for all jobs that share it."""
        return (self.dwelling, self.preparation, f"{self.cell_size}", repr(self.changes))


@cache
def _drawn(seed: int) -> RandomDwelling:
    return random_dwelling(seed)


def case_of(job: Job, logs: Path | None = None) -> Case:
    """Return the case of a job; ``logs`` is where a search keeps what it ran, to go on from it.

    Raises
    ------
    CaseError
        If it cannot be made: a rule or a key that is not known, things that would overlap.
    """
    if job.seed is None:
        case = load_texts(dict(job.texts), job.texts[0][0])
    else:
        case = _drawn(job.seed).case(job.preparation)
    if job.changes:
        case = varied(case, dict(job.changes))
    if job.rule == PLACE:
        start = case_by_rule(rule_named(PLACE_START), case, numbers_of(job))
        log = None if logs is None else logs / f"{job.key}.log"
        cold = objective_named("cold")
        asked = Question(objective=cold, effort=SHORT_SEARCH, workers=1, log=log)
        return place(start, asked).case
    return case_by_rule(rule_named(job.rule), case, numbers_of(job)) if job.rule else case


def numbers_of(job: Job) -> RuleNumbers:
    """Return the numbers of a job's rule."""
    given: dict[str, Any] = dict(job.numbers)
    return RuleNumbers(**given)


def run_job(job: Job, beside: Beside = NOTHING) -> Row:
    """Return the row of a job: what it was and what came of it.

    A case that cannot be made or solved gives a row that says why in ``error``; other errors are
    defects and rise.
    """
    begun = process_time()
    row = described(job)
    try:
        case = case_of(job, beside.logs)
        run = simulation.simulate(
            case,
            job.cell_size,
            settings=METHODS[job.method],
            furnished=laid_before(case, job.cell_size),
        )
    except Interrupted:
        raise
    except RoomsoakError as error:
        nothing = dict.fromkeys(OUTCOMES)
        return {**row, **nothing, "error": reason_of(error), COST: 0.0}
    assessment = assess(case, run.grid, run.history)
    if beside.keep is not None:
        beside.keep(job.key, case, run, assessment)
    found = outcome_of(case, run.grid, run.history, assessment)
    return {**row, **found, "error": "", COST: round(process_time() - begun, 3)}


def run_jobs(jobs: Sequence[Job], beside: Beside = NOTHING) -> list[Row]:
    """Return the rows of jobs that share a dwelling, which is laid into cells once."""
    return [run_job(job, beside) for job in jobs]


def _plain(value: Any) -> Any:
    """Return what a column of a table can hold of a value of a case."""
    return json.dumps(value) if isinstance(value, list | dict) else value


def described(job: Job) -> Row:
    """Return the columns of a job that say what it is."""
    facts: Row = {"kind": "", "area_m2": None, "clutter": "", "wall": "", "climate": ""}
    if job.seed is not None:
        drawn = _drawn(job.seed)
        facts = {"kind": drawn.kind, "area_m2": drawn.area, **drawn.facts}
        facts.pop("outdoors")
    return {
        "key": job.key,
        "dwelling": job.dwelling,
        **facts,
        "preparation": job.preparation,
        "layout": job.layout,
        "rule": job.rule,
        **asdict(numbers_of(job)),
        **{name: _plain(value) for name, value in job.changes},
        "point": job.point,
        "cell_m": job.cell_size,
        "method": job.method,
    }
