"""What the crew aims at: target, limits, thermostat, plan of the day; and its table in a file."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from simulator.case.fields import (
    Duration,
    Flag,
    Moment,
    Name,
    Record,
    Temperature,
    TemperatureDifference,
    TemperatureRate,
    refusal,
)
from simulator.units import whole_degrees

#: Shortest and longest run [s] (estimate: below and beyond, the plan of a day is mistyped).
SHORTEST_HORIZON, LONGEST_HORIZON = 60.0, 10 * 86400.0

#: Differential of a thermostat if none is given, and the least [K] (common practice, no source).
USUAL_DIFFERENTIAL, LEAST_DIFFERENTIAL = 2.0, 0.1

#: Shortest phase [s] (estimate: a crew can do nothing in less).
SHORTEST_PHASE = 60.0


@dataclass(frozen=True, slots=True)
class Phase:
    """A part of the day during which the equipment is run in one way.

    Attributes
    ----------
    name : in words a crew uses: "warm-up", "hold", "cool-down".
    start : when it begins [s].
    thermostat : set temperature that it is for, or that it moves to [°C].
    ramp : fastest change of the set temperature [K/s]; infinite: it is there at once.
    heaters_on : whether heaters give heat.
    heater_fans_on : whether heaters blow; a ducted one then brings outdoor air.
    fans_on : whether fans run.
    """

    name: str
    start: float
    thermostat: float
    ramp: float = math.inf
    heaters_on: bool = True
    heater_fans_on: bool = True
    fans_on: bool = True


@dataclass(frozen=True, slots=True)
class SetPoint:
    """A set temperature that moves from ``first`` to ``last`` [°C] at ``rate`` [K/s]."""

    start: float  # [s]
    first: float
    last: float
    rate: float = math.inf

    def gap(self, time: float) -> float:
        """Return how far it still is from ``last``: first - last at the start, then nothing [K]."""
        gone = 0.0 if time <= self.start else self.rate * (time - self.start)
        return math.copysign(max(abs(self.first - self.last) - gone, 0.0), self.first - self.last)

    def at(self, time: float) -> float:
        """Return the set temperature at a time [°C]."""
        return self.last + self.gap(time)


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
    differential : heaters are switched off at the set temperature and on again this far below it
        [K]; None: their power is throttled over the proportional band instead.
    phases : in the order of time, the first at 0 s; none: one way for the whole run.
    """

    target_temperature: float
    air_limit: float
    thermostat: float
    proportional_band: float
    horizon: float
    differential: float | None = None
    phases: tuple[Phase, ...] = ()

    @property
    def plan(self) -> tuple[Phase, ...]:
        """The phases, or the one that the whole run is."""
        return self.phases or (Phase("treatment", 0.0, self.thermostat),)

    @property
    def hottest_set_point(self) -> float:
        """The highest set temperature of any phase that heats [°C]."""
        heated = (phase.thermostat for phase in self.plan if phase.heaters_on)
        return max(heated, default=self.thermostat)

    @property
    def heat_ends(self) -> float:
        """When heaters are switched off for good, or the run ends [s]."""
        end = self.horizon
        for phase in reversed(self.plan):
            if phase.heaters_on:
                break
            end = phase.start
        return end

    def hours(self, runs: Callable[[Phase], bool], until: float) -> float:
        """Return how long what ``runs`` in some phases does, from the start to ``until`` [s]."""
        ends = [*(phase.start for phase in self.plan[1:]), math.inf]
        return sum(
            max(min(end, until) - phase.start, 0.0)
            for phase, end in zip(self.plan, ends, strict=True)
            if runs(phase)
        )

    def phase_at(self, time: float) -> Phase:
        """Return the phase in force from ``time`` [s] on."""
        begun = [phase for phase in self.plan if phase.start <= time + 1e-6]
        return begun[-1] if begun else self.plan[0]

    def set_points(self, start_temperature: float) -> tuple[SetPoint, ...]:
        """Return the set temperature of every phase of the plan.

        A ramp begins at the set temperature then in force; where no heat was given before it, at
        the temperature of the dwelling at the start of the run, so that it is never too fast.
        """
        points: list[SetPoint] = []
        for number, phase in enumerate(self.plan):
            was_heated = number > 0 and self.plan[number - 1].heaters_on
            first = points[-1].at(phase.start) if was_heated else start_temperature
            begin = phase.thermostat if math.isinf(phase.ramp) else first
            points.append(SetPoint(phase.start, begin, phase.thermostat, phase.ramp))
        return tuple(points)

    def set_point_at(self, time: float, start_temperature: float) -> SetPoint:
        """Return the set temperature in force from ``time`` [s] on."""
        return self.set_points(start_temperature)[self.plan.index(self.phase_at(time))]


class PhaseRecord(Record):
    """A part of the plan of the day, from when it begins to the next one."""

    name: Name = Field(description="what it is called, such as 'warm-up', 'hold', 'cool-down'")
    at: Moment = Field(description="hour of the run at which it begins, such as '6 h'")
    thermostat: Temperature | None = Field(
        default=None, description="set point; left out: that of the treatment"
    )
    ramp: TemperatureRate | None = Field(
        default=None,
        description="fastest change of the set point, such as '5 K/h'; common practice",
    )
    heaters: Flag = Field(default=True, description="false: heaters give no heat")
    heater_fans: Flag | None = Field(
        default=None,
        description="whether heaters blow, ducted ones outdoor air; left out: as heaters",
    )
    fans: Flag = Field(default=True, description="false: fans stand still")

    @model_validator(mode="after")
    def _heat_needs_air(self) -> "PhaseRecord":
        if self.heaters and self.heater_fans is False:
            raise refusal(
                "heater_fans", "heaters that give heat must blow; set heaters = false too"
            )
        for key in ("thermostat", "ramp"):
            if not self.heaters and getattr(self, key) is not None:
                raise refusal(
                    key, f"no heat is given in this phase, so {key} has no use; leave out"
                )
        return self

    def compile(self, thermostat: float) -> Phase:
        """Return the phase in SI; ``thermostat`` is the treatment's [°C]."""
        return Phase(
            name=self.name,
            start=self.at,
            thermostat=thermostat if self.thermostat is None else self.thermostat,
            ramp=math.inf if self.ramp is None else self.ramp,
            heaters_on=self.heaters,
            heater_fans_on=self.heaters if self.heater_fans is None else self.heater_fans,
            fans_on=self.fans,
        )


def _told(celsius: float) -> str:
    """Return a temperature in both systems: a file may be written in either.

    >>> _told(65.5556)
    '65.6 °C (150 °F)'
    """
    return " (".join(whole_degrees(celsius, units) for units in ("si", "us")) + ")"


class TreatmentRecord(Record):
    """The treatment as a file says it; the defaults are common practice, no source."""

    name: str = Field(default="treatment", description="what the plan is called")
    target: Temperature = Field(default=55.0, description="every hiding place should reach it")
    air_limit: Temperature = Field(default=63.0, description="highest allowed air temperature")
    thermostat: Temperature = Field(default=60.0, description="set point of the heaters' sensor")
    control: Literal["proportional", "on_off"] = Field(
        default="proportional",
        description="'proportional': throttled over the band; 'on_off': see differential",
    )
    band: TemperatureDifference = Field(
        default=3.0, description="below the set point, over which the power falls to nothing"
    )
    differential: TemperatureDifference | None = Field(
        default=None,
        description="of 'on_off': off at the set point, on again so far below; left out: 2 K",
    )
    horizon: Duration = Field(default=8.0 * 3600.0, description="length of the run, such as '8 h'")
    phase: tuple[PhaseRecord, ...] = Field(
        default=(),
        description="[[phase]] tables: the plan of the day; left out: one way for it all",
    )

    @model_validator(mode="after")
    def _limits_in_order(self) -> "TreatmentRecord":
        if self.air_limit < self.target:
            if "air_limit" not in self.model_fields_set:
                raise refusal(
                    "target",
                    f"{_told(self.target)} is above the default of air_limit, "
                    f"{_told(self.air_limit)}; give air_limit too, at least the target",
                )
            raise refusal(
                "air_limit",
                f"{_told(self.air_limit)} is below target, {_told(self.target)}; "
                "it must be at least the target",
            )
        if self.thermostat > self.air_limit:
            if "thermostat" not in self.model_fields_set:
                raise refusal(
                    "air_limit",
                    f"{_told(self.air_limit)} is below the default of thermostat, "
                    f"{_told(self.thermostat)}; give thermostat too, at most the limit",
                )
            default = "" if "air_limit" in self.model_fields_set else "the default of "
            raise refusal(
                "thermostat",
                f"{_told(self.thermostat)} is above {default}air_limit, {_told(self.air_limit)}; "
                "it must be at most the limit",
            )
        if not SHORTEST_HORIZON <= self.horizon <= LONGEST_HORIZON:
            raise refusal(
                "horizon", f"a run of {self.horizon:g} s is not possible; allowed: 1 min to 10 d"
            )
        if self.differential is not None and self.control != "on_off":
            raise refusal("differential", "belongs to control = 'on_off'; set that or leave it out")
        if self.differential is not None and self.differential < LEAST_DIFFERENTIAL:
            raise refusal(
                "differential",
                f"{self.differential:g} K is less than a thermostat can tell; "
                f"it must be at least {LEAST_DIFFERENTIAL:g} K",
            )
        return self

    @model_validator(mode="after")
    def _phases_in_order(self) -> "TreatmentRecord":
        for number, phase in enumerate(self.phase):
            if phase.thermostat is not None and phase.thermostat > self.air_limit:
                raise refusal(
                    ("phase", number, "thermostat"),
                    f"{_told(phase.thermostat)} is above air_limit, {_told(self.air_limit)}; "
                    "it must be at most the limit",
                )
            if phase.name in [other.name for other in self.phase[:number]]:
                raise refusal(
                    ("phase", number, "name"),
                    f"there is already a phase named '{phase.name}'; choose another name",
                )
        if self.phase and self.phase[0].at > 0.0:
            raise refusal(("phase", 0, "at"), "the first phase begins with the run, at '0 h'")
        for number, (before, after) in enumerate(pairwise(self.phase), start=1):
            if after.at < before.at + SHORTEST_PHASE:
                raise refusal(
                    ("phase", number, "at"),
                    f"'{after.name}' begins at {after.at / 3600.0:g} h; it must begin at least "
                    f"1 min after '{before.name}' ({before.at / 3600.0:g} h)",
                )
        if self.phase and self.phase[-1].at > self.horizon - SHORTEST_PHASE:
            raise refusal(
                "horizon",
                f"ends at {self.horizon / 3600.0:g} h; it must end at least 1 min after "
                f"'{self.phase[-1].name}' begins ({self.phase[-1].at / 3600.0:g} h)",
            )
        return self

    def compile(self) -> Treatment:
        """Return the plan in SI."""
        differential = None
        if self.control == "on_off":
            differential = self.differential or USUAL_DIFFERENTIAL
        return Treatment(
            target_temperature=self.target,
            air_limit=self.air_limit,
            thermostat=self.thermostat,
            proportional_band=self.band,
            horizon=self.horizon,
            differential=differential,
            phases=tuple(record.compile(self.thermostat) for record in self.phase),
        )
