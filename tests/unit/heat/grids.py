"""Grids for tests of the heat balance, made straight from masks: whole cells, no part of a cell."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

from simulator.case.dwelling import Construction, Layer, Side
from simulator.case.materials import Material
from simulator.case.parts import Box, HeatedJet, HeatSource
from simulator.grid.grid import (
    CellSet,
    Columns,
    FloatArray,
    Grid,
    GridFan,
    GridJet,
    GridSource,
    PartShare,
    Refuges,
    Solids,
    Surfaces,
)
from simulator.physics.airflow.air_exchange import AirExchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.radiation.exchange import RadiationExchange, pairs_of

Wall = tuple[Construction, float, float]  # construction, temperature behind, resistance to it


def material(k: float, density: float, heat_capacity: float) -> Material:
    return Material("test stuff", k, density, heat_capacity, 0.9, None, "invented for tests")


def slab(k: float, density: float, heat_capacity: float, thickness: float) -> Construction:
    return Construction("test slab", (Layer(material(k, density, heat_capacity), thickness),))


def make_grid(
    edges: Sequence[FloatArray],
    *,
    blocked: np.ndarray | None = None,
    stuff: Material | None = None,
    walls: dict[Side, Wall] | None = None,
    jets: tuple[GridJet, ...] = (),
    fans: tuple[GridFan, ...] = (),
    sources: tuple[GridSource, ...] = (),
    air_volume: FloatArray | None = None,
    start: float = 20.0,
    outdoor: float = 5.0,
) -> Grid:
    """Return a box of cells; ``blocked`` ones are full of ``stuff``; other sides are shut."""
    shape = tuple(e.size - 1 for e in edges)
    nx, ny, nz = shape
    blocked = np.zeros(shape, dtype=bool) if blocked is None else blocked
    stuff = stuff or material(0.13, 500.0, 1600.0)
    width = [np.diff(e) for e in edges]
    volume = width[0][:, None, None] * width[1][:, None] * width[2]
    solids = _solids(blocked, width, volume, stuff)
    columns, column_rows = _columns(blocked, width, walls or {}, solids, stuff)
    surfaces = _surfaces(blocked, width, solids, column_rows)
    none = np.zeros(0, dtype=np.int64)
    return Grid(
        x_edges=edges[0],
        y_edges=edges[1],
        z_edges=edges[2],
        cell_size=float(width[0][0]),
        is_open=~blocked,
        is_blocked=blocked,
        room=np.zeros(shape, dtype=np.int16),
        room_names=("room",),
        air_volume=np.where(blocked, 0.0, volume) if air_volume is None else air_volume,
        closed_x=np.zeros((nx + 1, ny, nz), dtype=bool),
        closed_y=np.zeros((nx, ny + 1, nz), dtype=bool),
        closed_z=np.zeros((nx, ny, nz + 1), dtype=bool),
        darcy=np.zeros(shape),
        forchheimer=np.zeros(shape),
        parts=(),
        shares=PartShare(none, none, np.zeros(0), none),
        solids=solids,
        surfaces=surfaces,
        columns=columns,
        constructions=tuple(wall[0] for wall in (walls or {}).values()),
        refuges=Refuges(
            kind=np.zeros(solids.cell.size, dtype=np.int8),
            index=np.arange(solids.cell.size),
            cell=solids.cell,
            position=np.zeros((solids.cell.size, 3)),
            volume=solids.volume,
            group=np.zeros(solids.cell.size, dtype=np.int64),
            groups=(),
        ),
        fans=fans,
        jets=jets,
        sources=sources,
        leaks=(),
        start_temperature=start,
        outdoor_temperature=outdoor,
    )


def _solids(
    blocked: np.ndarray, width: list[FloatArray], volume: FloatArray, stuff: Material
) -> Solids:
    cell = np.flatnonzero(blocked)
    number = np.full(blocked.shape, -1)
    number[blocked] = np.arange(cell.size)
    pairs, conductances = [np.zeros((0, 2), np.int64)], [np.zeros(0)]
    axes = [np.zeros(0, np.int8)]
    for axis in range(3):
        low, high = _shifted(number, axis)
        both = (low >= 0) & (high >= 0)
        area = _across(width, axis, blocked.shape)
        spacing = _along(width, axis, blocked.shape)
        half = 0.5 * sum(_shifted(spacing, axis))
        g = stuff.conductivity * _shifted(area, axis)[0] / half
        pairs.append(np.stack([low[both], high[both]], axis=1))
        conductances.append(g[both])
        axes.append(np.full(int(both.sum()), axis, np.int8))
    solid_volume = volume.ravel()[cell]
    mass = stuff.density * solid_volume
    return Solids(
        cell=cell,
        part=np.full(cell.size, -1),
        volume=solid_volume,
        extent=solid_volume,
        mass=mass,
        heat_capacity=stuff.heat_capacity * mass,
        conductivity=np.full(cell.size, stuff.conductivity),
        span=np.stack([_along(width, axis, blocked.shape).ravel()[cell] for axis in range(3)], 1),
        pair=np.concatenate(pairs),
        pair_axis=np.concatenate(axes),
        pair_conductance=np.concatenate(conductances),
        pair_area=np.zeros(sum(g.size for g in conductances)),
        pair_depth=np.zeros((sum(g.size for g in conductances), 2)),
    )


def _columns(
    blocked: np.ndarray,
    width: list[FloatArray],
    walls: dict[Side, Wall],
    solids: Solids,
    stuff: Material,
) -> tuple[Columns, list[tuple[int, int, int, int, float]]]:
    """Columns of every named side and, for those at open cells, their rows of Surfaces."""
    rows: list[tuple[int, int, int, int, float]] = []
    cells, axes, signs, areas, numbers, behind, resistances = ([] for _ in range(7))
    contacts: list[tuple[int, int, float]] = []
    for number, (side, (_, temperature, resistance)) in enumerate(walls.items()):
        area = _across(width, side.axis, blocked.shape)
        depth = _along(width, side.axis, blocked.shape)
        place = [slice(None)] * 3
        place[side.axis] = 0 if side.sign < 0 else -1
        flat = np.arange(blocked.size).reshape(blocked.shape)[tuple(place)].ravel()
        for cell in flat:
            column = len(cells)
            cells.append(cell)
            axes.append(side.axis)
            signs.append(side.sign)
            areas.append(area.ravel()[cell])
            numbers.append(number)
            behind.append(temperature)
            resistances.append(resistance)
            if blocked.ravel()[cell]:
                solid = int(np.searchsorted(solids.cell, cell))
                half = 0.5 * depth.ravel()[cell]
                contacts.append((column, solid, stuff.conductivity * areas[-1] / half))
            else:
                rows.append((cell, column, side.axis, -side.sign, areas[-1]))
    return Columns(
        cell=np.array(cells, dtype=np.int64),
        axis=np.array(axes, dtype=np.int8),
        sign=np.array(signs, dtype=np.int8),
        area=np.array(areas, dtype=np.float64),
        construction=np.array(numbers, dtype=np.int64),
        temperature=np.array(behind, dtype=np.float64),
        resistance=np.array(resistances, dtype=np.float64),
        partner=np.full(len(cells), -1),
        contact_column=np.array([c[0] for c in contacts], dtype=np.int64),
        contact_solid=np.array([c[1] for c in contacts], dtype=np.int64),
        contact_conductance=np.array([c[2] for c in contacts], dtype=np.float64),
        contact_area=np.zeros(len(contacts)),
        contact_depth=np.zeros(len(contacts)),
    ), rows


def _surfaces(
    blocked: np.ndarray,
    width: list[FloatArray],
    solids: Solids,
    column_rows: list[tuple[int, int, int, int, float]],
) -> Surfaces:
    rows = [
        (cell, -1, column, axis, sign, area, 0.0) for cell, column, axis, sign, area in column_rows
    ]
    flat = np.arange(blocked.size).reshape(blocked.shape)
    for axis in range(3):
        area, depth = _across(width, axis, blocked.shape), _along(width, axis, blocked.shape)
        low, high = _shifted(flat, axis)
        for a, b in zip(low.ravel(), high.ravel(), strict=True):
            for own, other, sign in ((a, b, 1), (b, a, -1)):
                if blocked.ravel()[own] and not blocked.ravel()[other]:
                    solid = int(np.searchsorted(solids.cell, own))
                    rows.append(
                        (other, solid, -1, axis, sign, area.ravel()[own], depth.ravel()[own])
                    )
    table = np.array(rows, dtype=np.float64).reshape(-1, 7)
    count = len(rows)
    return Surfaces(
        air_cell=table[:, 0].astype(np.int64),
        solid=table[:, 1].astype(np.int64),
        column=table[:, 2].astype(np.int64),
        area=table[:, 5],
        axis=table[:, 3].astype(np.int8),
        sign=table[:, 4].astype(np.int8),
        depth=table[:, 6],
        emissivity=np.full(count, 0.9),
        length=np.ones(count),
        part=np.full(count, -1),
    )


def _shifted(field: np.ndarray, axis: int) -> tuple[np.ndarray, np.ndarray]:
    moved = np.moveaxis(field, axis, 0)
    return np.moveaxis(moved[:-1], 0, axis), np.moveaxis(moved[1:], 0, axis)


def _along(width: list[FloatArray], axis: int, shape: tuple[int, ...]) -> FloatArray:
    others = [a for a in range(3) if a != axis]
    return np.broadcast_to(np.expand_dims(width[axis], others), shape)


def _across(width: list[FloatArray], axis: int, shape: tuple[int, ...]) -> FloatArray:
    first, second = (a for a in range(3) if a != axis)
    return _along(width, first, shape) * _along(width, second, shape)


def still_air(grid: Grid, mixing: float = 0.0) -> Airflow:
    """Return no motion, with a uniform eddy viscosity [m²/s]."""
    nx, ny, nz = grid.shape
    return Airflow(
        x_velocity=np.zeros((nx + 1, ny, nz)),
        y_velocity=np.zeros((nx, ny + 1, nz)),
        z_velocity=np.zeros((nx, ny, nz + 1)),
        speed=np.zeros(grid.shape),
        eddy_viscosity=np.full(grid.shape, mixing),
        cell_source=np.zeros(grid.is_open.size),
        divergence=0.0,
        near_surface_speed=0.0,
        scatter=0.0,
        pointwise_scatter=0.0,
        flow_time=0.0,
    )


def stirred_air(
    grid: Grid, flux: float, seed: int, *, mixing: float = 1e-3, exchange: AirExchange | None = None
) -> Airflow:
    """Return invented eddies, free of divergence to round-off, that no closed face lets through.

    ``flux`` [m³/s] scales the eddies: the discrete curl of random edge potentials. With
    ``exchange`` a potential flow carries its sources to its sinks.
    """
    chance = np.random.default_rng(seed)
    fluxes = _curl(grid, flux, chance)
    if exchange is not None:
        for total, added in zip(fluxes, _potential_flow(grid, exchange.cell_source), strict=True):
            total += added
    width = [np.diff(edges) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)]
    still = still_air(grid, mixing)
    velocity = []
    for axis in range(3):
        area = _across(width, axis, grid.shape)
        padded = np.concatenate([area, np.take(area, [-1], axis=axis)], axis=axis)
        velocity.append(fluxes[axis] / padded)
    return replace(still, x_velocity=velocity[0], y_velocity=velocity[1], z_velocity=velocity[2])


def _curl(grid: Grid, flux: float, chance: np.random.Generator) -> list[FloatArray]:
    """Fluxes through the faces [m³/s] from potentials on edges that touch open cells only."""
    padded = np.pad(grid.is_open, 1)
    potential = []
    for axis in range(3):
        kept = [a for a in range(3) if a != axis]
        around = np.take(padded, range(1, padded.shape[axis] - 1), axis=axis)
        for a in kept:
            low, high = _shifted(around, a)
            around = low & high
        potential.append(flux * chance.standard_normal(around.shape) * around)
    px, py, pz = potential
    return [
        np.diff(pz, axis=1) - np.diff(py, axis=2),
        np.diff(px, axis=2) - np.diff(pz, axis=0),
        np.diff(py, axis=0) - np.diff(px, axis=1),
    ]


def _potential_flow(grid: Grid, source: FloatArray) -> list[FloatArray]:
    """Fluxes through the faces between open cells that carry the sources to the sinks [m³/s]."""
    number = np.full(grid.shape, -1)
    number[grid.is_open] = np.arange(int(grid.is_open.sum()))
    pairs = [_shifted(number, axis) for axis in range(3)]
    low = np.concatenate([a[(a >= 0) & (b >= 0)] for a, b in pairs])
    high = np.concatenate([b[(a >= 0) & (b >= 0)] for a, b in pairs])
    cells, faces = int(number.max()) + 1, low.size
    gradient = sparse.csr_array(
        (
            np.r_[np.ones(faces), -np.ones(faces)],
            (np.r_[range(faces), range(faces)], np.r_[low, high]),
        ),
        shape=(faces, cells),
    )
    laplacian = (gradient.T @ gradient).tolil()
    laplacian[0, 0] += 1.0
    flow = gradient @ spsolve(laplacian.tocsc(), source.reshape(grid.shape)[grid.is_open])
    fluxes, first = [], 0
    for axis, (a, b) in enumerate(pairs):
        is_face = (a >= 0) & (b >= 0)
        inner = np.zeros(is_face.shape)
        inner[is_face] = flow[first : first + int(is_face.sum())]
        first += int(is_face.sum())
        ends = [(1, 1) if other == axis else (0, 0) for other in range(3)]
        fluxes.append(np.pad(inner, ends))
    return fluxes


def exchange_of(
    grid: Grid, *, leak: float = 0.0, inlet: int | None = None, outlet: int | None = None
) -> AirExchange:
    """Return the exchange of the grid's jets and of one leak from ``inlet`` to ``outlet`` [m³/s].

    Ducted air leaves through the same outlet.
    """
    inflow, outflow, source = (np.zeros(grid.is_open.size) for _ in range(3))
    if inlet is not None and outlet is not None:
        inflow[inlet] += leak
        outflow[outlet] += leak
    for jet in grid.jets:
        source[jet.outlet.cells] += jet.part.flow * jet.outlet.weights
        if jet.intake is not None:
            source[jet.intake.cells] -= jet.part.flow * jet.intake.weights
        else:
            outflow[outlet] += jet.part.flow
    return AirExchange(
        leak_inflow=inflow,
        leak_outflow=outflow,
        cell_source=source + inflow - outflow,
        outlets=tuple(jet.outlet for jet in grid.jets),
        intakes=tuple(jet.intake for jet in grid.jets),
    )


def heater(
    outlet: CellSet, intake: CellSet | None, *, power: float, flow: float, limit: float = 90.0
) -> GridJet:
    """Return a heated jet of invented make."""
    box = None if intake is None else Box((0.0, 0.0, 0.0), (0.1, 0.1, 0.1))
    part = HeatedJet(
        "heater", "outlet", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.3, flow, power, limit, box
    )
    return GridJet(part, outlet, intake)


def source(where: CellSet, power: float) -> GridSource:
    """Return an appliance that gives off ``power`` [W]."""
    box = Box((0.0, 0.0, 0.0), (0.1, 0.1, 0.1))
    return GridSource(HeatSource("appliance", "case", box, power), where)


def black_box(grid: Grid, patches: int) -> RadiationExchange:
    """Return an invented, symmetric exchange between surfaces dealt out to patches in turn."""
    row = np.arange(grid.surfaces.area.size)
    patch = row % patches
    area = np.bincount(patch, weights=grid.surfaces.area, minlength=patches)
    strength = 0.8 * area
    exchange = np.outer(strength, strength) / strength.sum()
    np.fill_diagonal(exchange, 0.0)
    areas = sparse.csr_array(exchange)
    return RadiationExchange(patch, area, areas, pairs_of(areas), 0.0)


def cells(*flat: int) -> CellSet:
    """Return some cells with equal weights."""
    return CellSet(np.array(flat), np.full(len(flat), 1.0 / len(flat)))
