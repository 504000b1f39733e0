"""How many cells a case would need, and a guard against more than this program is made for."""

import math

from simulator.case.case import Case
from simulator.case.dwelling import Dwelling
from simulator.errors import CaseError

#: Most cells that a run may have (estimate: about 2 GiB of memory and hours of computing).
MOST_CELLS = 5_000_000

#: Smallest cell that is counted at all [m]; below, counting itself makes no sense.
SMALLEST_CELL = 1e-4


def count_cells(dwelling: Dwelling, cell_size: float) -> int:
    """Return the number of cells of the box around all rooms, walls between them included.

    Parameters
    ----------
    cell_size : nominal edge of a cell [m].
    """
    count = 1
    for axis in range(3):
        low = min(room.low[axis] for room in dwelling.rooms)
        high = max(room.high[axis] for room in dwelling.rooms)
        count *= max(1, math.ceil((high - low) / cell_size - 1e-9))
    return count


def check_size(case: Case, cell_size: float) -> None:
    """Refuse a cell size that is no length, or one that would make more than ``MOST_CELLS`` cells.

    Parameters
    ----------
    cell_size : nominal edge of a cell [m].

    Raises
    ------
    CaseError
        Says the count, the cap, and a cell size that would fit.
    """
    if not (math.isfinite(cell_size) and cell_size >= SMALLEST_CELL):
        raise CaseError(
            f"a cell of {cell_size:g} m is not possible; it must be at least {SMALLEST_CELL:g} m"
        )
    cells = count_cells(case.dwelling, cell_size)
    if cells > MOST_CELLS:
        fitting = _fitting_size(case.dwelling, cell_size)
        raise CaseError(
            f"a cell of {cell_size:g} m makes {cells:,} cells; at most {MOST_CELLS:,} are allowed;"
            f" a cell of {fitting:g} m fits"
        )


def _fitting_size(dwelling: Dwelling, cell_size: float) -> float:
    """Return the smallest cell size in whole centimetres that keeps the cap [m]."""
    centimetres = math.ceil(100 * cell_size)
    while count_cells(dwelling, centimetres / 100) > MOST_CELLS:
        centimetres += 1
    return centimetres / 100
