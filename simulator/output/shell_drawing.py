"""The shell of the dwelling in a picture: floors as temperature maps, back walls, openings."""

from typing import Any

import numpy as np

from simulator.case.dwelling import Doorway, Dwelling, Room, Side, Window
from simulator.case.parts import Vector
from simulator.grid.grid import FloatArray, Grid
from simulator.output.corner_means import means_at_corners
from simulator.output.surface_tint import SurfaceTint
from simulator.output.temperature_scale import TemperatureScale
from simulator.output.viewpoint import Viewpoint

WALLS = ("#e7e5e0", "#f1efeb")  # facing east or west, north or south
WALL_TOP = "#8d8a84"
WALL_EDGE = "#7d7a75"
PANE = "#bcd9ea"
DOOR = "#b79f80"

#: Height at which the walls of a dwelling of several rooms are cut [m].
CUT = 1.0
OUTER_THICKNESS = 0.10  # how thick an outer wall is drawn [m]

_WALLS = (Side.WEST, Side.EAST, Side.SOUTH, Side.NORTH)


def add_shell(
    plotter: Any,
    dwelling: Dwelling,
    tint: SurfaceTint,
    scale: TemperatureScale,
    view: Viewpoint,
) -> None:
    """Add floors, the walls whose inside the camera sees, their windows and the shut doors."""
    is_cut = len(dwelling.rooms) > 1
    for room in dwelling.rooms:
        _add_floor(plotter, tint.grid, tint.field, room.low, room.high, scale)
        top = room.low[2] + CUT if is_cut else room.high[2]
        for side in _WALLS:
            if view.sees_inside(room, side):
                _add_wall(plotter, dwelling, room, side, top)
        if not is_cut:
            _add_edges(plotter, room)
    for doorway in dwelling.doorways:
        _add_doorway(plotter, doorway, tint, scale)
    for window in dwelling.windows:
        room = next(room for room in dwelling.rooms if room.name == window.room)
        if window.side in _WALLS and view.sees_inside(room, window.side):
            _add_window(plotter, window, room.low[2] + CUT if is_cut else room.high[2])


def _add_floor(
    plotter: Any, grid: Grid, field: FloatArray, low: Vector, high: Vector, scale: TemperatureScale
) -> None:
    """Add a rectangle coloured by the temperature in the lowest layer of cells, smoothed."""
    import pyvista

    layer = int(np.clip(np.searchsorted(grid.z_edges, low[2] + 1e-6, side="right") - 1, 0, None))
    x = _planes(grid.x_edges, low[0], high[0])
    y = _planes(grid.y_edges, low[1], high[1])
    i = np.searchsorted(grid.x_edges, 0.5 * (x[1:] + x[:-1])) - 1
    j = np.searchsorted(grid.y_edges, 0.5 * (y[1:] + y[:-1])) - 1
    corners = np.stack(np.meshgrid(x, y, [low[2]], indexing="ij"), axis=-1).reshape(-1, 3)
    index = np.arange(x.size * y.size).reshape(x.size, y.size)
    quads = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=-1)
    faces = np.hstack([np.full((quads.size // 4, 1), 4), quads.reshape(-1, 4)]).ravel()
    floor = pyvista.PolyData(corners, faces)
    floor.point_data["temperature"] = means_at_corners(field[:, :, layer][np.ix_(i, j)]).ravel()
    plotter.add_mesh(
        floor,
        scalars="temperature",
        cmap=scale.map(),
        clim=(scale.low, scale.high),
        nan_color=scale.unknown,
        show_scalar_bar=False,
        lighting=False,
    )


def _planes(edges: FloatArray, low: float, high: float) -> FloatArray:
    inner = edges[(edges > low + 1e-6) & (edges < high - 1e-6)]
    return np.concatenate([[low], inner, [high]])


def _add_wall(plotter: Any, dwelling: Dwelling, room: Room, side: Side, top: float) -> None:
    """Add a wall as slabs outside of the room, with the doorways in it left free."""
    along = 1 - side.axis
    face = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
    thickness = _thickness(dwelling, room, side)
    spans = free_spans(dwelling, room, side, thickness)
    for start, end, bottom in spans:
        if bottom >= top:
            continue
        low, high = [0.0, 0.0, bottom], [0.0, 0.0, top]
        low[along], high[along] = start, end
        low[side.axis] = min(face, face + side.sign * thickness)
        high[side.axis] = max(face, face + side.sign * thickness)
        _add_slab(plotter, low, high, WALLS[side.axis])


def _thickness(dwelling: Dwelling, room: Room, side: Side) -> float:
    """Return how thick to draw a wall [m]: the gap to the next room, or that of an outer wall."""
    gaps = [OUTER_THICKNESS]
    along = 1 - side.axis
    for other in dwelling.rooms:
        overlap = min(room.high[along], other.high[along]) - max(room.low[along], other.low[along])
        if side.sign > 0:
            gap = other.low[side.axis] - room.high[side.axis]
        else:
            gap = room.low[side.axis] - other.high[side.axis]
        if overlap > 0.0 and gap >= 0.0:
            gaps.append(max(gap, 0.02))
    return min(gaps)


def free_spans(
    dwelling: Dwelling, room: Room, side: Side, beyond: float = 0.0
) -> list[tuple[float, float, float]]:
    """Return (start, end, bottom) [m] of the pieces of a wall between and above its doorways.

    A wall without doorways goes ``beyond`` [m] its end, to meet the next one outside of the corner.
    """
    along = 1 - side.axis
    face = room.high[side.axis] if side.sign > 0 else room.low[side.axis]
    start, end = room.low[along], room.high[along]
    pieces = []
    cursor = start
    holes = sorted(
        (doorway.low[along], doorway.high[along], doorway.high[2])
        for doorway in dwelling.doorways
        if room.name in doorway.rooms
        and doorway.low[side.axis] - 1e-6 <= face <= doorway.high[side.axis] + 1e-6
        and doorway.low[along] < end
        and doorway.high[along] > start
    )
    for low, high, lintel in holes:
        pieces.append((cursor, low, room.low[2]))
        pieces.append((low, high, lintel))
        cursor = high
    pieces.append((cursor, end + beyond if not holes else end, room.low[2]))
    return [piece for piece in pieces if piece[1] > piece[0] + 1e-6]


def _add_slab(plotter: Any, low: list[float], high: list[float], colour: str) -> None:
    import pyvista

    slab = pyvista.Box((low[0], high[0], low[1], high[1], low[2], high[2]))
    plotter.add_mesh(slab, color=colour, lighting=False)
    lid = pyvista.Box((low[0], high[0], low[1], high[1], high[2], high[2] + 0.004))
    plotter.add_mesh(lid, color=WALL_TOP, lighting=False)


def _add_edges(plotter: Any, room: Room) -> None:
    """Add the edges of a room, so that the walls that were cut away can be imagined."""
    import pyvista

    bounds = (room.low[0], room.high[0], room.low[1], room.high[1], room.low[2], room.high[2])
    edges = pyvista.Box(bounds).extract_all_edges()
    plotter.add_mesh(edges, color=WALL_EDGE, line_width=2.0, opacity=0.55, lighting=False)


def _add_doorway(
    plotter: Any, doorway: Doorway, tint: SurfaceTint, scale: TemperatureScale
) -> None:
    """Add the floor in an open doorway, or the leaf of a shut door cut like the walls."""
    import pyvista

    low, high = doorway.low, doorway.high
    if doorway.is_open:
        _add_floor(plotter, tint.grid, tint.field, low, high, scale)
        return
    top = min(high[2], low[2] + CUT)
    leaf = pyvista.Box((low[0], high[0], low[1], high[1], low[2], top))
    plotter.add_mesh(leaf, color=DOOR, ambient=0.75, diffuse=0.3, specular=0.0)


def _add_window(plotter: Any, window: Window, top: float) -> None:
    """Add a pane just inside its wall, up to where the walls are cut."""
    import pyvista

    low, high = list(window.low), list(window.high)
    high[2] = min(high[2], top - 0.01)
    if high[2] - low[2] < 0.03:
        return
    inside = -0.01 * window.side.sign
    low[window.side.axis] += inside
    high[window.side.axis] += inside
    pane = pyvista.Box((low[0], high[0], low[1], high[1], low[2], high[2]))
    plotter.add_mesh(pane, color=PANE, lighting=False)
    plotter.add_mesh(pane.extract_all_edges(), color=WALL_EDGE, line_width=3.0, lighting=False)
