"""Refuges: every place where the dose must be reached, in groups that a crew would name."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simulator.case.case import Case
from simulator.case.dwelling import Side, WallSocket
from simulator.case.parts import PorousPart, Refuge, SolidPart
from simulator.errors import CaseError
from simulator.grid.bodies import Bodies
from simulator.grid.cells import Labels
from simulator.grid.columns import WallRows
from simulator.grid.contacts import Pairs
from simulator.grid.grid import (
    FloatArray,
    IntArray,
    RefugeGroup,
    RefugeKind,
    Refuges,
    Surfaces,
)
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock
from simulator.grid.surfaces import wall_places
from simulator.grid.under_furniture import floor_under_furniture, room_of

#: A surface counts as this depth of refuge [m] (choice: a seam or a screw hole).
SURFACE_DEPTH = 0.01

#: Things that lie on less than this hide nothing there [m²] (choice: the head of a leg follows what
#: is around it).
LEAST_UNDERSIDE = 0.01

#: Volume of the box behind a wall socket [m³] (estimate: 75 x 75 x 50 mm).
SOCKET_VOLUME = 2.8e-4


def find_refuges(
    case: Case,
    blocks: tuple[PartBlock, ...],
    bodies: Bodies,
    pairs: Pairs,
    surfaces: tuple[Surfaces, FloatArray],
    rows: WallRows,
    lattice: Lattice,
    labels: Labels,
) -> Refuges:
    """Return the refuges in and between parts, under furniture, at baseboards, behind sockets."""
    found = _Finder()
    for block in blocks:
        _in_part(found, case, block, bodies, surfaces, lattice, labels)
    _between_parts(found, case, bodies, pairs, labels)
    places = wall_places(rows, lattice)
    for group, row in floor_under_furniture(case, blocks, rows, lattice, labels):
        volume = rows.area[row] * SURFACE_DEPTH
        found.add(group, RefugeKind.COLUMN, row, rows.cell[row], places[row], volume)
    _at_baseboards(found, rows, places, lattice, labels)
    for socket in case.dwelling.sockets:
        _behind_socket(found, socket, rows, places, labels)
    return found.refuges()


@dataclass(slots=True)
class _Finder:
    """Collects refuges and numbers their groups in the order of meeting them."""

    groups: dict[RefugeGroup, int] = field(default_factory=dict)
    rows: list[tuple[IntArray, ...]] = field(default_factory=list)
    places: list[FloatArray] = field(default_factory=list)
    volumes: list[FloatArray] = field(default_factory=list)

    def add(
        self,
        group: RefugeGroup,
        kind: RefugeKind,
        index: IntArray,
        cell: IntArray,
        place: FloatArray,
        volume: FloatArray,
    ) -> None:
        """Add refuges of one kind and group; nothing if there are none."""
        if index.size:
            number = self.groups.setdefault(group, len(self.groups))
            count = index.size
            self.rows.append((np.full(count, kind), index, cell, np.full(count, number)))
            self.places.append(place)
            self.volumes.append(volume)

    def refuges(self) -> Refuges:
        """Return all that was found."""
        table = [np.stack(row) for row in self.rows]
        kind, index, cell, group = np.concatenate([np.zeros((4, 0), np.int64), *table], axis=1)
        return Refuges(
            kind=kind.astype(np.int8),
            index=index,
            cell=cell,
            position=np.concatenate([np.zeros((0, 3)), *self.places]),
            volume=np.concatenate([np.zeros(0), *self.volumes]),
            group=group,
            groups=tuple(self.groups),
        )


def _in_part(
    found: _Finder,
    case: Case,
    block: PartBlock,
    bodies: Bodies,
    surfaces: tuple[Surfaces, FloatArray],
    lattice: Lattice,
    labels: Labels,
) -> None:
    part = case.parts[block.part]
    assert isinstance(part, SolidPart | PorousPart)
    if part.refuge is Refuge.NOWHERE:
        return
    room = labels.names[room_of(block, labels)]
    is_solid = isinstance(part, SolidPart)
    name = part.name.removesuffix(", inside")
    if part.refuge is Refuge.THROUGHOUT:
        node, place, volume = _inside(block, bodies, lattice)
        words = f"{name}, inside" if is_solid else name
        found.add(
            RefugeGroup(part.owner, words, room),
            RefugeKind.SOLID,
            node,
            bodies.cell[node],
            place,
            volume,
        )
    if is_solid or part.refuge is Refuge.SURFACE:
        table, places = surfaces
        row = np.flatnonzero(table.part == block.part)
        depth = np.minimum(table.depth[row], SURFACE_DEPTH)
        found.add(
            RefugeGroup(part.owner, f"{name}, surface", room),
            RefugeKind.SURFACE,
            row,
            table.air_cell[row],
            places[row],
            table.area[row] * depth,
        )


def _inside(
    block: PartBlock, bodies: Bodies, lattice: Lattice
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the solid nodes of a part, the middle of each (n, 3) [m] and its volume [m³]."""
    local = np.nonzero(block.volume > 0.0)
    index = [at + first for at, first in zip(local, block.block[:, 0], strict=True)]
    cell = np.ravel_multi_index(index, lattice.shape).astype(np.int64)
    own = bodies.node(np.full(cell.size, block.part, dtype=np.int64), cell)
    node, row = np.unique(own, return_inverse=True)
    volume = block.volume[local]
    total: FloatArray = np.asarray(np.bincount(row, volume), dtype=np.float64)
    middle = [np.bincount(row, volume * block.centroid[w][local]) / total for w in range(3)]
    return node, np.stack(middle, axis=1), total


def _between_parts(
    found: _Finder, case: Case, bodies: Bodies, pairs: Pairs, labels: Labels
) -> None:
    """Add the undersides of soft things where they lie on something, with a layer on either side.

    Under a blanket, under a mattress on its box spring, under the load of a drawer.
    """
    touch = np.flatnonzero((pairs.area > 0.0) & (pairs.axis == 2))
    parts = bodies.part[pairs.pair[touch]].reshape(-1, 2)
    for low, high in np.unique(parts, axis=0):
        one, two = case.parts[low], case.parts[high]
        assert isinstance(one, SolidPart | PorousPart)
        assert isinstance(two, SolidPart | PorousPart)
        name = two.name.split(",")[0]
        if two.refuge is not Refuge.THROUGHOUT or name == one.name.split(",")[0]:
            continue  # hard, or both made as one, as the layers of a box spring are
        row = touch[(parts == (low, high)).all(axis=1)]
        if pairs.area[row].sum() < LEAST_UNDERSIDE:
            continue
        cell = bodies.cell[pairs.pair[row, 1]]
        room = labels.names[int(labels.room.reshape(-1)[cell[0]])]
        group = RefugeGroup(two.owner, f"{name}, underside", room)
        volume = pairs.area[row] * SURFACE_DEPTH
        found.add(group, RefugeKind.TOUCH, row, cell, pairs.place[row], volume)


def _at_baseboards(
    found: _Finder, rows: WallRows, places: FloatArray, lattice: Lattice, labels: Labels
) -> None:
    layer = np.unravel_index(rows.cell, lattice.shape)[2]
    for room in range(labels.room_count):
        lowest = (rows.room == room) & (layer == labels.blocks[room][2][0]) & ~rows.is_window
        for side in _upright_sides():
            on_side = lowest & (rows.axis == side.axis) & (rows.sign == side.sign)
            for outside in (False, True):
                row = np.flatnonzero(on_side & (rows.is_outdoors == outside))
                kind_of_wall = "outside wall" if outside else "wall"
                words = f"baseboard, {side.name.lower()} {kind_of_wall}"
                name = labels.names[room]
                volume = rows.area[row] * SURFACE_DEPTH
                group = RefugeGroup(name, words, name)
                found.add(group, RefugeKind.COLUMN, row, rows.cell[row], places[row], volume)


def _upright_sides() -> Sequence[Side]:
    return [side for side in Side if side.axis != 2]


def _behind_socket(
    found: _Finder, socket: WallSocket, rows: WallRows, places: FloatArray, labels: Labels
) -> None:
    if socket.room not in labels.names[: labels.room_count]:
        raise CaseError(f"a wall socket is in room '{socket.room}', which is no room")
    room = labels.names.index(socket.room)
    on_side = (rows.axis == socket.side.axis) & (rows.sign == socket.side.sign)
    row = np.flatnonzero(on_side & (rows.room == room) & ~rows.is_window)
    position = np.array(socket.position)
    nearest = row[[int(np.argmin(np.sum((places[row] - position) ** 2, axis=1)))]]
    words = f"behind the wall socket, {socket.side.name.lower()} wall"
    found.add(
        RefugeGroup(socket.room, words, socket.room),
        RefugeKind.CAVITY,
        nearest,
        rows.cell[nearest],
        position[None, :],
        np.array([SOCKET_VOLUME]),
    )
