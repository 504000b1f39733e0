"""What must hold of any scheme: conservation, no new extremes, symmetry, restart, scaling."""

from dataclasses import dataclass, replace
from io import BytesIO
from math import inf

import numpy as np
from builders import WOOD, box_room
from known_answers import Figure, at_most
from unit.heat.grids import exchange_of, stirred_air
from unit.heat.small_room import small_room

from heat_problems.set_ups import (
    HOUR,
    SHUT,
    SetUp,
    set_up,
)
from simulator.case.dwelling import Behind, Construction, Envelope, Layer, Side
from simulator.case.parts import Box, HeatSource, Refuge, SolidPart, Vector
from simulator.grid.grid import FloatArray
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.advance import advance
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.reduced_model import ReducedSteps


@dataclass(frozen=True, slots=True)
class HeatLedger:
    """Six hours in a small room with heaters, a leak, walls, eddies: does the heat add up?"""

    method: MarchMethod
    is_slow: bool = False
    source: str = "conservation"
    mesh: str = "8 x 7 x 6"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"ledger of heat, {type(self.method).__name__}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        room = small_room()
        times = np.arange(0.0, 6.0 * HOUR + 1.0, 600.0)
        result = advance(
            room.model,
            room.state(),
            room.control,
            0.0,
            float(times[-1]),
            watch=room.watch,
            output_times=times,
            method=self.method,
        )
        return (
            at_most(
                "heat not accounted for, of what is put in [-]",
                result.ledger.largest_imbalance,
                1e-10,
            ),
        )


#: Size of the furnished room before it is turned [m].
FURNISHED = (1.6, 1.4, 1.2)


def furnished(order: tuple[int, int, int], *, mirrored: bool = False, power: float = 60.0) -> SetUp:
    """Return a room with two blocks and a lamp, its axes in another order or x reversed."""

    def turned(at: Vector) -> Vector:
        return (at[order[0]], at[order[1]], at[order[2]])

    def box(low: Vector, size: Vector) -> Box:
        x, y, z = (low[axis] + 0.5 * size[axis] for axis in range(3))
        centre = (FURNISHED[0] - x, y, z) if mirrored else (x, y, z)
        return Box(turned(centre), turned(size))

    hidden = Refuge.THROUGHOUT
    parts = [
        SolidPart("block", "body", box((0.2, 0.4, 0.2), (0.6, 0.4, 0.8)), WOOD, hidden),
        SolidPart("cube", "body", box((1.0, 0.6, 0.4), (0.2, 0.2, 0.2)), WOOD, hidden),
        HeatSource("lamp", "case", box((1.2, 1.0, 0.4), (0.2, 0.2, 0.2)), power),
    ]
    wall = Construction("wall", (Layer(WOOD, 0.02),))
    cold = (order.index(0), 1 if mirrored else -1)
    sides = dict.fromkeys(Side, SHUT)
    sides |= {side: Envelope(wall, Behind("out", 5.0, 0.1)) for side in Side if side.value == cold}
    grid = voxelise(box_room(turned(FURNISHED), parts=parts, envelope=sides), 0.2)
    return set_up(grid, 6.0, airflow=stirred_air(grid, 0.0, 1, mixing=0.01))


def fields_after(made: SetUp, time: float) -> FloatArray:
    """Return air and solid cores of every cell after so long [i, j, k] [°C]."""
    method = ImplicitSteps(error=inf, solver_tolerance=1e-10)
    state = made.march(made.state(20.0), [time], method=method).state
    field = np.full(made.grid.is_open.size, np.nan)
    field[made.layout.air_cell] = state[made.layout.air]
    blocked = made.grid.is_blocked.ravel()[made.grid.solids.cell]
    field[made.grid.solids.cell[blocked]] = state[made.layout.solid_node[blocked]]
    return field.reshape(made.grid.shape)


@dataclass(frozen=True, slots=True)
class TurnedRoom:
    """A furnished room with its axes permuted: the same temperatures in another order."""

    order: tuple[int, int, int]
    is_slow: bool = False
    source: str = "symmetry"
    mesh: str = "8 x 7 x 6"

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"furnished room turned to {''.join('xyz'[axis] for axis in self.order)}"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        plain = fields_after(furnished((0, 1, 2)), 2.0 * HOUR)
        turned = fields_after(furnished(self.order), 2.0 * HOUR)
        off = np.abs(np.transpose(plain, self.order) - turned)
        return (at_most("largest difference after 2 h [K]", float(np.nanmax(off)), 1e-6),)


@dataclass(frozen=True, slots=True)
class MirroredRoom:
    """The furnished room with x reversed: the same temperatures, mirrored."""

    is_slow: bool = False
    name: str = "furnished room mirrored"
    source: str = "symmetry"
    mesh: str = "8 x 7 x 6"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        plain = fields_after(furnished((0, 1, 2)), 2.0 * HOUR)
        mirrored = fields_after(furnished((0, 1, 2), mirrored=True), 2.0 * HOUR)
        off = np.abs(plain[::-1] - mirrored)
        return (at_most("largest difference after 2 h [K]", float(np.nanmax(off)), 1e-6),)


@dataclass(frozen=True, slots=True)
class TwoMethods:
    """Implicit steps and the reduced model in the furnished room: do all solids agree?"""

    is_slow: bool = False
    name: str = "reduced model beside implicit steps"
    source: str = "two independent methods"
    mesh: str = "8 x 7 x 6"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made = furnished((0, 1, 2), power=2000.0)
        times = np.arange(0.0, 12.0 * HOUR + 1.0, 120.0)
        steps, shapes = (
            made.march(made.state(20.0), times, method=method).refuge_temperature
            for method in (ImplicitSteps(), ReducedSteps())
        )
        half = 0.5 * (20.0 + steps[-1].astype(np.float64))  # of each solid's rise
        crossing = [
            [np.interp(at, found[:, solid], times) for solid, at in enumerate(half)]
            for found in (steps, shapes)
        ]
        share = np.abs(np.array(crossing[1]) / np.array(crossing[0]) - 1.0)
        off, least = float(np.abs(steps - shapes).max()), float((steps[-1] - 20.0).min())
        return (
            at_most("largest difference of all solids [K]", off, 0.3),
            at_most("times to half of the rise, largest difference [-]", float(share.max()), 0.01),
            Figure("least rise of a solid [K]", np.nan, least, 10.0, inf),
        )


@dataclass(frozen=True, slots=True)
class Restarted:
    """A state that is stored amid two epochs and marched on in the same room laid out anew."""

    is_slow: bool = False
    name: str = "state taken up in the same room laid out anew"
    source: str = "equality, bit by bit"
    mesh: str = "8 x 7 x 6"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made = furnished((0, 1, 2))
        half = made.march(made.state(20.0), [HOUR]).state
        kept = BytesIO()
        np.save(kept, half)
        kept.seek(0)
        again = furnished((0, 1, 2))  # all is laid out anew
        whole = made.march(half, [2.0 * HOUR], start=HOUR).state
        rest = again.march(np.load(kept), [2.0 * HOUR], start=HOUR).state
        return (at_most("largest difference [K]", float(np.abs(whole - rest).max()), 0.0),)


@dataclass(frozen=True, slots=True)
class ScaledRoom:
    """Twice all powers, conductivities and coefficients: the same steady temperatures.

    The room's air is one cell: nothing else carries heat in it.
    """

    is_slow: bool = False
    name: str = "twice the power through twice the conductance"
    source: str = "scaling"
    mesh: str = "one cell"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        one, two = self._steady(1.0), self._steady(2.0)
        return (
            at_most("largest difference [K]", float(np.abs(one - two).max()), 1e-6),
            Figure("rise of the air [K]", np.nan, float(one[0] - 5.0), 1.0, inf),
        )

    def _steady(self, times: float) -> FloatArray:
        lamp = HeatSource("lamp", "case", Box((0.5, 0.5, 0.5), (0.2, 0.2, 0.2)), 50.0 * times)
        layer = Layer(replace(WOOD, conductivity=times * WOOD.conductivity), 0.02)
        outside = Envelope(Construction("wall", (layer,)), Behind("out", 5.0, 0.1 / times))
        case = box_room((1.0, 1.0, 1.0), parts=[lamp], envelope=dict.fromkeys(Side, outside))
        grid = voxelise(case, 1.0)
        leak = exchange_of(grid, leak=0.01 * times, inlet=0, outlet=0)
        return set_up(grid, 6.0 * times, exchange=leak).steady(tolerance=1e-12)


@dataclass(frozen=True, slots=True)
class NoNewExtremes:
    """One implicit step from a random state: nothing colder or hotter than before."""

    is_slow: bool = False
    name: str = "no new extremes in a stirred room"
    source: str = "maximum principle"
    mesh: str = "8 x 7 x 6"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        room = small_room(behind=20.0, outdoor=20.0, appliance=0.0, eddies=0.05)
        system = HeatSolver(room.model).shifted(30.0)
        state = 20.0 + 40.0 * np.random.default_rng(4).random(room.layout.size)
        after = system.solve(system.storage * state + room.model.constant, state, 1e-12)
        return (
            at_most("colder than the coldest before [K]", max(0.0, 20.0 - after.min()), 1e-9),
            at_most(
                "hotter than the hottest before [K]", max(0.0, after.max() - state.max()), 1e-9
            ),
        )


@dataclass(frozen=True, slots=True)
class UniformRoom:
    """A uniform temperature in any solenoidal flow stays as it is; shut rooms keep their heat."""

    is_slow: bool = False
    name: str = "uniform temperature in eddies"
    source: str = "free-stream preservation"
    mesh: str = "8 x 7 x 6"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        room = small_room(behind=31.0, outdoor=31.0, appliance=0.0)
        rate = (room.model.constant - room.model.outflow(room.state(31.0))) / room.layout.capacity
        made = furnished((0, 1, 2))
        shut = set_up(made.grid, 6.0, airflow=stirred_air(made.grid, 0.05, 3))
        capacity = shut.layout.capacity
        chance = np.random.default_rng(7).uniform(20.0, 60.0, shut.layout.size)
        gain = (shut.model.constant - shut.model.outflow(chance)).sum()
        gain -= shut.model.appliance_power - shut.model.envelope_loss(chance)
        after = gain * 60.0 / capacity.sum()
        return (
            at_most("rate of change [K/s]", float(np.abs(rate).max()), 1e-11),
            at_most("drift of a random room's mean in a minute [K]", abs(float(after)), 1e-12),
        )
