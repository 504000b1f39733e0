"""Chains of skins: behind exposed faces, through touching parts, down to walls.

A blanket on a mattress, a mattress on its box spring, a drawer front before its load: what lies
between two cores is a row of nodes through the skins of both, eliminated like the layers of a wall.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.heat.chains import ChainBlock
from simulator.physics.heat.skins import Skins


@dataclass(frozen=True, slots=True)
class SkinChains:
    """All chains of skins, and where some of their nodes are, counted from the first of them."""

    blocks: tuple[ChainBlock, ...]
    inner: IntArray  # (F,) node next to the core behind each face; -1: not in a chain
    interface: IntArray  # (T,) node between the two parts of each touch

    @property
    def size(self) -> int:
        """Number of nodes in all chains."""
        return sum(block.capacity.size for block in self.blocks)


#: A block, and which of its nodes is which: for some faces or touches, the place in their chain.
_Made = tuple[ChainBlock, list[tuple[IntArray, IntArray, int]]]


def skin_chains(
    grid: Grid, all_skins: Skins, face_node: IntArray, solid_node: IntArray, column_node: IntArray
) -> SkinChains:
    """Return the chains behind exposed faces, on walls and between touching parts."""
    inner = np.full(all_skins.faces.solid.size, -1, dtype=np.int64)
    interface = np.full(all_skins.faces.touch.size, -1, dtype=np.int64)
    blocks, start = [], 0
    for block, places in (
        _exposed(all_skins, face_node, solid_node, inner),
        _on_walls(grid, all_skins, solid_node, column_node, inner),
        *_touches(all_skins, solid_node, inner, interface),
    ):
        first = start + block.capacity.shape[1] * np.arange(block.near.size)
        for target, index, step in places:
            target[index] = first + step
        start += block.capacity.size
        blocks.append(block)
    return SkinChains(tuple(blocks), inner, interface)


def _exposed(all_skins: Skins, face_node: IntArray, solid_node: IntArray, inner: IntArray) -> _Made:
    """Return the chains from the surface through both skins to the core."""
    faces = all_skins.faces
    thick = np.flatnonzero(all_skins.is_thick[: faces.row.size])
    block = ChainBlock(
        near=face_node[thick],
        far=solid_node[faces.solid[thick]],
        link=all_skins.link[thick],
        capacity=all_skins.capacity[thick, 1:],
    )
    return block, [(inner, thick, 1)]


def _on_walls(
    grid: Grid, all_skins: Skins, solid_node: IntArray, column_node: IntArray, inner: IntArray
) -> _Made:
    """Return the chains from the core through both skins to the surface of a wall."""
    faces = all_skins.faces
    face = np.arange(faces.solid.size)[faces.on_walls]
    is_thick = all_skins.is_thick[face]
    face, ground = face[is_thick], faces.ground[is_thick]
    surface, first, second = all_skins.capacity[face].T
    block = ChainBlock(
        near=solid_node[faces.solid[face]],
        far=column_node[grid.columns.contact_column[ground]],
        link=all_skins.link[face, ::-1],
        capacity=np.stack([second, first + surface], axis=1),
    )
    return block, [(inner, face, 0)]


def _touches(
    all_skins: Skins, solid_node: IntArray, inner: IntArray, interface: IntArray
) -> Iterator[_Made]:
    """Yield the chains from core to core, by which of the two parts are thick."""
    faces = all_skins.faces
    every = np.arange(faces.solid.size)
    low, high = every[faces.low_side], every[faces.high_side]
    for low_is_thick in (False, True):
        for high_is_thick in (False, True):
            touch = np.flatnonzero(
                (all_skins.is_thick[low] == low_is_thick)
                & (all_skins.is_thick[high] == high_is_thick)
            )
            one, two = low[touch], high[touch]
            to_one, way_to_one = _half(all_skins, one, low_is_thick)
            to_two, way_to_two = _half(all_skins, two, high_is_thick)
            between = all_skins.capacity[one, :1] + all_skins.capacity[two, :1]
            block = ChainBlock(
                near=solid_node[faces.solid[one]],
                far=solid_node[faces.solid[two]],
                link=np.concatenate([way_to_one[:, ::-1], way_to_two], axis=1),
                capacity=np.concatenate([to_one[:, ::-1], between, to_two], axis=1),
            )
            middle, last = to_one.shape[1], block.capacity.shape[1] - 1
            yield block, [(interface, touch, middle), (inner, one, 0), (inner, two, last)]


def _half(all_skins: Skins, face: IntArray, is_thick: bool) -> tuple[FloatArray, FloatArray]:
    """Return the capacities and links from the interface to the core behind some faces."""
    if is_thick:
        return all_skins.capacity[face, 1:], all_skins.link[face]
    return np.zeros((face.size, 0)), all_skins.link[face, 2:]
