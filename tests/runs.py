"""Grids and histories set by hand: runs whose temperatures are known, to test what they mean."""

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.case.case import Case
from simulator.grid.grid import (
    Columns,
    FloatArray,
    Grid,
    PartShare,
    RefugeGroup,
    RefugeKind,
    Refuges,
    Solids,
    Surfaces,
)
from simulator.history import EnergyLedger, EpochRecord, History

#: A refuge: position [m], volume [m³], owner, words, room.
Spot = tuple[tuple[float, float, float], float, str, str, str]


def open_grid(case: Case, spots: Sequence[Spot], cell_size: float = 0.2) -> Grid:
    """Return a grid of open cells over the whole dwelling with refuges at given points.

    Every part of the case has one solid node, in the cell of its box's centre.
    """
    low = np.min([room.low for room in case.dwelling.rooms], axis=0)
    high = np.max([room.high for room in case.dwelling.rooms], axis=0)
    counts = [max(1, round(length / cell_size)) for length in high - low]
    edges = [np.linspace(low[a], high[a], counts[a] + 1) for a in range(3)]
    shape = tuple(counts)
    everywhere = np.ones(shape, dtype=bool)
    names = tuple(room.name for room in case.dwelling.rooms)
    boxes = [part for part in case.parts if hasattr(part, "box")]
    part_cells = np.array([flat_cell(edges, part.box.centre) for part in boxes], dtype=np.int64)
    kwargs: dict[str, Any] = {
        "x_edges": edges[0],
        "y_edges": edges[1],
        "z_edges": edges[2],
        "cell_size": cell_size,
        "is_open": everywhere,
        "is_blocked": ~everywhere,
        "room": np.zeros(shape, dtype=np.int16),
        "room_names": names,
        "air_volume": np.full(shape, float(np.prod([e[1] - e[0] for e in edges]))),
        "darcy": np.zeros(shape),
        "forchheimer": np.zeros(shape),
        "parts": case.parts,
        "shares": PartShare(
            part=np.array([case.parts.index(part) for part in boxes], dtype=np.int64),
            cell=part_cells,
            volume=np.array([part.box.volume for part in boxes]),
            solid=np.searchsorted(np.unique(part_cells), part_cells),
        ),
        "solids": empty(Solids, cell=np.unique(part_cells)),
        "surfaces": empty(Surfaces),
        "columns": empty(Columns),
        "constructions": (),
        "refuges": refuges_at(edges, spots),
        "fans": (),
        "jets": (),
        "sources": (),
        "leaks": (),
        "start_temperature": case.dwelling.start_temperature,
        "outdoor_temperature": case.dwelling.outdoor_temperature,
    }
    for field in dataclasses.fields(Grid):
        if field.name not in kwargs and field.default is dataclasses.MISSING:
            kwargs[field.name] = np.zeros(shape)
    return Grid(**kwargs)


def refuges_at(edges: Sequence[FloatArray], spots: Sequence[Spot]) -> Refuges:
    """Return refuges at points, those of one owner, words and room in one group."""
    groups = list(dict.fromkeys(spot[2:] for spot in spots))
    return Refuges(
        kind=np.full(len(spots), RefugeKind.SOLID, dtype=np.int8),
        index=np.arange(len(spots)),
        cell=np.array([flat_cell(edges, spot[0]) for spot in spots], dtype=np.int64),
        position=np.array([spot[0] for spot in spots], dtype=np.float64).reshape(-1, 3),
        volume=np.array([spot[1] for spot in spots], dtype=np.float64),
        group=np.array([groups.index(spot[2:]) for spot in spots], dtype=np.int64),
        groups=tuple(RefugeGroup(*group) for group in groups),
    )


def flat_cell(edges: Sequence[FloatArray], point: Sequence[float]) -> int:
    """Return the flat index of the cell that holds a point."""
    index = tuple(
        int(np.clip(np.searchsorted(planes, value, side="right") - 1, 0, planes.size - 2))
        for planes, value in zip(edges, point, strict=True)
    )
    return int(np.ravel_multi_index(index, tuple(planes.size - 1 for planes in edges)))


def empty(kind: type, **known: NDArray[Any]) -> Any:
    """Return a record of arrays of length zero, save for the known ones."""
    arrays: dict[str, Any] = {
        field.name: np.zeros(0, dtype=np.int64) for field in dataclasses.fields(kind)
    }
    return kind(**{**arrays, **known})


def hand_history(
    case: Case,
    grid: Grid,
    time: FloatArray,
    refuge_temperature: FloatArray,
    *,
    air_mean: FloatArray | None = None,
    frames: int = 2,
    **changes: Any,
) -> History:
    """Return a history with given refuge temperatures, shape (T, R) [°C]; the rest is plausible."""
    air = np.full(time.size, 60.0) if air_mean is None else air_mean
    ones = np.ones(time.size)
    shape = grid.shape
    frame_time = np.linspace(time[0], time[-1], frames)
    cells = np.arange(grid.is_open.size, dtype=np.float32).reshape(shape)
    history = History(
        time=time,
        refuge_temperature=refuge_temperature.astype(np.float32),
        probe_temperature=np.tile(air[:, None], (1, len(case.probes))),
        heater_power=1000.0 * ones[:, None],
        outlet_temperature=65.0 * ones[:, None],
        air_mean=air,
        air_minimum=air - 3.0,
        air_maximum=air + 4.0,
        solid_peak=np.full(grid.solids.cell.size, 52.0, dtype=np.float32),
        ledger=EnergyLedger(*(value * ones for value in (9e3, 1e3, 2e3, 1e3, 3e3, 2e3, 2e3))),
        epochs=(EpochRecord(0.0, 0.4, 0.06, 1e-11, True), EpochRecord(60.0, 0.4, 0.0, 0.0, False)),
        frame_time=frame_time,
        frame_temperature=np.stack([20.0 + 0.001 * cells + n for n in range(frames)]),
        speed=0.001 * cells,
        velocity=np.stack([0.001 * cells, -0.001 * cells, np.zeros_like(cells)]),
        is_complete=True,
    )
    return dataclasses.replace(history, **changes)
