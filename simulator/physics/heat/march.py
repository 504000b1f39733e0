"""What every method of marching works on: the model, its control, the log, the sign of life."""

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import Protocol

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.control import (
    Control,
    HeaterLaw,
    Thermostats,
    intake_temperatures,
    sensor_temperatures,
)
from simulator.physics.heat.epoch_log import EpochLog
from simulator.physics.heat.watch import Watch

#: Longest time without a sign of life [s of wall time].
PULSE_INTERVAL = 0.1

#: Called with the simulated time [s], the temperature of the coldest refuge [°C] and its index (-1:
#: there is none, and it is that of the coldest node); may raise to stop the march.
OnStep = Callable[[float, float, int], None]


class SignOfLife:
    """Tells the caller how far the march is; the caller may stop it by raising."""

    def __init__(self, log: EpochLog, on_step: OnStep | None) -> None:
        self._log, self._on_step = log, on_step
        self._last = -np.inf
        self._seen: tuple[float, int, float] | None = None  # coldest, its index, time [s]

    def __call__(self) -> None:
        """Report if the last report is long enough ago."""
        if self._on_step is None or monotonic() - self._last < PULSE_INTERVAL:
            return
        self._last = monotonic()
        time = self._log.time
        if self._seen is None or self._seen[2] != time:
            self._seen = (*self._log.watch.coldest(self._log.state), time)
        coldest, index, _ = self._seen
        self._on_step(time, coldest, index)


@dataclass(frozen=True, slots=True)
class March:
    """One epoch to be marched from ``start`` to ``end`` [s]."""

    model: HeatModel
    control: Control
    thermostats: Thermostats
    watch: Watch
    log: EpochLog
    pulse: SignOfLife
    start: float
    end: float

    @property
    def most_power(self) -> FloatArray:
        """The most that each heater gives (H,) [W]."""
        return self.thermostats.full.power

    def law(self, time: float) -> HeaterLaw:
        """Return the law at a time [s], with the heaters on that are on now."""
        return self.thermostats.law(time, self.log.is_on)

    def wanted_power(self, time: float, state: FloatArray) -> FloatArray:
        """Return the power that the laws ask for in a state (H,) [W]."""
        return self.law(time).wanted(
            sensor_temperatures(self.control, state), intake_temperatures(self.model, state)
        )

    def by_outlets(self, state: FloatArray) -> FloatArray:
        """Return the most power by which no outlet is hotter than allowed in a state (H,) [W]."""
        allowed = self.thermostats.full.by_outlets(intake_temperatures(self.model, state))
        most: FloatArray = np.maximum(allowed, 0.0)
        return most

    def switch(self, time: float, sensor: FloatArray) -> bool:
        """Switch the heaters that are due by what their sensors read; return whether any was."""
        is_on = self.thermostats.switched(time, sensor, self.log.is_on)
        return self.log.switch(time, is_on)

    def heated(self, load: FloatArray, power: FloatArray) -> FloatArray:
        """Return a load with the heaters' power added where it enters [W]."""
        heated = load.copy()
        for heater, watts in zip(self.model.heaters, power, strict=True):
            heated[heater.node] += watts * heater.weight
        return heated


class MarchMethod(Protocol):
    """A way of marching an epoch; it notes outputs in the log as it goes."""

    def march(self, epoch: March) -> None:
        """March from the log's state at ``epoch.start`` to ``epoch.end``."""
