"""The steps that an epoch may be cut into: equal parts of it, their halves, quarters and so on.

Steps of few lengths share the factors of their matrices.
"""

from dataclasses import dataclass
from math import ceil, log2


@dataclass(frozen=True, slots=True)
class StepLadder:
    """Steps of 2**level ticks from multiples of so many, ``ticks`` in all.

    ``lowest`` is the level down to which errors shorten steps; below it only switching does.
    """

    tick: float  # [s]
    ticks: int
    lowest: int
    highest: int

    def fitting(self, level: int, at: int, due: int) -> int:
        """Return the highest level up to ``level`` that starts at tick ``at`` and ends by ``due``.

        Examples
        --------
        >>> step_ladder(1200.0, 300.0, 75.0, 75.0).fitting(2, 6, 16)
        1
        """
        level = min(level, self.highest)
        while at % 2**level or at + 2**level > due:
            level -= 1
        return level


def step_ladder(length: float, longest: float, shortest: float, finest: float) -> StepLadder:
    """Return the ladder of an epoch of ``length``.

    Parameters
    ----------
    longest, shortest : bounds of the steps that errors choose [s].
    finest : of those that switching may ask for [s].
    """
    parts = max(1, ceil(length / longest - 1e-9))
    levels = halvings(length / parts, shortest)
    extra = halvings(length / parts / 2**levels, finest)
    count = 2 ** (levels + extra)
    return StepLadder(length / parts / count, parts * count, extra, levels + extra)


def halvings(length: float, shortest: float) -> int:
    """Return how often a length must be halved not to exceed the shortest."""
    return max(0, ceil(log2(max(length / shortest, 1.0))))
