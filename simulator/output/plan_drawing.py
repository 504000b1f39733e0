"""The dwelling as a plan, for machines on which nothing can be drawn in 3D."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.dwelling import Dwelling
from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, PorousPart, SolidPart
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.output.furniture_drawing import CORNERS, place
from simulator.output.pen import FAN, HEATER, SENSOR, SPOT
from simulator.output.stage import Stage
from simulator.output.surface_tint import SurfaceTint, surface_tint
from simulator.output.temperature_scale import FIXED_SCALE, TemperatureScale


@dataclass(frozen=True, slots=True)
class PlanView:
    """A view straight down: ``origin`` [m] falls on ``corner`` [pixels], north is up."""

    origin: tuple[float, float]
    corner: tuple[float, float]
    pixels_per_metre: float

    def project(self, points: FloatArray) -> FloatArray:
        """Return pixels (N, 2) of points (N, 3) [m], from the picture's upper left corner."""
        flat = np.atleast_2d(points)
        x = self.corner[0] + self.pixels_per_metre * (flat[:, 0] - self.origin[0])
        y = self.corner[1] - self.pixels_per_metre * (flat[:, 1] - self.origin[1])
        return np.stack([x, y], axis=1)


def plan_stage(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    time: float,
    size: tuple[int, int],
    note: str,
) -> Stage:
    """Return the stage with the dwelling as a plan; ``note`` says why it is not in 3D."""
    view = fitted_plan(case.dwelling, size)
    tint = surface_tint(grid, history, time)

    def draw(axes: Any) -> None:
        _draw_room(axes, view, case, tint)
        _draw_spots(axes, view, grid, assessment)
        _frame(axes, size)

    return Stage(size, draw, view.project, note)


def draw_warmth(
    axes: Any,
    view: PlanView,
    case: Case,
    grid: Grid,
    history: History,
    time: float,
    size: tuple[int, int],
) -> None:
    """Draw the dwelling as a plan by its temperatures alone, without cold spots."""
    _draw_room(axes, view, case, surface_tint(grid, history, time))
    _frame(axes, size)


def _draw_room(axes: Any, view: PlanView, case: Case, tint: SurfaceTint) -> None:
    _draw_floors(axes, view, case.dwelling, tint, FIXED_SCALE)
    _draw_furniture(axes, view, case, tint, FIXED_SCALE)
    _draw_machines(axes, view, case)


def _frame(axes: Any, size: tuple[int, int]) -> None:
    """Make the data of axes pixels from the upper left again."""
    axes.set_xlim(0.0, size[0])
    axes.set_ylim(size[1], 0.0)
    axes.set_aspect("auto")


def fitted_plan(dwelling: Dwelling, size: tuple[int, int], margin: float = 30.0) -> PlanView:
    """Return the plan view in which the whole dwelling fits, in the middle."""
    low = np.min([room.low[:2] for room in dwelling.rooms], axis=0)
    high = np.max([room.high[:2] for room in dwelling.rooms], axis=0)
    room = np.asarray(size) - 2.0 * margin
    scale = float(np.min(room / (high - low)))
    left, free = 0.5 * (np.asarray(size) - scale * (high - low))
    return PlanView((float(low[0]), float(low[1])), (float(left), float(size[1] - free)), scale)


def _draw_floors(
    axes: Any, view: PlanView, dwelling: Dwelling, tint: SurfaceTint, scale: TemperatureScale
) -> None:
    """Draw the lowest layer of cells in colours, and the outlines of the rooms."""
    grid = tint.grid
    layer = np.argmax(grid.room >= 0, axis=2)
    floor = np.take_along_axis(tint.field, layer[:, :, None], axis=2)[:, :, 0]
    x = view.project(np.stack([grid.x_edges, 0 * grid.x_edges, 0 * grid.x_edges], axis=1))[:, 0]
    y = view.project(np.stack([0 * grid.y_edges, grid.y_edges, 0 * grid.y_edges], axis=1))[:, 1]
    axes.pcolormesh(
        x,
        y,
        np.ma.masked_invalid(floor.T),
        cmap=scale.map().with_extremes(bad="white"),
        vmin=scale.low,
        vmax=scale.high,
        zorder=0,
    )
    for room in dwelling.rooms:
        corners = [
            (room.low[0], room.low[1], 0.0),
            (room.high[0], room.low[1], 0.0),
            (room.high[0], room.high[1], 0.0),
            (room.low[0], room.high[1], 0.0),
        ]
        _polygon(axes, view.project(np.array(corners)), "none", "#3a3a3a", 2.0, 3)


def _draw_furniture(
    axes: Any, view: PlanView, case: Case, tint: SurfaceTint, scale: TemperatureScale
) -> None:
    """Draw the outlines of all things from the lowest up, each in the colour of its middle."""
    parts = [part for part in case.parts if isinstance(part, SolidPart | PorousPart)]
    for part in sorted(parts, key=lambda part: part.box.centre[2]):
        middle = np.array([part.box.centre])
        red, green, blue = scale.colours(tint.of_thing(part.owner, middle))[0] / 255.0
        _polygon(axes, outline(part.box, view), (red, green, blue, 0.9), "#2b2b2b", 0.8, 2)


def outline(box: Box, view: PlanView) -> FloatArray:
    """Return the corners (N, 2) [pixels] of what a box covers, seen from above."""
    from scipy.spatial import ConvexHull

    pixels = view.project(place(box, 0.5 * CORNERS * np.asarray(box.size)))
    corners: FloatArray = pixels[ConvexHull(pixels).vertices]
    return corners


def _draw_machines(axes: Any, view: PlanView, case: Case) -> None:
    for part in case.parts:
        if isinstance(part, AirMover | HeatedJet):
            colour = FAN if isinstance(part, AirMover) else HEATER
            direction = np.asarray(part.direction) / np.linalg.norm(part.direction)
            ends = np.array([part.centre, np.asarray(part.centre) + 0.9 * direction])
            start, end = view.project(ends)
            axes.plot(*start, marker="o", ms=9, color=colour, zorder=5)
            axes.annotate(
                "",
                xy=tuple(end),
                xytext=tuple(start),
                arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2.5},
                zorder=5,
            )
        elif isinstance(part, AirOutlet):
            _polygon(axes, outline(part.box, view), FAN, FAN, 1.0, 5)
    for probe in case.probes:
        axes.plot(*view.project(np.array([probe.position]))[0], "o", ms=6, color=SENSOR, zorder=5)


def _draw_spots(axes: Any, view: PlanView, grid: Grid, assessment: Assessment) -> None:
    """Draw the cells of cold spots, whatever lies above them."""
    for spot in assessment.cold_spots:
        i, j, _ = np.unravel_index(grid.refuges.cell[spot.refuges], grid.shape)
        for a, b in {(int(a), int(b)) for a, b in zip(i, j, strict=True)}:
            corners = np.array(
                [
                    (grid.x_edges[a], grid.y_edges[b], 0.0),
                    (grid.x_edges[a + 1], grid.y_edges[b], 0.0),
                    (grid.x_edges[a + 1], grid.y_edges[b + 1], 0.0),
                    (grid.x_edges[a], grid.y_edges[b + 1], 0.0),
                ]
            )
            _polygon(axes, view.project(corners), SPOT, "none", 0.0, 4, opacity=0.45)


def _polygon(
    axes: Any,
    corners: FloatArray,
    fill: Any,
    edge: str,
    width: float,
    order: int,
    opacity: float | None = None,
) -> None:
    from matplotlib.patches import Polygon

    axes.add_patch(
        Polygon(
            corners,
            closed=True,
            facecolor=fill,
            edgecolor=edge,
            lw=width,
            zorder=order,
            alpha=opacity,
        )
    )
