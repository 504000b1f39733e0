"""What exact solutions speak of, as dwellings: bodies in held air, rows of stuff, lone walls.

All is laid out by ``voxelise``. Air that must keep its temperature gets an endless volume.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from builders import ADIABATIC, box_room
from scipy import sparse
from scipy.sparse.linalg import spsolve
from unit.heat.grids import exchange_of, still_air

from simulator.case.dwelling import Behind, Construction, Envelope, Layer, Side
from simulator.case.materials import Material
from simulator.case.parts import Box, Part, Refuge, SolidPart, Vector
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.advance import Times, advance
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.control import Control
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.linear_solver import HeatSolver
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.nodes import NodeLayout, node_layout
from simulator.physics.heat.wall_columns import wall_mesh
from simulator.physics.heat.watch import watch
from simulator.physics.radiation.exchange import NO_RADIATION, RadiationExchange

HOUR = 3600.0

#: So much air that no body can change its temperature [m³].
ENDLESS = 1e15

#: A step so long that only what is held keeps its temperature [s].
AGES = 1e10

#: Steps short enough that only the error in space is left.
FINE_STEPS = ImplicitSteps(error=0.005, solver_tolerance=1e-6, longest=2400.0)

#: k [W/(m K)], ρ [kg/m³], c [J/(kg K)].
Stuff = tuple[float, float, float]


def material(k: float, density: float, heat_capacity: float, emissivity: float = 0.9) -> Material:
    """Return a material of the given numbers."""
    return Material("stuff", k, density, heat_capacity, emissivity, None, "set by the problem")


#: k, ρ, c, thickness [m].
LayerRow = tuple[float, float, float, float]


def layers(*rows: LayerRow) -> Construction:
    """Return a construction of layers, from the room outwards."""
    return Construction("wall", tuple(Layer(material(*row[:3]), row[3]) for row in rows))


def sliced(rows: Sequence[LayerRow], times: int) -> list[LayerRow]:
    """Return the same layers, each cut into so many: a finer mesh of the same wall."""
    return [(k, density, c, d / times) for k, density, c, d in rows for _ in range(times)]


#: A side that takes no heat to speak of: 0.005 J/(m² K).
SHUT = Envelope(layers((0.01, 0.05, 1000.0, 1e-4)), Behind("nothing", None, 0.0))


def held(temperature: float) -> Envelope:
    """Return a side at a temperature [°C]: a foil of 1e-6 m² K/W."""
    return Envelope(layers((100.0, 1.0, 1000.0, 1e-4)), Behind("held", temperature, 0.0))


def block(low: Vector, size: Vector, stuff: Stuff | Material) -> SolidPart:
    """Return a solid box from its low corner and size [m]; every cell of it is watched."""
    made = stuff if isinstance(stuff, Material) else material(*stuff)
    x, y, z = (low[axis] + 0.5 * size[axis] for axis in range(3))
    return SolidPart("block", "body", Box((x, y, z), size), made, Refuge.THROUGHOUT)


def endless_air(grid: Grid) -> Grid:
    """Return the grid with air that keeps its temperature."""
    return replace(grid, air_volume=np.where(grid.is_open, ENDLESS, 0.0))


@dataclass(frozen=True)
class SetUp:
    """A grid, its nodes and its balance."""

    grid: Grid
    layout: NodeLayout
    model: HeatModel

    def state(self, elsewhere: float, air: float | None = None) -> FloatArray:
        """Return all nodes at ``elsewhere`` and, if given, air at another temperature [°C]."""
        state = np.full(self.layout.size, float(elsewhere))
        if air is not None:
            state[self.layout.air] = air
        return state

    def steady(self, state: FloatArray | None = None, tolerance: float = 1e-10) -> FloatArray:
        """Return the steady state; air of endless volume stays as in ``state``."""
        given = np.zeros(self.layout.size) if state is None else state
        system = HeatSolver(self.model).shifted(np.inf if state is None else AGES)
        return system.solve(system.storage * given + self.model.constant, given, tolerance)

    def steady_by_factors(self, state: FloatArray) -> FloatArray:
        """Return the same by exact factors of the matrix; it may not radiate.

        For bodies of many thousand solid cells, which no room holds: the iteration is made for air.
        """
        system, matrix = HeatSolver(self.model).shifted(AGES), self.model.matrix
        reduced = system.reduce(system.storage * state + self.model.constant)
        rows, columns = matrix.row_start.astype(np.int32), matrix.column.astype(np.int32)
        retained = spsolve(sparse.csr_array((system.value, columns, rows)), reduced.retained)
        return system.expand(reduced, retained)

    def march(
        self,
        state: FloatArray,
        times: Times,
        *,
        start: float = 0.0,
        method: MarchMethod = FINE_STEPS,
        control: Control | None = None,
    ) -> EpochResult:
        """Return one epoch to the last of ``times`` that records at each of them."""
        return advance(
            self.model,
            state,
            control or Control(()),
            start,
            float(times[-1]),
            watch=watch(self.grid, self.layout, ()),
            output_times=times,
            method=method,
        )

    def states(
        self, state: FloatArray, times: FloatArray, method: MarchMethod = FINE_STEPS
    ) -> FloatArray:
        """Return the whole state at each of ``times`` (T, n), an epoch from one to the next."""
        states, begin = [], 0.0
        for end in times:
            state = self.march(state, [float(end)], start=begin, method=method).state
            states.append(state)
            begin = float(end)
        return np.array(states)

    def surface_heat(self, state: FloatArray, h: FloatArray) -> FloatArray:
        """Return the heat from the air into each surface (S,) [W]."""
        surfaces = self.grid.surfaces
        air = state[self.layout.air_node[surfaces.air_cell]]
        into: FloatArray = h * surfaces.area * (air - state[self.layout.surface_node])
        return into


def set_up(
    grid: Grid,
    h: FloatArray | float = 0.0,
    *,
    radiation: RadiationExchange = NO_RADIATION,
    airflow: Airflow | None = None,
    exchange: AirExchange | None = None,
    about: FloatArray | float = 20.0,
) -> SetUp:
    """Return the balance of a grid in still air unless told otherwise.

    ``h`` of each surface [W/(m² K)]; ``about`` which temperatures radiation is linearised [°C].
    """
    layout = node_layout(grid)
    model = build_heat_model(
        grid,
        layout,
        airflow or still_air(grid),
        exchange or exchange_of(grid),
        np.broadcast_to(np.asarray(h, dtype=np.float64), grid.surfaces.area.shape).copy(),
        radiation,
        np.broadcast_to(np.asarray(about, dtype=np.float64), layout.size),
    )
    return SetUp(grid, layout, model)


def full_room(
    size: Vector,
    cell: float,
    parts: Sequence[Part],
    sides: Mapping[Side, Envelope],
) -> Grid:
    """Return a room that its parts fill; sides that are not named are shut."""
    envelope = {side: sides.get(side, SHUT) for side in Side}
    return voxelise(box_room(size, parts=parts, envelope=envelope), cell)


def body_in_air(
    size: Vector, cell: float, stuff: Stuff | Material, h: float, *, on_floor: bool = False
) -> SetUp:
    """Return a block hung in (or lying on the adiabatic floor of) a room of endless air."""
    gap = 2.0 * cell
    low = (gap, gap, 0.0 if on_floor else gap)
    room = tuple(np.ceil((low[a] + size[a]) / cell - 1e-9) * cell + gap for a in range(3))
    case = box_room(room, parts=[block(low, size, stuff)], envelope=SHUT)
    return set_up(endless_air(voxelise(case, cell)), h)


def row_of_voxels(
    thickness: Sequence[float], stuffs: Sequence[Stuff], cell: float, h: float
) -> SetUp:
    """Return a row of stuff along x behind one cell of endless air; all else is adiabatic."""
    planes = cell + np.concatenate([[0.0], np.cumsum(thickness)])
    parts = [
        block((planes[i], 0.0, 0.0), (thickness[i], cell, cell), stuff)
        for i, stuff in enumerate(stuffs)
    ]
    grid = full_room((float(planes[-1]), cell, cell), cell, parts, {})
    return set_up(endless_air(grid), np.where(grid.surfaces.solid >= 0, h, 0.0))


@dataclass(frozen=True)
class Wall:
    """One square metre of wall behind a cell of endless air."""

    made: SetUp
    h: float
    depth: FloatArray  # of its nodes [m]
    node: FloatArray

    def profile(self, state: FloatArray) -> FloatArray:
        """Return the temperatures of its nodes, from the room outwards [°C]."""
        return state[..., self.node]

    def heat(self, state: FloatArray) -> FloatArray:
        """Return the heat from the air into the wall [W/m²]."""
        air = state[..., self.made.layout.air.start]
        return self.h * (air - state[..., self.node[0]])


def wall(
    construction: Construction, h: float, behind: float | None = None, resistance: float = 0.0
) -> Wall:
    """Return one square metre of a wall column on the east side of a room of one cell."""
    sides = dict.fromkeys(Side, ADIABATIC)
    sides[Side.EAST] = Envelope(construction, Behind("behind", behind, resistance))
    grid = voxelise(box_room((1.0, 1.0, 1.0), envelope=sides), 1.0)
    columns, surfaces = grid.columns, grid.surfaces
    column = int(np.flatnonzero((columns.axis == 0) & (columns.sign > 0))[0])
    made = set_up(endless_air(grid), np.where(surfaces.column == column, h, 0.0))
    layout = made.layout
    chain = int(np.flatnonzero(layout.chains.near == layout.column_node[column])[0])
    inner = np.arange(layout.chains.start[chain], layout.chains.start[chain + 1])
    node = np.concatenate([[layout.column_node[column]], layout.retained + inner])
    mesh = wall_mesh(construction, faces_rooms_on_both_sides=False)
    return Wall(made, h, mesh.depth, node)
