"""Chains inside the walls: from the room side of each column to what is behind it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.physics.heat.chains import ChainBlock, Chains
from simulator.physics.heat.wall_columns import WallMesh, wall_mesh

#: Least resistance between the outermost layer and what is behind it [m² K/W]: a held temperature.
LEAST_RESISTANCE = 1e-6


@dataclass(frozen=True, slots=True)
class EnvelopeEnds:
    """The outer ends of the wall columns, where heat leaves the dwelling (length W)."""

    node: IntArray
    conductance: FloatArray  # [W/K]
    temperature: FloatArray  # behind [°C]


WallBlock = tuple[ChainBlock, IntArray, WallMesh]


def wall_blocks(grid: Grid, column_node: IntArray) -> Iterator[WallBlock]:
    """Yield the chains of each construction with the columns they belong to and their mesh."""
    columns = grid.columns
    index = np.arange(columns.cell.size)
    is_partition = columns.partner >= 0
    for number, construction in enumerate(grid.constructions):
        ours = columns.construction == number
        plain = index[ours & ~is_partition]
        if plain.size:
            mesh = wall_mesh(construction, faces_rooms_on_both_sides=False)
            yield _plain_walls(grid, plain, mesh, column_node), plain, mesh
        shared = index[ours & is_partition & (index < columns.partner)]
        if shared.size:
            mesh = wall_mesh(construction, faces_rooms_on_both_sides=True)
            yield _partitions(grid, shared, mesh, column_node), shared, mesh


def _plain_walls(
    grid: Grid, columns: IntArray, mesh: WallMesh, column_node: IntArray
) -> ChainBlock:
    area = grid.columns.area[columns, None]
    resistance = np.maximum(grid.columns.resistance[columns, None], LEAST_RESISTANCE)
    is_adiabatic = np.isnan(grid.columns.temperature[columns, None])
    behind = np.where(is_adiabatic, 0.0, area / resistance)
    return ChainBlock(
        near=column_node[columns],
        far=np.full(columns.size, -1),
        link=np.concatenate([area * mesh.conductance, behind], axis=1),
        capacity=area * mesh.capacity[1:],
    )


def _partitions(grid: Grid, columns: IntArray, mesh: WallMesh, column_node: IntArray) -> ChainBlock:
    area = grid.columns.area[columns, None]
    return ChainBlock(
        near=column_node[columns],
        far=column_node[grid.columns.partner[columns]],
        link=area * mesh.conductance,
        capacity=area * mesh.capacity[1:-1],
    )


def column_capacity(grid: Grid, walls: list[WallBlock], column_node: IntArray) -> FloatArray:
    """Capacity of the room sides of the columns: the outer half of the first slice [J/K]."""
    capacity = np.zeros(column_node.size)
    for block, columns, mesh in walls:
        area = grid.columns.area[columns]
        capacity[columns] += area * mesh.capacity[0]
        if block.far[0] >= 0:
            capacity[grid.columns.partner[columns]] += area * mesh.capacity[-1]
    return capacity


def cavity_nodes(
    grid: Grid, walls: list[WallBlock], column_node: IntArray, first_chain_node: int
) -> IntArray:
    node = column_node.copy()
    first = first_chain_node
    for block, columns, mesh in walls:
        length = block.capacity.shape[1]
        start = first + length * np.arange(columns.size)
        node[columns] = start + mesh.first_interface - 1
        if block.far[0] >= 0:
            partner = grid.columns.partner[columns]
            node[partner] = start + mesh.last_interface - 1
            if mesh.first_interface > length:  # one layer only: behind it is the other room's side
                node[columns], node[partner] = column_node[partner], column_node[columns]
        first += length * columns.size
    return node


def envelope_ends(
    grid: Grid, walls: list[WallBlock], chains: Chains, first_chain_node: int
) -> EnvelopeEnds:
    columns = np.concatenate([np.zeros(0, np.int64), *(columns for _, columns, _ in walls)])
    wall_chains = slice(0, columns.size)
    is_end = (chains.far[wall_chains] < 0) & (chains.far_link[wall_chains] > 0.0)
    return EnvelopeEnds(
        node=first_chain_node + chains.last[wall_chains][is_end],
        conductance=chains.far_link[wall_chains][is_end],
        temperature=grid.columns.temperature[columns[is_end]],
    )
