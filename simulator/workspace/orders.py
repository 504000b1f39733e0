"""What the page may ask a process of its own to do."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from simulator.units import System

#: A run, a search for the places of fans, a lesson.
What = Literal["run", "place", "lesson"]


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be done: with the texts of a case, into a file.

    Attributes
    ----------
    what : which of them.
    texts, main : of the case, as it was when it was asked for.
    path : of the file that is written.
    units : of what is told.
    cell_size : of a run [m].
    coarse : result of the same texts on larger cells, if there is one; it tells a run's error.
    """

    what: What
    texts: dict[str, str]
    main: str
    path: Path
    units: System
    cell_size: float
    coarse: Path | None = None
