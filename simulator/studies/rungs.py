"""How closely a layout is looked at: from a cheap look at hundreds to a long one at the last few.

Rungs of a ladder (successive halving): every layout gets the first, the better half or so the next.
A run is repeated from another *start* (``from_start``): its steps are a little shorter, which leads
a flow that never settles another way within seconds, at no cost. So repeated runs tell how far
averages of the same flow scatter, and what was chosen by some can be judged by others.
"""

import math
from dataclasses import dataclass, replace

from simulator.physics.airflow.settings import AirflowSettings
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.run_settings import QUICK, THOROUGH, RunSettings

#: By how much shorter the steps of each start are than those of the one before it [-] (choice: far
#: below what changes the mean flow).
SHORTER = 0.01

#: Seconds of flow before the averages where they begin from a flow that differs by one fan: what
#: such a start saves (estimate: averages over 10 s were far better than from rest).
WARM_DISCARD = 10.0

#: Marching that is good to about a kelvin: in two furnished rooms objectives came within 0.4 % of
#: those by the usual error at half of its cost. With longer steps heaters overshot their limits.
_LOOSE = ImplicitSteps(error=1.0, solver_tolerance=0.02, longest=600.0, shortest=60.0)

#: Marching for whole runs: objectives were within 0.5 % of those by the usual error on coarse
#: cells, all of one sign, and within 0.1 % on fine ones, at two thirds and three quarters of the
#: cost (four layouts in a furnished bedroom).
_FAIR = replace(_LOOSE, error=0.5)


@dataclass(frozen=True, slots=True)
class Rung:
    """One way of looking: ``words``, cells of about ``cell_size`` [m], settings of the run."""

    words: str
    cell_size: float
    settings: RunSettings

    def from_start(self, start: int) -> RunSettings:
        """Return the settings of a run from a start: 0, 1, ... up to some dozens."""
        first, again = (
            replace(plan, settings=_shortened(plan.settings, start))
            for plan in (self.settings.first_flow, self.settings.next_flow)
        )
        return replace(self.settings, first_flow=first, next_flow=again)

    def warm(self, start: int) -> RunSettings:
        """Return the settings of a run whose flow begins with that of a layout like it."""
        settings = self.from_start(start)
        discard = min(WARM_DISCARD, settings.first_flow.discard)
        return replace(settings, first_flow=replace(settings.first_flow, discard=discard))


def _shortened(settings: AirflowSettings, start: int) -> AirflowSettings:
    return replace(settings, step_per_cell=settings.step_per_cell * (1.0 - SHORTER * start))


#: Cells of the first rungs and of the last [m].
COARSE, FINE = 0.20, 0.10

#: One flow without buoyancy, two epochs, a loose march.
LOOK = Rung(
    "a look",
    COARSE,
    replace(QUICK, march=_LOOSE, rarer=3.0, epoch_ends=(900.0,), refresh_share=math.inf),
)
#: All of the physics, on the same cells, with short averages.
WHOLE = Rung("a whole run", COARSE, replace(QUICK, march=_FAIR, rarer=2.0))
#: Looks and whole runs on fine cells, and these with long averages. Fine cells put good layouts in
#: another order than coarse ones, which a look on them shows at a third of the cost of a long run.
CLOSE_LOOK = Rung("a close look", FINE, LOOK.settings)
CLOSE = Rung("a close run", FINE, WHOLE.settings)
CLOSEST = Rung("a close run with long averages", FINE, replace(THOROUGH, march=_FAIR, rarer=2.0))
