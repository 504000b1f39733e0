"""The bias of coarse cells is told as a range that widens with the cells."""

import numpy as np
import pytest

from simulator.physics.airflow.grid_bias import STUDY, near_surface_bias


@pytest.mark.parametrize("row", STUDY)
def test_the_study_is_told_as_found(row: tuple[float, float, float]) -> None:
    assert near_surface_bias(row[0]) == pytest.approx(row[1:], abs=1e-12)


def test_coarser_cells_are_never_told_to_be_less_low() -> None:
    lows = [near_surface_bias(size)[0] for size in np.linspace(0.04, 0.3, 27)]
    assert np.all(np.diff(lows) <= 0.0)
    assert near_surface_bias(0.15) == pytest.approx((-0.085, 0.04))
