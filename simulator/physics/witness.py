"""What a study sees of a run from within: the balance of each epoch, temperatures as they come."""

from dataclasses import dataclass
from typing import Protocol

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.convection.surface_coefficients import CorrelatedCoefficients
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.watch import Watch


@dataclass(frozen=True, slots=True)
class EpochSeen:
    """An epoch of a run as a witness is shown it (n nodes, S surfaces)."""

    start: float  # [s]
    end: float
    is_anew: bool  # a stage or a phase of the plan begins with it
    grid: Grid
    model: HeatModel
    watch: Watch
    convection: CorrelatedCoefficients
    near_speed: FloatArray  # (S,) as sampled [m/s]
    coefficients: FloatArray  # (S,) [W/(m² K)]
    expected: FloatArray  # (n,) the state for which the balance was made [°C]
    state: FloatArray  # (n,) at the start


class Witness(Protocol):
    """Sees a run from within."""

    def begin(self, seen: EpochSeen) -> None:
        """See an epoch before it is marched."""

    def note(self, time: float, state: FloatArray) -> None:
        """See the temperatures (n,) [°C] at an output time [s]."""
