"""How far a run is: the work of each stage, planned from measured costs, told as it is done."""

from collections.abc import Callable
from dataclasses import dataclass

#: Cost of one step of the flow [s per open cell], of preparing (rays) at least [s] and for each
#: open cell [s], and of one epoch of heat [s per unknown], measured in four runs on one core of the
#: two-core machine that the README's figures are from, with other work on it: told and true differ
#: by a quarter. They set the shares of the bar and no result.
FLOW_STEP_COST = 0.3e-6
LEAST_PREPARATION = 1.0
PREPARATION_COST = 100e-6
HEAT_COST = 15e-6


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is: ``fraction`` of the work [0..1], the stage, simulated time [s], coldest."""

    fraction: float
    stage: str
    simulated_time: float
    coldest: float | None
    coldest_words: str


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """Expected cost of each stage [s]."""

    preparation: float
    first_flow: float
    next_flow: float
    epoch: float
    epochs: int

    @property
    def total(self) -> float:
        """Expected cost of the whole run [s]."""
        return (
            self.preparation
            + self.first_flow
            + (self.epochs - 1) * self.next_flow
            + self.epochs * self.epoch
        )

    def done_before(self, epoch: int, *, flow_is_solved: bool) -> float:
        """Return the cost of everything before the flow of an epoch, or before its heat [s]."""
        flows = epoch + 1 if flow_is_solved else epoch
        first = self.first_flow if flows > 0 else 0.0
        return self.preparation + first + max(flows - 1, 0) * self.next_flow + epoch * self.epoch


class Reporter:
    """Turns stages and their shares into ``Progress`` for whoever watches the run."""

    def __init__(self, tell: Callable[[Progress], None] | None) -> None:
        self._tell = tell
        self._last = Progress(0.0, "", 0.0, None, "")

    def __call__(
        self,
        stage: str,
        fraction: float | None = None,
        simulated_time: float | None = None,
        coldest: float | None = None,
        coldest_words: str = "",
    ) -> None:
        """Tell the stage; what is not given stays as it was, and the fraction never falls."""
        last = self._last
        self._last = Progress(
            max(last.fraction, min(fraction or 0.0, 1.0)),
            stage,
            last.simulated_time if simulated_time is None else simulated_time,
            last.coldest if coldest is None else coldest,
            coldest_words or last.coldest_words,
        )
        if self._tell is not None:
            self._tell(self._last)
