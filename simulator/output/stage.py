"""What stands in the middle of a picture: a drawing of the dwelling, in 3D or as a plan."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from simulator.grid.grid import FloatArray


@dataclass(frozen=True, slots=True)
class Stage:
    """The drawing in the middle: how to draw it, and where a point of the dwelling lies in it."""

    size: tuple[int, int]
    draw: Callable[[Any], None]  # onto axes whose data are pixels from the upper left
    project: Callable[[FloatArray], FloatArray]
    note: str = ""
