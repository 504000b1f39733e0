"""How sure the answer is: the same case many times over, what is uncertain varied all at once.

The runs of the ensemble are on the coarse cells of the companion run. Where the answer is from
finer cells, the difference of each place between the two is known; the runs are corrected by it,
and how far is one of the things varied: not at all (the coarse cells are right), once (the run's
cells are), or twice (what cells of no size would give, were both on their way there in first
order). A correction grows with the warming of its place: at any time it is the same share of its
whole as the warming is.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import spearmanr

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.place_key import PlaceKey, place_key
from simulator.history import History
from simulator.run_settings import THOROUGH, RunSettings
from simulator.studies.evaluate import Failed, Workers, or_failed
from simulator.studies.grid_error import companion_cell_size
from simulator.studies.quantiles import quantiles_with_never
from simulator.studies.uncertain import (
    Uncertain,
    latin_hypercube,
    uncertain_things,
    varied_case,
    varied_settings,
)

#: Name of the findings in a result file.
NAME = "band"

#: The fewest samples that are taken: of fewer, the outer tenths are a matter of chance.
FEWEST = 64

#: A place that warms by less than this [K] is corrected evenly in time.
_LEAST_WARMING = 1.0


@dataclass(frozen=True, slots=True)
class Quantiles:
    """A tenth of the runs lie below ``p10``, half below ``p50``, nine tenths below ``p90``.

    Times in s, nan: not within the horizon. Temperatures in °C.
    """

    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class SpotChance:
    """In how many runs of the ensemble a cold spot of the answer stays cold."""

    rank: int
    words: str
    room: str
    cold_in: int  # runs in which a place that it lies in misses its dose or 50 °C
    cold_in_colder: int  # the same, were every temperature 2 K lower
    coldest: Quantiles  # of these places when the heat ends [°C]


@dataclass(frozen=True, slots=True)
class Weight:
    """How an uncertain thing goes with the volume left cold: Spearman's rank correlation [-]."""

    name: str
    words: str
    correlation: float


@dataclass(frozen=True, slots=True)
class Band:
    """What ``band`` returns."""

    samples: int  # runs that were made
    failed: int
    seed: int
    cell_size: float  # of the runs [m]
    horizon: float  # [s]
    has_grid_error: bool
    things: tuple[Uncertain, ...]
    done_in: int  # runs in which every place is done
    done_in_colder: int
    finishing: Quantiles
    finishing_colder: Quantiles  # every temperature 2 K lower: the doubt about the egg curve
    cold_share: Quantiles  # share of the hiding volume in places not done [-]
    spots: tuple[SpotChance, ...]
    weights: tuple[Weight, ...]  # the strongest first


@dataclass(frozen=True, slots=True)
class Plan:
    """What an ensemble will be, told before it is run."""

    samples: int
    cell_size: float
    workers: int


@dataclass(frozen=True, slots=True)
class _Ask:
    """One run of the ensemble, as it goes to a process."""

    sources: Mapping[str, str]
    main: str
    cell_size: float
    settings: RunSettings
    values: Mapping[str, float]
    correction: Mapping[PlaceKey, float]  # [K] at the end of the heat


@dataclass(frozen=True, slots=True)
class _Sample:
    """What is kept of one run."""

    finishing: float
    finishing_colder: float
    cold_share: float
    is_cold: Mapping[PlaceKey, tuple[bool, bool]]  # as judged, and 2 K colder
    coldest: Mapping[PlaceKey, float]


def plan_band(cell_size: float, *, samples: int, workers: Workers) -> Plan:
    """Return how many runs on which cells an ensemble takes.

    Raises
    ------
    CaseError
        If fewer samples are asked for than tell anything.
    """
    if samples < FEWEST:
        raise CaseError(f"{samples} samples are too few for a band; take {FEWEST} or more")
    coarse = companion_cell_size(cell_size) or cell_size
    return Plan(samples, coarse, workers.count)


def band(
    case: Case,
    cell_size: float,
    answer: Assessment,
    workers: Workers,
    *,
    samples: int = FEWEST,
    seed: int = 1,
    settings: RunSettings = THOROUGH,
    on_done: Callable[[int, int], None] = lambda done, of: None,
) -> Band:
    """Return how far the answer depends on what is uncertain.

    Parameters
    ----------
    cell_size : of the run that ``answer`` judges [m].
    samples : runs of the ensemble, ``FEWEST`` or more.
    seed : of the Latin hypercube; the same seed gives the same band.
    on_done : told after each run how many of how many are done, first that none is.

    Raises
    ------
    CaseError
        If the case itself cannot be run on the cells of the ensemble.
    """
    coarse = companion_cell_size(cell_size)
    things = uncertain_things(coarse or cell_size, with_grid=coarse is not None)
    table = latin_hypercube(things, samples, seed)
    names = [thing.name for thing in things]
    common = (dict(case.sources), main_of(case), coarse or cell_size, settings)
    correction: Mapping[PlaceKey, float] = {}
    if coarse is not None:
        nominal = _run(_Ask(*common, {}, {}))
        if isinstance(nominal, Failed):
            raise CaseError(nominal.reason)
        correction = {
            key: place.coldest - nominal.coldest[key]
            for place in answer.places
            if (key := place_key(place)) in nominal.coldest
        }
    asked = [_Ask(*common, dict(zip(names, row, strict=True)), correction) for row in table]
    found: dict[int, _Sample] = {}
    on_done(0, samples)
    for done, (number, sample) in enumerate(workers.each(_run, asked), start=1):
        if not isinstance(sample, Failed):
            found[number] = sample
        on_done(done, samples)
    if not found:
        raise CaseError("none of the ensemble's runs could be made; the case may be unphysical")
    kept = sorted(found)
    runs = [found[number] for number in kept]
    return Band(
        samples=samples,
        failed=samples - len(runs),
        seed=seed,
        cell_size=coarse or cell_size,
        horizon=case.treatment.horizon,
        has_grid_error=coarse is not None,
        things=things,
        done_in=sum(math.isfinite(run.finishing) for run in runs),
        done_in_colder=sum(math.isfinite(run.finishing_colder) for run in runs),
        finishing=quantiles([run.finishing for run in runs]),
        finishing_colder=quantiles([run.finishing_colder for run in runs]),
        cold_share=quantiles([run.cold_share for run in runs]),
        spots=_spot_chances(answer, runs),
        weights=_weights(things, table[kept], np.array([run.cold_share for run in runs])),
    )


def _run(ask: _Ask) -> _Sample | Failed:
    """Make one run of the ensemble and judge it, or tell why it could not be made."""
    return or_failed(lambda: _sample(ask))


def _sample(ask: _Ask) -> _Sample:
    """Make one run of the ensemble and judge it with its correction for the cells."""
    case = varied_case(load_texts(ask.sources, ask.main), ask.values)
    settings = varied_settings(ask.settings, ask.values)
    run = simulation.simulate(case, ask.cell_size, settings=settings)
    share = ask.values.get("grid", 0.0)
    plain = assess(case, run.grid, run.history)
    shift = share * _per_refuge(run.grid, ask.correction)
    history = corrected(run.history, shift, plain.end.index)
    judged = assess(case, run.grid, history) if share and ask.correction else plain
    volume = sum(place.litres for place in judged.places)
    cold = sum(place.litres for place in judged.places if place.state == "not done")
    return _Sample(
        finishing=judged.finishing_time,
        finishing_colder=judged.finishing_time_colder,
        cold_share=cold / volume if volume else 0.0,
        is_cold={
            place_key(place): (
                place.state == "not done",
                place.state != "done",
            )
            for place in judged.places
        },
        coldest={place_key(place): place.coldest for place in judged.places},
    )


def _per_refuge(grid: Grid, correction: Mapping[PlaceKey, float]) -> FloatArray:
    """Return the correction of each refuge (R,) [K]; a place that only one grid knows has none."""
    of_group = np.array([correction.get(place_key(group), 0.0) for group in grid.refuges.groups])
    return of_group[grid.refuges.group] if of_group.size else np.zeros(0)


def corrected(history: History, shift: FloatArray, end: int) -> History:
    """Return a history whose refuges are ``shift`` (R,) [K] warmer at time number ``end``.

    Before, each is warmer by the share of that which it has warmed; afterwards the share is kept
    as it cools.
    """
    temperature = history.refuge_temperature.astype(np.float64)
    start = temperature[0]
    whole = temperature[end] - start
    hours = history.time[:, None] / max(float(history.time[end]), 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(whole >= _LEAST_WARMING, (temperature - start) / whole, hours)
    warmer = temperature + np.clip(share, 0.0, 1.0) * shift
    return replace(history, refuge_temperature=warmer.astype(np.float32))


def quantiles(values: Sequence[float]) -> Quantiles:
    """Return the tenths of values of which nan is later than all others."""
    return Quantiles(*quantiles_with_never(values, (0.1, 0.5, 0.9)))


def _spot_chances(answer: Assessment, runs: Sequence[_Sample]) -> tuple[SpotChance, ...]:
    chances = []
    for spot in answer.cold_spots:
        keys = [key for key in spot.places if any(key in run.is_cold for run in runs)]
        if not keys:
            continue
        states = [[run.is_cold[key] for key in keys if key in run.is_cold] for run in runs]
        coldest = [
            min((run.coldest[key] for key in keys if key in run.coldest), default=math.nan)
            for run in runs
        ]
        chances.append(
            SpotChance(
                rank=spot.rank,
                words=spot.words,
                room=spot.room,
                cold_in=sum(any(cold for cold, _ in state) for state in states),
                cold_in_colder=sum(any(colder for _, colder in state) for state in states),
                coldest=quantiles(coldest),
            )
        )
    return tuple(chances)


def _weights(
    things: Sequence[Uncertain], table: FloatArray, cold: FloatArray
) -> tuple[Weight, ...]:
    """Return how each thing goes with the cold share; nothing where all runs leave the same."""
    if np.ptp(cold) == 0.0:
        return ()
    found = [
        Weight(thing.name, thing.words, float(spearmanr(column, cold).statistic))
        for thing, column in zip(things, table.T, strict=True)
    ]
    return tuple(sorted(found, key=lambda weight: -abs(weight.correlation)))
