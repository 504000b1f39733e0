"""Fitting a rule's numbers: the best setting, and what it is worth in dwellings held out.

A number such as floor a fan is tuned on some dwellings and judged on others, fold by fold. What is
gained where it was tuned and lost where it was not is over-fitting, and it is told.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.studies.campaign.job import Row
from simulator.studies.campaign.league import place_of

#: Parts that dwellings are cut into (common practice: five to ten).
FOLDS = 5


@dataclass(frozen=True, slots=True)
class Setting:
    """One combination of numbers with its mean figure over all dwellings."""

    numbers: tuple[tuple[str, float], ...]
    mean: float
    cost: float  # fans a dwelling


@dataclass(frozen=True, slots=True)
class Fit:
    """What ``fit_numbers`` returns; smaller figures are better.

    Attributes
    ----------
    settings : every combination tried, the best first.
    tuned : mean figure where the numbers were tuned.
    held_out : mean figure of the same choices in the dwellings held out.
    usual : mean figure of the combination that is nearest to the rule's usual numbers.
    chosen : how many folds chose the setting that is best over all.
    folds, dwellings : that there were.
    """

    settings: tuple[Setting, ...]
    tuned: float
    held_out: float
    usual: float
    chosen: int
    folds: int
    dwellings: int


def fit_numbers(
    rows: Sequence[Row],
    numbers: Sequence[str],
    measure: str = "mean_hours",
    *,
    fan_price: float = 0.0,
    usual: Sequence[float] = (),
    seed: int = 1,
) -> Fit:
    """Return the numbers of one rule that do best, cross-validated over dwellings.

    Parameters
    ----------
    rows : of one rule, for the same dwellings at every combination of ``numbers``.
    numbers : columns that are tuned, such as ("floor_per_fan", "tilt").
    fan_price : added to the figure for each fan: what one fan must save to be worth its place, in
        the unit of the figure.
    usual : numbers that the tuned ones are compared with; left out: the first combination.
    seed : of the cut into folds.

    Raises
    ------
    ValueError
        If fewer dwellings than folds ran at every combination.
    """
    combinations, dwellings, values, fans = _by_setting(rows, numbers, measure)
    if len(dwellings) < FOLDS:
        raise ValueError(f"{len(dwellings)} dwellings have all settings; {FOLDS} are needed")
    cost = values + fan_price * fans
    order = np.random.default_rng(seed).permutation(len(dwellings))
    best_of_all = int(np.argmin(cost.mean(axis=0)))
    tuned, held_out, chosen = [], [], 0
    for fold in range(FOLDS):
        out = order[fold::FOLDS]
        kept = np.setdiff1d(order, out)
        best = int(np.argmin(cost[kept].mean(axis=0)))
        chosen += best == best_of_all
        tuned.append(cost[kept, best].mean())
        held_out.extend(cost[out, best])
    nearest = 0
    if usual:
        away = [sum((a - b) ** 2 for a, b in zip(c, usual, strict=True)) for c in combinations]
        nearest = int(np.argmin(away))
    ranked = np.argsort(cost.mean(axis=0), kind="stable")
    return Fit(
        settings=tuple(
            Setting(
                tuple(zip(numbers, combinations[index], strict=True)),
                float(values[:, index].mean()),
                float(fans[:, index].mean()),
            )
            for index in ranked
        ),
        tuned=float(np.mean(tuned)),
        held_out=float(np.mean(held_out)),
        usual=float(cost[:, nearest].mean()),
        chosen=chosen,
        folds=FOLDS,
        dwellings=len(dwellings),
    )


def _by_setting(
    rows: Sequence[Row], numbers: Sequence[str], measure: str
) -> tuple[list[tuple[float, ...]], list[str], FloatArray, FloatArray]:
    """Return combinations, dwellings that have all of them, and figure and fans of each (D, C)."""
    found: dict[str, dict[tuple[float, ...], tuple[float, float]]] = {}
    for row in rows:
        if not row["error"] and row[measure] is not None:
            setting = tuple(float(row[name]) for name in numbers)
            found.setdefault(place_of(row), {})[setting] = (float(row[measure]), float(row["fans"]))
    combinations = sorted({setting for by_setting in found.values() for setting in by_setting})
    whole = [where for where, settings in found.items() if len(settings) == len(combinations)]
    table = np.array([[found[where][setting] for setting in combinations] for where in whole])
    table = table.reshape(len(whole), len(combinations), 2)
    return combinations, whole, table[..., 0], table[..., 1]
