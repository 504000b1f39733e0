"""The strip under the drawing of a room: the scale of colours and the key to the signs."""

import numpy as np

from simulator.output.pen import FAN, HEATER, INK, POINTS, QUIET, SENSOR, SPOT, SPOT_EDGE, Pen
from simulator.output.temperature_scale import TemperatureScale
from simulator.units import System

#: Where the bar of colours lies [pixels].
LEFT, RIGHT, TOP, BOTTOM = 44.0, 616.0, 40.0, 64.0


def draw_scale(pen: Pen, scale: TemperatureScale, units: System) -> None:
    """Draw the bar of colours, its numbers and its marks."""
    box = [side * pen.unit for side in (LEFT, RIGHT, BOTTOM, TOP)]
    colours = np.linspace(0.0, 1.0, 512)[None, :]
    frame = pen.axes.get_xlim(), pen.axes.get_ylim()
    pen.axes.imshow(colours, extent=box, cmap=scale.map(), aspect="auto", zorder=1)
    pen.axes.set(xlim=frame[0], ylim=frame[1])
    for tick, text in scale.ticks(units):
        x = _place(tick, scale)
        pen.line([x, x], [BOTTOM, BOTTOM + 6.0], INK, 1.2)
        pen.write(x, BOTTOM + 18.0, text, 15.0, align="center")
    for mark, align, text in zip(
        scale.marks, ("right", "left"), scale.mark_words(units), strict=True
    ):
        x = _place(mark, scale)
        pen.line([x, x], [TOP - 8.0, BOTTOM + 1.0], INK, 2.2)
        pen.write(x, TOP - 20.0, text, 14.0, align=align)
    words = "Furniture: its hiding places. Floor: the air and things just above it."
    pen.write(LEFT, BOTTOM + 42.0, words, 14.0, QUIET)


def _place(temperature: float, scale: TemperatureScale) -> float:
    share = (temperature - scale.low) / (scale.high - scale.low)
    return LEFT + share * (RIGHT - LEFT)


def draw_key(pen: Pen) -> None:
    """Draw what the signs in the picture mean."""
    from matplotlib.patches import Rectangle

    left, top = 706.0, 36.0
    signs = (("fan", FAN, ">"), ("heater", HEATER, "s"), ("sensor", SENSOR, "o"))
    for index, (name, colour, marker) in enumerate(signs):
        x = left + 155.0 * index
        pen.axes.plot(
            [x * pen.unit],
            [top * pen.unit],
            marker=marker,
            ms=15.0 * POINTS * pen.unit,
            color=colour,
        )
        pen.write(x + 18.0, top, name, 16.0)
    corner = ((left - 9.0) * pen.unit, (top + 26.0) * pen.unit)
    pen.axes.add_patch(
        Rectangle(
            corner,
            20.0 * pen.unit,
            16.0 * pen.unit,
            fc=SPOT,
            alpha=0.75,
            ec=SPOT_EDGE,
            lw=1.2 * pen.unit,
        )
    )
    pen.write(left + 18.0, top + 34.0, "cold spot, also inside and under things", 16.0)
