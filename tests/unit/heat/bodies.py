"""Bodies in air of one temperature: the set-ups that exact solutions of conduction speak of."""

from dataclasses import dataclass

import numpy as np
from unit.heat.grids import exchange_of, make_grid, still_air

from simulator.case.dwelling import Construction, Side
from simulator.case.materials import Material
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.heat.advance import advance
from simulator.physics.heat.balance import HeatModel, build_heat_model
from simulator.physics.heat.control import Control
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.nodes import NodeLayout, node_layout
from simulator.physics.heat.wall_columns import wall_mesh
from simulator.physics.heat.watch import watch
from simulator.physics.radiation.exchange import NO_RADIATION

#: So much air that no body can change its temperature [m³].
ENDLESS = 1e9

#: Steps short enough that only the error in space is left.
FINE_STEPS = ImplicitSteps(error=0.005, solver_tolerance=1e-6)


@dataclass(frozen=True)
class Body:
    """A grid, its balance and the states at the asked times (T, n)."""

    grid: Grid
    layout: NodeLayout
    model: HeatModel
    states: FloatArray

    @property
    def cores(self) -> FloatArray:
        """Core temperature of every solid (T, N)."""
        return self.states[:, self.layout.solid_node]

    @property
    def coldest_points(self) -> FloatArray:
        """What refuges in the solids read (T, N)."""
        read = watch(self.grid, self.layout, ()).refuges
        return np.array([read(state) for state in self.states])

    @property
    def mean(self) -> FloatArray:
        """Mean over all solid stuff, by heat capacity (T,)."""
        inside = ~self.layout.is_envelope
        inside[self.layout.air] = False
        capacity = np.where(inside, self.layout.capacity, 0.0)
        return self.states @ capacity / capacity.sum()


def soak(grid: Grid, h: float, start: float, air: float, times: FloatArray) -> Body:
    """Return the body of ``grid``, all at ``start``, in endless air from then on [°C]."""
    layout = node_layout(grid)
    state = np.full(layout.size, start)
    state[layout.air] = air
    model = build_heat_model(
        grid,
        layout,
        still_air(grid),
        exchange_of(grid),
        np.full(grid.surfaces.area.size, h),
        NO_RADIATION,
        state,
    )
    seen = watch(grid, layout, ())
    states, begin = [], 0.0
    for end in times:
        result = advance(
            model,
            state,
            Control(()),
            begin,
            float(end),
            watch=seen,
            output_times=(),
            method=FINE_STEPS,
        )
        state, begin = result.state, float(end)
        states.append(state)
    return Body(grid, layout, model, np.array(states))


def endless_air(blocked: np.ndarray) -> FloatArray:
    return np.where(blocked, 0.0, ENDLESS)


def free_block(
    size: tuple[float, float, float],
    cells: tuple[int, int, int],
    stuff: Material,
    *,
    h: float,
    start: float,
    air: float,
    times: FloatArray,
) -> Body:
    """Return a block of whole cells with air on all six sides."""
    edges = [
        np.concatenate([[-1.0], np.linspace(0.0, width, n + 1), [width + 1.0]])
        for width, n in zip(size, cells, strict=True)
    ]
    blocked = np.zeros([n + 2 for n in cells], dtype=bool)
    blocked[1:-1, 1:-1, 1:-1] = True
    grid = make_grid(
        edges, blocked=blocked, stuff=stuff, air_volume=endless_air(blocked), start=start
    )
    return soak(grid, h, start, air, times)


def half_slab(
    thickness: float,
    cells: int,
    stuff: Material,
    *,
    h: float,
    start: float,
    air: float,
    times: FloatArray,
) -> Body:
    """Return a row of cells with air on the low side and nothing on the others."""
    edges = [
        np.concatenate([[-1.0], np.linspace(0.0, thickness, cells + 1)]),
        np.array([0.0, 1.0]),
        np.array([0.0, 1.0]),
    ]
    blocked = np.ones((cells + 1, 1, 1), dtype=bool)
    blocked[0] = False
    grid = make_grid(
        edges, blocked=blocked, stuff=stuff, air_volume=endless_air(blocked), start=start
    )
    return soak(grid, h, start, air, times)


def wall(
    construction: Construction,
    *,
    h: float,
    start: float,
    air: float,
    times: FloatArray,
    behind: float = np.nan,
    resistance: float = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Return depths [m] and temperatures (T, nodes) of one square metre of a wall column."""
    edges = [np.array([0.0, 1.0])] * 3
    grid = make_grid(
        edges,
        walls={Side.EAST: (construction, behind, resistance)},
        air_volume=np.full((1, 1, 1), ENDLESS),
        start=start,
    )
    body = soak(grid, h, start, air, times)
    layout = body.layout
    nodes = np.concatenate([layout.column_node, np.arange(layout.retained, layout.size)])
    mesh = wall_mesh(construction, faces_rooms_on_both_sides=False)
    return mesh.depth, body.states[:, nodes]
