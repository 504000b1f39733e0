"""A run recorded from within: the balance of every epoch and the temperatures of retained nodes."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, sqrt

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray, IntArray
from simulator.physics.witness import EpochSeen

#: Coefficient of both stages of Alexander's SDIRK2, as in ``physics/heat/implicit_steps.py``.
GAMMA = 1.0 - 1.0 / sqrt(2.0)

#: Shortest and longest steps [s], and the share of the time since the start in between (choice: the
#: lags then were within half a minute of those by a third of the step in the tests' rooms).
SHORTEST, LONGEST, SHARE = 20.0, 450.0, 0.08


class Recorder:
    """A witness that keeps what it sees."""

    def __init__(self) -> None:
        self._epochs: list[EpochSeen] = []
        self._time: list[float] = []
        self._states: list[NDArray[np.float32]] = []

    def begin(self, seen: EpochSeen) -> None:
        """Keep the balance of an epoch."""
        self._epochs.append(seen)

    def note(self, time: float, state: FloatArray) -> None:
        """Keep the temperatures of the retained nodes."""
        retained = self._epochs[-1].model.layout.retained
        self._time.append(time)
        self._states.append(state[:retained].astype(np.float32))

    def recorded(self) -> "RecordedRun":
        """Return all that was kept."""
        return RecordedRun(tuple(self._epochs), np.array(self._time), np.stack(self._states))


@dataclass(frozen=True, slots=True)
class RecordedRun:
    """What a recorder has kept (T times, m retained nodes)."""

    epochs: tuple[EpochSeen, ...]
    time: FloatArray  # (T,) [s]
    state: NDArray[np.float32]  # (T, m) [°C]

    def at(self, times: FloatArray, node: IntArray) -> FloatArray:
        """Return the temperatures of some nodes at some times, joined by straight lines (n, t)."""
        after = np.clip(np.searchsorted(self.time, times), 1, self.time.size - 1)
        before = after - 1
        share = (times - self.time[before]) / (self.time[after] - self.time[before])
        first = self.state[np.ix_(before, node)].astype(np.float64)
        last = self.state[np.ix_(after, node)].astype(np.float64)
        between: FloatArray = (first + share[:, None] * (last - first)).T
        return between

    @property
    def air(self) -> FloatArray:
        """The temperatures of the air nodes (T, air nodes) [°C]."""
        return self.state[:, self.epochs[0].model.layout.air].astype(np.float64)


def steps_of(epoch: EpochSeen) -> FloatArray:
    """Return the ends of equal steps through an epoch, its start first [s]."""
    middle = 0.5 * (epoch.start + epoch.end)
    length = min(max(SHARE * middle, SHORTEST), LONGEST)
    return np.linspace(epoch.start, epoch.end, ceil((epoch.end - epoch.start) / length) + 1)


def stage_times(steps: FloatArray) -> FloatArray:
    """Return the times of both stages of every step, one after the other [s]."""
    return np.array([at for a, b in pairwise(steps.tolist()) for at in (a + GAMMA * (b - a), b)])
