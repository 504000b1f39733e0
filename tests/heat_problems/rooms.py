"""Rooms of well-mixed air: exact balances, a guideline's room, leaks, a duct, a fan heater."""

from dataclasses import dataclass, replace
from math import exp, inf, log2, sqrt
from typing import Literal

import numpy as np
from builders import NO_TREATMENT, box_room
from known_answers import Figure, at_most, off_by, within
from scipy.linalg import expm
from unit.heat.grids import exchange_of, still_air

from heat_problems.set_ups import (
    HOUR,
    SHUT,
    SetUp,
    held,
    material,
    set_up,
)
from simulator.case.dwelling import Side
from simulator.case.parts import Box, HeatedJet, HeatSource, PorousPart, Refuge
from simulator.constants import (
    AIR_DENSITY,
    AIR_EXPANSION,
    AIR_HEAT_CAPACITY,
    AIR_VOLUMETRIC_HEAT_CAPACITY,
    GRAVITY,
)
from simulator.grid.grid import FloatArray
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.reduced_model import ReducedSteps

_WHOLE = Box((0.5, 0.5, 0.5), (1.0, 1.0, 1.0))


@dataclass(frozen=True, slots=True)
class Balance:
    """C_a dT_a/dt = P - H (T_a - T_o) - H_m (T_a - T_m); C_m dT_m/dt = H_m (T_a - T_m)."""

    mass: float  # C_m [J/K]
    loss: float  # H [W/K]
    link: float  # H_m [W/K]
    power: float  # [W]
    air: float = 48240.0  # C_a [J/K]
    outdoor: float = 10.0
    start: float = 20.0

    def exact(self, times: FloatArray) -> FloatArray:
        """Return the air's temperature by the matrix exponential [°C]."""
        rates = np.zeros((3, 3))
        given = self.power + self.loss * self.outdoor
        rates[0] = np.array([-self.loss - self.link, self.link, given]) / self.air
        rates[1, :2] = np.array([self.link, -self.link]) / self.mass
        begin = np.array([self.start, self.start, 1.0])
        return np.array([(expm(rates * t) @ begin)[0] for t in times])


#: Air at 1, 5, 15, 30 min and 1, 2, 4, 8 h.
TIMES = np.array([60.0, 300.0, 900.0, 1800.0, HOUR, 2 * HOUR, 4 * HOUR, 8 * HOUR])
ROOM_1 = Balance(mass=2.0e6, loss=40.0, link=300.0, power=6000.0)
ROOM_2 = Balance(mass=8.0e6, loss=60.0, link=600.0, power=9000.0)

#: The exact solution, printed for this project [°C].
PRINTED = {
    ROOM_1: (25.6830, 34.6698, 37.7622, 39.6773, 43.3708, 50.4212, 63.2691, 84.6224),
    ROOM_2: (27.1307, 32.6566, 33.3767, 34.1476, 35.6751, 38.6748, 44.4588, 55.2127),
}

Marching = Literal["short steps", "usual steps", "reduced model"]

METHODS: dict[Marching, MarchMethod] = {
    # a tenth of the short time constant (139 s and 73 s) or less
    "short steps": ImplicitSteps(error=1e-3, solver_tolerance=1e-8, longest=6.0, shortest=0.5),
    "usual steps": ImplicitSteps(),
    "reduced model": ReducedSteps(solver_tolerance=1e-10),
}


def mixed_room(balance: Balance, *, by_heater: bool = False) -> tuple[SetUp, Control]:
    """Return a room of one cell: a leak, loose stuff as its mass, an appliance or a heater."""
    stuff = material(1.0, 1000.0, balance.mass / 100.0)  # a tenth of a cubic metre
    pile = PorousPart("pile", "stuff", _WHOLE, stuff, 0.9, 0.05, Refuge.NOWHERE)
    heater = HeatedJet(
        "heater", "outlet", (0.5, 0.5, 0.5), (1.0, 0.0, 0.0), 0.3, 0.3, balance.power, 1e6, _WHOLE
    )
    warmth = heater if by_heater else HeatSource("appliance", "case", _WHOLE, balance.power)
    treatment = replace(NO_TREATMENT, thermostat=1e6)
    case = box_room(
        (1.0, 1.0, 1.0),
        parts=[pile, warmth],
        envelope=SHUT,
        start_temperature=balance.start,
        outdoor_temperature=balance.outdoor,
        treatment=treatment,
    )
    grid = voxelise(case, 1.0)
    volume = np.full(grid.shape, balance.air / AIR_VOLUMETRIC_HEAT_CAPACITY)
    grid = replace(grid, air_volume=volume)
    of_pile = grid.surfaces.solid >= 0
    h = np.where(of_pile, balance.link / grid.surfaces.area[of_pile].sum(), 0.0)
    leak = balance.loss / AIR_VOLUMETRIC_HEAT_CAPACITY
    made = set_up(grid, h, exchange=exchange_of(grid, leak=leak, inlet=0, outlet=0))
    return made, build_control(grid, made.layout, treatment, ())


@dataclass(frozen=True, slots=True)
class TwoNodeRoom:
    """Air and one mass, warmed from 20 °C at constant power."""

    balance: Balance
    marching: Marching
    by_heater: bool = False
    is_slow: bool = False
    source: str = "exact by the matrix exponential, printed for this project"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        by = "heater" if self.by_heater else "appliance"
        return f"room of two nodes, {self.balance.power:g} W by {by}"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"one cell, {self.marching}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made, control = mixed_room(self.balance, by_heater=self.by_heater)
        state = made.state(self.balance.start)
        method = METHODS[self.marching]
        found = made.march(state, TIMES, method=method, control=control).air_mean
        printed = np.array(PRINTED[self.balance])
        off = np.abs(found - printed)
        if self.marching == "usual steps":
            share = off / (printed - self.balance.start)
            return (
                at_most("air, largest error in the first 5 min [K]", off[:2].max(), 0.3),
                at_most("air, largest error later over the rise [-]", share[2:].max(), 0.01),
            )
        most = 0.01 if self.marching == "short steps" else 1e-4
        return (at_most("air, largest error up to 8 h [K]", off.max(), most),)


@dataclass(frozen=True, slots=True)
class MixedRoom:
    """One node: C 48240 J/K, H 50 W/K, 2000 W, 20 °C outdoors: τ 964.8 s, 60 °C in the end."""

    is_slow: bool = False
    name: str = "room of one node"
    source: str = "exact: 20 + 40 (1 - exp(-t/τ))"
    mesh: str = "one cell, reduced model"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        room = Balance(mass=1e-3, loss=50.0, link=1e-9, power=2000.0, outdoor=20.0)
        made, control = mixed_room(room)
        times = [600.0, 1800.0, 24.0 * HOUR]
        method = METHODS["reduced model"]
        found = made.march(made.state(20.0), times, method=method, control=control).air_mean
        return tuple(
            off_by(f"air after {t:g} s [°C]", ours, exact, 1e-3)
            for t, ours, exact in zip(times, found, (38.5229, 53.8083, 60.0), strict=True)
        )


@dataclass(frozen=True, slots=True)
class StepsOfSecondOrder:
    """The error of the implicit steps at the air's steepest, two lengths of step."""

    length: float = 20.0
    is_slow: bool = False
    name: str = "order in time of the implicit steps"
    source: str = "exact by the matrix exponential; Alexander 1977: order 2"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"one cell, steps of {self.length:g} and {0.5 * self.length:g} s"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        coarse, fine = (self._error(self.length / n) for n in (1, 2))
        return (
            at_most("error after 5 min [K]", fine, 0.05),
            Figure("order in time", 2.0, log2(coarse / fine), 1.8, 2.2),
        )

    def _error(self, length: float) -> float:
        made, control = mixed_room(ROOM_1)
        method = ImplicitSteps(error=inf, solver_tolerance=1e-11, longest=length, shortest=length)
        result = made.march(made.state(20.0), [300.0], method=method, control=control)
        return abs(float(result.air_mean[0]) - PRINTED[ROOM_1][1])


@dataclass(frozen=True, slots=True)
class Leaking:
    """Heat that leaking air carries out of 40 m³."""

    what: str
    flow: float  # [m³/s]
    difference: float  # [K]
    loss: float  # as printed [W] ...
    counted: float  # ... with so much heat in a cubic metre and kelvin [J]
    is_slow: bool = False
    mesh: str = "one cell"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"air leaking from 40 m³, {self.what}"

    @property
    def source(self) -> str:
        """Where the reference is from."""
        where = "EN 12831 as in an open implementation" if "EN" in self.what else "arithmetic"
        return f"{where}, with air of {self.counted:g} J/(m³ K)"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid = voxelise(box_room((1.0, 1.0, 1.0), envelope=SHUT, outdoor_temperature=5.0), 1.0)
        made = set_up(grid, exchange=exchange_of(grid, leak=self.flow, inlet=0, outlet=0))
        found = made.model.leak_loss(made.state(5.0 + self.difference))
        ours = AIR_VOLUMETRIC_HEAT_CAPACITY
        return (
            within("heat loss [W]", found, self.loss, 0.08),
            within(
                "the same with the source's air [W]", found * self.counted / ours, self.loss, 1e-6
            ),
        )


@dataclass(frozen=True, slots=True)
class LossyDuct:
    """Air of 70 °C enters a duct with 0.05 kg/s; it loses 6 W/(m K) to 20 °C around it."""

    width: float = 0.1
    is_slow: bool = False
    name: str = "duct that loses heat on its way"
    source: str = "exact: T = T_around + (T_in - T_around) exp(-U P x / m c)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.width:g} mm, one across"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        around, inlet, lost = 20.0, 70.0, 6.0
        made = self._made(around, inlet, lost)
        steady = made.steady(made.state(around), 1e-9)
        x, air = made.grid.centres[0], steady[made.layout.air]
        rate = lost / (0.05 * AIR_HEAT_CAPACITY)
        return tuple(
            off_by(
                f"air at {at:g} m [°C]",
                float(np.interp(at, x, air)),
                around + (inlet - around) * exp(-rate * at),
                0.5,
            )
            for at in (1.0, 5.0, 9.9)
        )

    def _made(self, around: float, inlet: float, lost: float) -> SetUp:
        size = (10.0, self.width, self.width)
        envelope = {side: SHUT if side.axis == 0 else held(around) for side in Side}
        case = box_room(size, envelope=envelope, outdoor_temperature=inlet)
        grid = voxelise(case, self.width)
        still, flow = still_air(grid), 0.05 / AIR_DENSITY
        velocity = np.zeros_like(still.x_velocity)
        velocity[1:-1] = flow / self.width**2
        return set_up(
            grid,
            np.where(grid.surfaces.axis > 0, lost / (4.0 * self.width), 0.0),
            airflow=replace(still, x_velocity=velocity),
            exchange=exchange_of(grid, leak=flow, inlet=0, outlet=grid.shape[0] - 1),
        )


@dataclass(frozen=True, slots=True)
class FanHeater:
    """How much warmer a heater's air leaves than it comes: P / (flow ρ c)."""

    power: float
    flow: float
    rise: float  # with air of 20 °C, 1211.3 J/(m³ K)
    is_slow: bool = False
    mesh: str = "one cell"
    source: str = "arithmetic, with air of 1211.3 J/(m³ K)"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"fan heater of {self.power:g} W, {self.flow:g} m³/s"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        heater = HeatedJet(
            "heater", "outlet", (0.5,) * 3, (1.0, 0.0, 0.0), 0.3, self.flow, self.power, 1e6, _WHOLE
        )
        treatment = replace(NO_TREATMENT, thermostat=1e6)
        case = box_room((1.0, 1.0, 1.0), parts=[heater], envelope=SHUT, treatment=treatment)
        made = set_up(voxelise(case, 1.0))
        control = build_control(made.grid, made.layout, treatment, ())
        result = made.march(made.state(20.0), [1.0, 60.0], control=control)
        # the air of the room is that of the intake
        ours = float((result.outlet_temperature[:, 0] - result.air_mean)[-1])
        counted = ours * AIR_VOLUMETRIC_HEAT_CAPACITY / 1211.3
        return (
            within("rise [K]", ours, self.rise, 0.08),
            within("the same with the source's air [K]", counted, self.rise, 1e-3),
        )


@dataclass(frozen=True, slots=True)
class Stack:
    """Pressure between the top and the bottom of a warm room, which drives air through openings.

    The simulator takes leaks as given flows and solves no opening's flow; what it knows of the
    stack is buoyancy with one density and one expansion (Boussinesq about 40 °C). This says how far
    that is from two columns of ideal gas.
    """

    height: float
    inside: float
    outside: float
    pressure: float  # [Pa], two columns
    is_slow: bool = False
    source: str = "two columns of ideal gas at 101325 Pa, evaluated for this project"
    mesh: str = "no cells"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"stack of {self.height:g} m, {self.inside:g} °C in {self.outside:g} °C"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        ours = AIR_DENSITY * GRAVITY * AIR_EXPANSION * (self.inside - self.outside) * self.height
        return (
            within("pressure [Pa]", ours, self.pressure, 0.02, False),
            within(
                "flow through an opening, a share [-]", sqrt(ours / self.pressure), 1.0, 0.05, False
            ),
        )
