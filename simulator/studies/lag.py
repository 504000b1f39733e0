"""The lag of a place: finite also where it never gets hot enough.

The lag is the area between 50 °C and the temperature of the place, over the height of the step from
the start to 50 °C: a place that jumped there after 40 minutes would lag 40 minutes, and so does one
that is short of as many degree-minutes. One that stays at the start temperature lags as long as the
heat is on, and none lags more (but for colder than it started).
"""

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.lethal_dose import REQUIRED_PEAK
from simulator.grid.grid import FloatArray

Temperatures = FloatArray | NDArray[np.float32]


def lag(time: FloatArray, temperature: Temperatures, start: float, until: float) -> FloatArray:
    """Return the lag of each column up to ``until`` [s].

    Parameters
    ----------
    time : ascending (T,) [s].
    temperature : (T, n) [°C], joined by straight lines.
    start : temperature of the dwelling at the start [°C].

    Examples
    --------
    From 20 °C to 50 °C in a straight hour, half of it short; at 35 °C for good, half of all.

    >>> time = np.array([0.0, 3600.0, 7200.0])
    >>> held = np.array([[20.0, 35.0], [50.0, 35.0], [60.0, 35.0]])
    >>> lag(time, held, 20.0, 7200.0).tolist()
    [1800.0, 3600.0]
    """
    if start >= REQUIRED_PEAK:
        return np.zeros(temperature.shape[1])
    here = time <= until + 1e-6
    short = np.maximum(REQUIRED_PEAK - temperature[here].astype(np.float64), 0.0)
    area: FloatArray = np.trapezoid(short, time[here], axis=0)
    return area / (REQUIRED_PEAK - start)
