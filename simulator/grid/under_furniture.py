"""The floor under furniture: which patches, and under which piece."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from simulator.case.case import Case
from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.cells import Labels
from simulator.grid.columns import WallRows
from simulator.grid.grid import FloatArray, IntArray, RefugeGroup
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock

#: Floor with furniture less than this above it lies under that furniture [m] (choice: the height
#: of a bed frame).
UNDER_HEIGHT = 0.4

#: A patch of floor lies under furniture that covers this share of it [-] (choice).
UNDER_SHARE = 0.5


def floor_under_furniture(
    case: Case, blocks: tuple[PartBlock, ...], rows: WallRows, lattice: Lattice, labels: Labels
) -> Iterator[tuple[RefugeGroup, IntArray]]:
    """Yield the floor rows under each piece; where two overlap, they lie under the higher one.

    What lies broad on the floor covers its own rows and no others.
    """
    cover = _covers(case, blocks, rows, lattice, labels)
    owner_of_part = np.array([*(part.owner for part in case.parts), ""], dtype=object)
    covering = owner_of_part[rows.covered_by]  # -1, nothing: the last
    is_floor = (rows.axis == 2) & (rows.sign < 0) & ~rows.is_window
    for room in range(labels.room_count):
        row = np.flatnonzero(is_floor & (rows.room == room))
        x, y, _ = np.unravel_index(rows.cell[row], lattice.shape)
        owners = _owners_in(room, cover, case, covering[row])
        if not owners:
            continue
        blank = np.zeros((2, *lattice.shape[:2]))
        fields = [cover.get((owner, room), (blank[0], blank[1])) for owner in owners]
        lies_on = np.stack([covering[row] == owner for owner in owners])
        shares = np.stack([field[0][x, y] for field in fields])
        heights = np.stack([field[1][x, y] for field in fields])
        heights = np.where(lies_on & (shares < UNDER_SHARE), 0.0, heights)
        shares = np.where(lies_on, np.maximum(shares, UNDER_SHARE), shares)
        heights = np.where(shares >= UNDER_SHARE, heights / np.maximum(shares, 1e-12), -1.0)
        highest = np.argmax(heights, axis=0)
        for number, owner in enumerate(owners):
            mine = row[(highest == number) & (heights[number] >= 0.0)]
            words = f"floor under the {case.furniture_words[owner]}"
            yield RefugeGroup(owner, words, labels.names[room]), mine


def _owners_in(
    room: int,
    cover: dict[tuple[str, int], tuple[FloatArray, FloatArray]],
    case: Case,
    covering: NDArray[np.object_],
) -> list[str]:
    """Return whose things stand over or lie on the floor of a room, in the order of the case."""
    here = {owner for owner, where in cover if where == room} | set(covering)
    return [owner for owner in case.furniture_words if owner in here]


def _covers(
    case: Case,
    blocks: tuple[PartBlock, ...],
    rows: WallRows,
    lattice: Lattice,
    labels: Labels,
) -> dict[tuple[str, int], tuple[FloatArray, FloatArray]]:
    """Return, by owner and room, the share of floor covered (nx, ny) and share times height.

    Without the parts that lie broad on the floor: they have rows of their own.
    """
    is_floor = (rows.axis == 2) & (rows.sign < 0)
    lying = set(rows.covered_by[is_floor].tolist())
    cover: dict[tuple[str, int], tuple[FloatArray, FloatArray]] = {}
    for block in blocks:
        if block.part in lying:
            continue
        part = case.parts[block.part]
        assert isinstance(part, SolidPart | PorousPart)
        room = room_of(block, labels)
        if part.owner not in case.furniture_words or room >= labels.room_count:
            continue
        bottom = float(block.box.low[2]) - float(lattice.edges[2][labels.blocks[room][2][0]])
        if bottom > UNDER_HEIGHT:
            continue
        area = lattice.face_areas(2)[..., 0][block.index[:2]]
        share = block.volume.sum(axis=2) / (float(block.box.high[2] - block.box.low[2]) * area)
        blank = np.zeros((2, *lattice.shape[:2]))
        total, height = cover.setdefault((part.owner, room), (blank[0], blank[1]))
        total[block.index[:2]] += share
        height[block.index[:2]] += share * max(bottom, 0.0)
    return cover


def room_of(block: PartBlock, labels: Labels) -> int:
    """Return the index of the room or doorway that holds most of a part."""
    room = labels.room[block.index]
    inside = room >= 0
    volume = np.bincount(room[inside], block.volume[inside], minlength=len(labels.names))
    return int(np.argmax(volume))
