"""The runs behind the causes of cold spots, and the lags of a place in all coalitions of causes.

Two ways lead to the 64 lags of a place. ``by_reruns`` runs the whole dwelling 64 times.
``by_surroundings`` takes two runs for all places, as it is and with the room's air held, and
marches the surroundings of the place 64 times with the rest imposed from the two
(``local_march.py``). It leaves out what the place's own neutral states do to the air and the
surfaces beyond its surroundings. In three small rooms its shares are within 0.07 of those of the
re-runs (``benchmarks/causes.py``). In one where a pile drew much of the heat and lagged for but 5
minutes a share was 0.26 off: made light, the pile left its heat to the room's air.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from simulator import simulation
from simulator.case.case import Case
from simulator.case.parts import AirMover, AirOutlet, HeatedJet, PorousPart, SolidPart
from simulator.furnished import Furnished, furnish
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.grid.switching import running, switched
from simulator.grid.voxelise import voxelise
from simulator.history import History
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.heat.nodes import NodeLayout
from simulator.physics.heat.skin_layers import skin_layers
from simulator.physics.neutral_states import LATE, NOWHERE, Cause, Neutral, Surroundings
from simulator.progress import Progress
from simulator.run_settings import QUICK, RunSettings
from simulator.studies.lag import Temperatures, lag
from simulator.studies.local_march import LocalHeat, Whole, local_heat
from simulator.studies.recorded_run import RecordedRun, Recorder
from simulator.studies.surroundings import find_surroundings

#: Every subset of the causes.
COALITIONS = tuple(Cause(number) for number in range(1 << len(tuple(Cause))))


@dataclass(frozen=True, slots=True)
class Study:
    """What all spots of a dwelling share."""

    case: Case  # without changes, ending with the heat
    cell_size: float
    settings: RunSettings
    furnished: Furnished
    history: History
    whole: Whole
    is_late: BoolArray  # flat cells
    air_temperature: float  # at which the room's air is held [°C]

    @property
    def grid(self) -> Grid:
        """The grid of the run."""
        return self.whole.first.grid

    def lag_of(self, time: FloatArray, temperature: Temperatures) -> FloatArray:
        """Return the lag of columns of temperatures [s]."""
        start = self.case.dwelling.start_temperature
        return lag(time, temperature, start, self.case.treatment.horizon)

    def slowest(self, refuges: IntArray) -> int:
        """Return which of some hiding places lags most."""
        lags = self.lag_of(self.history.time, self.history.refuge_temperature[:, refuges])
        return int(refuges[int(np.argmax(lags))])

    def neutral(self, causes: Cause, around: Surroundings) -> Neutral:
        """Return the neutral states of causes for a spot's surroundings."""
        whole = self.whole
        return Neutral(causes, around, whole.unshaded, whole.room_air, self.air_temperature)


def study(
    case: Case,
    cell_size: float,
    *,
    settings: RunSettings = QUICK,
    progress: Callable[[Progress], None] | None = None,
) -> Study:
    """Return the runs that the causes of all spots are found from: as it is, and with air held."""
    case = until_heat_ends(case)
    furnished = furnish(case, cell_size)

    def recorded(asked: RunSettings) -> tuple[History, RecordedRun]:
        seen = Recorder()
        run = simulation.simulate(
            case, cell_size, settings=asked, furnished=furnished, witness=seen, progress=progress
        )
        return run.history, seen.recorded()

    history, as_it_was = recorded(settings)
    first = as_it_was.epochs[0]
    grid, layout = first.grid, first.model.layout
    is_late = late_air(case, grid, layout, as_it_was)
    room_air = np.flatnonzero(grid.is_open.ravel() & ~is_late)
    unshaded = furnished.sampling.near_speed(emptied_speed(case, cell_size, settings))
    node = layout.air_node[room_air]
    share = layout.capacity[node] / layout.capacity[node].sum()
    warmest = float((as_it_was.air[:, node] @ share).max())
    temperature = max(case.treatment.target_temperature, warmest)
    held = Neutral(Cause.LATE_AIR, NOWHERE, unshaded, room_air, temperature)
    _, air_held = recorded(replace(settings, alteration=held))
    whole = Whole(as_it_was, air_held, skin_layers(grid, layout), unshaded, room_air)
    return Study(case, cell_size, settings, furnished, history, whole, is_late, temperature)


def until_heat_ends(case: Case) -> Case:
    """Return the case as it stands at the start, up to the end of the heat."""
    end = case.treatment.heat_ends
    phases = tuple(phase for phase in case.treatment.phases if phase.start < end)
    return replace(case, changes=(), treatment=replace(case.treatment, horizon=end, phases=phases))


def late_air(case: Case, grid: Grid, layout: NodeLayout, run: RecordedRun) -> BoolArray:
    """Return which cells hold air that lags more than ``LATE`` behind the mean of all air, flat."""
    start, until = case.dwelling.start_temperature, case.treatment.horizon
    share = layout.capacity[layout.air] / layout.capacity[layout.air].sum()
    air = run.air
    mean = float(lag(run.time, (air @ share)[:, None], start, until)[0])
    is_late = np.zeros(grid.is_open.size, dtype=np.bool_)
    is_late[layout.air_cell] = lag(run.time, air, start, until) > mean + LATE
    return is_late


def emptied_speed(case: Case, cell_size: float, settings: RunSettings) -> FloatArray:
    """Return the speed of the air [i, j, k] [m/s] in the dwelling emptied of all but equipment.

    In the phase with the highest set point, without buoyancy.
    """
    equipment = {
        part.owner for part in case.parts if isinstance(part, AirMover | HeatedJet | AirOutlet)
    }
    kept = tuple(
        part
        for part in case.parts
        if not isinstance(part, SolidPart | PorousPart) or part.owner in equipment
    )
    grid = voxelise(replace(case, parts=kept), cell_size)
    heated = [phase for phase in case.treatment.plan if phase.heaters_on] or case.treatment.plan
    phase = max(heated, key=lambda one: one.thermostat)
    grid = switched(grid, fans_on=phase.fans_on, heater_fans_on=phase.heater_fans_on)
    plan = settings.first_flow
    flow = solve_airflow(
        running(grid), discard=plan.discard, average=plan.average, settings=plan.settings
    )
    return flow.speed


@dataclass(frozen=True, slots=True)
class LocalTask:
    """The surroundings of a place, to be marched in any process."""

    local: LocalHeat
    start_temperature: float  # [°C]
    until: float  # [s]


def local_task(made: Study, refuge: int) -> LocalTask:
    """Return the surroundings of a hiding place of the study's grid."""
    around = find_surroundings(made.grid, refuge, made.is_late)
    local = local_heat(made.whole, around, refuge)
    return LocalTask(local, made.case.dwelling.start_temperature, made.case.treatment.horizon)


def by_surroundings(task: LocalTask) -> FloatArray:
    """Return the lag of a place in every coalition (64,) [s], from its surroundings."""
    lags = []
    for causes in COALITIONS:
        time, temperature = task.local.temperature(causes)
        lags.append(lag(time, temperature[:, None], task.start_temperature, task.until)[0])
    return np.array(lags)


def by_reruns(made: Study, refuge: int) -> FloatArray:
    """Return the lag of a hiding place in every coalition (64,) [s], from 64 whole runs."""
    around = find_surroundings(made.grid, refuge, made.is_late)
    lags = []
    for causes in COALITIONS:
        history = simulation.simulate(
            made.case,
            made.cell_size,
            settings=replace(made.settings, alteration=made.neutral(causes, around)),
            furnished=made.furnished,
        ).history
        lags.append(made.lag_of(history.time, history.refuge_temperature[:, [refuge]])[0])
    return np.array(lags)
