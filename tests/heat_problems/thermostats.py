"""Thermostats on rooms of well-mixed air: cycles of a switched heater, a set point that moves."""

from dataclasses import dataclass, replace
from math import exp, log
from typing import Literal

import numpy as np
from builders import NO_TREATMENT, box_room
from known_answers import Figure, at_most, off_by, within

from heat_problems.rooms import Balance, mixed_room
from heat_problems.set_ups import HOUR, SHUT, SetUp, set_up
from simulator.case.dwelling import Leakage, Side
from simulator.case.parts import AirOutlet, Box, HeatedJet
from simulator.case.treatment import SetPoint
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.air_exchange import AirExchange, air_exchange
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.reduced_model import ReducedSteps

Marching = Literal["usual steps", "reduced model"]

METHODS: dict[Marching, MarchMethod] = {
    "usual steps": ImplicitSteps(),
    "reduced model": ReducedSteps(solver_tolerance=1e-10),
}

#: C dT/dt = P - H (T - 20 °C): τ = 964.8 s, 120 °C in the end.
ROOM = Balance(mass=1e-3, loss=50.0, link=1e-9, power=5000.0, outdoor=20.0)
TIME_CONSTANT = ROOM.air / ROOM.loss


def _room(set_temperature: float, **changes: object) -> tuple[SetUp, Control]:
    """Return the room with its heater, which obeys the room's air."""
    made, control = mixed_room(ROOM, by_heater=True)
    jets = tuple(replace(jet, set_temperature=set_temperature) for jet in control.jets)
    return made, replace(control, jets=jets, **changes)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class SwitchedRoom:
    """A heater that is switched off at 60 °C and on again at 58 °C.

    Between two switchings the air is exactly exponential: it warms from 58 to 60 °C within
    τ ln(62 / 60) = 31.6 s and cools within τ ln(40 / 38) = 49.5 s.
    """

    marching: Marching
    is_slow: bool = False
    name: str = "room with a switched heater"
    source: str = "exact: exponentials between two switchings"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"one cell, {self.marching}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made, control = _room(60.0, differential=2.0)
        method = METHODS[self.marching]
        times = np.arange(0.0, 2 * HOUR + 1.0, 300.0)
        result = made.march(made.state(20.0), times, method=method, control=control)
        moments = result.switch_time
        first = TIME_CONSTANT * log(100.0 / 60.0)
        on, off = TIME_CONSTANT * log(62.0 / 60.0), TIME_CONSTANT * log(40.0 / 38.0)
        # a heater is switched up to 0.5 s late by steps, 0.01 s late by the reduced model
        late = 0.5 if self.marching == "usual steps" else 0.01
        cooling, warming = np.diff(moments)[0::2], np.diff(moments)[1::2]
        count = 1 + (2 * HOUR - first) // (on + off) * 2
        book = result.ledger
        left = book.heaters - book.leaks - book.envelope
        left = left - book.stored_air - book.stored_solids - book.stored_envelope
        return (
            off_by("first switched off after [s]", float(moments[0]), first, late + 0.1, "s"),
            off_by("warms for [s]", float(warming.mean()), on, 2.0 * late, "s"),
            off_by("cools for [s]", float(cooling.mean()), off, 2.0 * late, "s"),
            within("switchings in 2 h [-]", float(moments.size), count, 0.03),
            within(
                "mean power of a cycle [W]",
                float(result.heater_power[-12:].mean()),
                5000.0 * on / (on + off),
                0.02,
            ),
            at_most("not kept [-]", abs(float(left[-1] / book.heaters[-1])), 1e-10),
        )


@dataclass(frozen=True, slots=True)
class RampedRoom:
    """A throttled heater whose set point rises from 20 °C by 10 K/h, to 40 °C at 2 h.

    With the gain k = 5000 W / 5 K, C dT/dt = k (s - T) - H (T - 20 °C) is linear: the air follows
    the ramp by a constant lag after the first minute, and nears its end exponentially.
    """

    marching: Marching
    is_slow: bool = False
    name: str = "room whose set point rises by 10 K/h"
    source: str = "exact: a linear equation with a ramp"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"one cell, {self.marching}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        rate = 10.0 / HOUR
        made, control = _room(40.0, set_point=SetPoint(0.0, 20.0, 40.0, rate))
        method = METHODS[self.marching]
        hours = np.array([0.5, 1.0, 1.9, 2.0, 3.0])
        result = made.march(made.state(20.0), hours * HOUR, method=method, control=control)
        exact = [20.0 + self._rise(float(hour) * HOUR, rate) for hour in hours]
        return tuple(
            off_by(f"air after {hour:g} h [°C]", float(ours), then, 0.02)
            for hour, ours, then in zip(hours, result.air_mean, exact, strict=True)
        )

    @staticmethod
    def _rise(time: float, rate: float) -> float:
        """Rise of the air over 20 °C [K]."""
        gain = ROOM.power / NO_TREATMENT.proportional_band
        whole = gain + ROOM.loss
        share, tau, turn = gain / whole, ROOM.air / whole, 2 * HOUR

        def ramp(t: float) -> float:
            return share * rate * (t - tau * (1.0 - exp(-t / tau)))

        return ramp(time) - (ramp(time - turn) if time > turn else 0.0)


_WHOLE = Box((0.5, 0.5, 0.5), (1.0, 1.0, 1.0))


@dataclass(frozen=True, slots=True)
class DuctedRoom:
    """Ducted outdoor air of 5 °C, 0.30 m³/s with 9 kW, in a room that leaks 0.02 m³/s by itself.

    Through leaks alone the displaced air replaces what leaked in: 0.30 m³/s leave. An exhaust of
    0.2 m² takes it, and the leaks go on: 0.32 m³/s. One of 0.05 m² takes 0.13 m³/s at 10 Pa, and
    the rest replaces what leaked in. The air is P / (flow ρ c) over outdoors.
    """

    area: float
    leaving: float  # [m³/s]
    is_slow: bool = False
    mesh: str = "one cell"
    source: str = "arithmetic, with air of 1211.3 J/(m³ K)"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"ducted room, exhaust of {self.area:g} m²" if self.area else "ducted room, leaks"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made, exchange = self._made()
        treatment = replace(NO_TREATMENT, thermostat=1e6)
        control = build_control(made.grid, made.layout, treatment, ())
        result = made.march(made.state(5.0), [10 * HOUR], control=control)
        rise = float(result.air_mean[-1]) - 5.0
        counted = rise * AIR_VOLUMETRIC_HEAT_CAPACITY / 1211.3
        imbalance = result.ledger.heaters - result.ledger.leaks
        for stored in (result.ledger.stored_air, result.ledger.stored_envelope):
            imbalance = imbalance - stored
        return (
            within("leaves [m³/s]", float(exchange.leak_outflow.sum()), self.leaving, 1e-9),
            within("rise [K]", counted, 9000.0 / (1211.3 * self.leaving), 1e-3),
            at_most("not kept [-]", abs(float(imbalance[-1] / result.ledger.heaters[-1])), 1e-10),
        )

    def _made(self) -> tuple[SetUp, AirExchange]:
        parts: list[HeatedJet | AirOutlet] = [
            HeatedJet("duct", "end", (0.5,) * 3, (1.0, 0.0, 0.0), 0.3, 0.30, 9000.0, 1e6, None)
        ]
        if self.area:
            parts.append(AirOutlet("sash", "exhaust", _WHOLE, self.area))
        case = box_room((1.0, 1.0, 1.0), parts=parts, envelope=SHUT, outdoor_temperature=5.0)
        leakage = (Leakage("room", 0.02, (Side.WEST,)),)
        case = replace(case, dwelling=replace(case.dwelling, leakage=leakage))
        grid = voxelise(case, 1.0)
        exchange = air_exchange(grid)
        return set_up(grid, exchange=exchange), exchange
