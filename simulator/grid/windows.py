"""Open windows on the grid: which cells outdoor air enters and room air leaves by."""

import numpy as np

from simulator.case.case import Case
from simulator.case.dwelling import Window
from simulator.errors import CaseError
from simulator.grid.cells import Labels
from simulator.grid.columns import LEAST_PATCH
from simulator.grid.grid import BoolArray, CellSet, FloatArray, GridWindow, IntArray
from simulator.grid.planes import Lattice
from simulator.grid.sides import find_patches


def place_windows(
    case: Case, main: BoolArray, lattice: Lattice, labels: Labels
) -> tuple[GridWindow, ...]:
    """Return the windows that are open, in the order of the case.

    ``main`` are the cells of the main connected space of each room.

    Raises
    ------
    CaseError
        If no air of the room reaches one.
    """
    return tuple(
        _place(window, main, lattice, labels)
        for window in case.dwelling.windows
        if window.opening > 0.0
    )


def _place(window: Window, main: BoolArray, lattice: Lattice, labels: Labels) -> GridWindow:
    room = labels.names.index(window.room)
    patches = find_patches(labels.blocks[room], window.side, lattice, labels)
    glazed = patches.overlap(window, lattice)
    ours = (glazed > LEAST_PATCH) & main.reshape(-1)[patches.cell]
    if not ours.any():
        raise CaseError(
            f"window '{window.name}' cannot be opened: no open air of room '{window.room}' reaches"
            " it; move what stands before it"
        )
    cell, area = patches.cell[ours], glazed[ours]
    height = lattice.centres[2][np.unravel_index(cell, lattice.shape)[2]]
    above = height - 0.5 * (window.low[2] + window.high[2])
    size = [high - low for low, high in zip(window.low, window.high, strict=True)]
    across = size[1 - window.side.axis]
    return GridWindow(
        room=room,
        area=window.opening * across * size[2],
        height=size[2],
        low=_half(cell, area, -above),
        high=_half(cell, area, above),
    )


def _half(cell: IntArray, area: FloatArray, beyond: FloatArray) -> CellSet:
    """Return the cells of one half: the speed grows as the root of the way from the middle.

    A window that is but one cell high lets air in and out through the same cells.
    """
    weight = area * np.sqrt(np.maximum(beyond, 0.0))
    if weight.sum() <= 0.0:
        weight = area
    used = weight > 0.0
    order = np.argsort(cell[used], kind="stable")
    return CellSet(cell[used][order], (weight[used] / weight.sum())[order])
