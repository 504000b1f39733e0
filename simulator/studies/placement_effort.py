"""How much a search for a layout does: how many layouts it tries, and how closely it looks."""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.studies.rungs import CLOSE, CLOSE_LOOK, CLOSEST, LOOK, WHOLE, Rung


@dataclass(frozen=True, slots=True)
class Effort:
    """How much a search does.

    Attributes
    ----------
    batch : layouts that are tried before the next decision; not the number of processes, on which
        no answer may depend.
    thinned : for the first fan, one posture on every spot to one in so many of its sides.
    fresh : poses tried for each fan at most, for the first beside those.
    runoff : best poses to add that are judged by whole runs.
    close : best ones of each exchange that are looked at on fine cells.
    passes : over all pieces to exchange them, at most.
    exchanged : poses tried for a piece beside its neighbourhood, each pass.
    sampled : layouts tried by a search that draws them whole (``placement_sampler``).
    look, judge, decide : the rungs on which poses are tried, on which the best of those to add is
        chosen and each fan left out in turn, and on which exchanges are decided.
    ladder : rungs after these with how many layouts reach each.
    compare : the rung on which the answer is compared with other layouts.
    most_starts : averages of the last few from how many starts, at most.
    seed : of the poses that are drawn by lot beside those that promise most.
    """

    batch: int = 8
    thinned: int = 2
    fresh: int = 24
    runoff: int = 2
    close: int = 4
    passes: int = 2
    exchanged: int = 8
    sampled: int = 280
    look: Rung = LOOK
    judge: Rung = WHOLE
    decide: Rung = CLOSE_LOOK
    ladder: tuple[tuple[Rung, int], ...] = ((CLOSEST, 4),)
    compare: Rung = CLOSE_LOOK
    most_starts: int = 2
    seed: int = 0


#: A search on coarse cells only: for a first look.
QUICK = Effort(
    passes=1, exchanged=4, sampled=140, decide=WHOLE, ladder=((WHOLE, 2),), compare=WHOLE
)
#: More of each.
LONG = Effort(
    thinned=1,
    fresh=160,
    passes=6,
    exchanged=40,
    sampled=1000,
    runoff=4,
    close=8,
    ladder=((CLOSE, 8), (CLOSEST, 4)),
    compare=CLOSEST,
    most_starts=5,
)

#: By the names by which they are asked for.
EFFORTS: Mapping[str, Effort] = {"quick": QUICK, "usual": Effort(), "long": LONG}
