"""How heaters are run: no hotter outlet than allowed, and a thermostat that throttles or switches.

A heater gives its full power unless its outlet would exceed the limit. Near the set temperature of
its sensor the power is either throttled in proportion or switched: off at the set temperature, on
again a differential below it. Sensors that guard the air limit do the same at that limit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulator.case.parts import HeatedJet, Probe
from simulator.case.treatment import SetPoint, Treatment
from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.watch import NodeMean, point_mean

#: Passes over the heaters' laws before the latest powers are kept.
MOST_PASSES = 30

#: Times that a pass is cut in half where it brings powers no nearer to those wanted.
MOST_HALVINGS = 12

#: The set temperature is where it is, always.
STEADY = SetPoint(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class JetControl:
    """The law of one heater.

    Throttled, P = min(power, capacity flow (limit - intake), power (set - sensor) / band), and
    never negative; switched, the last of the three is left out while it is on, and P = 0 while it
    is off.
    """

    power: float  # most [W]
    outlet_limit: float  # [°C]
    set_temperature: float  # [°C]
    band: float  # below the set temperature [K]
    sensor: NodeMean


@dataclass(frozen=True, slots=True)
class Control:
    """The laws of all heaters, in the order of the grid's jets (length H).

    Attributes
    ----------
    guards : sensors (length G) that keep every heater from exceeding ``air_limit`` [°C].
    differential : of switched heaters [K]; None: they are throttled.
    set_point : how the set temperature moves; only its gap from its last value counts.
    """

    jets: tuple[JetControl, ...]
    guards: tuple[NodeMean, ...] = ()
    air_limit: float = np.inf
    differential: float | None = None
    set_point: SetPoint = STEADY


def build_control(
    grid: Grid,
    layout: NodeLayout,
    treatment: Treatment,
    probes: Sequence[Probe],
    *,
    time: float = 0.0,
) -> Control:
    """Return the control of a treatment in the phase that is in force from ``time`` [s] on.

    A heater follows the sensor that it names. The others follow the mean of the probes that are
    thermostats; without any, a recirculating heater follows its own intake air and a ducted one the
    mean air of the dwelling.
    """
    phase = treatment.phase_at(time)
    sensors = {p.owner: point_mean(grid, layout, p.position) for p in probes if not p.hazard}
    shared = [point_mean(grid, layout, p.position) for p in probes if p.is_thermostat]
    room_air = layout.capacity[layout.air]
    jets = []
    for jet in grid.jets:
        if jet.part.sensor:
            sensor = sensors[jet.part.sensor]
        elif shared:
            sensor = _mean_of(shared)
        elif jet.intake is not None:
            sensor = NodeMean(layout.air_node[jet.intake.cells], jet.intake.weights)
        else:
            sensor = NodeMean(np.arange(room_air.size), room_air / room_air.sum())
        jets.append(
            JetControl(
                power=_power(jet.part) if phase.heaters_on else 0.0,
                outlet_limit=jet.part.outlet_limit,
                set_temperature=phase.thermostat,
                band=treatment.proportional_band,
                sensor=sensor,
            )
        )
    return Control(
        jets=tuple(jets),
        guards=tuple(point_mean(grid, layout, p.position) for p in probes if p.guards_air_limit),
        air_limit=treatment.air_limit,
        differential=treatment.differential,
        set_point=treatment.set_point_at(time, grid.start_temperature),
    )


def _power(part: HeatedJet) -> float:
    """Most power of a heater [W]; one that does not blow gives no heat."""
    return part.power if part.flow > 0.0 else 0.0


def _mean_of(means: Sequence[NodeMean]) -> NodeMean:
    node = np.concatenate([mean.node for mean in means])
    weight = np.concatenate([mean.weight for mean in means]) / len(means)
    return NodeMean(node, weight)


@dataclass(frozen=True, slots=True)
class HeaterLaw:
    """The laws at one moment as arrays (H heaters, S sensors): P = clip(least of all lines, 0)."""

    power: FloatArray  # (H,)
    capacity_flow: FloatArray  # (H,) [W/K]
    outlet_limit: FloatArray  # (H,)
    gain: FloatArray  # (H,) [W/K]
    #: (H, S) where the power falls to nothing; infinite: the heater does not obey that sensor
    set_temperature: FloatArray

    def wanted(self, sensor: FloatArray, intake: FloatArray) -> FloatArray:
        """Return the power of each heater for given sensor and intake temperatures [W]."""
        least = np.minimum(self.power, self.allowed(sensor, intake))
        power: FloatArray = np.maximum(least, 0.0)
        return power

    def allowed(self, sensor: FloatArray, intake: FloatArray) -> FloatArray:
        """Return what sensors and outlet allow each heater, however much it has (H,) [W]."""
        by_sensor = self._by_sensors(sensor).min(axis=1, initial=np.inf)
        allowed: FloatArray = np.minimum(self.by_outlets(intake), by_sensor)
        return allowed

    def by_outlets(self, intake: FloatArray) -> FloatArray:
        """Return the power at which each outlet is at its limit; negative: already over it [W]."""
        return self.capacity_flow * (self.outlet_limit - intake)

    def _by_sensors(self, sensor: FloatArray) -> FloatArray:
        """Power that each sensor allows each heater (H, S) [W]."""
        line = np.full(self.set_temperature.shape, np.inf)
        obeyed = np.isfinite(self.set_temperature)
        below = self.set_temperature - sensor
        np.multiply(self.gain[:, None], below, out=line, where=obeyed)
        return line

    def settle(
        self,
        power: FloatArray,
        sensor: FloatArray,
        intake: FloatArray,
        sensor_response: FloatArray,
        intake_response: FloatArray,
    ) -> FloatArray:
        """Return the powers that agree with the temperatures which they themselves bring about [W].

        ``sensor`` and ``intake`` hold at ``power``; the responses (S, H) and (H, H) are kelvin at
        each sensor (intake) for each watt of heater j. Newton's method on piecewise linear laws,
        its steps cut where they lead no nearer: else a heater that is not wanted at full power and
        wanted in full without any would swing between the two.
        """

        def asked_for(new: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
            """Return the powers that are wanted at some, and what sensors and intakes then read."""
            at_sensor = sensor + sensor_response @ (new - power)
            at_intake = intake + intake_response @ (new - power)
            return self.wanted(at_sensor, at_intake), at_sensor, at_intake

        new, least = power.copy(), 1e-9 * self.power.max(initial=1.0)
        wanted, at_sensor, at_intake = asked_for(new)
        for _ in range(MOST_PASSES):
            gap = np.abs(wanted - new).max(initial=0.0)
            if gap <= least:
                break
            jacobian = self._slope(wanted, at_sensor, at_intake, sensor_response, intake_response)
            change = np.linalg.solve(jacobian, wanted - new)
            for _ in range(MOST_HALVINGS):
                tried = new + change
                wanted, at_sensor, at_intake = asked_for(tried)
                if np.abs(wanted - tried).max() < gap:
                    break
                change *= 0.5
            new = tried
        settled: FloatArray = np.clip(new, 0.0, self.power)
        return settled

    def _slope(
        self,
        wanted: FloatArray,
        sensor: FloatArray,
        intake: FloatArray,
        sensor_response: FloatArray,
        intake_response: FloatArray,
    ) -> FloatArray:
        """Return how the gap between powers and those wanted changes with the powers (H, H) [-]."""
        lines, identity = self._by_sensors(sensor), np.eye(self.power.size)
        is_free = (wanted > 0.0) & (wanted < self.power)
        outlet_rules = self.by_outlets(intake) <= lines.min(axis=1, initial=np.inf)
        ruling = sensor_response[lines.argmin(axis=1)] if lines.size else identity
        slope = np.where(
            outlet_rules[:, None],
            self.capacity_flow[:, None] * intake_response,
            self.gain[:, None] * ruling,
        )
        jacobian: FloatArray = identity + is_free[:, None] * slope
        return jacobian


@dataclass(frozen=True, slots=True)
class Thermostats:
    """The laws of all heaters in time (H heaters; S sensors: one a heater, then the guards)."""

    full: HeaterLaw  # throttled, with the set temperature at its last value
    differential: float | None
    set_point: SetPoint

    @property
    def is_switched(self) -> bool:
        """Whether heaters are switched rather than throttled."""
        return self.differential is not None and bool(self.full.power.any())

    def law(self, time: float, is_on: BoolArray) -> HeaterLaw:
        """Return the law at a time [s] with some heaters switched on (H,)."""
        if self.differential is None:
            return replace(self.full, set_temperature=self._set_temperature(time))
        free = np.full_like(self.full.set_temperature, np.inf)
        return replace(self.full, power=np.where(is_on, self.full.power, 0.0), set_temperature=free)

    def margin(self, time: float, sensor: FloatArray, is_on: BoolArray) -> FloatArray:
        """Return how far each heater is from being switched (H,) [K]; at 0 or below it is."""
        if self.differential is None:
            return np.full(is_on.size, np.inf)
        below = self._set_temperature(time) - sensor
        nearest: FloatArray = below.min(axis=1, initial=np.inf)
        margin = np.where(is_on, nearest, self.differential - nearest)
        return np.where(self.full.power > 0.0, margin, np.inf)

    def switched(self, time: float, sensor: FloatArray, is_on: BoolArray) -> BoolArray:
        """Return which heaters are on once those that are due have been switched (H,)."""
        return np.where(self.margin(time, sensor, is_on) <= 0.0, ~is_on, is_on)

    def _set_temperature(self, time: float) -> FloatArray:
        """Set temperatures (H, S); the gap of a ramp belongs to thermostats, not to guards."""
        heaters = self.full.power.size
        moved = self.full.set_temperature.copy()
        moved[:, :heaters] += self.set_point.gap(time)
        return moved


def thermostats(model: HeatModel, control: Control) -> Thermostats:
    """Return the laws of all heaters as arrays."""
    jets = control.jets
    power = np.array([jet.power for jet in jets])
    own = np.full((len(jets), len(jets)), np.inf)
    np.fill_diagonal(own, [jet.set_temperature for jet in jets])
    guarded = np.full((len(jets), len(control.guards)), control.air_limit)
    law = HeaterLaw(
        power=power,
        capacity_flow=np.array([heater.capacity_flow for heater in model.heaters]),
        outlet_limit=np.array([jet.outlet_limit for jet in jets]),
        gain=power / np.array([jet.band for jet in jets]),
        set_temperature=np.hstack([own, guarded]),
    )
    return Thermostats(law, control.differential, control.set_point)


def sensor_temperatures(control: Control, state: FloatArray) -> FloatArray:
    """Return what each heater's sensor reads, and then each guard (S,) [°C]."""
    return np.array([mean.of(state) for mean in _sensors(control)])


def _sensors(control: Control) -> tuple[NodeMean, ...]:
    return (*(jet.sensor for jet in control.jets), *control.guards)


def intake_temperatures(model: HeatModel, state: FloatArray) -> FloatArray:
    """Return the temperature of the air that each heater takes in (H,) [°C]."""
    return np.array([heater.intake_temperature(state) for heater in model.heaters])


def outlet_temperatures(model: HeatModel, state: FloatArray, power: FloatArray) -> FloatArray:
    """Return the temperature of the air that each heater gives out (H,) [°C].

    Of one that does not blow it is that of the air it would take in.
    """
    flow = np.array([heater.capacity_flow for heater in model.heaters])
    rise = np.divide(power, flow, out=np.zeros_like(power), where=flow > 0.0)
    outlet: FloatArray = intake_temperatures(model, state) + rise
    return outlet
