"""What the crew aims at: target, limits, thermostat, how long."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Treatment:
    """The plan of the day.

    Attributes
    ----------
    target_temperature : what every hiding place should reach [°C].
    air_limit : highest allowed air temperature anywhere [°C].
    thermostat : set temperature of the thermostat's sensor [°C].
    proportional_band : below the set temperature, over which power falls from full to nothing [K].
    horizon : length of the run [s].
    """

    target_temperature: float
    air_limit: float
    thermostat: float
    proportional_band: float
    horizon: float
