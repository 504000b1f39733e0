"""How heaters are run: full power, but no hotter outlet than allowed, less near the set point."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Probe
from simulator.case.treatment import Treatment
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.watch import NodeMean, point_mean

#: Passes over the heaters' laws before the latest powers are kept.
MOST_PASSES = 30


@dataclass(frozen=True, slots=True)
class JetControl:
    """The law of one heater.

    P = min(power, capacity flow (limit - intake), power (set - sensor) / band), and never negative.
    """

    power: float  # most [W]
    outlet_limit: float  # [°C]
    set_temperature: float  # [°C]
    band: float  # below the set temperature [K]
    sensor: NodeMean


@dataclass(frozen=True, slots=True)
class Control:
    """The laws of all heaters, in the order of the grid's jets (length H)."""

    jets: tuple[JetControl, ...]


def build_control(
    grid: Grid, layout: NodeLayout, treatment: Treatment, probes: Sequence[Probe]
) -> Control:
    """Return the control of a treatment.

    All heaters follow the mean of the probes that are thermostats. Without any, a recirculating
    heater follows its own intake air and a ducted one the mean air of the dwelling.
    """
    thermostats = [point_mean(grid, layout, p.position) for p in probes if p.is_thermostat]
    room_air = layout.capacity[layout.air]
    jets = []
    for jet in grid.jets:
        if thermostats:
            sensor = _mean_of(thermostats)
        elif jet.intake is not None:
            sensor = NodeMean(layout.air_node[jet.intake.cells], jet.intake.weights)
        else:
            sensor = NodeMean(np.arange(room_air.size), room_air / room_air.sum())
        jets.append(
            JetControl(
                power=jet.part.power,
                outlet_limit=jet.part.outlet_limit,
                set_temperature=treatment.thermostat,
                band=treatment.proportional_band,
                sensor=sensor,
            )
        )
    return Control(tuple(jets))


def _mean_of(means: Sequence[NodeMean]) -> NodeMean:
    node = np.concatenate([mean.node for mean in means])
    weight = np.concatenate([mean.weight for mean in means]) / len(means)
    return NodeMean(node, weight)


@dataclass(frozen=True, slots=True)
class HeaterLaw:
    """The laws as arrays (H heaters): P = clip(least of three lines, 0)."""

    power: FloatArray
    capacity_flow: FloatArray  # [W/K]
    outlet_limit: FloatArray
    gain: FloatArray  # [W/K]
    set_temperature: FloatArray

    def wanted(self, sensor: FloatArray, intake: FloatArray) -> FloatArray:
        """Return the power of each heater for given sensor and intake temperatures [W]."""
        by_outlet = self.capacity_flow * (self.outlet_limit - intake)
        by_sensor = self.gain * (self.set_temperature - sensor)
        least = np.minimum(self.power, np.minimum(by_outlet, by_sensor))
        return np.maximum(least, 0.0)

    def settle(
        self,
        power: FloatArray,
        sensor: FloatArray,
        intake: FloatArray,
        sensor_response: FloatArray,
        intake_response: FloatArray,
    ) -> FloatArray:
        """Return the powers that agree with the temperatures which they themselves bring about [W].

        ``sensor`` and ``intake`` hold at ``power``; the responses (H, H) are kelvin at heater i's
        sensor (intake) for each watt of heater j. Newton's method on the piecewise linear laws.
        """
        new = power.copy()
        identity = np.eye(power.size)
        for _ in range(MOST_PASSES):
            at_sensor = sensor + sensor_response @ (new - power)
            at_intake = intake + intake_response @ (new - power)
            wanted = self.wanted(at_sensor, at_intake)
            by_outlet = self.capacity_flow * (self.outlet_limit - at_intake)
            by_sensor = self.gain * (self.set_temperature - at_sensor)
            is_free = (wanted > 0.0) & (wanted < self.power)
            outlet_rules = (by_outlet <= by_sensor)[:, None]
            slope = np.where(
                outlet_rules,
                self.capacity_flow[:, None] * intake_response,
                self.gain[:, None] * sensor_response,
            )
            jacobian = identity + is_free[:, None] * slope
            change = np.linalg.solve(jacobian, wanted - new)
            new = new + change
            if np.abs(change).max(initial=0.0) <= 1e-9 * self.power.max(initial=1.0):
                break
        settled: FloatArray = np.clip(new, 0.0, self.power)
        return settled


def heater_law(model: HeatModel, control: Control) -> HeaterLaw:
    """Return the laws of all heaters as arrays."""
    jets = control.jets
    power = np.array([jet.power for jet in jets])
    return HeaterLaw(
        power=power,
        capacity_flow=np.array([heater.capacity_flow for heater in model.heaters]),
        outlet_limit=np.array([jet.outlet_limit for jet in jets]),
        gain=power / np.array([jet.band for jet in jets]),
        set_temperature=np.array([jet.set_temperature for jet in jets]),
    )


def sensor_temperatures(control: Control, state: FloatArray) -> FloatArray:
    """Return what each heater's sensor reads (H,) [°C]."""
    return np.array([jet.sensor.of(state) for jet in control.jets])


def intake_temperatures(model: HeatModel, state: FloatArray) -> FloatArray:
    """Return the temperature of the air that each heater takes in (H,) [°C]."""
    return np.array([heater.intake_temperature(state) for heater in model.heaters])


def outlet_temperatures(model: HeatModel, state: FloatArray, power: FloatArray) -> FloatArray:
    """Return the temperature of the air that each heater gives out (H,) [°C]."""
    flow = np.array([heater.capacity_flow for heater in model.heaters])
    outlet: FloatArray = intake_temperatures(model, state) + power / flow
    return outlet
