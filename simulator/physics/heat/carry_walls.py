"""Carry the temperatures of walls over: column by column, each with its layers."""

from collections.abc import Hashable

import numpy as np

from simulator.case.dwelling import Construction
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.heat.nodes import NodeLayout

Walls = tuple[Grid, NodeLayout]


def carry_walls(
    before: Walls, state: FloatArray, after: Walls, start: FloatArray, new: FloatArray
) -> None:
    """Write the temperatures of all wall nodes of the new grid into ``new``.

    A column with its construction at its place keeps its temperatures to the bit. Where a patch is
    divided otherwise, since what lies on it has moved, its columns get the mean of the old ones,
    layer by layer: the heat of the patch stays. New columns, as in a doorway that opens, get those
    of ``start``.
    """
    numbers: dict[Construction, int] = {}
    known = column_groups(before[0], numbers)
    chain_before, chain_after = _chains(before), _chains(after)
    for key, columns in column_groups(after[0], numbers).items():
        old = known.get(key, [])
        areas = [before[0].columns.area[c] for c in old]
        for number, column in enumerate(columns):
            nodes = _nodes(after[1], chain_after, column)
            if not old:
                new[nodes] = start[nodes]
            elif areas == [after[0].columns.area[c] for c in columns]:
                new[nodes] = state[_nodes(before[1], chain_before, old[number])]
            else:
                layers = [state[_nodes(before[1], chain_before, c)] for c in old]
                new[nodes] = np.average(layers, axis=0, weights=areas)


def column_groups(grid: Grid, numbers: dict[Construction, int]) -> dict[Hashable, list[int]]:
    """Return the columns of each patch: by cell, side, construction, and the room behind them.

    Columns of one patch are those of its parts that things cover and of the rest. ``numbers`` takes
    a number for each construction, the same for all grids that it is given with.
    """
    columns = grid.columns
    number = [numbers.setdefault(made, len(numbers)) for made in grid.constructions]
    groups: dict[Hashable, list[int]] = {}
    for index in range(columns.cell.size):
        partner = int(columns.partner[index])
        key = (
            int(columns.cell[index]),
            int(columns.axis[index]),
            int(columns.sign[index]),
            number[columns.construction[index]],
            int(columns.cell[partner]) if partner >= 0 else -1,
        )
        groups.setdefault(key, []).append(index)
    return groups


def _chains(walls: Walls) -> dict[int, tuple[int, int]]:
    """Return first and one past last node of the chain behind each column that has one."""
    layout = walls[1]
    chains = layout.chains
    column_of = {int(node): column for column, node in enumerate(layout.column_node)}
    found: dict[int, tuple[int, int]] = {}
    for chain in range(chains.near.size):
        first = layout.retained + int(chains.start[chain])
        column = column_of.get(int(chains.near[chain]))
        if column is not None and layout.is_envelope[first : first + 1].any():
            found[column] = (first, layout.retained + int(chains.start[chain + 1]))
    return found


def _nodes(layout: NodeLayout, chains: dict[int, tuple[int, int]], column: int) -> list[int]:
    first, end = chains.get(column, (0, 0))
    return [int(layout.column_node[column]), *range(first, end)]
