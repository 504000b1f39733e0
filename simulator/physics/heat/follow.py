"""Follow hiding places and solids of the first grid to later ones: each its own point of stuff."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.case.dwelling import Construction
from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.body_frames import (
    BodyFrame,
    ShareIndex,
    body_frame,
    cells_at,
    match_parts,
    node_places,
    share_index,
)
from simulator.grid.grid import BoolArray, FloatArray, IntArray, RefugeKind
from simulator.physics.heat.carry_over import HeatNodes
from simulator.physics.heat.carry_walls import column_groups
from simulator.physics.heat.kept_faces import kept_faces

#: How far under its surface a hiding place on a surface is looked for, as a share of its part [-].
INSIDE = 1e-3


@dataclass(frozen=True, slots=True)
class Followed:
    """Where the hiding places (R) and solids (N) of the first grid are now (M solids)."""

    refuge_node: IntArray  # (R,) node that gives its temperature; 0 where it is gone
    refuge_solid: IntArray  # (R,) solid whose coldest point it is, or -1
    is_here: BoolArray  # (R,) False: its part, or its patch of wall, is gone
    solid_now: IntArray  # (N,) solid that holds its middle now; -1: gone
    solid_first: IntArray  # (M,) solid of the first grid that holds its middle; -1: brought in


def follow(first: HeatNodes, now: HeatNodes) -> Followed:
    """Return where everything of the first grid is in a later one."""
    forth, back = _Finder(first, now), _Finder(now, first)
    refuges = first.grid.refuges
    count = refuges.kind.size
    node, solid = np.full(count, -1, dtype=np.int64), np.full(count, -1, dtype=np.int64)
    forth.solids(np.flatnonzero(refuges.kind == RefugeKind.SOLID), node, solid)
    forth.surfaces(np.flatnonzero(refuges.kind == RefugeKind.SURFACE), node)
    forth.touches(np.flatnonzero(refuges.kind == RefugeKind.TOUCH), node)
    _kept(first, now, node)
    _walls(first, now, node)
    is_here = node >= 0
    return Followed(
        refuge_node=np.where(is_here, node, 0),
        refuge_solid=solid,
        is_here=is_here,
        solid_now=forth.nodes_of_solids(),
        solid_first=back.nodes_of_solids(),
    )


class _Finder:
    """Finds the solids and faces of one grid in another."""

    def __init__(self, one: HeatNodes, other: HeatNodes) -> None:
        self._one, self._other = one, other
        self._index: ShareIndex = share_index(other.grid)
        self._places, self._own_places = node_places(other.grid), node_places(one.grid)
        matched = match_parts(other.grid.parts, one.grid.parts)
        self._matched = matched  # part of the other grid for each part of the one
        self._face_of_slot = _largest_faces(other)

    def nodes_of_solids(self) -> IntArray:
        """Return the solid of the other grid that holds the middle of each solid of the one."""
        return self._nodes(self._one.grid.solids.part, self._own_places)

    def solids(self, refuge: IntArray, node: IntArray, solid: IntArray) -> None:
        """Find hiding places within solids."""
        refuges = self._one.grid.refuges
        part = self._one.grid.solids.part[refuges.index[refuge]]
        found = self._nodes(part, refuges.position[refuge])
        solid[refuge] = found
        here = found >= 0
        node[refuge[here]] = self._other.layout.solid_node[found[here]]

    def surfaces(self, refuge: IntArray, node: IntArray) -> None:
        """Find hiding places on surfaces."""
        grid = self._one.grid
        row = grid.refuges.index[refuge]
        surfaces = grid.surfaces
        self._on_side(refuge, surfaces.part[row], surfaces.axis[row], surfaces.sign[row], node)

    def touches(self, refuge: IntArray, node: IntArray) -> None:
        """Find hiding places between two things: they go with their owner's, or with what stays."""
        grid = self._one.grid
        row = grid.refuges.index[refuge]
        parts = grid.solids.part[grid.solids.pair.reshape(-1, 2)[row]].reshape(-1, 2)
        owners = [grid.refuges.groups[g].owner for g in grid.refuges.group[refuge].tolist()]
        second = np.array(
            [
                grid.parts[low].owner != owner and grid.parts[high].owner == owner
                for (low, high), owner in zip(parts.tolist(), owners, strict=True)
            ],
            dtype=np.bool_,
        )
        stays = (self._matched[parts] >= 0) if row.size else np.zeros((0, 2), dtype=np.bool_)
        second = np.where(stays[:, 0] == stays[:, 1], second, stays[:, 1])
        part = np.where(second, parts[:, 1], parts[:, 0])
        sign = np.where(second, -1, 1).astype(np.int8)
        self._on_side(refuge, part, grid.solids.pair_axis[row], sign, node)

    def _on_side(
        self,
        refuge: IntArray,
        part: IntArray,
        axis: NDArray[np.int8],
        sign: NDArray[np.int8],
        node: IntArray,
    ) -> None:
        """Find places on sides of things: the surface there now, or the solid if it has none."""
        layers = self._other.layers
        position = self._one.grid.refuges.position[refuge]
        found = self._nodes(part, position)
        here = np.flatnonzero(found >= 0)
        node[refuge[here]] = self._other.layout.solid_node[found[here]]
        for at in here[axis[here] >= 0].tolist():  # loose stuff has no sides
            one, other = self._frames(int(part[at]))
            own, side = _side_of(one, int(axis[at]), int(sign[at]))
            along, outward = other.outward(own, side)
            face = self._face_of_slot[6 * found[at] + 2 * along + (outward > 0)]
            if face >= 0:
                outermost = layers.node[face][layers.node[face] >= 0]
                if outermost.size:
                    node[refuge[at]] = outermost[0]

    def _nodes(self, part: IntArray, position: FloatArray) -> IntArray:
        """Return the solids of the other grid at points of parts of the one; -1: part is gone."""
        found = np.full(part.size, -1, dtype=np.int64)
        for index in np.unique(part).tolist():
            other = int(self._matched[index])
            if other < 0:
                continue
            here = np.flatnonzero(part == index)
            one_frame, other_frame = self._frames(index)
            own = np.clip(one_frame.to_own(position[here]), INSIDE - 1.0, 1.0 - INSIDE)
            places = other_frame.to_world(own)
            node = self._index.node(other, cells_at(self._other.grid, places))
            ours = np.flatnonzero(self._other.grid.solids.part == other)
            for at in np.flatnonzero(node < 0).tolist() if ours.size else []:
                away = ((self._places[ours] - places[at]) ** 2).sum(axis=1)
                node[at] = ours[int(np.argmin(away))]
            found[here] = node
        return found

    def _frames(self, part: int) -> tuple[BodyFrame, BodyFrame]:
        one = self._one.grid.parts[part]
        other = self._other.grid.parts[int(self._matched[part])]
        assert isinstance(one, SolidPart | PorousPart) and isinstance(other, SolidPart | PorousPart)
        return body_frame(one.box), body_frame(other.box)


def _kept(first: HeatNodes, now: HeatNodes, node: IntArray) -> None:
    """Set the places on faces that are as they were to the very nodes of these."""
    matched = match_parts(first.grid.parts, now.grid.parts)
    kept = kept_faces((first.grid, first.layers), (now.grid, now.layers), matched)
    faces, refuges = first.layers.faces, first.grid.refuges
    face_now = np.full(faces.solid.size, -1, dtype=np.int64)
    stays = np.flatnonzero(kept.face >= 0)
    face_now[kept.face[stays]] = stays
    sides = ((RefugeKind.SURFACE, faces.row, 0), (RefugeKind.TOUCH, faces.touch, faces.row.size))
    for kind, rows, start in sides:
        face_of = {int(row): start + number for number, row in enumerate(rows)}
        for refuge in np.flatnonzero(refuges.kind == kind).tolist():
            face = face_of.get(int(refuges.index[refuge]), -1)
            if face >= 0 and face_now[face] >= 0:
                node[refuge] = now.layers.node[face_now[face], 0]


def _side_of(frame: BodyFrame, axis: int, sign: int) -> tuple[int, int]:
    """Return the own axis and sign of the side of a thing that faces most along a grid axis."""
    facing = sign * np.round(frame.axes[axis], 9)
    own = int(np.argmax(np.abs(facing)))
    return own, 1 if facing[own] > 0.0 else -1


def _largest_faces(nodes: HeatNodes) -> IntArray:
    """Return the largest face of each slot, (6 N,); -1: none."""
    layers = nodes.layers
    order = np.argsort(layers.faces.area, kind="stable")
    face = np.full(6 * layers.core_node.size, -1, dtype=np.int64)
    face[layers.slot[order]] = order
    return face


def _walls(first: HeatNodes, now: HeatNodes, node: IntArray) -> None:
    """Find hiding places in walls: the same patch, the same part of it where it is divided."""
    refuges = first.grid.refuges
    numbers: dict[Construction, int] = {}
    here = column_groups(now.grid, numbers)
    place = {
        column: (key, number)
        for key, columns in column_groups(first.grid, numbers).items()
        for number, column in enumerate(columns)
    }
    kinds = (
        (RefugeKind.COLUMN, now.layout.column_node),
        (RefugeKind.CAVITY, now.layout.cavity_node),
    )
    for kind, nodes in kinds:
        for refuge in np.flatnonzero(refuges.kind == kind).tolist():
            key, number = place[int(refuges.index[refuge])]
            columns = here.get(key, [])
            if columns:
                node[refuge] = nodes[columns[min(number, len(columns) - 1)]]


def peaks_on_first(followed: Followed, peak: FloatArray, solids: int) -> FloatArray:
    """Return the peaks of later solids (M,) on those of the first grid (solids,) [°C].

    Each first solid takes the peak of what holds its middle now and of all whose middle it held, so
    that no peak is lost; -inf where its thing is gone.
    """
    on_first = np.full(solids, -np.inf)
    here = followed.solid_now >= 0
    on_first[here] = peak[followed.solid_now[here]]
    known = followed.solid_first >= 0
    np.maximum.at(on_first, followed.solid_first[known], peak[known])
    return on_first
