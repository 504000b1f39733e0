"""The history of a run: times, temperatures of refuges and probes, fields, the energy ledger."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray
from simulator.physics.heat.energy_ledger import EnergyLedger as EnergyLedger


def nearest_index(times: FloatArray, moment: float) -> int:
    """Return which of the times (T,) is nearest to a moment, both in s."""
    return int(np.argmin(np.abs(times - moment)))


@dataclass(frozen=True, slots=True)
class EpochRecord:
    """One epoch of frozen flow: when it began and how good its flow was."""

    start: float  # [s]
    near_surface_speed: float  # [m/s]
    scatter: float  # [-]
    divergence: float  # [m/s]
    new_flow: bool  # False: the flow of the epoch before was kept
    #: Lowest and highest difference of the near-surface speed on such cells from that on fine cells
    #: in a study of the solver [-]; both zero: not known.
    speed_bias_low: float = 0.0
    speed_bias_high: float = 0.0
    least_thrust: float = 1.0  # of the most throttled fan over its free thrust [-]


@dataclass(frozen=True, slots=True)
class History:
    """What ``simulate`` returns. T times, R refuges, B probes, H heaters, F frames.

    The grid and the case are not repeated here; functions that need them take them beside it.
    """

    time: FloatArray  # (T,) [s]
    refuge_temperature: NDArray[np.float32]  # (T, R) [°C]
    probe_temperature: FloatArray  # (T, B) [°C]
    heater_power: FloatArray  # (T, H); of switched heaters the mean since the time before [W]
    outlet_temperature: FloatArray  # (T, H) [°C]
    air_mean: FloatArray  # (T,) volume mean over room air [°C]
    air_minimum: FloatArray  # (T,)
    air_maximum: FloatArray  # (T,)
    solid_peak: NDArray[np.float32]  # (N,) highest temperature of each solid node in the run [°C]
    ledger: EnergyLedger
    epochs: tuple[EpochRecord, ...]
    frame_time: FloatArray  # (F,) [s]
    #: (F, nx, ny, nz) [°C]: air of open cells, solid of blocked ones
    frame_temperature: NDArray[np.float32]
    speed: NDArray[np.float32]  # (nx, ny, nz) of the last flow [m/s]
    velocity: NDArray[np.float32]  # (3, nx, ny, nz) cell-centred mean of the last flow [m/s]
    is_complete: bool  # False when interrupted before the horizon
    #: (R,) [s] when the thing that each refuge is in was taken out (inf: never; empty: nothing
    #: was); from then on its column keeps its last temperature, which is no longer a measure of it
    removed_at: FloatArray = field(default_factory=lambda: np.zeros(0))
