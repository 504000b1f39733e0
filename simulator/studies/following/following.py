"""A treatment followed up to a moment: the log, what it taught, and what it lets one foretell."""

from dataclasses import dataclass
from typing import Any, Self

from simulator.studies.following.basis import Basis
from simulator.studies.following.calibrate import Calibration, calibrate
from simulator.studies.following.forecast import Forecast, forecast
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.words import follow_lines, follow_table, is_late
from simulator.units import System


@dataclass(frozen=True, slots=True)
class Following:
    """What a log says so far.

    Attributes
    ----------
    planned : when the heat is planned to end, or ended [s].
    heat_off : when it ended [s]; None: it goes on.
    """

    basis: Basis
    log: SensorLog
    planned: float
    calibration: Calibration
    forecast: Forecast
    heat_off: float | None = None

    @classmethod
    def of(
        cls, basis: Basis, log: SensorLog, planned: float, heat_off: float | None = None
    ) -> Self:
        """Return what a log says.

        Parameters
        ----------
        planned : when the heat is planned to end [s].
        heat_off : when it ended [s]: the model knows nothing of what came after, the sensors do.
        """
        heated = log if heat_off is None else log.until(heat_off)
        calibration = calibrate(basis, heated)
        end = planned if heat_off is None else heat_off
        found = forecast(basis, calibration, log)
        return cls(basis, log, end, calibration, found, heat_off)

    @property
    def is_late(self) -> bool:
        """Whether a place is not expected to be done by the planned end of the heat."""
        return is_late(self.forecast, self.planned)

    def lines(self, units: System = "si") -> list[str]:
        """Return what was found as lines of print."""
        return follow_lines(
            self.basis,
            self.calibration,
            self.forecast,
            self.log,
            self.planned,
            self.heat_off,
            units,
        )

    def table(self) -> dict[str, Any]:
        """Return what was found as JSON knows it."""
        return follow_table(self.basis, self.calibration, self.forecast, self.log, self.planned)
