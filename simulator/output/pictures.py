"""The picture of a result: the room in 3D, what is cold in it, and the list of cold spots."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.errors import RenderError
from simulator.grid.grid import Grid
from simulator.history import History
from simulator.output.graphics_check import prepare_graphics
from simulator.output.layers import PLAIN, Layers, in_words
from simulator.output.picture_sheet import stage_size, write_sheet
from simulator.output.plan_drawing import plan_stage
from simulator.output.stage import Stage
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewpoint import choose_viewpoint
from simulator.units import System


def draw_room(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    path: Path,
    *,
    time: float | None = None,
    units: System = "si",
    size: tuple[int, int] = (1600, 1100),
    layers: Layers = PLAIN,
) -> Path:
    """Write the picture of a result as PNG and return its path.

    Where no OpenGL is found the room is drawn as a plan, and the picture says why.

    Parameters
    ----------
    time : moment whose temperatures are shown [s]; the cold spots are always those of the whole
        run. None: the end of the heat.
    size : width and height [pixels].
    layers : what is drawn besides; a plan leaves it out.
    """
    moment = float(history.time[assessment.end.index]) if time is None else time
    stage = room_stage(case, grid, history, assessment, moment, stage_size(size), layers)
    if layers != PLAIN and not stage.note:
        stage = replace(stage, note=in_words(layers, units))
    write_sheet(
        case, history, assessment, stage, FIXED_SCALE, path, time=moment, units=units, size=size
    )
    return path


def room_stage(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    time: float,
    size: tuple[int, int],
    layers: Layers = PLAIN,
) -> Stage:
    """Return the stage with the room in 3D, or as a plan that says why where there is no OpenGL."""
    try:
        return _solid_stage(case, grid, history, assessment, time, size, layers)
    except RenderError as problem:
        return plan_stage(case, grid, history, assessment, time, size, str(problem))


def _solid_stage(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    time: float,
    size: tuple[int, int],
    layers: Layers,
) -> Stage:
    """Return the stage with the room in 3D."""
    prepare_graphics()
    from simulator.output.scene import render_room

    view = choose_viewpoint(case.dwelling, case.parts, size)
    image = render_room(case, grid, history, assessment, view, FIXED_SCALE, time, layers)

    def draw(axes: Any) -> None:
        axes.imshow(image, extent=(0, size[0], size[1], 0), interpolation="nearest", zorder=0)
        axes.set_xlim(0.0, size[0])
        axes.set_ylim(size[1], 0.0)

    return Stage(size, draw, view.project)
