"""When the heat ends: temperatures are told at that moment, not after the cool-down."""

from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.grid.grid import FloatArray


@dataclass(frozen=True, slots=True)
class EndOfHeat:
    """The last moment before a cool-down, or of the run if none is planned.

    ``index`` counts the times of the history; ``words`` say the moment.
    """

    index: int
    words: str


#: The end of a run that no cool-down follows.
END_OF_RUN = EndOfHeat(-1, "at the end")


def end_of_heat(case: Case, time: FloatArray) -> EndOfHeat:
    """Return the end of the heat among the times of a history (T,) [s]."""
    end = case.treatment.heat_ends
    if not time.size or end >= time[-1]:
        return END_OF_RUN
    return EndOfHeat(int(np.searchsorted(time, end + 1e-6)) - 1, "when the heat ends")
