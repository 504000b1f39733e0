"""What the crew aims at: target, limits, thermostat, how long; and its table in a case file."""

from dataclasses import dataclass

from pydantic import Field, model_validator

from simulator.case.fields import Duration, Record, Temperature, TemperatureDifference, refusal

#: Shortest and longest run [s] (estimate: below and beyond, the plan of a day is mistyped).
SHORTEST_HORIZON, LONGEST_HORIZON = 60.0, 10 * 86400.0


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


class TreatmentRecord(Record):
    """The treatment as a file says it; the defaults are common practice, no source."""

    name: str = Field(default="treatment", description="what the plan is called")
    target: Temperature = Field(default=55.0, description="every hiding place should reach it")
    air_limit: Temperature = Field(default=63.0, description="highest allowed air temperature")
    thermostat: Temperature = Field(default=60.0, description="set point of the heaters' sensor")
    band: TemperatureDifference = Field(
        default=3.0, description="below the set point, over which the power falls to nothing"
    )
    horizon: Duration = Field(default=8.0 * 3600.0, description="length of the run, such as '8 h'")

    @model_validator(mode="after")
    def _limits_in_order(self) -> "TreatmentRecord":
        if self.air_limit < self.target:
            raise refusal(
                "air_limit",
                f"{self.air_limit:g} °C is below target ({self.target:g} °C); "
                "it must be at least the target",
            )
        if self.thermostat > self.air_limit:
            raise refusal(
                "thermostat",
                f"{self.thermostat:g} °C is above air_limit ({self.air_limit:g} °C); "
                "it must be at most the limit",
            )
        if not SHORTEST_HORIZON <= self.horizon <= LONGEST_HORIZON:
            raise refusal(
                "horizon", f"a run of {self.horizon:g} s is not possible; allowed: 1 min to 10 d"
            )
        return self

    def compile(self) -> Treatment:
        """Return the plan in SI."""
        return Treatment(self.target, self.air_limit, self.thermostat, self.band, self.horizon)
