"""Which faces and cores of solids a change leaves as they are."""

from dataclasses import dataclass, replace

import numpy as np

from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.body_frames import share_index
from simulator.grid.grid import BoolArray, Grid, IntArray
from simulator.physics.heat.skin_layers import SkinLayers

Solid = tuple[Grid, SkinLayers]


@dataclass(frozen=True, slots=True)
class Kept:
    """What of the new grid is as before (N solids, F faces)."""

    old_node: IntArray  # (N,) the same solid before; -1: its thing has moved, changed or come
    face: IntArray  # (F,) the same face before, of the same skins; -1: none
    core: BoolArray  # (N,) all faces of the solid are kept, and none is gone


def kept_faces(before: Solid, after: Solid, matched: IntArray) -> Kept:
    """Return what stays; ``matched`` holds the index before of each part after, or -1."""
    old_node = _same_nodes(before[0], after[0], matched)
    there = np.arange(before[0].solids.cell.size)
    old_keys, keys = _keys(before, there), _keys(after, old_node)
    _, code = np.unique(np.concatenate([old_keys, keys]), axis=0, return_inverse=True)
    code = code.reshape(-1)
    of_code = np.full(code.size + 1, -1, dtype=np.int64)
    of_code[code[: len(old_keys)]] = np.arange(len(old_keys))
    face = of_code[code[len(old_keys) :]]
    known = np.maximum(face, 0)
    if len(old_keys):
        same_skins = (after[1].capacity == before[1].capacity[known]).all(axis=1)
        face = np.where((face >= 0) & same_skins, face, -1)
    count = old_node.size
    faces_now = np.bincount(after[1].faces.solid, minlength=count)
    faces_kept = np.bincount(after[1].faces.solid[face >= 0], minlength=count)
    faces_before = np.bincount(before[1].faces.solid, minlength=there.size)
    known_node = np.maximum(old_node, 0)
    core = (old_node >= 0) & (faces_now == faces_kept)
    if there.size:
        core &= faces_now == faces_before[known_node]
    return Kept(old_node, face, core)


def is_same(one: Part, other: Part) -> bool:
    """Return whether a thing is what it was and stands where it stood."""
    if isinstance(one, SolidPart | PorousPart) and type(one) is type(other):
        return replace(one, refuge=other.refuge) == other
    return False


def _same_nodes(before: Grid, after: Grid, matched: IntArray) -> IntArray:
    """Return the node before of each solid node of a thing that stays; else -1."""
    stays = np.array(
        [
            old >= 0 and is_same(before.parts[old], part)
            for old, part in zip(matched.tolist(), after.parts, strict=True)
        ],
        dtype=np.bool_,
    )
    node = np.full(after.solids.cell.size, -1, dtype=np.int64)
    shares = after.shares
    if shares.part.size:
        row = np.flatnonzero(stays[shares.part])
        old = share_index(before).node(matched[shares.part[row]], shares.cell[row])
        node[shares.solid[row]] = old
    return node


def _keys(side: Solid, old_node: IntArray) -> IntArray:
    """Return what tells a face from all others (F, 6), by nodes before; -2: has none.

    Solid, axis and sign; whether air, a thing or a wall is before it, and which; and a number among
    those alike.
    """
    grid, layers = side
    faces = layers.faces
    count = faces.solid.size
    other, kind = np.full(count, -1, dtype=np.int64), np.zeros(count, dtype=np.int64)
    other[: faces.row.size] = grid.surfaces.air_cell[faces.row]
    kind[faces.low_side] = kind[faces.high_side] = 1
    other[faces.low_side] = _or_none(old_node[faces.solid[faces.high_side]])
    other[faces.high_side] = _or_none(old_node[faces.solid[faces.low_side]])
    kind[faces.on_walls] = 2
    other[faces.on_walls] = grid.columns.cell[grid.columns.contact_column[faces.ground]]
    solid = _or_none(old_node[faces.solid])
    keys = np.stack([solid, faces.axis, faces.sign, kind, other], axis=1)
    keys[(keys[:, 0] == -2) | (keys[:, 4] == -2)] = -2
    keys = np.concatenate([keys, _rank(keys)[:, None]], axis=1)
    unknown = keys[:, 0] == -2
    keys[unknown, 1] = np.arange(int(unknown.sum()))  # equal to none
    return keys


def _or_none(node: IntArray) -> IntArray:
    return np.where(node >= 0, node, -2)


def _rank(keys: IntArray) -> IntArray:
    """Return the number of each row among those that are equal, in their order."""
    _, code = np.unique(keys, axis=0, return_inverse=True)
    code = code.reshape(-1)
    order = np.argsort(code, kind="stable")
    ordered = code[order]
    first = np.searchsorted(ordered, ordered, side="left")
    rank = np.empty(code.size, dtype=np.int64)
    rank[order] = np.arange(code.size) - first
    return rank
