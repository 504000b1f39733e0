"""The heat balance of a spot's surroundings alone, what lies about them imposed as it was in a run.

Unknowns: retained nodes of the surroundings (late air, surfaces, walls, cores), the nodes of the
chains that hang on these, and the mean temperatures of the patches that their surfaces lie in.
Imposed, from the record of a run of the whole dwelling: air that is not late or lies farther off,
what touches the surroundings from without, and what all other patches radiate.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from simulator.grid.grid import FloatArray, IntArray, Surfaces
from simulator.physics.convection.surface_sampling import SurfaceSampling
from simulator.physics.heat.chains import Chains
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.neutral_states import Surroundings
from simulator.physics.witness import EpochSeen
from simulator.studies.recorded_run import RecordedRun, stage_times, steps_of

#: Entries of a matrix: rows, columns, values.
Triples = tuple[IntArray, IntArray, FloatArray]


@dataclass(frozen=True, slots=True)
class LocalNodes:
    """Which nodes are unknown: m retained, c of chains, p patches, in this order."""

    retained: IntArray  # (m,) numbers in the layout, ascending
    chain: IntArray  # (c,) chain nodes, counted from the first of the layout
    patch: IntArray  # (p,)
    place_of_retained: IntArray  # for each retained node of the layout its place here, or -1
    place_of_chain: IntArray
    links: "LocalLinks"
    row: IntArray  # (r,) rows of Surfaces whose coefficients may be changed

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return self.retained.size + self.chain.size + self.patch.size

    def of(self, state: FloatArray, layout: NodeLayout) -> FloatArray:
        """Return the unknowns of a state of all nodes (n,) [°C]; patches at zero."""
        inner = state[layout.retained + self.chain]
        return np.concatenate([state[self.retained], inner, np.zeros(self.patch.size)])

    def places(self, node: IntArray, layout: NodeLayout) -> IntArray:
        """Return where nodes of the layout stand among the unknowns; -1: they do not."""
        is_chain = node >= layout.retained
        inner = self.place_of_chain[np.where(is_chain, node - layout.retained, 0)]
        outer = self.place_of_retained[np.where(is_chain, 0, node)]
        return np.where(is_chain, inner, outer)


@dataclass(frozen=True, slots=True)
class LocalLinks:
    """The links of the chains that hang on the surroundings (length L)."""

    index: IntArray  # in ``Chains.link``
    one: IntArray  # place of one end among the unknowns; -1: imposed
    two: IntArray  # of the other; -1: imposed, or the outer end of a wall
    one_node: IntArray  # retained node of an imposed end; -1: none, it stands at zero
    two_node: IntArray

    def triples(self, link: FloatArray) -> Triples:
        """Return the entries among the unknowns for the conductances of all links [W/K]."""
        g, one, two = link[self.index], self.one, self.two
        both = (one >= 0) & (two >= 0)
        first, second = one >= 0, two >= 0
        a, b, between = one[both], two[both], g[both]
        return (
            np.concatenate([one[first], two[second], a, b]),
            np.concatenate([one[first], two[second], b, a]),
            np.concatenate([g[first], g[second], -between, -between]),
        )

    def income(self, link: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
        """Return unknowns, imposed retained nodes and conductances between them [W/K]."""
        g = link[self.index]
        from_two = (self.one >= 0) & (self.two_node >= 0)
        from_one = (self.two >= 0) & (self.one_node >= 0)
        return (
            np.concatenate([self.one[from_two], self.two[from_one]]),
            np.concatenate([self.two_node[from_two], self.one_node[from_one]]),
            np.concatenate([g[from_two], g[from_one]]),
        )


def local_nodes(seen: EpochSeen, around: Surroundings) -> LocalNodes:
    """Return the unknowns of a spot's surroundings."""
    layout, surfaces, wave = seen.model.layout, seen.grid.surfaces, seen.model.long_wave
    column = np.concatenate([around.cold_column, around.inner_column])
    retained = np.unique(
        np.concatenate(
            [
                layout.air_node[around.pocket],
                layout.surface_node[around.surface],
                layout.column_node[column],
                layout.solid_node[around.solid],
            ]
        )
    )
    place = _places(retained, layout.retained, 0)
    chain, links = _links(layout.chains, layout.retained, place, retained.size)
    of_row = layout.surface_node[np.arange(surfaces.area.size)]
    radiates = np.isin(wave.node, retained)
    return LocalNodes(
        retained=retained,
        chain=chain,
        patch=np.unique(wave.patch[radiates]).astype(np.int64),
        place_of_retained=place,
        place_of_chain=_places(chain, layout.chains.capacity.size, retained.size),
        links=links,
        row=np.flatnonzero(place[of_row] >= 0),
    )


def _places(members: IntArray, size: int, first: int) -> IntArray:
    place = np.full(size, -1, dtype=np.int64)
    place[members] = first + np.arange(members.size)
    return place


def _links(
    chains: Chains, retained: int, place: IntArray, first: int
) -> tuple[IntArray, LocalLinks]:
    """Return the nodes of all chains with an end among the unknowns, and their links."""
    near = chains.near.astype(np.int64)
    far_place = np.where(chains.far >= 0, place[np.maximum(chains.far, 0)], -1)
    ours = np.flatnonzero((place[near] >= 0) | (far_place >= 0))
    count = np.diff(chains.start)[ours]
    offset = np.cumsum(count) - count
    node = np.arange(int(count.sum())) + np.repeat(chains.start[ours] - offset, count)
    links = count + 1
    start = np.cumsum(links) - links
    step = np.arange(int(links.sum())) - np.repeat(start, links)
    own = np.repeat(np.arange(ours.size), links)
    here = first + offset[own] + step  # of the chain node behind the link
    is_first, is_last = step == 0, step == count[own]
    near_end, far_end = near[ours][own], chains.far[ours][own]
    far_here = np.where(far_end >= 0, place[np.maximum(far_end, 0)], -1)
    return node, LocalLinks(
        index=chains.start[ours][own] + ours[own] + step,
        one=np.where(is_first, place[near_end], here - 1),
        two=np.where(is_last, far_here, here),
        one_node=np.where(is_first & (place[near_end] < 0), near_end, -1),
        two_node=np.where(is_last & (far_here < 0) & (far_end >= 0), far_end, -1),
    )


@dataclass(frozen=True, slots=True)
class Exchange:
    """The surfaces whose coefficients may be changed (length r), and the air before each."""

    surfaces: Surfaces
    sampling: SurfaceSampling  # only its columns by surface
    speed: FloatArray  # near each, as it is [m/s]
    base: FloatArray  # coefficients in the recorded run [W/(m² K)]
    scale: float
    surface: IntArray  # place among the unknowns
    air: IntArray  # place of the air among the unknowns; -1: imposed
    air_expected: FloatArray  # [°C]
    air_temperature: FloatArray  # (r, t) at the stages of the steps, where imposed [°C]


@dataclass(frozen=True, slots=True)
class LocalEpoch:
    """One epoch of the surroundings: M dx/dt = -K x + income, with K as in the recorded run."""

    steps: FloatArray  # ends of steps, the start first [s]
    is_anew: bool
    matrix: Triples  # K without the chains [W/K]
    income: FloatArray  # (unknowns, t) at the stages of the steps [W]
    exchange: Exchange


def local_epoch(
    run: RecordedRun, seen: EpochSeen, nodes: LocalNodes, *, chain_link: FloatArray
) -> LocalEpoch:
    """Return the balance of the surroundings in an epoch of a recorded run.

    Parameters
    ----------
    chain_link : of all chains [W/K]; only those count that join something imposed.
    """
    model, layout = seen.model, seen.model.layout
    steps = steps_of(seen)
    times = stage_times(steps)
    m, c = nodes.retained.size, nodes.chain.size
    inner, income = _retained(run, seen, nodes, times)
    full = np.zeros((nodes.size, times.size))
    full[:m] = income
    full[: m + c] += np.concatenate(
        [model.constant[nodes.retained], model.constant[layout.retained + nodes.chain]]
    )[:, None]
    into, node, g = nodes.links.income(chain_link)
    np.add.at(full, into, g[:, None] * run.at(times, node))
    radiated = _radiation(run, seen, nodes, times, full)
    return LocalEpoch(
        steps=steps,
        is_anew=seen.is_anew,
        matrix=_joined(inner, radiated),
        income=full,
        exchange=_exchange(run, seen, nodes, times),
    )


def _joined(*parts: Triples) -> Triples:
    row, column, value = (np.concatenate(piece) for piece in zip(*parts, strict=True))
    return row, column, value


def _retained(
    run: RecordedRun, seen: EpochSeen, nodes: LocalNodes, times: FloatArray
) -> tuple[Triples, FloatArray]:
    """Return the links among retained nodes, and what comes over those that lead out (m, t) [W]."""
    matrix, n = seen.model.matrix, seen.model.layout.retained
    whole = sparse.csr_array(
        (matrix.value, matrix.column.astype(np.int32), matrix.row_start.astype(np.int32)),
        shape=(n, n),
    )
    ours = sparse.coo_array(whole[nodes.retained])
    place = nodes.place_of_retained[ours.col]
    inside = place >= 0
    inner = (ours.row[inside].astype(np.int64), place[inside], ours.data[inside])
    outside = ~inside & (ours.data != 0.0)
    node, number = np.unique(ours.col[outside], return_inverse=True)
    out = sparse.coo_array(
        (ours.data[outside], (ours.row[outside], number)),
        shape=(nodes.retained.size, node.size),
    ).tocsr()
    return inner, -(out @ run.at(times, node.astype(np.int64)))


def _radiation(
    run: RecordedRun, seen: EpochSeen, nodes: LocalNodes, times: FloatArray, income: FloatArray
) -> Triples:
    """Return what unknown surfaces receive and how patches follow them; add what comes from afar.

    A patch's row says: its mean is the weighted sum of its surfaces.
    """
    wave = seen.model.long_wave
    first = nodes.retained.size + nodes.chain.size
    place = nodes.place_of_retained[wave.node]
    patch_place = _places(nodes.patch, wave.own.size, 0)
    node, patch = wave.node.astype(np.int64), wave.patch.astype(np.int64)
    means = sparse.csr_array(
        (wave.weight, (patch, np.arange(node.size))), shape=(wave.own.size, node.size)
    )
    surface = run.at(times, node)
    pairs = sparse.csr_array(
        (
            wave.conductance.astype(np.float64),
            wave.column.astype(np.int32),
            wave.row_start.astype(np.int32),
        ),
        shape=(wave.own.size, wave.own.size),
    )
    both = sparse.csr_array(pairs + pairs.T + sparse.diags_array(wave.own))
    exchange = both[nodes.patch]
    away = means @ surface
    away[nodes.patch] = 0.0
    received = exchange @ away  # (p, t)
    ours = np.flatnonzero(place >= 0)
    at_patch = patch_place[patch[ours]]
    income[place[ours]] += wave.weight[ours, None] * received[at_patch]
    others = np.flatnonzero((place < 0) & (patch_place[patch] >= 0))
    np.add.at(
        income, first + patch_place[patch[others]], wave.weight[others, None] * surface[others]
    )
    among = sparse.coo_array(exchange[:, nodes.patch])
    # each surface of a patch receives its share of all that the patch receives
    share = sparse.csr_array(
        (wave.weight[ours], (np.arange(ours.size), at_patch)), shape=(ours.size, nodes.patch.size)
    )
    got = sparse.coo_array(share @ among.tocsr())
    own = np.arange(nodes.patch.size)
    return (
        np.concatenate([place[ours][got.row], first + own, first + at_patch]),
        np.concatenate([first + got.col, first + own, place[ours]]),
        np.concatenate([-got.data, np.ones(own.size), -wave.weight[ours]]),
    )


def _exchange(run: RecordedRun, seen: EpochSeen, nodes: LocalNodes, times: FloatArray) -> Exchange:
    layout, row, sampling = seen.model.layout, nodes.row, seen.convection.sampling
    surfaces = seen.grid.surfaces
    air_node = layout.air_node[surfaces.air_cell[row]]
    air = nodes.place_of_retained[air_node]
    return Exchange(
        surfaces=Surfaces(*(getattr(surfaces, name)[row] for name in Surfaces.__slots__)),
        sampling=replace(
            sampling,
            weights=sparse.csr_array((0, 0)),
            row=row,
            half_cell=sampling.half_cell[row],
            gap=sampling.gap[row],
            impact=sampling.impact[row],
        ),
        speed=seen.near_speed[row],
        base=seen.coefficients[row],
        scale=seen.convection.scale,
        surface=nodes.place_of_retained[layout.surface_node[row]],
        air=air,
        air_expected=seen.expected[air_node],
        air_temperature=run.at(times, air_node),
    )
