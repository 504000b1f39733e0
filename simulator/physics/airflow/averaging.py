"""Averages the flow over time, longer while the halves of the average still differ."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from simulator.grid.grid import FloatArray, IntArray
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.near_surface import mean_and_scatter
from simulator.physics.airflow.projection import Fields, Tick


@dataclass(frozen=True, slots=True)
class Mean:
    """Means of padded fields: of the whole averaging, and of the speed in each half of it."""

    velocity: Fields
    first: FloatArray
    second: FloatArray
    eddies: FloatArray
    thrust_share: FloatArray  # of each mover
    time: float  # that was averaged [s]


@dataclass(frozen=True, slots=True)
class Averaging:
    """How long to average, and which cells tell whether that is enough.

    Attributes
    ----------
    discard, average : seconds before and during the averaging.
    longest : an averaging may be prolonged by as much again, and again, up to this [s].
    scatter : it is prolonged while the speeds near surfaces of its halves differ by more [-].
    near : padded flat indices of the cells near surfaces.
    volume : of these cells [m³].
    """

    discard: float
    average: float
    longest: float
    scatter: float
    near: IntArray
    volume: FloatArray


def still(stepper: FlowStepper) -> Mean:
    """Return the mean of air at rest."""
    zeros = stepper.mesh.layout.zeros
    velocity, thrust_share = (zeros(), zeros(), zeros()), np.zeros_like(stepper.thrust_share)
    return Mean(velocity, zeros(), zeros(), zeros(), thrust_share, 0.0)


def averaged(
    stepper: FlowStepper, plan: Averaging, tick: Tick, report: Callable[[float], None]
) -> Mean:
    """Return the mean flow; ``report`` is told the fraction done after every step."""
    before = ceil(plan.discard / stepper.time_step)
    half = max(ceil(0.5 * plan.average / stepper.time_step), 1)
    for n in range(before):
        stepper.step(tick)
        report((n + 1) / (before + 2 * half))
    sums = still(stepper)
    parts: list[FloatArray] = []  # mean speed of each half averaging so far
    while _is_too_short(parts, plan):
        parts.append(stepper.mesh.layout.zeros())
        for n in range(half):
            stepper.step(tick)
            stepper.add_to(sums.velocity, sums.eddies, sums.thrust_share, parts[-1])
            done = before + (len(parts) - 1) * half + n + 1
            report(done / (before + (len(parts) + len(parts) % 2) * half))
        parts[-1] /= half
    steps = len(parts) * half
    for total in (*sums.velocity, sums.eddies, sums.thrust_share):
        total /= steps
    first, second = _halves(parts)
    return replace(sums, first=first, second=second, time=steps * stepper.time_step)


def _is_too_short(parts: list[FloatArray], plan: Averaging) -> bool:
    if len(parts) < 2 or len(parts) % 2:
        return True
    if (0.5 * len(parts) + 1.0) * plan.average > plan.longest:
        return False
    first, second = _halves(parts)
    _, scatter, _ = mean_and_scatter(first[plan.near], second[plan.near], plan.volume)
    return scatter > plan.scatter


def _halves(parts: list[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Mean speeds of the first and of the second half of an even number of parts."""
    middle = len(parts) // 2
    return sum(parts[1:middle], parts[0]) / middle, sum(parts[middle + 1 :], parts[middle]) / middle
