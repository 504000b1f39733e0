"""Medicines in heat: mean kinetic temperature and the rule for spikes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.units import KELVIN_ZERO

#: Activation energy over the gas constant [K]: 83.144 kJ/mol over 8.3144 J/(mol K), the value that
#: USP prescribes for all substances (from memory).
ACTIVATION = 10_000.0

#: Limits at controlled room temperature (USP 659, read on pages that repeat it): mean kinetic
#: temperature [°C]; spike [°C]; time above the storage range [s].
MOST_MEAN, MOST_SPIKE, LONGEST_SPIKE = 25.0, 40.0, 86400.0

DAY, MONTH = 86400.0, 30.0 * 86400.0

#: Temperature at which medicines lie on all other days [°C] (estimate: a lived-in room).
STORED_AT = 22.0


@dataclass(frozen=True, slots=True)
class MedicineRecord:
    """How medicines fared that stayed in a run.

    ``mean_of_day`` and ``mean_of_month``: mean kinetic temperature [°C] of a day and of 30 days
    with the run in them, at 22 °C otherwise. ``time_above`` the storage range [s].
    """

    peak: float  # [°C]
    time_above: float  # [s] above 25 °C
    mean_of_day: float  # [°C]
    mean_of_month: float  # [°C]

    @property
    def is_within(self) -> bool:
        """Whether they kept spike and mean over a month."""
        return (
            self.peak <= MOST_SPIKE
            and self.time_above <= LONGEST_SPIKE
            and self.mean_of_month <= MOST_MEAN
        )


def mean_kinetic_temperature(spells: Sequence[tuple[float, float]]) -> float:
    """Return the mean kinetic temperature of spells of (duration [s], temperature [°C]) [°C].

    Notes
    -----
    T_k = (H/R) / -ln(mean of exp(-H/(R T))) with T in kelvin: the one temperature at which as much
    would decay as at the changing one.

    References
    ----------
    Haynes 1971, J. Pharm. Sci. 60:927 (from memory); USP general chapter 659.

    Examples
    --------
    30 days at 22 °C with 8 h at 55 °C among them keep the mean and fail by their spike:

    >>> round(mean_kinetic_temperature([(712 * 3600, 22.0), (8 * 3600, 55.0)]), 1)
    24.5
    """
    total = sum(duration for duration, _ in spells)
    rate = sum(
        duration * math.exp(-ACTIVATION / (temperature - KELVIN_ZERO))
        for duration, temperature in spells
    )
    return ACTIVATION / -math.log(rate / total) + KELVIN_ZERO


def medicine_record(time: FloatArray, temperature: FloatArray) -> MedicineRecord:
    """Return how medicines fared whose temperature [°C] is known at times [s] of a run."""
    steps = np.diff(time)
    middles = 0.5 * (temperature[1:] + temperature[:-1])
    run = [(float(step), float(middle)) for step, middle in zip(steps, middles, strict=True)]
    lasted = float(steps.sum())

    def mean_with(whole: float) -> float:
        rest = [(whole - lasted, STORED_AT)] if whole > lasted else []
        return mean_kinetic_temperature([*run, *rest])

    return MedicineRecord(
        peak=float(temperature.max()),
        time_above=float(steps[middles > MOST_MEAN].sum()),
        mean_of_day=mean_with(DAY) if run else float(temperature[0]),
        mean_of_month=mean_with(MONTH) if run else float(temperature[0]),
    )
