"""What is known of a run before it marches: its stages, their epochs, the dwelling in each."""

from dataclasses import dataclass, replace

from simulator.case.case import Case
from simulator.furnished import Furnished
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.switching import running, switched
from simulator.physics.airflow.air_exchange import AirExchange, air_exchange
from simulator.physics.airflow.open_windows import with_windows
from simulator.physics.convection.jet_impact import impact_coefficients
from simulator.physics.convection.surface_coefficients import CorrelatedCoefficients
from simulator.physics.convection.surface_sampling import sample_surfaces
from simulator.physics.heat.carry_over import Stored
from simulator.physics.heat.control import Control, build_control
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.watch import Watch
from simulator.physics.radiation.exchange import RadiationExchange, radiation_exchange
from simulator.progress import Reporter, WorkPlan
from simulator.run_cost import plan_work
from simulator.run_record import RunRecord
from simulator.run_settings import RunSettings
from simulator.stages import Stage, begins, lay_stages, starting_state
from simulator.timetable import epochs


@dataclass(frozen=True, slots=True)
class Span:
    """One epoch's place in the run."""

    number: int
    start: float  # [s]
    end: float
    is_first: bool  # of its stage
    is_anew: bool  # a stage or a phase of the plan of the day begins with it


@dataclass(frozen=True, slots=True)
class Course:
    """What is known before the run: its stages, the epochs of each, the work they are."""

    stages: tuple[Stage, ...]
    spans: tuple[tuple[Span, ...], ...]
    report: Reporter
    work: WorkPlan
    settings: RunSettings
    furnished: Furnished | None


def lay_course(
    case: Case,
    cell_size: float,
    report: Reporter,
    settings: RunSettings,
    furnished: Furnished | None,
) -> Course:
    report("laying the dwelling into cells")
    stages = tuple(
        replace(stage, layout=settings.alteration.layout(stage.grid, stage.layout))
        for stage in lay_stages(case, cell_size, furnished)
    )
    changed = [stage.start for stage in stages]
    begun = begins(case)
    every = [
        Span(number, start, end, start in changed, start in begun)
        for number, (start, end) in enumerate(
            epochs(case.treatment.horizon, begun, settings.epoch_ends)
        )
    ]
    spans = tuple(
        tuple(span for span in every if stage.start <= span.start < stage.end) for stage in stages
    )
    work = plan_work(case, stages[0].grid, stages[0].layout, cell_size, settings)
    return Course(stages, spans, report, work, settings, furnished)


@dataclass(frozen=True, slots=True)
class Dwelling:
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

    def equipment_at(self, time: float, window_flow: FloatArray) -> "Equipment":
        """Return how the equipment is run from ``time`` [s] on, as for ``grid_at``."""
        case, grid = self.stage.case, self.grid_at(time, window_flow)
        impact = impact_coefficients(running(grid))
        sampling = replace(self.convection.sampling, impact=impact)
        return Equipment(
            grid=grid,
            exchange=air_exchange(grid),
            convection=replace(self.convection, sampling=sampling),
            control=build_control(grid, self.layout, case.treatment, case.probes, time=time),
        )


@dataclass(frozen=True, slots=True)
class Equipment:
    """How the equipment is run in a phase; ``grid`` has standing still what is switched off."""

    grid: Grid
    exchange: AirExchange
    convection: CorrelatedCoefficients
    control: Control


def prepare(course: Course, number: int, record: RunRecord) -> Dwelling:
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
    return Dwelling(
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
