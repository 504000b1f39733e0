"""How text, lines and numbers are put into pictures: colours, sizes, and one pen for all of it."""

from dataclasses import dataclass
from typing import Any

from simulator.grid.grid import FloatArray

INK = "#1c1c1c"
QUIET = "#5b5b5b"
RULE = "#c9c9c9"
DONE = "#1b6e3c"
NOT_DONE = "#a3121c"

FAN = "#0b7a75"
HEATER = "#c1121f"
SENSOR = "#1b1b1b"
SPOT = "#2fd4f7"
SPOT_EDGE = "#003f5c"
SPOT_BADGE = "#00507a"
AIR = "#8a8a8a"
MEAN = "#c46a00"
WARMEST = "#b5179e"

#: Dots per inch of every picture, and the points of text in a pixel of that.
DOTS_PER_INCH = 100
POINTS = 72.0 / DOTS_PER_INCH


def rgb(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue (0 to 255) of a colour.

    >>> rgb("#1c1cff")
    (28, 28, 255)
    """
    red, green, blue = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return red, green, blue


@dataclass(frozen=True, slots=True)
class Pen:
    """Draws onto ``axes`` whose data are pixels from the upper left.

    Places and sizes are given for a sheet 1600 pixels wide; ``unit`` is the factor to the real one.
    """

    axes: Any
    unit: float

    def write(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        colour: str = INK,
        *,
        align: str = "left",
        bold: bool = False,
    ) -> Any:
        """Write one line of ``size`` pixels, its middle height at ``y``."""
        return self.axes.text(
            x * self.unit,
            y * self.unit,
            text,
            fontsize=POINTS * size * self.unit,
            color=colour,
            ha=align,
            va="center",
            fontweight="bold" if bold else "normal",
        )

    def line(
        self, x: FloatArray | list[float], y: FloatArray | list[float], colour: str, width: float
    ) -> Any:
        """Draw a line through points, ``width`` in points; return it."""
        across = [self.unit * value for value in x]
        down = [self.unit * value for value in y]
        return self.axes.plot(across, down, color=colour, lw=width * self.unit)[0]

    def badge(self, x: float, y: float, rank: int) -> None:
        """Draw the number of a cold spot in a disc."""
        self.axes.text(
            x * self.unit,
            y * self.unit,
            str(rank),
            fontsize=POINTS * 17 * self.unit,
            color="white",
            fontweight="bold",
            ha="center",
            va="center_baseline",
            zorder=8,
            bbox={
                "boxstyle": "circle,pad=0.28",
                "fc": SPOT_BADGE,
                "ec": "white",
                "lw": 1.5 * self.unit,
            },
        )
