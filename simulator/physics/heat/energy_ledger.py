"""Where the heat of a dwelling came from and went to."""

from dataclasses import dataclass, field

import numpy as np

from simulator.grid.grid import FloatArray


@dataclass(frozen=True, slots=True)
class EnergyLedger:
    """Where the heat went since the start of a run or of an epoch [J] (length T)."""

    heaters: FloatArray
    fans_and_appliances: FloatArray
    leaks: FloatArray  # net heat carried out by leaking and ducted air
    envelope: FloatArray  # net heat conducted out through the outer ends of the columns
    stored_air: FloatArray
    stored_solids: FloatArray
    stored_envelope: FloatArray
    #: net heat carried in with things that were brought in or taken out, and with the air that they
    #: displaced; a changed material counts too
    carried: FloatArray = field(default_factory=lambda: np.zeros(1))

    @property
    def imbalance(self) -> FloatArray:
        """(heat in - heat out - heat stored) / heat put in by heaters and appliances [-].

        What things carried in counts as heat in, but not in the divisor.
        """
        put_in = self.heaters + self.fans_and_appliances
        stored = self.stored_air + self.stored_solids + self.stored_envelope
        missing = put_in + self.carried - self.leaks - self.envelope - stored
        return missing / np.maximum(put_in, 1.0)

    @property
    def largest_imbalance(self) -> float:
        """The largest share of the heat put in that is not accounted for at any time [-]."""
        return float(np.abs(self.imbalance).max())
