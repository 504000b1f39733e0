"""Neutral states: what the surroundings of a cold spot are made to be, to see what it changes.

Each of six causes of a spot's lag has one neutral state. All but the last hold for the spot's
surroundings: the whole piece of furniture that its slowest point is in or on, everything else
within ``REACH`` of that point, the walls that these touch, and the late air (below) at their
surfaces. The rest of the dwelling stays as it is.

* ``AIR_SPEED``: the air would stream past its surfaces at ``BRISK`` at least, were nothing in the
  way. What things in the way leave of the speed (see ``SHADING``) they leave of this one too.
* ``HEAT_STORE``: no part, and no wall that loses no heat to the cold, stores more than the same
  stuff would if it were ``LIGHT`` thick: capacities times ``LIGHT`` over the least dimension.
* ``COLD_BOUNDARY``: walls, floors and windows with something of a temperature of its own behind
  them take no heat: their layers are cut off just under the surface, like a mirror's.
* ``SHADING``: the air streams past its surfaces as fast as in the dwelling emptied of all but its
  equipment, or faster if it already does.
* ``SHUT_IN``: late air is exchanged with the room's air until both are equally warm. Shut pockets
  are open: their surfaces feel the speed of the emptied dwelling. Loads packed between boards (a
  shut drawer's) give and take heat at those boards as if they met the room's air there, with
  ``BARE`` to their surface and half of their thickness behind it, beside what the boards do.
* ``LATE_AIR``: the room's air, in the whole dwelling, stands at one temperature from the start: the
  target, or the warmest mean that it reaches in the run if that is more.

*Late air* lags more than ``LATE`` behind the mean of all air, by the measure of
``studies/lag.py``; the rest is the room's air. Speed is split into what the equipment gives and
what things in the way leave of it, so that a still room and a screen are told apart: by a floor
under the speed itself each would count for half of the other.
"""

from dataclasses import dataclass, replace
from enum import IntFlag
from typing import Protocol

import numpy as np

from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.physics.convection.surface_sampling import SurfaceSampling
from simulator.physics.heat.air_terms import AddedAir, conductances_to_mean
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.skin_layers import SkinLayers, skin_layers

#: What lies nearer than this to a spot's slowest point is its surroundings [m] (choice: in a
#: treatment heat goes some 0.1 to 0.2 m into things, and a bed is about 0.5 m high).
REACH = 0.5

#: Brisk air [m/s] (choice: a fan some metres off; common practice, no source).
BRISK = 1.0

#: Slower air counts as still [m/s]: nothing can shade from it (choice: it drifts by itself).
STILL = 0.05

#: Thickness of light things [m] (choice: thin boards, cloth).
LIGHT = 0.01

#: Air that lags more than this behind the mean is late [s] (choice).
LATE = 300.0

#: Coefficient at the surface of a load that is bared [W/(m² K)] (estimate: gently stirred air).
BARE = 5.0

#: How fast held and exchanged air is replaced [1/s] (choice: faster than any flow through a cell,
#: so that it differs from what it is to be by a percent or two).
REPLACED = 10.0


class Cause(IntFlag):
    """The causes; a sum of them is a coalition whose neutral states hold together."""

    NONE = 0
    AIR_SPEED = 1
    HEAT_STORE = 2
    COLD_BOUNDARY = 4
    SHADING = 8
    SHUT_IN = 16
    LATE_AIR = 32


CAUSES = tuple(Cause)


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What lies about a point, as indices on one grid."""

    solid: IntArray  # solid nodes
    cold_column: IntArray  # wall columns with a temperature behind them
    inner_column: IntArray  # the others
    cavity: IntArray  # of ``cold_column``: what the point lies within, behind the first layer
    surface: IntArray  # rows of Surfaces of all of these
    is_shut: BoolArray  # for each of ``surface``: it faces a shut pocket
    pocket: IntArray  # flat cells of late air
    load: IntArray  # solid nodes of packed loads that meet boards
    load_flow: FloatArray  # to the air that they would meet instead [W/K]


#: Nothing is near: for what is done to the air of the whole dwelling.
_NONE = np.zeros(0, dtype=np.int64)
NOWHERE = Surroundings(
    *(_NONE, _NONE, _NONE, _NONE, _NONE),
    np.zeros(0, dtype=np.bool_),
    *(_NONE, _NONE, np.zeros(0)),
)


class Alteration(Protocol):
    """What is made other than it is, in three places of a run."""

    def layout(self, grid: Grid, layout: NodeLayout) -> NodeLayout:
        """Return the nodes as they are to be."""

    def sampling(self, sampling: SurfaceSampling) -> SurfaceSampling:
        """Return the sampling of the surfaces as it is to be."""

    def felt(self, speed: FloatArray) -> FloatArray:
        """Return the speed near each surface (S,) [m/s] as it is to be."""

    def added_air(self, layout: NodeLayout) -> AddedAir:
        """Return what is added to the air."""


@dataclass(frozen=True, slots=True)
class AsItIs:
    """Nothing is altered."""

    def layout(self, grid: Grid, layout: NodeLayout) -> NodeLayout:
        """Return the nodes."""
        return layout

    def sampling(self, sampling: SurfaceSampling) -> SurfaceSampling:
        """Return the sampling."""
        return sampling

    def felt(self, speed: FloatArray) -> FloatArray:
        """Return the speed."""
        return speed

    def added_air(self, layout: NodeLayout) -> AddedAir:
        """Return nothing."""
        return AddedAir()


@dataclass(frozen=True, slots=True)
class Neutral:
    """The neutral states of some causes.

    Attributes
    ----------
    causes : those whose states hold.
    around : what they hold for.
    unshaded : speed near each surface in the emptied dwelling (S,) [m/s].
    room_air : flat cells of the room's air.
    air_temperature : at which ``LATE_AIR`` holds it [°C].
    """

    causes: Cause
    around: Surroundings
    unshaded: FloatArray
    room_air: IntArray
    air_temperature: float

    def layout(self, grid: Grid, layout: NodeLayout) -> NodeLayout:
        """Return the nodes with less capacity, and with walls cut off."""
        if Cause.HEAT_STORE in self.causes:
            layout = _with_capacity(
                layout, light_capacity(grid, layout, skin_layers(grid, layout), self.around)
            )
        if Cause.COLD_BOUNDARY in self.causes:
            link = cut_links(layout, self.around)
            layout = replace(layout, chains=replace(layout.chains, link=link))
        return layout

    def sampling(self, sampling: SurfaceSampling) -> SurfaceSampling:
        """Return the sampling with shut pockets opened."""
        if Cause.SHUT_IN not in self.causes:
            return sampling
        gap = sampling.gap.copy()
        gap[self.around.surface[self.around.is_shut]] = np.inf
        return replace(sampling, gap=gap)

    def felt(self, speed: FloatArray) -> FloatArray:
        """Return the speeds with those of the surroundings as they are to be."""
        row = self.around.surface
        felt = speed.copy()
        felt[row] = neutral_speed(self.causes, speed[row], self.unshaded[row], self.around.is_shut)
        return felt

    def added_air(self, layout: NodeLayout) -> AddedAir:
        """Return the exchange of late air and the holding of the room's."""
        added = AddedAir()
        room = layout.air_node[self.room_air]
        if Cause.SHUT_IN in self.causes:
            node, flow = opened(layout, self.around)
            share = layout.capacity[room] / layout.capacity[room].sum()
            added = replace(added, exchange=conductances_to_mean(node, flow, room, share))
        if Cause.LATE_AIR in self.causes:
            added = replace(
                added,
                node=room,
                conductance=_replacing(layout, room),
                temperature=self.air_temperature,
            )
        return added


def neutral_speed(
    causes: Cause, speed: FloatArray, unshaded: FloatArray, is_shut: BoolArray
) -> FloatArray:
    """Return the speed near surfaces of the surroundings [m/s].

    Parameters
    ----------
    speed, unshaded : as it is, and in the emptied dwelling [m/s].
    is_shut : which surfaces face a shut pocket: only by being opened do they feel any of this.
    """
    stirred = np.maximum(unshaded, BRISK) if Cause.AIR_SPEED in causes else unshaded
    left = np.divide(speed, unshaded, out=np.ones_like(speed), where=unshaded >= STILL)
    in_room = speed
    if Cause.AIR_SPEED in causes:
        in_room = np.maximum(in_room, np.minimum(left, 1.0) * stirred)
    if Cause.SHADING in causes:
        in_room = np.maximum(in_room, stirred)
    in_pocket = np.maximum(speed, stirred) if Cause.SHUT_IN in causes else speed
    return np.where(is_shut, in_pocket, in_room)


def opened(layout: NodeLayout, around: Surroundings) -> tuple[IntArray, FloatArray]:
    """Return the nodes that exchange heat with the room's air once opened, and how much [W/K]."""
    pocket = layout.air_node[around.pocket]
    return (
        np.concatenate([pocket, layout.solid_node[around.load]]),
        np.concatenate([_replacing(layout, pocket), around.load_flow]),
    )


def light_capacity(
    grid: Grid, layout: NodeLayout, layers: SkinLayers, around: Surroundings
) -> FloatArray:
    """Return the capacity of all nodes with that of the surroundings made light (n,) [J/K]."""
    least = np.array(
        [
            min(part.box.size) if isinstance(part, SolidPart | PorousPart) else LIGHT
            for part in grid.parts
        ]
    )
    gone = np.zeros(grid.solids.cell.size)
    thickness = least[grid.solids.part[around.solid]]
    gone[around.solid] = 1.0 - np.minimum(1.0, LIGHT / thickness)
    capacity = layout.capacity.copy()
    taken = layers.capacity * gone[layers.faces.solid, None]
    np.subtract.at(capacity, layers.node[taken > 0.0], taken[taken > 0.0])
    capacity[layers.core_node] -= gone * layers.core_capacity
    walls = np.array(
        [sum(layer.thickness for layer in known.layers) for known in grid.constructions]
    )
    column = around.inner_column
    factor = np.minimum(1.0, LIGHT / walls[grid.columns.construction[column]])
    capacity[layout.column_node[column]] *= factor
    of_column = np.ones(grid.columns.cell.size)
    of_column[column] = factor
    capacity[layout.retained :] *= _on_chain_nodes(layout, of_column)
    return capacity


def cut_links(layout: NodeLayout, around: Surroundings) -> FloatArray:
    """Return the links of all chains with those cut that lead into the cold walls around.

    The wall that the point itself lies within is cut off behind it.
    """
    chains = layout.chains
    link = chains.link.copy()
    for column in around.cold_column.tolist():
        chain = _is_wall(layout) & (chains.near == layout.column_node[column])
        for number in np.flatnonzero(chain).tolist():
            first = int(chains.start[number])
            deep = int(layout.cavity_node[column]) - layout.retained - first + 1
            link[first + number + (deep if column in around.cavity else 0)] = 0.0
    return link


def _is_wall(layout: NodeLayout) -> BoolArray:
    """Return which chains lie in walls."""
    return layout.is_envelope[layout.retained + layout.chains.start[:-1]]


def _on_chain_nodes(layout: NodeLayout, of_column: FloatArray) -> FloatArray:
    """Return for each chain node the least factor of the columns that its wall belongs to [-]."""
    chains = layout.chains
    of_node = np.ones(layout.retained)
    of_node[layout.column_node] = of_column
    far = np.where(chains.far >= 0, of_node[np.maximum(chains.far, 0)], 1.0)
    factor = np.where(_is_wall(layout), np.minimum(of_node[chains.near], far), 1.0)
    return np.repeat(factor, np.diff(chains.start))


def _with_capacity(layout: NodeLayout, capacity: FloatArray) -> NodeLayout:
    inner = capacity[layout.retained :]
    return replace(layout, capacity=capacity, chains=replace(layout.chains, capacity=inner))


def _replacing(layout: NodeLayout, node: IntArray) -> FloatArray:
    """Return the heat-capacity flow that replaces the air of nodes [W/K]."""
    flow: FloatArray = REPLACED * layout.capacity[node]
    return flow
