"""Which rule is worth what: means over dwellings, paired differences with intervals, ranks.

Dwellings differ far more from each other than rules do within one. So rules are compared dwelling
by dwelling, and the interval of a mean difference comes from drawing whole dwellings anew: the
paired bootstrap (Efron 1979, Ann. Statist. 7:1; percentile interval).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.studies.campaign.job import Row

#: Draws of the bootstrap, and what its interval holds [-].
DRAWS, CONFIDENCE = 4000, 0.95


@dataclass(frozen=True, slots=True)
class Scores:
    """One figure of every rule in every dwelling in which all rules ran. D dwellings, R rules."""

    measure: str
    rules: tuple[str, ...]
    dwellings: tuple[str, ...]
    values: FloatArray  # (D, R)


@dataclass(frozen=True, slots=True)
class Standing:
    """A rule's place in the league; smaller figures are better.

    Attributes
    ----------
    mean : of the figure over all dwellings.
    gain : mean over dwellings of the reference's figure less this rule's.
    gain_low, gain_high : interval of that mean at ``CONFIDENCE``.
    rank : mean rank within a dwelling, 1 the best; ties share.
    best : share of the dwellings in which no rule is better [-].
    worse : share of the dwellings in which the rule is worse than the reference [-].
    """

    rule: str
    mean: float
    gain: float
    gain_low: float
    gain_high: float
    rank: float
    best: float
    worse: float


def place_of(row: Row) -> str:
    """Return what a row shares with those it is compared with: dwelling, state and changes."""
    changes = [f"{name} = {row[name]}" for name in row if "." in name]
    return ", ".join([str(row["dwelling"]), str(row["preparation"]), *changes])


def scores_of(rows: Sequence[Row], measure: str, horizon: float | None = None) -> Scores:
    """Return a figure of rows by dwelling and rule; dwellings that miss a rule are left out.

    Parameters
    ----------
    rows : one for each place and rule at most; those that failed are passed over.
    measure : a column.
    horizon : put where the column is empty ("never"), in the column's unit; None: such rows are
        passed over.
    """
    rules = tuple(dict.fromkeys(str(row["rule"]) for row in rows))
    found: dict[str, dict[str, float]] = {}
    for row in rows:
        value = horizon if row[measure] is None else row[measure]
        if not row["error"] and value is not None:
            where = place_of(row)
            found.setdefault(where, {})[str(row["rule"])] = float(value)
    whole = {where: by_rule for where, by_rule in found.items() if len(by_rule) == len(rules)}
    values = np.array([[by_rule[rule] for rule in rules] for by_rule in whole.values()])
    return Scores(measure, rules, tuple(whole), values.reshape(len(whole), len(rules)))


def league(scores: Scores, reference: str, seed: int = 1) -> tuple[Standing, ...]:
    """Return the rules from best to worst by their mean figure.

    Parameters
    ----------
    reference : the rule that gains are told against.
    seed : of the bootstrap.
    """
    values = scores.values
    apart = values[:, [scores.rules.index(reference)]] - values
    low, high = bootstrap_interval(apart, np.random.default_rng(seed))
    rank = ranks(values)
    best = values <= values.min(axis=1, keepdims=True) + 1e-12
    table = [
        Standing(
            rule=rule,
            mean=float(values[:, nth].mean()),
            gain=float(apart[:, nth].mean()),
            gain_low=float(low[nth]),
            gain_high=float(high[nth]),
            rank=float(rank[:, nth].mean()),
            best=float(best[:, nth].mean()),
            worse=float((apart[:, nth] < 0.0).mean()),
        )
        for nth, rule in enumerate(scores.rules)
    ]
    return tuple(sorted(table, key=lambda standing: (standing.mean, standing.rule)))


def bootstrap_interval(
    values: FloatArray, lots: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return the interval of the mean over rows of (D, R) values, drawing whole rows; (R,) each."""
    rows = values.shape[0]
    means = np.array([values[lots.integers(0, rows, rows)].mean(axis=0) for _ in range(DRAWS)])
    tail = 0.5 * (1.0 - CONFIDENCE)
    low, high = np.quantile(means, [tail, 1.0 - tail], axis=0)
    return low, high


def ranks(values: FloatArray) -> FloatArray:
    """Return the rank of each figure in its row, 1 the smallest, ties at their mean; (D, R)."""
    from scipy.stats import rankdata

    ranked: FloatArray = rankdata(values.round(9), axis=1)
    return ranked


def worst_dwellings(scores: Scores, rule: str, count: int = 3) -> list[tuple[str, float]]:
    """Return where a rule loses most to the best rule there, and how much, the worst first."""
    loss = scores.values[:, scores.rules.index(rule)] - scores.values.min(axis=1)
    order = np.argsort(-loss, kind="stable")[:count]
    return [(scores.dwellings[index], float(loss[index])) for index in order]


def agreement(coarse: Scores, fine: Scores) -> dict[str, float]:
    """Return Spearman's rank correlations of two sets of scores, on the dwellings of both.

    "all": over every dwelling and rule; "league": of the rules' means; "within": mean over
    dwellings of the correlation of the rules there; nan where there is nothing to rank.
    """
    both = [dwelling for dwelling in fine.dwellings if dwelling in coarse.dwellings]
    rules = [rule for rule in fine.rules if rule in coarse.rules]
    ours, theirs = (
        np.array(
            [
                [scores.values[scores.dwellings.index(d), scores.rules.index(r)] for r in rules]
                for d in both
            ]
        ).reshape(len(both), len(rules))
        for scores in (coarse, fine)
    )
    within = [spearman(a, b) for a, b in zip(ours, theirs, strict=True)]
    known = [value for value in within if math.isfinite(value)]
    return {
        "dwellings": float(len(both)),
        "all": spearman(ours.ravel(), theirs.ravel()),
        "league": spearman(ours.mean(axis=0), theirs.mean(axis=0)) if both else math.nan,
        "within": float(np.mean(known)) if known else math.nan,
    }


def spearman(first: FloatArray, second: FloatArray) -> float:
    """Return the rank correlation of two samples, nan if either is constant or too short [-]."""
    if first.size < 2 or np.ptp(first) == 0.0 or np.ptp(second) == 0.0:
        return math.nan
    from scipy.stats import spearmanr

    return float(spearmanr(first, second).statistic)
