"""ADVANCE: the run as a table of contents, from a case to its history.

A run is a few epochs. In each the flow, the convection coefficients and the linearised radiation
are frozen; between them they follow the temperatures. The flow is solved anew only where buoyancy
has changed enough to matter. What a crew changes during the run divides it into stages, each with a
grid of its own; the heat in all things is carried over.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from simulator.case.case import Case
from simulator.constants import AIR_EXPANSION, GRAVITY
from simulator.errors import Interrupted
from simulator.furnished import Furnished
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.switching import running, switched
from simulator.grid.voxelise import voxelise
from simulator.history import EpochRecord, History
from simulator.physics.airflow.air_exchange import AirExchange, air_exchange
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.grid_bias import near_surface_bias
from simulator.physics.airflow.open_windows import (
    window_flows,
    windows_have_changed,
    with_windows,
)
from simulator.physics.airflow.settings import FlowPlan
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.convection.jet_impact import impact_coefficients
from simulator.physics.convection.surface_coefficients import CorrelatedCoefficients
from simulator.physics.convection.surface_sampling import sample_surfaces
from simulator.physics.heat.advance import advance
from simulator.physics.heat.balance import build_heat_model
from simulator.physics.heat.carry_over import Stored
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.nodes import (
    NodeLayout,
    air_temperatures,
    node_layout,
    surface_temperatures,
)
from simulator.physics.heat.watch import Watch
from simulator.physics.radiation.exchange import RadiationExchange, radiation_exchange
from simulator.physics.witness import EpochSeen, Witness
from simulator.progress import (
    FLOW_STEP_COST,
    HEAT_COST,
    PREPARATION_COST,
    Progress,
    Reporter,
    WorkPlan,
)
from simulator.run_record import CheckpointStore, FlowRecord, RunRecord
from simulator.run_settings import ORDINARY, REFRESH_SHARE, RunSettings
from simulator.stages import Stage, begins, lay_stages, starting_state
from simulator.timetable import epochs, frame_times, output_times

#: The change in temperature that counts: it is exceeded in this share of the air (estimate: spares
#: the few cells of a heater's outlet, which are always far from the mean).
REFRESH_QUANTILE = 0.95

#: Memory of the program with its libraries (drawing included), and of a run for each unknown
#: [bytes]: measured on two shipped dwellings.
BASE_MEMORY = 850e6
MEMORY_PER_UNKNOWN = 820.0


@dataclass(frozen=True, slots=True)
class Run:
    """What ``simulate`` returns: the grid and the history on it."""

    grid: Grid
    history: History


def simulate(
    case: Case,
    cell_size: float,
    *,
    progress: Callable[[Progress], None] | None = None,
    checkpoint: CheckpointStore | None = None,
    resume: bool = False,
    settings: RunSettings = ORDINARY,
    furnished: Furnished | None = None,
    witness: Witness | None = None,
) -> Run:
    """Return the history of a case on cells of about ``cell_size`` [m].

    Parameters
    ----------
    case : what ``load`` returned.
    cell_size : nominal size of the cells [m], 0.05 to 0.20.
    progress : called about every 0.2 s; it may raise to stop the run.
    checkpoint : where to keep the state after every stage; None keeps nothing.
    resume : go on from the checkpoint, if it holds one of this case.
    settings : how flows are averaged, and factors on what is known by estimate only.
    furnished : the same dwelling laid before for other equipment; it changes no figure.
    witness : is shown the balance of every epoch, and its temperatures as they come.

    Raises
    ------
    Interrupted
        On KeyboardInterrupt; the message says where the checkpoint is.
    """
    kept = checkpoint.load() if checkpoint is not None and resume else None
    record = RunRecord.restored(*kept) if kept else RunRecord()
    try:
        course = _course(case, cell_size, Reporter(progress), settings, furnished)
        for number, spans in enumerate(course.spans):
            if len(record.results) >= spans[-1].number + 1:
                continue
            dwelling = _prepare(course, number, record)
            for span in spans:
                epoch = _Epoch(dwelling, span)
                if len(record.epochs) <= span.number:
                    record = record.with_flow(*epoch.flow(record))
                    _keep(checkpoint, record)
                if len(record.results) <= span.number:
                    record = record.with_epoch(epoch.march(record, witness))
                    _keep(checkpoint, record)
    except KeyboardInterrupt as stop:
        raise Interrupted(_stopped(checkpoint, record)) from stop
    gone_at = course.stages[-1].gone_at
    removed_at = gone_at if np.isfinite(gone_at).any() else None
    return Run(course.stages[0].grid, record.history(is_complete=True, removed_at=removed_at))


@dataclass(frozen=True, slots=True)
class _Span:
    """One epoch's place in the run."""

    number: int
    start: float  # [s]
    end: float
    is_first: bool  # of its stage
    is_anew: bool  # a stage or a phase of the plan of the day begins with it


@dataclass(frozen=True, slots=True)
class _Course:
    """What is known before the run: its stages, the epochs of each, the work they are."""

    stages: tuple[Stage, ...]
    spans: tuple[tuple[_Span, ...], ...]
    report: Reporter
    work: WorkPlan
    settings: RunSettings
    furnished: Furnished | None


def _course(
    case: Case,
    cell_size: float,
    report: Reporter,
    settings: RunSettings,
    furnished: Furnished | None,
) -> _Course:
    report("laying the dwelling into cells")
    stages = tuple(
        replace(stage, layout=settings.alteration.layout(stage.grid, stage.layout))
        for stage in lay_stages(case, cell_size, furnished)
    )
    changed = [stage.start for stage in stages]
    begun = begins(case)
    every = [
        _Span(number, start, end, start in changed, start in begun)
        for number, (start, end) in enumerate(
            epochs(case.treatment.horizon, begun, settings.epoch_ends)
        )
    ]
    spans = tuple(
        tuple(span for span in every if stage.start <= span.start < stage.end) for stage in stages
    )
    work = plan_work(case, stages[0].grid, stages[0].layout, cell_size, settings)
    return _Course(stages, spans, report, work, settings, furnished)


@dataclass(frozen=True, slots=True)
class _Dwelling:
    """What does not change during a stage; ``state`` [°C] is what it begins with."""

    stage: Stage
    state: FloatArray
    came: Stored
    first_number: int  # of its first epoch
    first_grid: Grid  # of the run: the watch follows its hiding places
    radiation: RadiationExchange
    convection: CorrelatedCoefficients
    watch: Watch
    horizon: float
    report: Reporter
    work: WorkPlan
    settings: RunSettings

    @property
    def grid(self) -> Grid:
        """The grid of the stage."""
        return self.stage.grid

    @property
    def layout(self) -> NodeLayout:
        """The nodes of the stage."""
        return self.stage.layout

    def grid_at(self, time: float, window_flow: FloatArray) -> Grid:
        """Return the grid from ``time`` [s] on, with standing still what the plan switches off.

        ``window_flow`` [m³/s] is what passes each open window.
        """
        phase = self.stage.case.treatment.phase_at(time)
        open_grid = with_windows(self.grid, window_flow)
        return switched(open_grid, fans_on=phase.fans_on, heater_fans_on=phase.heater_fans_on)

    def equipment_at(self, time: float, window_flow: FloatArray) -> "_Equipment":
        """Return how the equipment is run from ``time`` [s] on, as for ``grid_at``."""
        case, grid = self.stage.case, self.grid_at(time, window_flow)
        impact = impact_coefficients(running(grid))
        sampling = replace(self.convection.sampling, impact=impact)
        return _Equipment(
            grid=grid,
            exchange=air_exchange(grid),
            convection=replace(self.convection, sampling=sampling),
            control=build_control(grid, self.layout, case.treatment, case.probes, time=time),
        )


@dataclass(frozen=True, slots=True)
class _Equipment:
    """How the equipment is run in a phase; ``grid`` has standing still what is switched off."""

    grid: Grid
    exchange: AirExchange
    convection: CorrelatedCoefficients
    control: Control


def _prepare(course: _Course, number: int, record: RunRecord) -> _Dwelling:
    stage, first = course.stages[number], course.stages[0]
    grid = stage.grid
    begun = record.results[: course.spans[number][0].number]
    state, came = starting_state(
        stage,
        course.stages[number - 1] if number else None,
        begun[-1].state if begun else None,
    )
    course.report("finding what radiates to what")
    alteration = course.settings.alteration
    known = course.furnished if number == 0 else None
    return _Dwelling(
        stage=stage,
        state=state,
        came=came,
        first_number=course.spans[number][0].number,
        first_grid=first.grid,
        radiation=known.radiation if known else radiation_exchange(grid),
        convection=CorrelatedCoefficients(
            alteration.sampling(known.sampled(grid) if known else sample_surfaces(grid)),
            scale=course.settings.convection_factor,
            felt=alteration.felt,
        ),
        watch=stage.watch(),
        horizon=first.case.treatment.horizon,
        report=course.report,
        work=course.work,
        settings=course.settings,
    )


@dataclass(frozen=True, slots=True)
class _Epoch:
    """One epoch of frozen flow."""

    dwelling: _Dwelling
    span: _Span

    def flow(self, record: RunRecord) -> tuple[FlowRecord, EpochRecord]:
        """Return the flow of the epoch: that of the epoch before, unless what drives it changed."""
        home, before = self.dwelling, record.flow
        first, again = home.settings.first_flow, home.settings.next_flow
        air = air_temperatures(home.grid, home.layout, self._expected(record))
        windows = window_flows(home.grid, air)
        if before is None:
            begun = self._solve(None, home.settings.begin_with, windows, first)
            now = FlowRecord(begun, np.full_like(air, np.nan), windows)
        elif self._is_switched():
            now = FlowRecord(self._solve(air, before.airflow, windows, first), air, windows)
        elif (
            self._is_moved
            or windows_have_changed(before.window_flow, windows)
            or buoyancy_has_changed(home.grid, before, air, home.settings.refresh_share)
        ):
            now = FlowRecord(self._solve(air, before.airflow, windows, again), air, windows)
        else:
            now = before
        airflow = now.airflow
        low, high = near_surface_bias(home.grid.cell_size)
        return now, EpochRecord(
            start=self.span.start,
            near_surface_speed=airflow.near_surface_speed,
            scatter=airflow.scatter,
            divergence=airflow.divergence,
            new_flow=now is not before,
            speed_bias_low=low,
            speed_bias_high=high,
            least_thrust=float(airflow.thrust_share.min(initial=1.0)),
        )

    def march(self, record: RunRecord, witness: Witness | None = None) -> EpochResult:
        """Return the temperatures of the epoch in the flow that the record holds."""
        home, flow = self.dwelling, record.flow
        assert flow is not None
        expected = self._expected(record)
        equipment = home.equipment_at(self.span.start, flow.window_flow)
        felt = home.settings.near_surfaces(flow.airflow)
        convection = equipment.convection(
            equipment.grid,
            felt,
            air_temperatures(home.grid, home.layout, expected),
            surface_temperatures(home.layout, expected),
        )
        model = build_heat_model(
            equipment.grid,
            home.layout,
            home.settings.mixing(flow.airflow),
            equipment.exchange,
            convection,
            home.radiation,
            expected,
            added=home.settings.alteration.added_air(home.layout),
        )
        start, end = self.span.start, self.span.end
        if witness is not None:
            witness.begin(
                EpochSeen(
                    start=start,
                    end=end,
                    is_anew=self.span.is_anew,
                    grid=home.grid,
                    model=model,
                    watch=home.watch,
                    convection=equipment.convection,
                    near_speed=equipment.convection.sampling.near_speed(felt.speed),
                    coefficients=convection,
                    expected=expected,
                    state=self._state(record),
                )
            )
        last = record.results[-1] if record.results else None
        result = advance(
            model,
            self._state(record),
            equipment.control,
            start,
            end,
            watch=home.watch,
            output_times=output_times(start, end, home.settings.rarer),
            frame_times=frame_times(start, end, home.horizon),
            is_on=last.is_on if last else None,
            method=home.settings.march,
            on_step=self._on_step,
            on_output=witness.note if witness is not None else None,
        )
        came = home.came if self.span.is_first else Stored()
        return home.stage.noted(result, last, came, home.first_grid.solids.cell.size)

    @property
    def _is_moved(self) -> bool:
        return self.span.is_first and self.dwelling.stage.is_moved

    def _is_switched(self) -> bool:
        """Whether fans or heaters' blowers are switched on or off with this epoch."""
        plan = self.dwelling.stage.case.treatment
        now, before = plan.phase_at(self.span.start), plan.phase_at(self.span.start - 1.0)
        return (now.fans_on, now.heater_fans_on) != (before.fans_on, before.heater_fans_on)

    def _state(self, record: RunRecord) -> FloatArray:
        """Return the temperatures now; with those of its last epoch the stage is over."""
        if self.span.is_first:
            return self.dwelling.state
        return record.results[self.span.number - 1].state

    def _expected(self, record: RunRecord) -> FloatArray:
        """Return the temperatures expected amid the epoch: half of the last epoch's change ahead.

        Epochs grow about as fast as the warming slows, so the next change is about the last one;
        not so where something new begins.
        """
        now = self._state(record)
        if self.span.is_anew:
            return now
        done = self.span.number - self.dwelling.first_number
        before = record.results[self.span.number - 2].state if done > 1 else self.dwelling.state
        return now + 0.5 * (now - before)

    def _solve(
        self,
        air: FloatArray | None,
        before: Airflow | None,
        windows: FloatArray,
        plan: FlowPlan,
    ) -> Airflow:
        home = self.dwelling
        done = home.work.done_before(self.span.number, flow_is_solved=False)
        cost = home.work.next_flow if before else home.work.first_flow
        return solve_airflow(
            running(home.grid_at(self.span.start, windows)),
            air,
            start=before,
            discard=plan.discard,
            average=plan.average,
            on_progress=lambda share: home.report(
                "solving the airflow", (done + share * cost) / home.work.total
            ),
            settings=plan.settings,
        )

    def _on_step(self, time: float, coldest: float, refuge: int) -> None:
        home = self.dwelling
        share = (time - self.span.start) / (self.span.end - self.span.start)
        done = (
            home.work.done_before(self.span.number, flow_is_solved=True) + share * home.work.epoch
        )
        words = _refuge_in_words(home.first_grid, refuge) if refuge >= 0 else ""
        home.report("warming", done / home.work.total, time, coldest, words)


def _refuge_in_words(grid: Grid, refuge: int) -> str:
    group = grid.refuges.groups[int(grid.refuges.group[refuge])]
    return f"{group.owner}, {group.words}"


def buoyancy_has_changed(
    grid: Grid, before: FlowRecord, air: FloatArray, share: float = REFRESH_SHARE
) -> bool:
    """Tell whether the air temperatures [i, j, k] call for a new flow: ``refresh_share``."""
    is_open = grid.is_open
    now = air[is_open]
    last = before.air_temperature[is_open]
    last = np.zeros(now.size) if np.isnan(last).any() else last - last.mean()
    change = np.quantile(np.abs(now - now.mean() - last), REFRESH_QUANTILE)
    height = float(grid.z_edges[-1] - grid.z_edges[0])
    speed = before.airflow.near_surface_speed
    return bool(change * GRAVITY * AIR_EXPANSION * height > share * speed**2)


def plan_work(
    case: Case,
    grid: Grid,
    layout: NodeLayout,
    cell_size: float,
    settings: RunSettings = ORDINARY,
) -> WorkPlan:
    """Return what each stage of a run is expected to cost [s]."""
    cells = int(grid.is_open.sum())

    def cost(plan: FlowPlan) -> float:
        steps = (plan.discard + plan.average) / (plan.settings.step_per_cell * cell_size)
        return FLOW_STEP_COST * cells * steps

    return WorkPlan(
        preparation=PREPARATION_COST * cells,
        first_flow=cost(settings.first_flow),
        next_flow=cost(settings.next_flow),
        epoch=HEAT_COST * layout.retained * (1 + 0.25 * len(grid.jets)),
        epochs=len(epochs(case.treatment.horizon, begins(case), settings.epoch_ends)),
    )


def _keep(checkpoint: CheckpointStore | None, record: RunRecord) -> None:
    if checkpoint is not None:
        checkpoint.save(*record.kept())


def _stopped(checkpoint: CheckpointStore | None, record: RunRecord) -> str:
    reached = record.results[-1].end if record.results else 0.0
    if checkpoint is None:
        return f"interrupted at {reached / 3600.0:.2f} h; no checkpoint was asked for"
    _keep(checkpoint, record)
    return f"interrupted; {checkpoint.where} holds the run up to {reached / 3600.0:.2f} h"


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a run would need, told without running it."""

    cells: int
    open_cells: int
    unknowns: int
    memory_bytes: float
    seconds: float


def estimate(case: Case, cell_size: float, settings: RunSettings = ORDINARY) -> Estimate:
    """Return what a run would need; the grid is laid, nothing is solved."""
    grid = voxelise(case, cell_size)
    layout = node_layout(grid)
    return Estimate(
        cells=grid.is_open.size,
        open_cells=int(grid.is_open.sum()),
        unknowns=layout.size,
        memory_bytes=BASE_MEMORY + MEMORY_PER_UNKNOWN * layout.size,
        seconds=plan_work(case, grid, layout, cell_size, settings).total,
    )
