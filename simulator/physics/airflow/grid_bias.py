"""How far the speed near surfaces on coarse cells was found from that on fine ones."""

import numpy as np

#: Size of cells [m] and the lowest and highest difference of their near-surface speed from that on
#: cells of 0.05 m [-]. Measured by the solver itself in two studies of three invented layouts of
#: one and two fans in one furnished room, averages of 40 to 240 s (one of the studies:
#: ``benchmarks/airflow_grid_study.py``, last found: -10, -8, -2 % and -1, +1, +3 %; the other, with
#: an earlier model of oblique and throttled fans: 0, -5, -14 % and +8, -2.5, -1 %). Six fans close
#: to walls, furniture and corners gave -11 to -2 % on 0.20 m and -17 to +7 % on 0.10 m. The
#: averages on 0.05 m scatter by up to 12 % themselves, and 0.05 m is not the truth either.
STUDY = (
    (0.05, 0.0, 0.0),
    (0.10, -0.03, 0.08),
    (0.20, -0.14, 0.0),
)


def near_surface_bias(cell_size: float) -> tuple[float, float]:
    """Return how far the near-surface speed was found from that on 0.05 m cells: lowest, highest.

    Parameters
    ----------
    cell_size : [m]; between the sizes studied the range is interpolated, beyond them it is kept.

    Examples
    --------
    >>> near_surface_bias(0.2)
    (-0.14, 0.0)
    """
    sizes, lows, highs = np.array(STUDY).T
    low = np.interp(cell_size, sizes, lows)
    return float(low), float(np.interp(cell_size, sizes, highs))
