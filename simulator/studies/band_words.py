"""The band of an answer in words for print."""

import math

from simulator.studies.band import Band, Plan, Quantiles, SpotChance
from simulator.units import System, format_quantity, format_small_length

TITLE = "How sure this is"

#: Correlations that a sample of this size makes by chance one time in twenty are not told:
#: 2 / sqrt(n - 1) (normal limit of Spearman's coefficient).
_CHANCE = 2.0

#: Cold spots and weights that are printed.
_MOST_SPOTS, _MOST_WEIGHTS = 12, 3


def plan_in_words(plan: Plan, units: System = "si") -> str:
    """Return what an ensemble will cost, before it is begun."""
    cells = format_small_length(plan.cell_size, units)
    processes = "1 process" if plan.workers == 1 else f"{plan.workers} processes"
    return (
        f"band: {plan.samples} runs on cells of {cells}, {processes}; how long they take is "
        "told as they are done"
    )


def in_words(found: Band, units: System = "si") -> list[str]:
    """Return the band as paragraphs for print."""
    runs = found.samples - found.failed
    lines = [_finish(found, runs, units), _egg(found, runs, units)]
    low, mid, high = (f"{100 * share:.0f}" for share in _three(found.cold_share))
    lines.append(
        f"Share of the hiding volume in places that are not done: {low}, {mid} and {high} % (a "
        "tenth, half and nine tenths of the runs have less)."
    )
    lines += [_spot(spot, runs, units) for spot in found.spots[:_MOST_SPOTS]]
    weights = _weights(found, runs)
    return [*lines, *([weights] if weights else []), _basis(found, runs, units)]


def _finish(found: Band, runs: int, units: System) -> str:
    horizon = format_quantity(found.horizon, "time", units)
    return (
        f"All hiding places are done within {horizon} in {found.done_in} of {runs} runs in which "
        f"what is uncertain was varied. Finishing time: {_times(found.finishing, horizon, units)}."
    )


def _egg(found: Band, runs: int, units: System) -> str:
    horizon = format_quantity(found.horizon, "time", units)
    colder = format_quantity(2.0, "temperature difference", units)
    return (
        f"The doubt about the egg curve comes on top: were every temperature {colder} lower, all "
        f"would be done in {found.done_in_colder} of {runs} runs; finishing time: "
        f"{_times(found.finishing_colder, horizon, units)}."
    )


def _times(times: Quantiles, horizon: str, units: System) -> str:
    """Return the three times, those beyond the horizon as such."""
    if math.isnan(times.p10):
        return f"not within {horizon} in nine of ten runs or more"
    told = [
        f"{'not' if math.isnan(value) else format_quantity(value, 'time', units)}"
        for value in _three(times)
    ]
    return f"one in ten by {told[0]}, half by {told[1]}, nine in ten by {told[2]}".replace(
        "by not", f"not within {horizon}"
    )


def _spot(spot: SpotChance, runs: int, units: System) -> str:
    low, mid, high = (
        format_quantity(value, "temperature", units) for value in _three(spot.coldest)
    )
    return (
        f"{spot.rank}. {spot.words}: stays cold in {spot.cold_in} of {runs} runs "
        f"({spot.cold_in_colder} for the colder reading); coldest {mid} in half of them "
        f"({low} to {high} in eight of ten)."
    )


def _weights(found: Band, runs: int) -> str:
    least = _CHANCE / math.sqrt(max(runs - 1, 1))
    strong = [weight for weight in found.weights if abs(weight.correlation) > least]
    if not strong:
        return ""
    told = [
        f"{weight.words} ({'more' if weight.correlation > 0 else 'less'} of it leaves more cold, "
        f"rank correlation {weight.correlation:+.2f})"
        for weight in strong[:_MOST_WEIGHTS]
    ]
    return "What the cold volume follows most: " + "; ".join(told) + "."


def _basis(found: Band, runs: int, units: System) -> str:
    cells = format_small_length(found.cell_size, units)
    things = ", ".join(thing.words for thing in found.things)
    grid = (
        ""
        if found.has_grid_error
        else " The error of the cells is not in it: no coarser cells would tell it."
    )
    failed = f" {found.failed} more runs could not be made." if found.failed else ""
    return (
        f"Basis: {runs} runs on cells of {cells}, a Latin hypercube (seed {found.seed}) over "
        f"{things}; their ranges are estimates or published spreads, not measurements of this "
        f"home.{grid}{failed}"
    )


def _three(values: Quantiles) -> tuple[float, float, float]:
    return values.p10, values.p50, values.p90
