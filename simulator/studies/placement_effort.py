"""How much a search for a layout does: how many layouts it tries, and how closely it looks."""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.studies.rungs import CLOSE_LOOK, CLOSEST, LOOK, WHOLE, Rung


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
    drawn : whole layouts that are drawn by lot and looked at beside the greedy one.
    proven : best ones of those that are looked at on fine cells.
    origins : best ones of all from which exchanges begin.
    close : best ones of each exchange that are looked at on fine cells.
    passes : over all pieces to exchange them, at most, from each origin.
    exchanged : poses tried for a piece beside its neighbourhood, each pass.
    sampled : layouts tried by a search that draws them whole (``placement_sampler``).
    look, judge, decide : the rungs on which poses are tried, on which the best of those to add is
        chosen and each fan left out in turn, and on which exchanges are decided.
    ladder : rungs after these with how many layouts reach each.
    polish : passes over all pieces of the best finalist to exchange them by runs on the last of
        these rungs.
    polished : best ones of each of these exchanges that are run there.
    again : how many of the best finalists are averaged from a second start, from a third, ... while
        the best two are tied.
    compare : the rung on which the answer is compared with other layouts.
    seed : of the poses that are drawn by lot beside those that promise most.
    """

    batch: int = 8
    thinned: int = 2
    fresh: int = 24
    runoff: int = 2
    drawn: int = 0
    proven: int = 0
    origins: int = 1
    close: int = 4
    passes: int = 2
    exchanged: int = 8
    sampled: int = 280
    look: Rung = LOOK
    judge: Rung = WHOLE
    decide: Rung = CLOSE_LOOK
    ladder: tuple[tuple[Rung, int], ...] = ((CLOSEST, 4),)
    polish: int = 0
    polished: int = 0
    again: tuple[int, ...] = (2,)
    compare: Rung = CLOSE_LOOK
    seed: int = 0


#: A search on coarse cells only: for a first look.
QUICK = Effort(
    passes=1, exchanged=4, sampled=140, decide=WHOLE, ladder=((WHOLE, 2),), compare=WHOLE
)
#: Layouts drawn by lot besides, and long averages that decide where looks on fine cells cannot:
#: some three times the work of the usual one.
LONG = Effort(
    drawn=200,
    proven=24,
    origins=3,
    passes=1,
    sampled=1000,
    ladder=((CLOSEST, 14),),
    polish=1,
    polished=3,
    again=(3, 2),
    compare=CLOSEST,
)

#: By the names by which they are asked for.
EFFORTS: Mapping[str, Effort] = {"quick": QUICK, "usual": Effort(), "long": LONG}
