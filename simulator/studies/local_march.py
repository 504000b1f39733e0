"""March the surroundings of a spot with the neutral states of any coalition of causes."""

from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.physics.convection.surface_coefficients import coefficients_at
from simulator.physics.heat.core_profiles import CoreProfiles
from simulator.physics.heat.skin_layers import SkinLayers
from simulator.physics.neutral_states import (
    Cause,
    Surroundings,
    cut_links,
    light_capacity,
    neutral_speed,
    opened,
)
from simulator.physics.witness import EpochSeen
from simulator.studies.local_model import (
    Exchange,
    LocalEpoch,
    LocalNodes,
    Triples,
    local_epoch,
    local_nodes,
)
from simulator.studies.recorded_run import GAMMA, RecordedRun, stage_times


@dataclass(frozen=True, slots=True)
class Reading:
    """What a hiding place reads: a node, or the coldest point of a solid."""

    node: int  # place among the unknowns
    profile: CoreProfiles | None
    floor: float  # a coldest point is never colder than the dwelling at the start [°C]

    def of(self, state: FloatArray) -> float:
        """Return its temperature [°C]."""
        mean = float(state[self.node])
        if self.profile is None:
            return mean
        drop = float(self.profile.drops(state)[0])
        return max(mean - drop, min(mean, self.floor))


@dataclass(frozen=True, slots=True)
class LocalHeat:
    """The surroundings of one hiding place, ready to be marched with any neutral states.

    Epochs and room temperatures stand twice: as the room's air was, and as it was held.
    """

    nodes: LocalNodes
    reading: Reading
    start: FloatArray  # (unknowns,) [°C]
    capacity: FloatArray  # (unknowns,) [J/K]; of patches none
    light: FloatArray  # the same with ``HEAT_STORE`` neutral
    links: Triples
    cut: Triples  # the same with ``COLD_BOUNDARY`` neutral
    is_near: BoolArray  # of the surfaces: in the surroundings
    is_shut: BoolArray  # they face a shut pocket
    unshaded: FloatArray  # [m/s]
    opened: IntArray  # places of what ``SHUT_IN`` opens to the room's air
    opened_flow: FloatArray  # [W/K]
    epochs: tuple[tuple[LocalEpoch, ...], tuple[LocalEpoch, ...]]
    room: tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]  # at the stages of steps [°C]

    def temperature(self, causes: Cause) -> tuple[FloatArray, FloatArray]:
        """Return times (T,) [s] and the temperature of the place then (T,) [°C]."""
        held = int(Cause.LATE_AIR in causes)
        state = before = self.start
        times, read = [self.epochs[held][0].steps[0]], [self.reading.of(state)]
        for epoch, room in zip(self.epochs[held], self.room[held], strict=True):
            expected = state if epoch.is_anew else state + 0.5 * (state - before)
            before = state
            march = self._marched(causes, epoch, room, expected, state)
            for time, now in zip(epoch.steps[1:].tolist(), march, strict=True):
                times.append(time)
                read.append(self.reading.of(now))
                state = now
        return np.array(times), np.array(read)

    def _marched(
        self,
        causes: Cause,
        epoch: LocalEpoch,
        room: FloatArray,
        expected: FloatArray,
        state: FloatArray,
    ) -> list[FloatArray]:
        """Return the unknowns at the end of every step (SDIRK2, as ``implicit_steps.py``)."""
        capacity = self.light if Cause.HEAT_STORE in causes else self.capacity
        matrix, income = self._balance(causes, epoch, room, expected)
        step = float(epoch.steps[1] - epoch.steps[0])
        storage = capacity / (GAMMA * step)
        shifted = sparse.csc_array(matrix + sparse.diags_array(storage))
        factors = splu(shifted)
        states = []
        for number in range(epoch.steps.size - 1):
            middle = factors.solve(storage * state + income[:, 2 * number])
            base = state + ((1.0 - GAMMA) / GAMMA) * (middle - state)
            state = factors.solve(storage * base + income[:, 2 * number + 1])
            states.append(state)
        return states

    def _balance(
        self, causes: Cause, epoch: LocalEpoch, room: FloatArray, expected: FloatArray
    ) -> tuple[sparse.csc_array, FloatArray]:
        """Return K and the income at the stages (unknowns, t) with the neutral states."""
        exchange = epoch.exchange
        change = self._coefficients(causes, exchange, expected) - exchange.base
        g = change * exchange.surfaces.area
        surface, air = exchange.surface, exchange.air
        inner, outer = air >= 0, air < 0
        income = epoch.income.copy()
        gained = g[outer, None] * exchange.air_temperature[outer]
        np.add.at(income, surface[outer], gained)
        s, a, between = surface[inner], air[inner], g[inner]
        parts = [
            epoch.matrix,
            self.cut if Cause.COLD_BOUNDARY in causes else self.links,
            (
                np.concatenate([surface, a, s, a]),
                np.concatenate([surface, a, a, s]),
                np.concatenate([g, between, -between, -between]),
            ),
        ]
        if Cause.SHUT_IN in causes:
            parts.append((self.opened, self.opened, self.opened_flow))
            np.add.at(income, self.opened, self.opened_flow[:, None] * room)
        row, column, value = (np.concatenate(piece) for piece in zip(*parts, strict=True))
        size = self.nodes.size
        return sparse.coo_array((value, (row, column)), shape=(size, size)).tocsc(), income

    def _coefficients(self, causes: Cause, exchange: Exchange, expected: FloatArray) -> FloatArray:
        """Return the coefficients of the unknown surfaces [W/(m² K)]."""
        near, sampling = self.is_near, exchange.sampling
        speed = exchange.speed.copy()
        speed[near] = neutral_speed(causes, speed[near], self.unshaded[near], self.is_shut[near])
        if Cause.SHUT_IN in causes:
            gap = np.where(near & self.is_shut, np.inf, sampling.gap)
            sampling = replace(sampling, gap=gap)
        air = np.where(exchange.air >= 0, expected[exchange.air], exchange.air_expected)
        return coefficients_at(
            exchange.surfaces,
            sampling,
            speed,
            air - expected[exchange.surface],
            scale=exchange.scale,
        )


@dataclass(frozen=True, slots=True)
class Whole:
    """What the spots of a dwelling share: its run as it was and with its air held, and the rest."""

    as_it_was: RecordedRun
    air_held: RecordedRun
    layers: SkinLayers
    unshaded: FloatArray  # (S,) [m/s]
    room_air: IntArray  # flat cells

    @property
    def first(self) -> EpochSeen:
        """The first epoch of the run as it was."""
        return self.as_it_was.epochs[0]

    def room_temperature(self, run: RecordedRun, times: FloatArray) -> FloatArray:
        """Return the mean of the room's air at some times [°C]."""
        layout = self.first.model.layout
        node = layout.air_node[self.room_air]
        share = layout.capacity[node] / layout.capacity[node].sum()
        mean: FloatArray = share @ run.at(times, node)
        return mean


def local_heat(whole: Whole, around: Surroundings, refuge: int) -> LocalHeat:
    """Return the surroundings of a hiding place, cut out of the runs of the whole dwelling."""
    seen = whole.first
    grid, layout = seen.grid, seen.model.layout
    nodes = local_nodes(seen, around)
    link = layout.chains.link
    runs = (whole.as_it_was, whole.air_held)
    epochs = tuple(
        tuple(local_epoch(run, one, nodes, chain_link=link) for one in run.epochs) for run in runs
    )
    room = tuple(
        tuple(whole.room_temperature(run, stage_times(epoch.steps)) for epoch in made)
        for run, made in zip(runs, epochs, strict=True)
    )
    node, flow = opened(layout, around)
    is_shut = np.zeros(grid.surfaces.area.size, dtype=np.bool_)
    is_shut[around.surface] = around.is_shut
    light = light_capacity(grid, layout, whole.layers, around)
    return LocalHeat(
        nodes=nodes,
        reading=_reading(seen, nodes, refuge),
        start=nodes.of(seen.state, layout),
        capacity=nodes.of(layout.capacity, layout),
        light=nodes.of(light, layout),
        links=nodes.links.triples(link),
        cut=nodes.links.triples(cut_links(layout, around)),
        is_near=np.isin(nodes.row, around.surface),
        is_shut=is_shut[nodes.row],
        unshaded=whole.unshaded[nodes.row],
        opened=nodes.place_of_retained[node],
        opened_flow=flow,
        epochs=(epochs[0], epochs[1]),
        room=(room[0], room[1]),
    )


def _reading(seen: EpochSeen, nodes: LocalNodes, refuge: int) -> Reading:
    layout, watch = seen.model.layout, seen.watch
    node = int(nodes.places(watch.refuge_node[[refuge]], layout)[0])
    solid = int(watch.refuge_solid[refuge])
    if solid < 0:
        return Reading(node, None, watch.start_temperature)
    whole = layout.core_profiles
    ours = np.flatnonzero(whole.place // 6 == solid)
    touched = nodes.places(whole.node[ours], layout)
    known = touched >= 0
    return Reading(
        node=node,
        profile=CoreProfiles(
            node=touched[known],
            place=whole.place[ours][known] - 6 * solid,
            slope=whole.slope[ours][known],
            core_node=np.array([node]),
            width=whole.width[[solid]],
        ),
        floor=watch.start_temperature,
    )
