"""The sheet around a drawing of a room: title, labels, cold spots, scale of colours, key."""

from pathlib import Path
from typing import Any

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.history import History
from simulator.output.pen import DOTS_PER_INCH, QUIET, Pen
from simulator.output.picture_foot import draw_key, draw_scale
from simulator.output.picture_labels import draw_labels
from simulator.output.side_panel import draw_side_panel
from simulator.output.stage import Stage
from simulator.output.temperature_scale import TemperatureScale
from simulator.units import System, format_quantity

#: Pixels of a sheet 1600 wide; other sizes scale with the width.
SHEET_WIDTH = 1600
PANEL_WIDTH = 430
TITLE_HEIGHT = 92
FOOT_HEIGHT = 118


def stage_size(size: tuple[int, int]) -> tuple[int, int]:
    """Return the pixels that a sheet of ``size`` leaves for the drawing."""
    unit = size[0] / SHEET_WIDTH
    width = size[0] - round(PANEL_WIDTH * unit)
    height = size[1] - round(TITLE_HEIGHT * unit) - round(FOOT_HEIGHT * unit)
    return width, height


def write_sheet(
    case: Case,
    history: History,
    assessment: Assessment,
    stage: Stage,
    scale: TemperatureScale,
    path: Path,
    *,
    time: float,
    units: System,
    size: tuple[int, int],
) -> None:
    """Write the finished picture as PNG of exactly ``size`` pixels."""
    figure = blank_figure(size)
    unit = size[0] / SHEET_WIDTH
    width, height = stage.size
    top = size[1] - height - round(FOOT_HEIGHT * unit)

    title = Pen(pixel_axes(figure, (0, 0, size[0], top)), unit)
    title.write(28.0, 40.0, case.title, 30.0, bold=True)
    title.write(28.0, 74.0, subtitle(case, time, units), 19.0, QUIET)

    drawing = Pen(pixel_axes(figure, (0, top, width, top + height)), unit)
    stage.draw(drawing.axes)
    draw_labels(drawing, case, assessment, stage)

    foot = Pen(pixel_axes(figure, (0, top + height, width, size[1])), unit)
    draw_scale(foot, scale, units)
    draw_key(foot)

    panel = Pen(pixel_axes(figure, (width, top, size[0], size[1])), unit)
    draw_side_panel(panel, history, assessment, time=time, units=units, note=stage.note)
    figure.savefig(path, format="png", dpi=DOTS_PER_INCH)


def subtitle(case: Case, time: float, units: System) -> str:
    """Return preparation, layout and moment in a line; what the title says already is left out."""
    states = [s for s in (case.preparation, case.layout) if s.lower() not in case.title.lower()]
    return "  ·  ".join((*states, f"after {format_quantity(time, 'time', units)}"))


def blank_figure(size: tuple[int, int]) -> Any:
    """Return an empty white figure of ``size`` pixels that needs no display."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(
        figsize=(size[0] / DOTS_PER_INCH, size[1] / DOTS_PER_INCH),
        dpi=DOTS_PER_INCH,
        facecolor="white",
    )
    FigureCanvasAgg(figure)
    return figure


def pixel_axes(figure: Any, box: tuple[int, int, int, int]) -> Any:
    """Return axes without a frame in the box (left, top, right, bottom) [pixels] of the figure.

    Their data are pixels from their own upper left corner.
    """
    left, top, right, bottom = box
    whole_width, whole_height = figure.get_size_inches() * DOTS_PER_INCH
    axes = figure.add_axes(
        (
            left / whole_width,
            1.0 - bottom / whole_height,
            (right - left) / whole_width,
            (bottom - top) / whole_height,
        )
    )
    axes.set_axis_off()
    axes.set_xlim(0.0, right - left)
    axes.set_ylim(bottom - top, 0.0)
    return axes
