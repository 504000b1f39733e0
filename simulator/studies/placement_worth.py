"""What a placement is worth: beside the given layout and common practice, and without each fan."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from simulator.grid.place_key import PlaceKey, place_key
from simulator.studies.fan_layout import FanPlace
from simulator.studies.figures import PlaceTime, mean_value
from simulator.studies.layout import Layout, given_fans
from simulator.studies.layout_rules import RULES, RuleNumbers, lay_out
from simulator.studies.placement_search import Search
from simulator.studies.placement_space import Step
from simulator.studies.placement_task import PlacementTask
from simulator.studies.trials import Outcome, Trial, Trials

#: Common-practice layouts that every answer is compared with, by the names of their rules.
PRACTICE = ("corners", "beds", "heater")

#: The first of the starts from which layouts are compared, none that the search chose by; how many
#: at most.
FIRST_START, COMPARED_STARTS = 10, 2


@dataclass(frozen=True, slots=True)
class Contribution:
    """What the layout loses without one fan, by whole runs on coarse cells.

    ``value`` is that of the whole plan, ``loss`` by how much it is less without the fan; below zero
    the plan does better without it. ``meets`` is what its jet meets first and how far off [m];
    ``helped`` the places that would be done latest without it, each with the difference [s].
    """

    fan: FanPlace
    value: float
    loss: float
    meets: tuple[str, float] | None
    helped: tuple[tuple[PlaceTime, float], ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """A layout beside the answer: what it is, where it comes from, its runs from new starts."""

    words: str
    standing: str
    fans: int
    outcomes: tuple[Outcome, ...]
    values: tuple[float, ...]

    @property
    def value(self) -> float:
        """The mean over its starts."""
        return mean_value(self.values)


@dataclass(frozen=True, slots=True)
class Rival:
    """A layout that the answer is compared with, or the answer: what it is, where it comes from."""

    words: str
    standing: str
    layout: Layout


def rivals_of(task: PlacementTask, search: Search, trials: Trials) -> tuple[Rival, ...]:
    """Return the answer, the given layout and those of common practice."""
    start, fans = search.space.start, task.space.fans
    given = Layout(given_fans(task.given), start.heaters)
    found = [Rival("this plan", "search", search.best)]
    if fans or given.fans:
        found.append(Rival("the given layout", "given", given))
    for name in PRACTICE if fans else ():
        fan, rule = fans[0][0], RULES[name]
        numbers = RuleNumbers(diameter=fan.diameter, flow=fan.flow, power=fan.power)
        laid = lay_out(rule, trials.case(start), numbers, len(fans))
        layout = replace(start, fans=tuple(replace(one, voltage=fan.voltage) for one in laid))
        found.append(Rival(rule.words, rule.standing, layout))
    return tuple(found)


def run_ahead(rivals: Sequence[Rival], search: Search, trials: Trials) -> None:
    """Run at once what ``compared`` and ``contributions`` ask first, so that no process waits."""
    close = [Trial(rival.layout, search.effort.compare, FIRST_START) for rival in rivals]
    trials.outcomes([*close, *_left_out(search)])


def compared(
    rivals: Sequence[Rival], search: Search, trials: Trials, tell: Callable[[Step], None]
) -> tuple[Compared, ...]:
    """Return what the answer and others are worth from starts that the search did not use."""
    outcomes = _from_starts([rival.layout for rival in rivals], search, trials)
    found = []
    for rival, ours in zip(rivals, outcomes, strict=True):
        values = tuple(one.value(search.objective) for one in ours)
        number = len(rival.layout.fans)
        found.append(Compared(rival.words, rival.standing, number, tuple(ours), values))
    tell(
        Step(
            "compared with the given layout and common practice",
            search.best,
            found[0].value,
            search.effort.compare,
        )
    )
    return tuple(found)


def _from_starts(layouts: Sequence[Layout], search: Search, trials: Trials) -> list[list[Outcome]]:
    """Return the outcomes of each layout from new starts: as many as it takes to part two.

    Layouts within a tie of the first, and the first if there are any, are run from one more start.
    """
    objective = search.objective
    found: list[list[Outcome]] = [[] for _ in layouts]
    unsettled = list(range(len(layouts)))
    for start in range(FIRST_START, FIRST_START + COMPARED_STARTS):
        asked = [Trial(layouts[number], search.effort.compare, start) for number in unsettled]
        for number, outcome in zip(unsettled, trials.outcomes(asked), strict=True):
            found[number].append(outcome)
        values = [mean_value([one.value(objective) for one in ours]) for ours in found]
        width = objective.width(values[0])
        tied = [n for n in unsettled if n and abs(values[n] - values[0]) < width]
        unsettled = [0, *tied] if tied else []
    return found


def contributions(
    task: PlacementTask, search: Search, trials: Trials, tell: Callable[[Step], None]
) -> tuple[Contribution, ...]:
    """Return what is lost without each fan, by whole runs on coarse cells."""
    best = search.best
    if not best.fans:
        return ()
    outcomes = trials.outcomes(_left_out(search))
    runs = [
        outcomes[first : first + COMPARED_STARTS]
        for first in range(0, len(outcomes), COMPARED_STARTS)
    ]
    values = [mean_value([one.value(search.objective) for one in ours]) for ours in runs]
    found = [
        Contribution(
            fan=fan,
            value=values[0],
            loss=values[index + 1] - values[0],
            meets=task.space.floors.stuff.met_by(fan),
            helped=_helped(runs[0], runs[index + 1]),
        )
        for index, fan in enumerate(best.fans)
    ]
    tell(Step("each fan left out in turn", best, values[0], search.effort.judge))
    return tuple(found)


def _left_out(search: Search) -> list[Trial]:
    """Return runs of the answer, then of it without each fan, each from all new starts."""
    best = search.best
    layouts = [best, *(best.without_fan(index) for index in range(len(best.fans)))]
    return [
        Trial(layout, search.effort.judge, FIRST_START + start, with_places=True)
        for layout in (layouts if best.fans else ())
        for start in range(COMPARED_STARTS)
    ]


def _helped(
    whole: Sequence[Outcome], without: Sequence[Outcome], most: int = 3
) -> tuple[tuple[PlaceTime, float], ...]:
    """Return the places that are later without a fan, and by how much on average [s]."""
    with_it, left = _mean_times(whole), _mean_times(without)
    later = [(place, time - with_it[key].time) for key, (place, time) in _pairs(with_it, left)]
    later = [(place, difference) for place, difference in later if difference > 0.0]
    later.sort(key=lambda one: -one[1])
    found: list[tuple[PlaceTime, float]] = []
    for place, difference in later:
        if all(place.owner != other.owner for other, _ in found):
            found.append((place, difference))
    return tuple(found[:most])


def _mean_times(outcomes: Sequence[Outcome]) -> dict[PlaceKey, PlaceTime]:
    """Return each place's time in the first state, the mean over the starts."""
    times: dict[PlaceKey, list[float]] = {}
    for outcome in outcomes:
        for place in outcome.states[0].times if outcome.states else ():
            times.setdefault(place_key(place), []).append(place.time)
    return {key: PlaceTime(*key, mean_value(runs)) for key, runs in times.items()}


def _pairs(
    whole: dict[PlaceKey, PlaceTime], left: dict[PlaceKey, PlaceTime]
) -> list[tuple[PlaceKey, tuple[PlaceTime, float]]]:
    return [(key, (place, left[key].time)) for key, place in whole.items() if key in left]
