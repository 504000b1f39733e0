"""The search for a layout: add fans one by one, exchange them, look closer at the best few.

*Add* is lazy and greedy: a fan's gain beside few others bounds, near enough, its gain beside more
of them, so that after the first fan only poses that promise more than the best one tried are tried
again. What a fan adds depends on where the others stand, so a search with time for it *draws* whole
layouts besides. *Exchange* takes each piece out in turn and tries its neighbourhood and the poses
that promised most; what was added first may be worth less once the others stand. All of them look
cheaply at many; the best few to add are chosen by whole runs on the same coarse cells, where
exchanges begin and how they end by looks on fine ones, which put good layouts in another order.
Then the best of all climb the ladder (``rungs``) to long averages. Looks on fine cells cannot tell
good layouts apart, so the best of these has its pieces *exchanged* once more, by such averages. At
the end ties are settled by averages from more starts.

The choices depend on figures alone, never on which process was first: a search is repeated, resumed
or run on more cores with the same answer.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import takewhile

import numpy as np

from simulator.studies.fan_layout import FanPlace
from simulator.studies.figures import mean_value
from simulator.studies.layout import Layout
from simulator.studies.objectives import Objective
from simulator.studies.placement_draws import (
    drawn_layouts,
    other_fans,
    other_heaters,
    spot_of,
    thinned,
)
from simulator.studies.placement_effort import Effort
from simulator.studies.placement_space import Ranked, Space, Step
from simulator.studies.rungs import WHOLE, Rung
from simulator.studies.trials import Trial, Trials


@dataclass(slots=True)
class Search:
    """A search under way; ``best`` is what it would answer now.

    ``spared`` counts the fans that were placed and taken out again: it does better without them.
    """

    space: Space
    trials: Trials
    objective: Objective
    effort: Effort = field(default_factory=Effort)
    tell: Callable[[Step], None] = lambda _: None
    best: Layout = field(default_factory=Layout)
    spared: int = 0
    finalists: tuple[Ranked, ...] = ()
    reached: Rung = WHOLE
    _looked: dict[Layout, float] = field(default_factory=dict)
    _judged: dict[Layout, float] = field(default_factory=dict)
    _decided: dict[Layout, float] = field(default_factory=dict)
    _promise: dict[FanPlace, float] = field(default_factory=dict)

    def run(self) -> None:
        """Search; what was found so far is in the attributes at any time."""
        self.reached = self.effort.judge
        current = self.space.start
        self._look([current], None)
        self._count(current, "heaters alone")
        chosen = self._choose(current)
        current = self._spare(chosen)
        self.spared = len(chosen.fans) - len(current.fans)
        self._climb(current)

    def _choose(self, current: Layout) -> Layout:
        """Return the best layout found by adding fans to one and exchanging its pieces."""
        for number, poses in enumerate(self.space.fans):
            added = self._add(current, poses, number)
            if added is None:
                break
            current = added
            self._count(current, f"fan {number + 1} of {len(self.space.fans)} added")
        lots = np.random.default_rng(self.effort.seed)
        found = [
            self._exchange(one, self.effort.passes, lots, self._by_looks)
            for one in self._origins(current, lots)
        ]
        return min(found, key=lambda layout: self._decided.get(layout, 0.0))

    # ---- draw ----

    def _origins(self, current: Layout, lots: np.random.Generator) -> list[Layout]:
        """Return the layouts to exchange pieces of: the best of one and of those drawn by lot."""
        fans = len(current.fans)
        if self.effort.drawn == 0 or fans + len(current.heaters) < 2:
            return [current]
        drawn = drawn_layouts(self.space, fans, self.effort.drawn, lots)
        looked = {current: self._looked[current]}
        for first in range(0, len(drawn), self.effort.batch):
            batch = drawn[first : first + self.effort.batch]
            looked.update(zip(batch, self._look(batch, None), strict=True))
            best = min(looked, key=lambda layout: looked[layout])
            self._note(f"{first + len(batch)} layouts drawn by lot", best, looked[best])
        others = sorted(drawn, key=lambda layout: looked[layout])[: self.effort.proven]
        few = list(dict.fromkeys([current, *others]))
        self._decide(few)
        self._note_decided(f"the best {len(others)} of them looked at closely")
        return sorted(few, key=lambda layout: self._decided[layout])[: self.effort.origins]

    def judged(self, layout: Layout) -> float:
        """Return the value of a layout by a whole run that was made."""
        return self._judged[layout]

    def by_number(self) -> list[Ranked]:
        """Return the best layout of no fan, of one, ... by whole runs, up to the first gap."""
        found: dict[int, Ranked] = {}
        for layout, value in self._judged.items():
            number = len(layout.fans)
            if number not in found or value < found[number].value:
                found[number] = Ranked(layout, (value,))
        return [found[number] for number in takewhile(found.__contains__, range(len(found)))]

    def _count(self, current: Layout, words: str) -> None:
        """Judge what a number of fans is worth."""
        self._judge([current])
        self._note(words, current)

    # ---- add ----

    def _add(self, current: Layout, poses: Sequence[FanPlace], number: int) -> Layout | None:
        """Return the layout with one more fan: the best one tried, or None if none can stand."""
        open_poses = [pose for pose in poses if self.space.may_add(current, pose)]
        if not open_poses:
            return None
        words = f"fan {number + 1}"
        gains: dict[Layout, float] = {}
        if number == 0:
            plain = thinned(open_poses, self.effort.thinned)
            self._try(current, plain, len(plain), gains, words)
            self._promise_alike(open_poses)
        others = [pose for pose in open_poses if current.with_fan(pose) not in gains]
        others.sort(key=lambda pose: -self._promise.get(pose, float("inf")))  # stable: by number
        self._try(current, others, self.effort.fresh, gains, words, is_lazy=number > 0)
        return self._run_off(sorted(gains, key=lambda layout: -gains[layout]))

    def _try(
        self,
        current: Layout,
        poses: Sequence[FanPlace],
        most: int,
        gains: dict[Layout, float],
        words: str,
        *,
        is_lazy: bool = False,
    ) -> None:
        """Note the gains of poses in their order; lazily until none promises more than the best."""
        here = self._looked[current]
        for first in range(0, min(most, len(poses)), self.effort.batch):
            batch = poses[first : min(first + self.effort.batch, most)]
            promised = self._promise.get(batch[0], float("inf"))
            if is_lazy and gains and max(gains.values()) >= promised:
                break
            layouts = [current.with_fan(pose) for pose in batch]
            values = self._look(layouts, current)
            for pose, layout, value in zip(batch, layouts, values, strict=True):
                gains[layout] = self._promise[pose] = here - value
            best = max(gains, key=lambda layout: gains[layout])
            self._note(f"{words}: {len(gains)} poses tried", best, self._looked[best])

    def _promise_alike(self, poses: Iterable[FanPlace]) -> None:
        """Take what a pose promises for others on its spot to its side, until they are tried.

        A side that was passed over takes the mean of those on the same spot that are nearest to it.
        """
        known: dict[tuple[object, ...], dict[float, float]] = {}
        for pose, gain in self._promise.items():
            known.setdefault(spot_of(pose), {}).setdefault(pose.turn, gain)
        for pose in poses:
            sides = known.get(spot_of(pose))
            if sides:
                away = {turn: abs((turn - pose.turn + 180.0) % 360.0 - 180.0) for turn in sides}
                least = min(away.values())
                near = [gain for turn, gain in sides.items() if away[turn] <= least + 1e-9]
                self._promise.setdefault(pose, mean_value(near))

    def _run_off(self, layouts: Sequence[Layout]) -> Layout:
        """Return the best of the first few layouts by whole runs."""
        few = list(layouts)[: self.effort.runoff]
        values = self._judge(few)
        return few[int(np.argmin(values))]

    # ---- exchange ----

    def _exchange(
        self,
        current: Layout,
        passes: int,
        lots: np.random.Generator,
        better: Callable[[Layout, Sequence[Layout], str], Layout],
    ) -> Layout:
        """Return the layout after exchanges of its pieces, one at a time, while that helps."""
        pieces = len(current.fans) + len(current.heaters)
        left = pieces  # since the last exchange that helped
        for number in range(passes * pieces):
            others, words = self._others(current, number % pieces, lots)
            found = better(current, others, f"{words} exchanged")
            left = left - 1 if found == current else pieces
            current = found
            if left == 0:
                break
        return current

    def _others(
        self, current: Layout, index: int, lots: np.random.Generator
    ) -> tuple[list[Layout], str]:
        """Return layouts with one piece elsewhere, and what that piece is called."""
        count = self.effort.exchanged
        if index < len(current.fans):
            words = f"fan {index + 1}"
            return other_fans(self.space, current, index, self._promise, count, lots), words
        index -= len(current.fans)
        return other_heaters(self.space, current, index, count, lots), current.heaters[index].name

    def _by_looks(self, current: Layout, others: Sequence[Layout], words: str) -> Layout:
        """Return the best of a layout and others by closer looks at the few that look best.

        Those are looked at closely also where coarse cells see no gain; one more at first, so that
        no process waits while the layout itself is looked at. None is looked at twice.
        """
        self._look([layout for layout in others if layout not in self._looked], current)
        undecided = [layout for layout in others if layout not in self._decided]
        few = self.effort.close + (current not in self._decided)
        ranked = sorted(undecided, key=lambda layout: self._looked[layout])[:few]
        self._decide([current, *ranked])
        if not self.finalists:  # these are known by longer runs
            self._note_decided(words)
        return min([current, *ranked], key=lambda layout: self._decided[layout])

    def _by_long_runs(self, current: Layout, others: Sequence[Layout], words: str) -> Layout:
        """Return the best of a finalist and the few of others that looks choose, by long runs."""
        self._by_looks(current, others, words)
        known = {one.layout for one in self.finalists}
        fresh = [one for one in others if one in self._decided and one not in known]
        few = sorted(fresh, key=lambda layout: self._decided[layout])[: self.effort.polished]
        self._run_finalists(few, self.reached, self.finalists, with_whole=True)
        values = {one.layout: one.value for one in self.finalists}
        self._note_finalist(f"{words} by long runs")
        return min([current, *few], key=lambda layout: values[layout])

    def _spare(self, current: Layout) -> Layout:
        """Return the layout, or one with fewer fans that beats it by more than a tie.

        More fans than a room needs can stir it worse; the best of fewer is without one of these, or
        was met on the way.
        """
        while current.fans:
            (here, *_) = self._judge(
                [current, *(current.without_fan(index) for index in range(len(current.fans)))]
            )
            fewer = [one for one in self._judged if len(one.fans) < len(current.fans)]
            best = min(fewer, key=lambda layout: self._judged[layout])
            if here - self._judged[best] <= self.objective.width(here):
                break
            self._decide([current, best])  # coarse cells alone take no fan away
            gain = self._decided[current] - self._decided[best]
            if gain <= self.objective.width(self._decided[current]):
                break
            current = best
            self._note("better with fewer fans", current)
        return current

    # ---- climb ----

    def _climb(self, current: Layout) -> None:
        """Halve the best layouts of as many fans rung by rung; then exchange pieces of the best.

        At last ties are settled by more starts.
        """
        fans = len(current.fans)
        is_decided = current in self._decided and not self.spared
        tried = self._decided if is_decided else self._judged
        known = [Ranked(one, (value,)) for one, value in tried.items() if len(one.fans) == fans]
        self.finalists = _in_order(known)
        for rung, keep in self.effort.ladder:
            layouts = [one.layout for one in self.finalists[:keep]]
            self._run_finalists(layouts, rung, (), with_whole=rung is self.effort.ladder[-1][0])
            self._note_finalist(rung.words)
        lots = np.random.default_rng([self.effort.seed, 1])  # not the draws that began the search
        self._exchange(self.finalists[0].layout, self.effort.polish, lots, self._by_long_runs)
        for start, count in enumerate(self.effort.again, start=2):
            if not self._is_tied():
                break
            self._settle(start, count)

    def _run_finalists(
        self, layouts: Sequence[Layout], rung: Rung, others: Sequence[Ranked], *, with_whole: bool
    ) -> None:
        """Rank layouts on a rung among others that were run on it.

        Beside each of the closest runs stands a whole run, so that every finalist is known by one.
        """
        whole = layouts if with_whole else ()
        trials = [Trial(layout, rung, 1) for layout in layouts]
        also = [Trial(layout, self.effort.judge) for layout in whole]
        values = self._values([*trials, *also])
        self._judged.update(zip(whole, values[len(trials) :], strict=True))
        values = values[: len(trials)]
        ranked = [Ranked(one, (value,)) for one, value in zip(layouts, values, strict=True)]
        self.finalists, self.reached = _in_order([*ranked, *others]), rung

    def _is_tied(self) -> bool:
        if len(self.finalists) < 2:
            return False
        best, second = self.finalists[:2]
        return second.value - best.value < self.objective.width(best.value)

    def _settle(self, start: int, count: int) -> None:
        """Average the best few from one more start; the best was the best of many by luck too."""
        few, others = self.finalists[:count], self.finalists[count:]
        values = self._values([Trial(one.layout, self.reached, start) for one in few])
        more = [
            replace(one, values=(*one.values, value))
            for one, value in zip(few, values, strict=True)
        ]
        self.finalists = (*_in_order(more), *others)
        self._note_finalist("a tie, averaged again")

    # ---- what all of them do ----

    def _look(self, layouts: Sequence[Layout], warm: Layout | None) -> list[float]:
        """Return the values of layouts by cheap looks; the first look at one counts."""
        values = self._values([Trial(one, self.effort.look, 0, warm) for one in layouts])
        for layout, value in zip(layouts, values, strict=True):
            self._looked.setdefault(layout, value)
        return values

    def _judge(self, layouts: Sequence[Layout]) -> list[float]:
        """Return the values of layouts by whole runs."""
        values = self._values([Trial(layout, self.effort.judge) for layout in layouts])
        self._judged.update(zip(layouts, values, strict=True))
        return values

    def _decide(self, layouts: Sequence[Layout]) -> None:
        """Look at layouts as closely as it takes to decide between them."""
        values = self._values([Trial(layout, self.effort.decide) for layout in layouts])
        self._decided.update(zip(layouts, values, strict=True))

    def _values(self, trials: Sequence[Trial]) -> list[float]:
        return [one.value(self.objective) for one in self.trials.outcomes(trials)]

    def _note(
        self,
        words: str,
        layout: Layout,
        value: float | None = None,
        rung: Rung | None = None,
    ) -> None:
        """Tell a step; without a value it is that of a whole run."""
        self.best = layout
        if value is None:
            self.tell(Step(words, layout, self._judged[layout], self.effort.judge))
        else:
            self.tell(Step(words, layout, value, rung or self.effort.look))

    def _note_decided(self, words: str) -> None:
        """Tell a step with the best layout by the looks that decide."""
        best = min(self._decided, key=lambda layout: self._decided[layout])
        self._note(words, best, self._decided[best], self.effort.decide)

    def _note_finalist(self, words: str) -> None:
        """Tell a step with the best finalist."""
        best = self.finalists[0]
        self._note(words, best.layout, best.value, self.reached)


def _in_order(layouts: Iterable[Ranked]) -> tuple[Ranked, ...]:
    return tuple(sorted(layouts, key=lambda one: one.value))
