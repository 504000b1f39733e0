"""Blankets and one-sided heat in the order that the field found; see ``benchmarks/field_order.py``.

The published texts are abstracts that tell neither thickness nor stuff, so the bands are wide: they
would be missed by a blanket without resistance or by a mattress that conducts like wood.
"""

import numpy as np
import pytest
from heat_problems.layered import step_response
from heat_problems.layers import BLANKET, MATTRESS, HungLayers
from heat_problems.set_ups import HOUR


@pytest.mark.parametrize("thickness", [0.02, 0.03])
def test_the_place_under_a_blanket_lags_hot_air_by_about_an_hour(thickness: float) -> None:
    """Doi 10.1080/09603123.2023.2205106, abstract: in air of 60 °C a blanket lags by 60 min."""
    blanket = (*BLANKET[:3], thickness)
    times = HOUR * np.arange(0.1, 6.0, 0.1)
    under = 20.0 + 40.0 * step_response((blanket, MATTRESS), 8.0, 0.0, times)[:, 1]
    lag = times[np.argmax(under >= 50.0)] / 60.0
    assert 30.0 <= lag <= 120.0


def test_voxels_give_the_same_lag_as_exact_layers() -> None:
    ours = HungLayers("blanket on a mattress", 0.1, 0.3).temperatures()[:, 1]
    times = HOUR * np.array([0.5, 1.0, 2.0, 4.0, 8.0])
    exact = 20.0 + 35.0 * step_response((BLANKET, MATTRESS), 8.0, 0.0, times)[:, 1]
    lags = [np.interp(45.0, series, times) / 60.0 for series in (ours, exact)]
    assert lags[0] == pytest.approx(lags[1], abs=10.0)  # 0.6 K at 5 K an hour is 7 min


def test_heat_from_one_side_does_not_cross_a_mattress() -> None:
    """Doggett 2006, abstract: upper side 85 °C, lower side never above 35 °C in 9 h."""
    times = np.array([9.0 * HOUR])
    lower = 25.0 + 60.0 * step_response((MATTRESS,), 1e4, 8.0, times)[0, 1]
    assert 25.0 < lower < 35.0
