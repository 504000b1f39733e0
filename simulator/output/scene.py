"""The 3D scene of a room, rendered off-screen into arrays of pixels."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.case.case import Case
from simulator.grid.grid import Grid
from simulator.history import History
from simulator.output.cell_hull import hull_of_cells
from simulator.output.equipment_drawing import add_equipment, machines
from simulator.output.furniture_drawing import add_furniture
from simulator.output.layers import PLAIN, Layers, add_layers
from simulator.output.pen import SPOT, SPOT_EDGE, rgb
from simulator.output.shell_drawing import add_shell
from simulator.output.surface_tint import surface_tint
from simulator.output.temperature_scale import TemperatureScale
from simulator.output.viewpoint import LENS, Viewpoint

Pixels = NDArray[np.uint8]

#: Pixels drawn for each pixel of the picture, along each side, and then averaged: smooth edges.
OVERSAMPLING = 2

#: How much the faces and the edges of cold spots hide of the room behind them.
FACE_OPACITY, EDGE_OPACITY = 0.60, 0.90


def render_room(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    view: Viewpoint,
    scale: TemperatureScale,
    time: float,
    layers: Layers = PLAIN,
) -> Pixels:
    """Return the room (height, width, 3) with its cold spots shining through the furniture."""
    room = render_warmth(case, grid, history, view, scale, time, layers)
    if not assessment.cold_spots:
        return room
    spots = _image(view, lambda plotter: add_spots(plotter, grid, assessment.cold_spots))
    return laid_over(room, spots, face_opacity=0.0 if layers.covers_spots else FACE_OPACITY)


def render_warmth(
    case: Case,
    grid: Grid,
    history: History,
    view: Viewpoint,
    scale: TemperatureScale,
    time: float,
    layers: Layers = PLAIN,
) -> Pixels:
    """Return the room (height, width, 3) by its temperatures alone, without cold spots."""
    room = _image(
        view, lambda plotter: add_room(plotter, case, grid, history, view, scale, time, layers)
    )
    return room[..., :3]


def laid_over(room: Pixels, spots: Pixels, face_opacity: float = FACE_OPACITY) -> Pixels:
    """Return the room with opaque ``spots`` (with their opacity, RGBA) made translucent over it.

    Spots are drawn opaque, so that one sees only the near side of each; then their faces let the
    room shine through, and their edges nearly not.
    """
    face, edge = np.array(rgb(SPOT), dtype=float), np.array(rgb(SPOT_EDGE), dtype=float)
    colour = spots[..., :3].astype(float)
    edge_share = np.clip(((colour - face) @ (edge - face)) / np.sum((edge - face) ** 2), 0.0, 1.0)
    cover = face_opacity + (EDGE_OPACITY - face_opacity) * edge_share
    opacity = (cover * spots[..., 3] / 255.0)[..., None]
    return np.asarray(np.rint(room * (1.0 - opacity) + colour * opacity), dtype=np.uint8)


def add_room(
    plotter: Any,
    case: Case,
    grid: Grid,
    history: History,
    view: Viewpoint,
    scale: TemperatureScale,
    time: float,
    layers: Layers = PLAIN,
) -> None:
    """Add shell, furniture, equipment and what ``layers`` asks for at ``time`` [s]."""
    tint = surface_tint(grid, history, time)
    add_shell(plotter, case.dwelling, tint, scale, view)
    if layers.has_furniture:
        add_furniture(plotter, case.parts, machines(case.parts), tint, scale)
    add_equipment(plotter, case.parts, case.probes, grid, history)
    add_layers(plotter, case, grid, history, layers, scale, time)


def _image(view: Viewpoint, fill: Any) -> Pixels:
    """Return (height, width, 4) of what ``fill`` adds, on a transparent ground."""
    import pyvista

    size = [OVERSAMPLING * side for side in view.size]
    plotter = pyvista.Plotter(off_screen=True, window_size=size)
    try:
        plotter.set_background("white")
        fill(plotter)
        set_camera(plotter, view)
        large = plotter.screenshot(return_img=True, transparent_background=True)
    finally:
        plotter.close()
    return _averaged(np.asarray(large))


def set_camera(plotter: Any, view: Viewpoint) -> None:
    """Put the plotter's camera where the viewpoint is."""
    plotter.camera_position = [view.position, view.focus, (0.0, 0.0, 1.0)]
    plotter.camera.view_angle = LENS
    plotter.reset_camera_clipping_range()


def _averaged(large: Pixels) -> Pixels:
    """Return the picture made smaller by averaging, colours weighted by their opacity."""
    n = OVERSAMPLING
    height, width = large.shape[0] // n, large.shape[1] // n
    blocks = large.reshape(height, n, width, n, 4).astype(float)
    opacity = blocks[..., 3:]
    total = opacity.sum(axis=(1, 3))
    colour = (blocks[..., :3] * opacity).sum(axis=(1, 3)) / np.maximum(total, 1.0)
    colour[total[..., 0] == 0.0] = 255.0
    mean = np.concatenate([colour, total / n**2], axis=-1)
    return np.asarray(np.rint(mean), dtype=np.uint8)


def add_spots(plotter: Any, grid: Grid, spots: tuple[ColdSpot, ...], opacity: float = 1.0) -> None:
    """Add the cells of each cold spot as a body with its edges."""
    for spot in spots:
        hull = spot_hull(grid, spot)
        plotter.add_mesh(hull, color=SPOT, opacity=opacity, lighting=False)
        edges = hull.extract_feature_edges(30, boundary_edges=True, non_manifold_edges=False)
        if edges.n_cells:
            plotter.add_mesh(edges, color=SPOT_EDGE, line_width=3.0, lighting=False)


def spot_hull(grid: Grid, spot: ColdSpot) -> Any:
    """Return the outer faces of all cells in which the spot's hiding places are."""
    import pyvista

    points, quads = hull_of_cells(grid, grid.refuges.cell[spot.refuges])
    faces = np.hstack([np.full((len(quads), 1), 4), quads]).ravel()
    return pyvista.PolyData(points, faces)
