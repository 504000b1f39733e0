"""When a run records: every time once, whatever the epochs, and the horizon always."""

from itertools import pairwise

import numpy as np
import pytest

from simulator.timetable import FRAME_INTERVAL, epochs, frame_times, output_times

HORIZONS = (60.0, 300.0, 1500.0, 5400.0, 21600.0, 36000.0)


@pytest.mark.parametrize("horizon", HORIZONS)
def test_epochs_follow_each_other_to_the_horizon(horizon: float) -> None:
    spans = epochs(horizon)
    assert spans[0][0] == 0.0
    assert spans[-1][1] == horizon
    assert all(one[1] == two[0] for one, two in pairwise(spans))
    assert all(end > start for start, end in spans)


@pytest.mark.parametrize("horizon", HORIZONS)
def test_outputs_rise_and_hold_every_epochs_end(horizon: float) -> None:
    times = np.concatenate([output_times(start, end) for start, end in epochs(horizon)])
    assert times[0] == 0.0
    assert np.all(np.diff(times) > 0.0)
    assert {end for _, end in epochs(horizon)} <= set(times.tolist())


@pytest.mark.parametrize("horizon", HORIZONS)
def test_frames_hold_the_start_and_the_horizon(horizon: float) -> None:
    frames = np.concatenate([frame_times(a, b, horizon) for a, b in epochs(horizon)])
    assert frames[0] == 0.0
    assert frames[-1] == horizon
    assert np.all(np.diff(frames) > 0.0)
    assert np.diff(frames).max() <= FRAME_INTERVAL


PLAN = (0.0, 4 * 3600.0, 7 * 3600.0)


def test_every_phase_begins_an_epoch_and_the_short_ones_anew() -> None:
    spans = epochs(36000.0, PLAN)
    assert all(one[1] == two[0] for one, two in pairwise(spans))
    begun = [start for start, _ in spans]
    assert set(PLAN) <= set(begun)
    for start in PLAN:
        assert (start, start + 120.0) in spans
    assert spans[-1][1] == 36000.0
    assert all(end - start >= 60.0 for start, end in spans)
