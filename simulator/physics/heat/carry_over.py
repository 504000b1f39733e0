"""Carry the heat of a dwelling from one grid to the next when something in it is changed.

What stays as it is keeps its temperatures to the bit. A thing that moves or turns takes its
temperatures along in its own coordinates, skins included: the heat of each thing is the same to
round-off and nothing gets warmer or colder than the thing was anywhere. What is brought in has one
given temperature; what is taken out takes its heat along. Air that comes where stuff was is as warm
as the air of its room.
"""

from dataclasses import dataclass

import numpy as np

from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.heat.carry_solids import carry_solids
from simulator.physics.heat.carry_walls import carry_walls
from simulator.physics.heat.nodes import NodeLayout, start_state, stored_heat
from simulator.physics.heat.skin_layers import SkinLayers, skin_layers


@dataclass(frozen=True, slots=True)
class HeatNodes:
    """A grid with the nodes of its heat balance."""

    grid: Grid
    layout: NodeLayout
    layers: SkinLayers


def heat_nodes(grid: Grid, layout: NodeLayout) -> HeatNodes:
    """Return a grid with its nodes and the skins among them."""
    return HeatNodes(grid, layout, skin_layers(grid, layout))


@dataclass(frozen=True, slots=True)
class Stored:
    """Heat that came in (positive) or went out with things and the air they displace [J]."""

    air: float = 0.0
    solids: float = 0.0
    envelope: float = 0.0

    @property
    def total(self) -> float:
        """The sum of all three [J]."""
        return self.air + self.solids + self.envelope


def carry_over(
    before: HeatNodes, state: FloatArray, after: HeatNodes, enters_at: float
) -> tuple[FloatArray, Stored]:
    """Return the temperatures of all nodes of the new grid (n,) [°C], and the heat that came in.

    Parameters
    ----------
    before, state : the grid until now and the temperatures of its nodes [°C].
    after : the grid from now on; its cell planes and rooms must be those of ``before``.
    enters_at : temperature of what is brought in [°C].
    """
    new = np.full(after.layout.size, np.nan)
    _carry_air(before, state, after, new)
    carry_walls(
        (before.grid, before.layout),
        state,
        (after.grid, after.layout),
        start_state(after.grid, after.layout),
        new,
    )
    carry_solids((before.grid, before.layers), state, (after.grid, after.layers), enters_at, new)
    if not np.isfinite(new).all():
        raise AssertionError("a node got no temperature when heat was carried over")
    one, other = stored_heat(before.layout, state), stored_heat(after.layout, new)
    return new, Stored(*(b - a for a, b in zip(one, other, strict=True)))


def heat_of_parts(nodes: HeatNodes, state: FloatArray) -> dict[tuple[str, str], float]:
    """Return the heat in each part, by owner and name, counted from 0 °C [J]."""
    heat = np.bincount(
        nodes.grid.solids.part, nodes.layers.heat(state), minlength=len(nodes.grid.parts)
    )
    held: dict[tuple[str, str], float] = {}
    for part, joules in zip(nodes.grid.parts, heat.tolist(), strict=True):
        if isinstance(part, SolidPart | PorousPart):
            key = (part.owner, part.name)
            held[key] = held.get(key, 0.0) + joules
    return held


def _carry_air(before: HeatNodes, state: FloatArray, after: HeatNodes, new: FloatArray) -> None:
    """Copy the air where there was air; elsewhere it is that of the room, or of the dwelling."""
    old_node = before.layout.air_node[after.layout.air_cell]
    was_air = old_node >= 0
    air = new[after.layout.air]
    air[was_air] = state[old_node[was_air]]
    if was_air.all():
        return
    names = after.grid.room_names
    room_before = before.grid.room.ravel()[before.layout.air_cell]
    weight = before.layout.capacity[before.layout.air]
    temperature = state[before.layout.air]
    everywhere = float(weight @ temperature / weight.sum())
    room_after = after.grid.room.ravel()[after.layout.air_cell]
    for room in np.unique(room_after[~was_air]):
        here = np.zeros(room_before.size, dtype=np.bool_)
        if names[room] in before.grid.room_names:
            here = room_before == before.grid.room_names.index(names[room])
        share = np.where(here, weight, 0.0)
        mean = float(share @ temperature / share.sum()) if here.any() else everywhere
        air[~was_air & (room_after == room)] = mean
