"""The grid's error: the published worked example, exact orders, and two answers side by side."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from runs import hand_history

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.end_of_heat import EndOfHeat
from simulator.assessment.summary import plain
from simulator.case.load import load
from simulator.grid.voxelise import voxelise
from simulator.studies.grid_convergence import (
    THREE_GRIDS,
    error_band,
    extrapolated,
    observed_order,
)
from simulator.studies.grid_error import companion_cell_size, compare_grids, in_words

SOUND = Path(__file__).parents[2] / "contracts" / "sound.toml"


def test_worked_example_of_celik() -> None:
    # Celik et al. 2008, J. Fluids Eng. 130:078001, table 1: 1.53, 6.1685, 1.5 %, 1.7 %, 2.2 %
    # (figures from memory; computed to more digits from the same inputs).
    order = observed_order(6.063, 5.972, 5.863, 1.5, 4.0 / 3.0)
    assert order == pytest.approx(1.53, abs=0.01)
    limit = extrapolated(6.063, 5.972, 1.5, order)
    assert limit == pytest.approx(6.1685, abs=0.001)
    assert abs((6.063 - 5.972) / 6.063) == pytest.approx(0.015, abs=0.0005)
    assert abs((limit - 6.063) / limit) == pytest.approx(0.0171, abs=0.0005)
    index = error_band(6.063, 5.972, 1.5, order, THREE_GRIDS) / 6.063
    assert index == pytest.approx(0.0217, abs=0.0005)


@pytest.mark.parametrize("order", [1.0, 2.0, 3.0])
def test_order_and_limit_of_a_pure_power_are_found(order: float) -> None:
    fine, middle, coarse = (50.0 - 3.0 * size**order for size in (0.05, 0.1, 0.2))
    assert observed_order(fine, middle, coarse, 2.0, 2.0) == pytest.approx(order, abs=1e-9)
    assert extrapolated(fine, middle, 2.0, order) == pytest.approx(50.0, abs=1e-12)
    assert error_band(fine, middle, 2.0, order, 1.0) == pytest.approx(50.0 - fine, abs=1e-12)


def test_no_order_is_told_where_none_shows() -> None:
    with pytest.raises(ValueError, match="same value"):
        observed_order(1.0, 1.0, 2.0, 2.0, 2.0)
    with pytest.raises(ValueError, match="coarser"):
        observed_order(1.0, 1.5, 2.0, 2.0, 1.0)


def test_companion_has_twice_the_size_where_the_methods_reach() -> None:
    assert companion_cell_size(0.10) == pytest.approx(0.20)
    assert companion_cell_size(0.05) == pytest.approx(0.10)
    assert companion_cell_size(0.15) == pytest.approx(0.20)
    assert companion_cell_size(0.20) is None


def answer(end: float) -> Assessment:
    """Return the judgement of a made-up run in which every hiding place ends at ``end`` [°C]."""
    case = load(SOUND)
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 6 * 3600.0, 37)
    rise = (1.0 - np.exp(-time / 1800.0))[:, None]
    course = 20.0 + (end - 20.0) * rise * np.ones(grid.refuges.index.size)
    return assess(case, grid, hand_history(case, grid, time, course))


def test_two_answers_are_compared_place_by_place() -> None:
    found = compare_grids(answer(49.0), 0.1, answer(51.0), 0.2)
    assert found.places > 5
    assert found.half_within == pytest.approx(2.0, abs=0.01)
    assert found.most_within == pytest.approx(2.0, abs=0.01)
    assert found.mean_difference == pytest.approx(2.0, abs=0.01)
    done, mean, below = found.figures
    assert np.isnan(done.band)  # the finer run is never done
    assert mean.band == pytest.approx(3.0 * 2.0, abs=0.05)  # ratio 2, order 1: three times
    assert (below.fine, below.coarse, below.band) == (1.0, 0.0, 3.0)


def test_after_a_cool_down_grids_are_compared_when_the_heat_ends() -> None:
    half = EndOfHeat(18, "when the heat ends")
    ours, theirs = (dataclasses.replace(answer(end), end=half) for end in (49.0, 51.0))
    mean = compare_grids(ours, 0.1, theirs, 0.2).figures[1]
    assert (mean.fine, mean.coarse) == (ours.mean[18], theirs.mean[18])
    assert mean.fine < ours.mean[-1] - 0.05


def test_words_give_the_bands_that_are_known_in_either_unit() -> None:
    found = compare_grids(answer(56.0), 0.1, answer(57.0), 0.2)
    words = in_words(found)
    assert "nine of ten within 1.0 K" in words
    assert "all done" in words and "mean of hiding places 56.0 °C ± 3.0 K" in words
    assert "1.8 °F" in in_words(found, "us")
    assert plain(found)["figures"][0]["name"] == "all done"
