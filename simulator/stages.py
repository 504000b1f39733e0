"""The stages of a run: between two changes everything stands still, and so does its grid.

Each stage has a grid of its own on the same cell planes. What the first grid numbers (hiding
places, probes, solids) is followed from stage to stage, so a history has one column for each.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.case.case import Case, Change
from simulator.case.parts import AirMover, AirOutlet, HeatedJet, PorousPart, SolidPart
from simulator.errors import CaseError
from simulator.furnished import Furnished
from simulator.grid.grid import BoolArray, FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.carry_over import HeatNodes, Stored, carry_over, heat_nodes
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.follow import Followed, follow, peaks_on_first
from simulator.physics.heat.nodes import NodeLayout, node_layout, start_state
from simulator.physics.heat.watch import Watch, watch


@dataclass(frozen=True, slots=True)
class Stage:
    """A part of the run in which nothing is changed, from ``start`` to ``end`` [s].

    ``followed`` is None as long as all things stand as on the first grid, and ``gone_at`` [s] says
    since when each hiding place of that grid is no longer in the dwelling (inf: it is).
    """

    case: Case
    grid: Grid
    layout: NodeLayout
    start: float
    end: float
    enters_at: float  # [°C]
    is_moved: bool  # air, things or openings differ from the stage before: the flow is another
    followed: Followed | None
    gone_at: FloatArray  # (R,) [s]
    probe: tuple[int, ...]  # of the stage's case for each of the first; -1: gone

    @property
    def is_gone(self) -> BoolArray:
        """Whether each hiding place of the first grid is gone (R,)."""
        return np.isfinite(self.gone_at)

    def watch(self) -> Watch:
        """Return what is watched, in the order of the first grid and case."""
        probes = self.case.probes
        seen = watch(self.grid, self.layout, [probes[max(index, 0)] for index in self.probe])
        if self.followed is None:
            return seen
        return replace(
            seen,
            refuge_node=self.followed.refuge_node,
            refuge_solid=self.followed.refuge_solid,
        )

    def noted(
        self, result: EpochResult, last: EpochResult | None, came: Stored, solids: int
    ) -> EpochResult:
        """Return the result of an epoch as it goes into the record.

        What is gone keeps its ``last`` temperature; peaks lie on the ``solids`` of the first grid;
        the ledger tells what ``came`` with things just before the epoch.
        """
        ledger = replace(
            result.ledger,
            stored_air=result.ledger.stored_air + came.air,
            stored_solids=result.ledger.stored_solids + came.solids,
            stored_envelope=result.ledger.stored_envelope + came.envelope,
            carried=result.ledger.carried + came.total,
        )
        peak = result.solid_peak
        if self.followed is not None:
            on_first = peaks_on_first(self.followed, peak.astype(np.float64), solids)
            peak = on_first.astype(np.float32)
        if last is None:
            return replace(result, ledger=ledger, solid_peak=peak)
        probe_gone = np.array([index < 0 for index in self.probe], dtype=np.bool_)
        return replace(
            result,
            ledger=ledger,
            solid_peak=peak,
            refuge_temperature=_held(
                result.refuge_temperature, self.is_gone, last.refuge_temperature
            ),
            probe_temperature=_held(result.probe_temperature, probe_gone, last.probe_temperature),
        )


def _held(now: NDArray[Any], is_gone: BoolArray, before: NDArray[Any]) -> NDArray[Any]:
    """Return rows (T, n) in which columns of what is gone keep their last value."""
    return np.where(is_gone, before[-1], now).astype(now.dtype)


def lay_stages(
    case: Case, cell_size: float, furnished: Furnished | None = None
) -> tuple[Stage, ...]:
    """Return the stages of a run, all of them on cells of about ``cell_size`` [m].

    The first is not laid again if the ``furnished`` dwelling is at hand.

    Raises
    ------
    CaseError
        If a change makes what cannot be laid into cells; the message names the change.
    """
    changes = _real_changes(case)
    ends = [*(change.time for change in changes), case.treatment.horizon]
    stages = [_first_stage(case, cell_size, ends[0], furnished)]
    first: HeatNodes | None = None
    for change, end in zip(changes, ends[1:], strict=True):
        stage = _next_stage(stages[-1], change, end, cell_size, case)
        if stage.layout is not stages[-1].layout:
            first = first or heat_nodes(stages[0].grid, stages[0].layout)
            stage = _followed(stage, first, stages[-1])
        stages.append(stage)
    return tuple(stages)


def _first_stage(case: Case, cell_size: float, end: float, furnished: Furnished | None) -> Stage:
    grid = furnished.grid(case) if furnished else voxelise(case, cell_size)
    return Stage(
        case=case,
        grid=grid,
        layout=furnished.layout if furnished else node_layout(grid),
        start=0.0,
        end=end,
        enters_at=case.dwelling.start_temperature,
        is_moved=False,
        followed=None,
        gone_at=np.full(grid.refuges.index.size, np.inf),
        probe=tuple(range(len(case.probes))),
    )


def _next_stage(before: Stage, change: Change, end: float, cell_size: float, first: Case) -> Stage:
    """Return a stage in which nothing is followed yet."""
    try:
        grid = voxelise(change.case, cell_size)
    except CaseError as error:
        raise CaseError(f"change '{change.words}': {error}") from None
    _check_same_cells(before.grid, grid, change.words)
    is_same = _same_things(before.case, change.case)
    start = first.dwelling.start_temperature
    return replace(
        before,
        case=change.case,
        grid=grid,
        layout=before.layout if is_same else node_layout(grid),
        start=change.time,
        end=end,
        enters_at=start if change.enters_at is None else change.enters_at,
        is_moved=_moved_air(before.case, change.case),
        probe=_probes(first, change.case),
    )


def _followed(stage: Stage, first: HeatNodes, before: Stage) -> Stage:
    found = follow(first, heat_nodes(stage.grid, stage.layout))
    gone_at = np.where(found.is_here, np.inf, stage.start)
    return replace(stage, followed=found, gone_at=np.minimum(before.gone_at, gone_at))


def starting_state(
    stage: Stage, before: Stage | None, state: FloatArray | None
) -> tuple[FloatArray, Stored]:
    """Return the temperatures with which a stage begins (n,) [°C], and what came with things."""
    if before is None or state is None:
        return start_state(stage.grid, stage.layout), Stored()
    if stage.layout is before.layout:
        return state, Stored()
    old, new = heat_nodes(before.grid, before.layout), heat_nodes(stage.grid, stage.layout)
    return carry_over(old, state, new, stage.enters_at)


def _real_changes(case: Case) -> list[Change]:
    """Return the changes that change anything that the physics knows."""
    real: list[Change] = []
    now = case
    for change in case.changes:
        if _physics(change.case) != _physics(now):
            real.append(change)
            now = change.case
    return real


def begins(case: Case) -> list[float]:
    """Return when something new begins [s]: a phase of the plan of the day, or a change."""
    phases = {phase.start for phase in case.treatment.plan}
    return sorted(phases | {change.time for change in _real_changes(case)})


def _physics(case: Case) -> tuple[object, ...]:
    return case.dwelling, case.parts, case.probes, case.treatment


def _things(case: Case) -> tuple[object, ...]:
    windows = tuple(replace(window, opening=0.0) for window in case.dwelling.windows)
    shell = replace(case.dwelling, windows=windows)
    return shell, tuple(part for part in case.parts if isinstance(part, SolidPart | PorousPart))


def _same_things(one: Case, other: Case) -> bool:
    """Return whether both cases have the same nodes: solids, walls and open cells."""
    return _things(one) == _things(other)


def _moved_air(one: Case, other: Case) -> bool:
    """Return whether the flow of air differs for another reason than temperatures."""
    movers: Sequence[tuple[object, ...]] = [
        tuple(part for part in case.parts if isinstance(part, AirMover | HeatedJet | AirOutlet))
        for case in (one, other)
    ]
    is_same = movers[0] == movers[1] and _open(one) == _open(other)
    return not (is_same and one.treatment.plan == other.treatment.plan and _same_things(one, other))


def _open(case: Case) -> tuple[float, ...]:
    return tuple(window.opening for window in case.dwelling.windows)


def _probes(first: Case, now: Case) -> tuple[int, ...]:
    names = [(probe.owner, probe.name) for probe in now.probes]
    return tuple(
        names.index((probe.owner, probe.name)) if (probe.owner, probe.name) in names else -1
        for probe in first.probes
    )


def _check_same_cells(one: Grid, other: Grid, words: str) -> None:
    edges = ("x_edges", "y_edges", "z_edges")
    if not all(np.array_equal(getattr(one, name), getattr(other, name)) for name in edges):
        raise CaseError(f"change '{words}': rooms and cell planes must stay for the whole run")
