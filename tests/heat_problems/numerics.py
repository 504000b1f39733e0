"""What must hold of any scheme: order, conservation, no new extremes, symmetry, restart."""

from dataclasses import dataclass, replace
from io import BytesIO
from math import inf, log2, pi

import numpy as np
from builders import WOOD, box_room
from known_answers import Figure, at_most
from unit.heat.grids import exchange_of, stirred_air
from unit.heat.small_room import small_room

from heat_problems.set_ups import (
    HOUR,
    SHUT,
    SetUp,
    block,
    full_room,
    held,
    set_up,
)
from simulator.case.dwelling import Behind, Construction, Envelope, Layer, Side
from simulator.case.parts import Box, HeatSource, Refuge, SolidPart, Vector
from simulator.grid.grid import FloatArray
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.advance import advance
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.reduced_model import ReducedSteps


def _temperature(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    wave = 10.0 * np.sin(pi * x) * np.cos(0.5 * pi * y) * np.exp(-z)
    return np.asarray(20.0 + wave + 5.0 * x * y**2)


def _conductivity(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    return np.asarray(0.5 + 0.3 * x + 0.2 * y * z)


def manufactured_source(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """Return -∇·(k ∇T) of the manufactured temperature and conductivity [W/m³]."""
    fade = 10.0 * np.exp(-z)
    sine, cosine = np.sin(pi * x), np.cos(pi * x)
    sine_y, cosine_y = np.sin(0.5 * pi * y), np.cos(0.5 * pi * y)
    t_x = pi * fade * cosine * cosine_y + 5.0 * y**2
    t_y = -0.5 * pi * fade * sine * sine_y + 10.0 * x * y
    t_z = -fade * sine * cosine_y
    laplacian = (1.0 - pi**2 - 0.25 * pi**2) * fade * sine * cosine_y + 10.0 * x
    k = _conductivity(x, y, z)
    return np.asarray(-(k * laplacian + 0.3 * t_x + 0.2 * z * t_y + 0.2 * y * t_z))


@dataclass(frozen=True, slots=True)
class ManufacturedSolution:
    """A cube whose conductivity changes everywhere, with the source that makes T known.

    T = 20 + 10 sin πx cos(πy/2) exp(-z) + 5 x y², k = 0.5 + 0.3 x + 0.2 y z, T given on all sides.
    """

    cells: int  # along an edge
    is_slow: bool = False
    name: str = "manufactured solution, variable conductivity"
    source: str = "manufactured for this project; Roache 2002, J. Fluids Eng. 124:4 (the method)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells // 2}³ and {self.cells}³"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        coarse, fine = self._error(self.cells // 2), self._error(self.cells)
        orders = [log2(c / f) for c, f in zip(coarse, fine, strict=True)]
        return (
            at_most("rms error over the spread [-]", fine[0] / 10.0, 0.15 / self.cells**2),
            Figure("order of the rms error", 2.0, orders[0], 1.8, inf),
            Figure("order of the largest error", 2.0, orders[1], 1.6, inf),
        )

    def _error(self, cells: int) -> tuple[float, float]:
        made = self._made(cells)
        centres = np.meshgrid(*made.grid.centres, indexing="ij")
        load = made.model.constant.copy()
        load[made.layout.solid_node] += manufactured_source(*centres).ravel() / cells**3
        warmed = replace(made, model=replace(made.model, constant=load))
        found = warmed.steady(tolerance=1e-9)[made.layout.solid_node]
        off = found - _temperature(*centres).ravel()
        return float(np.sqrt(np.mean(off**2))), float(np.abs(off).max())

    def _made(self, cells: int) -> SetUp:
        h = 1.0 / cells
        parts = [
            block((i * h, j * h, k * h), (h, h, h), self._stuff(i, j, k, h))
            for i, j, k in np.ndindex(cells, cells, cells)
        ]
        grid = full_room((1.0, 1.0, 1.0), h, parts, {side: held(0.0) for side in Side})
        columns = grid.columns
        index = np.unravel_index(columns.cell, grid.shape)
        place = np.array([c[i] for c, i in zip(grid.centres, index, strict=True)])
        place[columns.axis, np.arange(columns.cell.size)] = columns.sign > 0
        return set_up(replace(grid, columns=replace(columns, temperature=_temperature(*place))))

    def _stuff(self, i: int, j: int, k: int, h: float) -> tuple[float, float, float]:
        at = (np.array(n + 0.5) * h for n in (i, j, k))
        return float(_conductivity(*at)), 1.0, 1.0


@dataclass(frozen=True, slots=True)
class LayersOfVoxels:
    """Three layers of voxels between held sides: exact where interfaces lie on faces."""

    cells: int = 3  # in a layer
    is_slow: bool = False
    name: str = "layers of voxels in series"
    source: str = "exact (resistances in series)"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{self.cells} in a layer"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        cell, k = 0.05, (0.04, 50.0, 0.6)
        d = self.cells * cell
        parts = [block((n * d, 0.0, 0.0), (d, cell, cell), (k[n], 1.0, 1.0)) for n in range(3)]
        sides = {Side.WEST: held(100.0), Side.EAST: held(0.0)}
        made = set_up(full_room((3 * d, cell, cell), cell, parts, sides))
        cores = made.steady(made.state(0.0), 1e-12)[made.layout.solid_node]
        side = 2e-6  # a foil and the least resistance behind it
        flux = 100.0 / (sum(d / each for each in k) + 2.0 * side)
        resistance = np.repeat([cell / each for each in k], self.cells)
        exact = 100.0 - flux * (side + np.cumsum(resistance) - 0.5 * resistance)
        return (at_most("largest error of 100 K [K]", float(np.abs(cores - exact).max()), 1e-6),)


def imbalance(result: EpochResult) -> float:
    """Return the largest share of the heat put in that the ledger does not account for."""
    book = result.ledger
    put_in = book.heaters + book.fans_and_appliances
    stored = book.stored_air + book.stored_solids + book.stored_envelope
    left = put_in - book.leaks - book.envelope - stored
    return float(np.abs(left / np.maximum(put_in, 1.0)).max())


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
        return (at_most("heat not accounted for, of what is put in [-]", imbalance(result), 1e-10),)


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
    """A run that is stored amid two epochs and taken up again."""

    is_slow: bool = False
    name: str = "run taken up again"
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
