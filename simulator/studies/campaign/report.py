"""What a study found, as Markdown: leagues with their intervals, where rules fail, limits."""

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np

from simulator.studies.campaign.fit import FOLDS, fit_numbers
from simulator.studies.campaign.inputs import SensitivityRecord, findings
from simulator.studies.campaign.job import PLACE, PLACE_START, Row
from simulator.studies.campaign.league import (
    Scores,
    bootstrap_interval,
    league,
    scores_of,
    worst_dwellings,
)
from simulator.studies.campaign.outcome import OUTCOMES
from simulator.studies.campaign.plan import PlanFile
from simulator.studies.layout_rules import RULES, RuleNumbers
from simulator.studies.rungs import WHOLE

#: Figures that rules are ranked by, the first of them in the plots.
MEASURES = ("mean_hours", "hours_90", "litre_hours")

#: Dwellings below which no interval is told: a bootstrap of fewer says too little.
LEAST_SAMPLE = 5

#: Numbers of a rule that a plan may tune.
TUNABLE = tuple(name for name in RuleNumbers.__dataclass_fields__ if name != "seed")


def report(plan: PlanFile, rows: Sequence[Row], total: int) -> str:
    """Return the page of a study.

    Parameters
    ----------
    rows : of all runs that are done.
    total : how many runs the plan has; a part of them is told as such.
    """
    lines = [f"# {plan.title}", ""]
    lines += [*_what_was_run(plan, rows, total), ""]
    usual = [row for row in usual_rows(rows) if not row["error"] and not row["point"]]
    ranked = [row for row in usual if row["rule"] in RULES]
    if len({row["rule"] for row in ranked}) > 1:
        for measure in MEASURES:
            lines += [*_league(plan, ranked, measure), ""]
        lines += [*_worst(scores_of(ranked, MEASURES[0])), ""]
        lines += [*_spread(scores_of(ranked, MEASURES[0])), ""]
        lines += _regret(plan, usual)
    lines += _fits(plan, rows)
    if plan.sensitivity is not None:
        lines += _sensitivity(plan.sensitivity, rows)
    lines += _limits(plan)
    return "\n".join(lines).rstrip() + "\n"


def usual_rows(rows: Sequence[Row]) -> list[Row]:
    """Return the rows whose rule has its usual numbers: those that a league compares."""
    usual = RuleNumbers()
    return [row for row in rows if all(row[name] == getattr(usual, name) for name in TUNABLE)]


def reference_of(rules: Sequence[str]) -> str:
    """Return the rule that others are told against: no fans, or fans by lot, or the first."""
    return next((rule for rule in ("none", "anywhere") if rule in rules), rules[0])


def _what_was_run(plan: PlanFile, rows: Sequence[Row], total: int) -> Iterator[str]:
    good = [row for row in rows if not row["error"]]
    dwellings = {row["dwelling"] for row in good}
    part = "" if len(rows) == total else f" ({len(rows)} of the {total} of the plan are done)"
    yield (
        f"{len(good)} runs in {_counted(len(dwellings))}{part}, on cells of {plan.cell:g} m, solved"
        f' by the method "{plan.method}". All dwellings are drawn by lot or invented.'
    )
    failed = [row for row in rows if row["error"]]
    if failed:
        yield f"{len(failed)} runs failed; the first: {failed[0]['error']}"
    if not good:
        return
    yield ""
    yield "| dwellings | number | floor [m²] | heaters | fans |"
    yield "|---|--:|--:|--:|--:|"
    by_kind = sorted(good, key=lambda row: str(row["kind"]))
    for kind, group in groupby(by_kind, key=lambda row: str(row["kind"])):
        few = list(group)
        number = len({row["dwelling"] for row in few})
        areas = [row["area_m2"] for row in few if row["area_m2"] is not None]
        area = f"{min(areas):.0f} to {max(areas):.0f}" if areas else "–"
        yield (
            f"| {kind or 'case files'} | {number} | {area} | {_span(few, 'heaters')} |"
            f" {_span(few, 'fans')} |"
        )
    done = [row["finishing_h"] for row in good if row["finishing_h"] is not None]
    yield ""
    yield (
        f"The last hiding place was done within the horizon in {len(done)} of {len(good)} runs. "
        "Where it is not, the finishing time ranks nothing; rules are therefore compared by the "
        "mean time to done over the volume of all hiding places (those not done count at the "
        "horizon), by the hour at which 90 % of that volume is done, and by litre-hours not done."
    )


def _span(rows: Sequence[Row], name: str) -> str:
    low, high = min(row[name] for row in rows), max(row[name] for row in rows)
    return f"{low}" if low == high else f"{low} to {high}"


def _league(plan: PlanFile, rows: Sequence[Row], measure: str) -> Iterator[str]:
    horizon = max(row["horizon_h"] for row in rows)
    scores = scores_of(rows, measure, horizon if measure.startswith("hours") else None)
    if not scores.dwellings:
        return
    reference = reference_of(scores.rules)
    yield f"## League by {measure}: {OUTCOMES[measure].split(';')[0]}"
    yield ""
    yield (
        f"{_counted(len(scores.dwellings))} in which every rule ran; gains are told against"
        f' "{RULES[reference].words}", with 95 % intervals of the paired bootstrap over dwellings'
        f" (of {LEAST_SAMPLE} or more)."
        + (" Never counts as the horizon." if measure.startswith("hours") else "")
    )
    yield ""
    yield "| rule | standing | mean | gain | interval | mean rank | best in | worse in |"
    yield "|---|---|--:|--:|--:|--:|--:|--:|"
    for row in league(scores, reference):
        rule = RULES[row.rule]
        gain = interval = "–"
        if row.rule != reference:
            gain = _figure(row.gain, "+")
            if len(scores.dwellings) >= LEAST_SAMPLE:
                interval = f"{_figure(row.gain_low, '+')} to {_figure(row.gain_high, '+')}"
        mean = _figure(row.mean)
        yield (
            f"| {row.rule}: {rule.words} | {rule.standing} | {mean} | {gain} | {interval} |"
            f" {row.rank:.2f} | {100 * row.best:.0f} % | {100 * row.worse:.0f} % |"
        )


def _figure(value: float, sign: str = "") -> str:
    """Return a figure with three digits, four if it stands alone; large ones in whole numbers."""
    if abs(value) >= 1000.0:
        return f"{value:{sign},.0f}"
    return f"{value:{sign}.{3 if sign else 4}g}"


def _counted(number: int) -> str:
    return f"{number} dwelling" + ("" if number == 1 else "s")


def _worst(scores: Scores) -> Iterator[str]:
    if not scores.dwellings:
        return
    yield "## Where rules fail"
    yield ""
    yield "Hours of mean time to done lost to the best rule of the same dwelling."
    yield ""
    yield "| rule | worst dwellings |"
    yield "|---|---|"
    for rule in scores.rules:
        places = "; ".join(
            f"{where} ({loss:.2f} h)" for where, loss in worst_dwellings(scores, rule)
        )
        yield f"| {rule} | {places} |"


def _spread(scores: Scores) -> Iterator[str]:
    """Say how much of the spread is between dwellings and how much between rules."""
    if len(scores.dwellings) < 2:
        return
    between = float(scores.values.mean(axis=1).std(ddof=1))
    within = float(np.sqrt(scores.values.var(axis=1, ddof=1).mean()))
    fans = [nth for nth, rule in enumerate(scores.rules) if rule != "none"]
    yield "## Spread"
    yield ""
    yield (
        f"Mean times to done differ by {between:.2f} h (standard deviation) from dwelling to "
        f"dwelling and by {within:.2f} h from rule to rule within a dwelling"
        + (
            f"; among rules that set fans by "
            f"{float(np.sqrt(scores.values[:, fans].var(axis=1, ddof=1).mean())):.2f} h."
            if 1 < len(fans) < len(scores.rules)
            else "."
        )
    )


def _regret(plan: PlanFile, rows: Sequence[Row]) -> Iterator[str]:
    """Say what each rule loses to the placement search, where the search was made."""
    searched = {row["dwelling"] for row in rows if row["rule"] == PLACE}
    if not plan.place:
        return
    yield "## Regret"
    yield ""
    few = [row for row in rows if row["dwelling"] in searched]
    scores = scores_of(few, "litre_hours")
    if not scores.dwellings:
        yield f"The search was to be made in {plan.place} dwellings; none is done yet."
        yield ""
        return
    yield (
        f"What rules lose to a short placement search for litre-hours (as many fans as the rule "
        f"'{PLACE_START}', on cells of {WHOLE.cell_size:g} m) in {len(scores.dwellings)} of the "
        f"{plan.place} dwellings for which it was planned; judged on the cells of this study. "
        "A negative loss: the rule did better than the search found."
    )
    yield ""
    yield "| rule | loss [l h] | interval | in per cent | worst |"
    yield "|---|--:|--:|--:|--:|"
    best = scores.values[:, [scores.rules.index(PLACE)]]
    loss = scores.values - best
    low, high = bootstrap_interval(loss, np.random.default_rng(1))
    share = 100.0 * loss.mean(axis=0) / best.mean()
    for nth in np.argsort(loss.mean(axis=0), kind="stable"):
        if scores.rules[nth] != PLACE:
            yield (
                f"| {scores.rules[nth]} | {loss[:, nth].mean():+.0f} | {low[nth]:+.0f} to"
                f" {high[nth]:+.0f} | {share[nth]:+.1f} % | {loss[:, nth].max():+.0f} |"
            )
    yield ""


def _fits(plan: PlanFile, rows: Sequence[Row]) -> Iterator[str]:
    numbers = sorted(name for name, values in plan.numbers.items() if len(values) > 1)
    if not numbers:
        return
    usual = [getattr(RuleNumbers(), name) for name in numbers]
    yield "## Numbers of the rules"
    yield ""
    yield (
        f"Each rule tuned by mean time to done on four fifths of the dwellings and judged on the "
        f"fifth held out, {FOLDS} times."
    )
    yield ""
    yield "| rule | best numbers | mean [h] | tuned [h] | held out [h] | usual [h] | chosen in |"
    yield "|---|---|--:|--:|--:|--:|--:|"
    for rule in plan.rules:
        ours = [row for row in rows if row["rule"] == rule]
        if rule == "none":
            continue
        try:
            fit = fit_numbers(ours, numbers, usual=usual)
        except ValueError as error:
            yield f"| {rule} | {error} | | | | | |"
            continue
        best = fit.settings[0]
        words = ", ".join(f"{name} = {value:g}" for name, value in best.numbers)
        yield (
            f"| {rule} | {words} ({best.cost:.1f} fans) | {best.mean:.3f} | {fit.tuned:.3f} |"
            f" {fit.held_out:.3f} | {fit.usual:.3f} | {fit.chosen} of {fit.folds} |"
        )
    yield ""


def _sensitivity(record: SensitivityRecord, rows: Sequence[Row]) -> Iterator[str]:
    yield f"## Sensitivity of {record.measure}, rule {record.rule}"
    yield ""
    yield from findings(record, rows)
    yield ""


def _limits(plan: PlanFile) -> Iterator[str]:
    yield "## Limits"
    yield ""
    yield (
        f"- Cells of {plan.cell:g} m: a fan of 0.5 m is {0.5 / plan.cell:.1f} cells across. Ranks "
        "bear larger cells than hours do; how far they agree with 0.10 m is told where it was "
        "measured."
    )
    yield (
        "- The dwellings are drawn from invented distributions; a mean over them is no mean over "
        "a town's. Fans are of one size, on the floor or low, aimed once and left there; crews "
        "move them."
    )
    yield (
        "- Coefficients of heat transfer differ by about 30 % between authors, lethal times by "
        "more than tenfold between laboratories. A rule's gain is no promise for one home: "
        "sensors in the cold spots decide."
    )
    yield (
        "- Heat can hurt people and start fires: people and pets out, fire systems known, circuits "
        "and cords sized, never unattended. Local codes and licensed practice come first."
    )
