"""When a run does what: its epochs, when temperatures and when whole fields are recorded."""

from collections.abc import Sequence

import numpy as np

from simulator.grid.grid import FloatArray

#: Ends of the epochs after the start of the run or of a phase of its plan [s]; the next start or
#: the horizon is the last. Short at first, when the room warms or cools fast.
EPOCH_ENDS = (120.0, 900.0, 3600.0, 9000.0)

#: Times between frames, and between recorded temperatures in the first hour and after it [s].
FRAME_INTERVAL = 600.0
EARLY_INTERVAL, LATE_INTERVAL = 60.0, 120.0


def epochs(
    horizon: float, starts: Sequence[float] = (0.0,), after: Sequence[float] = EPOCH_ENDS
) -> list[tuple[float, float]]:
    """Return the start and end of each epoch of a run [s]; none is a mere remnant.

    Every one of ``starts`` begins an epoch, and the short ones anew, which end ``after`` it.
    """
    spans: list[tuple[float, float]] = []
    for start, last in zip(starts, [*starts[1:], horizon], strict=True):
        ends = [start + end for end in after if end < 0.8 * (last - start)]
        spans += zip([start, *ends], [*ends, last], strict=True)
    return spans


def output_times(start: float, end: float, rarer: float = 1.0) -> FloatArray:
    """Return when temperatures are recorded [s]: after ``start`` (0: at it too) to ``end``.

    Intervals are ``rarer`` times as long as usual.
    """
    early = np.arange(0.0, 3600.0, rarer * EARLY_INTERVAL)
    late = np.arange(3600.0, end + rarer * LATE_INTERVAL, rarer * LATE_INTERVAL)
    times = np.union1d(np.concatenate([early, late]), [end])
    return times[((times > start) | (start == 0.0)) & (times <= end)]


def frame_times(start: float, end: float, horizon: float) -> FloatArray:
    """Return when whole fields are recorded in an epoch [s]; the horizon is always one of them."""
    times = np.union1d(np.arange(0.0, horizon, FRAME_INTERVAL), [horizon])
    return times[((times > start) | (start == 0.0)) & (times <= end)]
