"""How much a search for a layout does: how many layouts it tries, and how closely it looks."""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.studies.rungs import CLOSE, CLOSEST, LOOK, WHOLE, Rung


@dataclass(frozen=True, slots=True)
class Effort:
    """How much a search does.

    Attributes
    ----------
    batch : layouts that are tried before the next decision; not the number of processes, on which
        no answer may depend.
    fresh : poses tried for each fan after the first, at most; for the first, this many beside one
        posture on every spot to every side.
    runoff : best ones of each step that are judged by whole runs.
    passes : over all pieces to exchange them, at most.
    exchanged : poses tried for a piece beside its neighbourhood, each pass.
    sampled : layouts tried by a search that draws them whole (``placement_sampler``).
    look, judge : the rungs on which poses are tried, and on which the best of each step is chosen
        and each fan left out in turn.
    ladder : rungs after these with how many layouts reach each.
    most_starts : averages of the last few from how many starts, at most.
    seed : of the poses that are drawn by lot beside those that promise most.
    """

    batch: int = 8
    fresh: int = 40
    runoff: int = 4
    passes: int = 2
    exchanged: int = 8
    sampled: int = 280
    look: Rung = LOOK
    judge: Rung = WHOLE
    ladder: tuple[tuple[Rung, int], ...] = ((CLOSEST, 3),)
    most_starts: int = 2
    seed: int = 0


#: A search on coarse cells only: for a first look.
QUICK = Effort(fresh=24, passes=1, exchanged=4, sampled=140, ladder=((WHOLE, 2),))
#: More of each.
LONG = Effort(
    fresh=160,
    passes=3,
    exchanged=40,
    sampled=1000,
    runoff=8,
    ladder=((CLOSE, 8), (CLOSEST, 4)),
    most_starts=5,
)

#: By the names by which they are asked for.
EFFORTS: Mapping[str, Effort] = {"quick": QUICK, "usual": Effort(), "long": LONG}
