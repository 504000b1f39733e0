"""A window to look around in a result."""

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.grid.grid import Grid
from simulator.history import History
from simulator.output.graphics_check import prepare_graphics
from simulator.output.layers import PLAIN, Layers
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewpoint import choose_viewpoint


def open_window(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    *,
    time: float | None = None,
    layers: Layers = PLAIN,
    size: tuple[int, int] = (1200, 900),
) -> None:
    """Open a window with the room and its cold spots, and return when the user closes it."""
    prepare_graphics()
    import pyvista

    from simulator.output.scene import add_room, add_spots, set_camera

    moment = float(history.time[-1]) if time is None else time
    view = choose_viewpoint(case.dwelling, case.parts, size)
    plotter = pyvista.Plotter(window_size=list(size), title=case.title)
    plotter.set_background("white")
    add_room(plotter, case, grid, history, view, FIXED_SCALE, moment, layers)
    add_spots(plotter, grid, assessment.cold_spots, opacity=0.35)
    for spot in assessment.cold_spots:
        plotter.add_point_labels(
            [spot.centre], [str(spot.rank)], always_visible=True, shape_color="white"
        )
    set_camera(plotter, view)
    plotter.show()
