"""What is left of many runs, told by those that are done."""

import math

import pytest

from simulator.studies.pace import Pace


def test_one_after_another_the_rest_takes_as_long_each_as_those_before() -> None:
    now = [100.0]
    pace = Pace(10, clock=lambda: now[0])
    assert math.isnan(pace.left(0))
    now[0] += 60.0
    assert pace.left(1) == pytest.approx(540.0)
    now[0] += 60.0
    assert pace.left(2) == pytest.approx(480.0)
    assert pace.remark(2) == ", about 8 min left"
    assert pace.left(10) == pace.left(11) == 0.0
    assert pace.remark(0) == pace.remark(10) == pace.remark(11) == ""
    pace.begin()
    now[0] += 5.0
    assert pace.left(1) == pytest.approx(45.0)


@pytest.mark.parametrize("at_once", [2, 4, 8])
def test_at_once_the_time_left_is_right_to_the_length_of_a_run(at_once: int) -> None:
    """Runs of 40 s that begin a little apart, as they do after the first few."""
    now = [0.0]
    pace = Pace(64, at_once, clock=lambda: now[0])
    whole = 40.0 * 64 / at_once
    for done in range(1, 64):
        now[0] = 40.0 * (done + 0.5 * (at_once - 1)) / at_once
        assert pace.left(done) == pytest.approx(max(whole - now[0], 0.0), abs=40.0)
