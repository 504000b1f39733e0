"""The one scale of temperature colours, fixed so that pictures of cases can be compared."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simulator.grid.grid import FloatArray
from simulator.units import FAHRENHEIT_DEGREE, FAHRENHEIT_ZERO, System, format_quantity


@dataclass(frozen=True, slots=True)
class TemperatureScale:
    """Colours from ``low`` to ``high`` [°C]; ``marks`` [°C] are drawn across the colour bar.

    The map is perceptually even, so equal steps of temperature look like equal steps of colour.
    From 45 °C on, heat counts towards the egg dose; 50 °C is what every hiding place must reach.
    """

    low: float = 20.0
    high: float = 65.0
    marks: tuple[float, ...] = (45.0, 50.0)
    map_name: str = "plasma"
    unknown: str = "#b9b9b9"

    def map(self) -> Any:
        """Return the matplotlib colour map; what is not known is grey."""
        import matplotlib

        return matplotlib.colormaps[self.map_name].with_extremes(bad=self.unknown)

    def colours(self, temperature: ArrayLike) -> NDArray[np.uint8]:
        """Return the colours of temperatures [°C] as rows of red, green, blue (0 to 255)."""
        share = (np.asarray(temperature, dtype=float) - self.low) / (self.high - self.low)
        rgba = np.asarray(self.map()(np.ma.masked_invalid(share), bytes=True))
        return np.asarray(rgba[..., :3], dtype=np.uint8)

    def ticks(self, units: System) -> list[tuple[float, str]]:
        """Return the places of round numbers [°C] with their text in the system asked for."""
        if units == "us":
            return [
                (fahrenheit * FAHRENHEIT_DEGREE + FAHRENHEIT_ZERO, f"{fahrenheit:.0f} °F")
                for fahrenheit in range(70, 150, 20)
            ]
        return [(float(celsius), f"{celsius} °C") for celsius in range(20, 66, 10)]

    def mark_words(self, units: System) -> tuple[str, ...]:
        """Return what the marks mean, each with its temperature."""
        words = ("egg dose begins", "to be reached everywhere")
        return tuple(
            f"{format_quantity(mark, 'temperature', units).replace('.0', '')} {text}"
            for mark, text in zip(self.marks, words, strict=True)
        )


def shown_temperature(celsius: FloatArray, units: System) -> FloatArray:
    """Return temperatures in the unit of a plot's axis: °C or °F."""
    if units == "us":
        return (celsius - FAHRENHEIT_ZERO) / FAHRENHEIT_DEGREE
    return celsius


#: What every picture uses unless told otherwise.
FIXED_SCALE = TemperatureScale()
