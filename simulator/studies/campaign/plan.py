"""The plan of a study: a TOML file that crosses dwellings, preparations, layouts or rules, numbers.

Example
-------
::

    title = "What a fan rule is worth"
    cell = "0.25 m"
    method = "quick"                      # or "coarse", "thorough", "ordinary"
    preparations = ["prepared"]           # of drawn dwellings: "as found", "prepared"
    rules = ["none", "corners", "beds"]
    place = 12                            # the search, too, in the first so many drawn dwellings

    [dwellings]
    first_seed = 1
    count = 120
    kinds = ["studio"]                    # left out: all
    files = ["../bedroom_prepared.toml"]  # case files, as they are; rules replace their fans

    [numbers]                             # of the rules; every combination is run
    floor_per_fan = ["4 m2", "6 m2"]
    tilt = ["0 deg", "20 deg"]

    [changes]                             # dotted keys of the cases; every combination is run
    "treatment.thermostat" = ["58 degC", "60 degC"]

    [sensitivity]                         # as well: a design between two values of each input
    method = "morris"                     # or "sobol"
    paths = 4                             # of Morris; samples of Sobol, a power of two
    rule = "corners"
    inputs.floor_per_fan = ["3 m2", "12 m2"]
    inputs."treatment.thermostat" = ["56 degC", "62 degC"]
"""

import itertools
from collections.abc import Iterator
from dataclasses import asdict, fields
from itertools import product
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from simulator.case.documents import Problems, Table, choices, parse
from simulator.case.fields import PositiveLength, Record, refusal
from simulator.case.load import load
from simulator.case.refusals import read_record
from simulator.case.sections import read_text
from simulator.errors import CaseError
from simulator.studies.campaign.inputs import SensitivityRecord, label
from simulator.studies.campaign.job import PLACE, Job
from simulator.studies.layout_rules import RULES, RuleNumbers
from simulator.studies.random_dwellings.floor_plans import SIZES, draw_floor_plan
from simulator.units import parse_quantity

#: Smallest and largest cells of a study [m]: single runs have 5 to 20 cm, rankings bear larger.
SMALLEST_CELL, LARGEST_CELL = 0.05, 0.30

#: Dimensions of a rule's numbers; the others are plain.
_DIMENSIONS = {
    "floor_per_fan": "area",
    "spacing": "length",
    "tilt": "angle",
    "height": "length",
    "diameter": "length",
    "flow": "flow",
    "power": "power",
}


class DwellingsRecord(Record):
    """Which dwellings: drawn ones by their seeds, and case files."""

    first_seed: Annotated[int, Field(strict=True, ge=0)] = 1
    count: Annotated[int, Field(strict=True, ge=0, le=1_000_000)] = 0
    seeds: tuple[Annotated[int, Field(strict=True, ge=0)], ...] = ()
    kinds: tuple[str, ...] = ()
    files: tuple[str, ...] = ()

    @property
    def all_seeds(self) -> list[int]:
        """The seeds, each once, in order: from ``first_seed`` on the first ones of ``kinds``."""
        found = (
            seed
            for seed in itertools.count(self.first_seed)
            if not self.kinds or draw_floor_plan(np.random.default_rng(seed)).kind in self.kinds
        )
        return sorted({*self.seeds, *itertools.islice(found, self.count)})

    @model_validator(mode="after")
    def _kinds_are_known(self) -> "DwellingsRecord":
        for number, kind in enumerate(self.kinds):
            if kind not in SIZES:
                end = choices(kind, SIZES, "kinds")
                raise refusal(("kinds", number), f"unknown kind '{kind}'; {end}")
        return self


class PlanFile(Record):
    """The plan as a file says it."""

    title: str = Field(min_length=1, max_length=200)
    cell: PositiveLength = 0.20
    method: Literal["coarse", "quick", "thorough", "ordinary"] = "quick"
    dwellings: DwellingsRecord
    preparations: tuple[Literal["as found", "prepared"], ...] = ("prepared",)
    rules: tuple[str, ...] = ()
    layouts: tuple[str, ...] = ()
    numbers: dict[str, tuple[Any, ...]] = Field(default_factory=dict)
    changes: dict[str, tuple[Any, ...]] = Field(default_factory=dict)
    sensitivity: SensitivityRecord | None = None
    place: Annotated[int, Field(strict=True, ge=0)] = 0

    @model_validator(mode="after")
    def _is_possible(self) -> "PlanFile":
        if not SMALLEST_CELL - 1e-9 <= self.cell <= LARGEST_CELL + 1e-9:
            raise refusal("cell", f"{self.cell:g} m; allowed: 0.05 to 0.30 m")
        if not self.dwellings.all_seeds and not self.dwellings.files:
            raise refusal("dwellings", "names none; give count, seeds or files")
        for number, name in enumerate(self.rules):
            if name not in RULES:
                known = choices(name, RULES, "rules")
                raise refusal(("rules", number), f"unknown rule '{name}'; {known}")
        if not (self.rules or self.sensitivity or self.dwellings.files):
            raise refusal("rules", "drawn dwellings have no fans of their own; give rules")
        if self.layouts and not self.dwellings.files:
            raise refusal("layouts", "belong to case files, and there are none")
        for key in self.numbers:
            if key not in _numbers():
                end = choices(key, _numbers(), "numbers")
                raise refusal(("numbers", key), f"unknown number '{key}'; {end}")
        return self


def _numbers() -> list[str]:
    return [known.name for known in fields(RuleNumbers)]


def read_plan(path: Path) -> tuple[PlanFile, tuple[Job, ...]]:
    """Return a plan and its jobs, those of one dwelling together.

    Raises
    ------
    CaseError
        One line for each thing that is wrong with the plan or a case file of it.
    """
    text = read_text(path, str(path), str(path))
    document = parse(str(path), text)
    problems = Problems()
    table = Table(document, (), document.data)
    plan = read_record(PlanFile, table, problems)
    problems.raise_any()
    assert plan is not None
    for section, read in (("numbers", _all_numbers), ("sensitivity", _designed)):
        try:
            read(plan)
        except CaseError as error:
            raise CaseError(f"{table.place((section,))} {error}") from None
    return plan, jobs_of(plan, path.parent)


def jobs_of(plan: PlanFile, folder: Path = Path()) -> tuple[Job, ...]:
    """Return the jobs of a plan, those of one dwelling together; its files lie in ``folder``."""
    return tuple(_jobs(plan, folder, _all_numbers(plan)))


def _all_numbers(plan: PlanFile) -> list[list[tuple[str, float]]]:
    return [[_number(key, value) for value in values] for key, values in plan.numbers.items()]


def _number(key: str, value: Any) -> tuple[str, float]:
    """Return a number of a rule in SI; what no fan can have is refused."""
    if key not in _DIMENSIONS:
        if isinstance(value, bool) or not isinstance(value, int) or value < 0:
            raise CaseError(f"{key}: {value!r} is no whole number from 0 on")
        return key, value
    number = parse_quantity(value, _DIMENSIONS[key])
    if key == "tilt":
        if not -90.0 <= number <= 90.0:
            raise CaseError(f"{key}: {value!r} is not allowed; it must be from -90 to 90 deg")
    elif number <= 0.0 and key != "spacing":
        raise CaseError(f"{key}: {value!r} is not allowed; it must be greater than 0")
    return key, number


def _jobs(plan: PlanFile, folder: Path, numbers: list[list[tuple[str, float]]]) -> Iterator[Job]:
    """Yield every job once, in the order of the plan."""
    every = [(key, list(values)) for key, values in sorted(plan.changes.items())]
    changes = [
        tuple(zip([key for key, _ in every], values, strict=True))
        for values in product(*(values for _, values in every))
    ]
    by_rule: list[_Way] = [
        (rule, () if rule == "none" else _differing(combination), (), "")
        for rule in plan.rules
        for combination in product(*numbers)
    ]
    ways = [*dict.fromkeys(by_rule), *_designed(plan)]
    file_ways = ways or [("", (), (), "")]
    common: dict[str, Any] = {"cell_size": plan.cell, "method": plan.method}
    searched: list[_Way] = [(PLACE, (), (), "")]
    seeds = plan.dwellings.all_seeds
    # searches come last: each takes as long as the rules of many dwellings
    for seed, tried in [*((s, ways) for s in seeds), *((s, searched) for s in seeds[: plan.place])]:
        for preparation, change in product(plan.preparations, changes):
            for rule, combination, more, point in tried:
                ours = (f"seed {seed}", seed, preparation, "", rule, combination)
                yield Job(*ours, _merged(change, more), **common, point=point)
    for file in plan.dwellings.files:
        for layout in plan.layouts or ("",):
            case = load(folder / file, overrides={"layout": layout} if layout else None)
            texts = tuple(case.sources.items())
            for change, (rule, combination, more, point) in product(changes, file_ways):
                state = (file, None, case.preparation, layout, rule, combination)
                changed = _merged(change, more)
                yield Job(*state, changed, **common, texts=texts, point=point)


#: A rule, its numbers, changes of the case and the words of a point of a design.
_Way = tuple[str, tuple[tuple[str, float], ...], tuple[tuple[str, Any], ...], str]


def _designed(plan: PlanFile) -> list[_Way]:
    """Return the ways that the plan's sensitivity study asks for."""
    record = plan.sensitivity
    ways = []
    for values in () if record is None else map(record.values, record.points()):
        numbers = tuple(_number(key, values[key]) for key in values if key in _numbers())
        changes = tuple((key, values[key]) for key in values if key not in _numbers())
        ways.append((record.rule if record else "", _differing(numbers), changes, label(values)))
    return ways


def _merged(
    first: tuple[tuple[str, Any], ...], second: tuple[tuple[str, Any], ...]
) -> tuple[tuple[str, Any], ...]:
    """Return changes with others laid over them, in the order of their keys."""
    return tuple(sorted({**dict(first), **dict(second)}.items()))


def _differing(combination: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    """Return the numbers that differ from the usual ones: these and none give the same job."""
    usual = asdict(RuleNumbers())
    return tuple(sorted((name, value) for name, value in combination if value != usual[name]))


def batches(jobs: tuple[Job, ...] | list[Job], most: int = 12) -> list[list[Job]]:
    """Return jobs in groups of at most ``most`` that share what is laid into cells once.

    A search is a group of its own.
    """
    groups: dict[tuple[str, ...], list[Job]] = {}
    for job in jobs:
        groups.setdefault((*job.place, "search" if job.rule == PLACE else "run"), []).append(job)
    return [
        group[start : start + most]
        for group in groups.values()
        for start in range(0, len(group), most)
    ]


def shard_of(jobs: tuple[Job, ...], number: int, of: int) -> tuple[Job, ...]:
    """Return part ``number`` (from 1) of jobs, by their dwellings; the parts make up the whole."""
    places = list(dict.fromkeys(job.place for job in jobs))
    ours = set(places[number - 1 :: of])
    return tuple(job for job in jobs if job.place in ours)
