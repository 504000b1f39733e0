"""Grids that hold air only, cell by cell, for tests of the airflow: no case and no furniture."""

from collections.abc import Sequence

import numpy as np

from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, Vector
from simulator.grid.grid import (
    BoolArray,
    CellSet,
    Columns,
    FloatArray,
    Grid,
    GridExhaust,
    GridFan,
    GridJet,
    Leak,
    PartShare,
    Refuges,
    Solids,
    Surfaces,
)

NO_INTEGERS = np.zeros(0, dtype=np.int64)
NO_SIGNS = np.zeros(0, dtype=np.int8)
NO_NUMBERS = np.zeros(0)


def air_room(
    shape: tuple[int, int, int] = (10, 8, 6),
    cell: float = 0.1,
    *,
    edges: tuple[FloatArray, FloatArray, FloatArray] | None = None,
    blocked: BoolArray | None = None,
    closed_x: BoolArray | None = None,
    darcy: FloatArray | None = None,
    forchheimer: FloatArray | None = None,
    fans: Sequence[AirMover] = (),
    jets: Sequence[GridJet] = (),
    leaks: Sequence[Leak] = (),
    exhausts: Sequence[GridExhaust] = (),
) -> Grid:
    """Return a box of cells (cubes of ``cell`` [m], or between ``edges``), some of them blocked."""
    if edges is None:
        edges = tuple(np.arange(count + 1) * cell for count in shape)  # type: ignore[assignment]
    shape = tuple(edge.size - 1 for edge in edges)  # type: ignore[assignment,union-attr]
    nx, ny, nz = shape
    is_blocked = np.zeros(shape, dtype=np.bool_) if blocked is None else blocked
    return Grid(
        x_edges=edges[0],
        y_edges=edges[1],
        z_edges=edges[2],
        cell_size=cell,
        is_open=~is_blocked,
        is_blocked=is_blocked,
        room=np.zeros(shape, dtype=np.int16),
        room_names=("room",),
        air_volume=np.where(is_blocked, 0.0, cell**3),
        closed_x=np.zeros((nx + 1, ny, nz), dtype=np.bool_) if closed_x is None else closed_x,
        closed_y=np.zeros((nx, ny + 1, nz), dtype=np.bool_),
        closed_z=np.zeros((nx, ny, nz + 1), dtype=np.bool_),
        darcy=np.zeros(shape) if darcy is None else darcy,
        forchheimer=np.zeros(shape) if forchheimer is None else forchheimer,
        parts=(),
        shares=PartShare(NO_INTEGERS, NO_INTEGERS, NO_NUMBERS, NO_INTEGERS),
        solids=Solids(
            cell=NO_INTEGERS,
            part=NO_INTEGERS,
            volume=NO_NUMBERS,
            extent=NO_NUMBERS,
            mass=NO_NUMBERS,
            heat_capacity=NO_NUMBERS,
            conductivity=NO_NUMBERS,
            span=np.zeros((0, 3)),
            pair=np.zeros((0, 2), dtype=np.int64),
            pair_axis=NO_SIGNS,
            pair_conductance=NO_NUMBERS,
            pair_area=NO_NUMBERS,
            pair_depth=np.zeros((0, 2)),
        ),
        surfaces=Surfaces(
            air_cell=NO_INTEGERS,
            solid=NO_INTEGERS,
            column=NO_INTEGERS,
            area=NO_NUMBERS,
            axis=NO_SIGNS,
            sign=NO_SIGNS,
            depth=NO_NUMBERS,
            emissivity=NO_NUMBERS,
            length=NO_NUMBERS,
            part=NO_INTEGERS,
        ),
        columns=Columns(
            cell=NO_INTEGERS,
            axis=NO_SIGNS,
            sign=NO_SIGNS,
            area=NO_NUMBERS,
            construction=NO_INTEGERS,
            temperature=NO_NUMBERS,
            resistance=NO_NUMBERS,
            partner=NO_INTEGERS,
            contact_column=NO_INTEGERS,
            contact_solid=NO_INTEGERS,
            contact_conductance=NO_NUMBERS,
            contact_area=NO_NUMBERS,
            contact_depth=NO_NUMBERS,
        ),
        constructions=(),
        refuges=Refuges(
            kind=NO_SIGNS,
            index=NO_INTEGERS,
            cell=NO_INTEGERS,
            position=np.zeros((0, 3)),
            volume=NO_NUMBERS,
            group=NO_INTEGERS,
            groups=(),
        ),
        fans=tuple(GridFan(fan, cells_at(shape, (0, 0, 0))) for fan in fans),
        jets=tuple(jets),
        sources=(),
        leaks=tuple(leaks),
        start_temperature=20.0,
        outdoor_temperature=5.0,
        exhausts=tuple(exhausts),
    )


def fan(
    centre: Vector,
    direction: Vector,
    *,
    diameter: float = 0.5,
    flow: float = 1.2,
    owner: str = "fan",
) -> AirMover:
    """Return a fan of an invented make."""
    return AirMover(owner, "fan", centre, direction, diameter, flow, power=200.0)


def cells_at(shape: tuple[int, int, int], *cells: tuple[int, int, int]) -> CellSet:
    """Return a set of cells [i, j, k] of equal weights."""
    flat = np.array([np.ravel_multi_index(cell, shape) for cell in cells], dtype=np.int64)
    return CellSet(flat, np.full(flat.size, 1.0 / flat.size))


def jet(
    outlet: CellSet,
    intake: CellSet | None,
    *,
    flow: float = 0.2,
    centre: Vector = (0.35, 0.35, 0.35),
    direction: Vector = (1.0, 0.0, 0.0),
    diameter: float = 0.2,
    owner: str = "heater",
) -> GridJet:
    """Return a heater's jet; without an intake it is ducted from outdoors."""
    box = None if intake is None else Box(centre, (0.1, 0.1, 0.1))
    part = HeatedJet(owner, "jet", centre, direction, diameter, flow, 5000.0, 80.0, box)
    return GridJet(part, outlet, intake)


def exhaust(cells: CellSet, area: float, owner: str = "exhaust") -> GridExhaust:
    """Return an opening through which displaced air leaves."""
    box = Box((0.0, 0.0, 0.0), (0.1, 0.1, 0.1))
    return GridExhaust(AirOutlet(owner, "exhaust", box, area), cells)


def leak(inlets: CellSet, outlets: CellSet, flow: float) -> Leak:
    """Return the leak of the only room."""
    return Leak("room", flow, inlets, outlets)


def furnished_room(cell: float, *, fans: Sequence[AirMover]) -> Grid:
    """Return an invented room of 5 x 4 x 2.4 m with five blocks in it."""
    shape = (round(5.0 / cell), round(4.0 / cell), round(2.4 / cell))
    blocked = np.zeros(shape, dtype=np.bool_)
    for low, high in (
        ((0.2, 1.0, 0.2), (2.2, 2.6, 0.6)),
        ((4.4, 0.4, 0.0), (5.0, 1.6, 1.0)),
        ((3.0, 3.2, 0.0), (4.8, 4.0, 0.4)),
        ((0.0, 3.2, 0.0), (0.6, 4.0, 2.0)),
        ((2.2, 0.2, 0.0), (2.8, 0.6, 0.4)),
    ):
        box = tuple(slice(round(a / cell), round(b / cell)) for a, b in zip(low, high, strict=True))
        blocked[box] = True
    return air_room(shape, cell, blocked=blocked, fans=fans)
