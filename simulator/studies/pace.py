"""How long many runs take, told by those that are done: no guess beforehand is as good."""

import math
import time
from collections.abc import Callable

from simulator.units import format_quantity


class Pace:
    """Tells what is left of some runs once the first of them is done.

    Parameters
    ----------
    runs : how many are expected.
    at_once : how many run at the same time.
    clock : seconds since some moment.
    """

    def __init__(
        self, runs: int, at_once: int = 1, *, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._runs, self._at_once, self._clock = runs, min(at_once, max(runs, 1)), clock
        self._begun = clock()

    def begin(self) -> None:
        """Count from now: what was done before was not of these runs."""
        self._begun = self._clock()

    def left(self, done: int) -> float:
        """Return the time that is left when some are done [s]; nan: nothing tells it yet.

        Those that run meanwhile are half done on average.
        """
        if done < 1:
            return math.nan
        passed, half_done = self._clock() - self._begun, 0.5 * (self._at_once - 1)
        return max(passed * (self._runs - done - half_done) / (done + half_done), 0.0)

    def remark(self, done: int) -> str:
        """Return about how long the others take, to be put behind what is done; nothing at the end.

        >>> readings = iter([0.0, 90.0])
        >>> Pace(11, clock=lambda: next(readings)).remark(1)
        ', about 15 min left'
        """
        left = self.left(done)
        return f", about {format_quantity(left, 'time')} left" if left > 0.0 else ""
