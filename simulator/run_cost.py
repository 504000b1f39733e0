"""What a run costs: the work of its stages, its memory and time, told before it is run."""

from dataclasses import dataclass

from simulator.case.case import Case
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.settings import FlowPlan
from simulator.physics.heat.nodes import NodeLayout, node_layout
from simulator.progress import (
    FLOW_STEP_COST,
    HEAT_COST,
    LEAST_PREPARATION,
    PREPARATION_COST,
    WorkPlan,
)
from simulator.run_settings import ORDINARY, RunSettings
from simulator.stages import begins
from simulator.timetable import epochs

#: Memory of the program with its libraries (drawing included), and of a run for each unknown
#: [bytes]: measured on two shipped dwellings.
BASE_MEMORY = 850e6
MEMORY_PER_UNKNOWN = 820.0


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
        preparation=LEAST_PREPARATION + PREPARATION_COST * cells,
        first_flow=cost(settings.first_flow),
        next_flow=cost(settings.next_flow),
        epoch=HEAT_COST * layout.retained * (1 + 0.25 * len(grid.jets)),
        epochs=len(epochs(case.treatment.horizon, begins(case), settings.epoch_ends)),
    )


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
