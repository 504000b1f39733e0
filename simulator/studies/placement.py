"""DECIDE where fans, and if they are free heaters, stand: a search, and what it is worth.

``place`` is what the command line and the browser page call. It answers with the best layout found,
what each fan adds, the runner-up if the two cannot be told apart, and how the given layout and
three of common practice do by the same measure.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.equipment.placement import Blower
from simulator.errors import CaseError, Interrupted
from simulator.studies.candidates import Density, Floors, fan_candidates, heater_candidates
from simulator.studies.evaluate import Workers
from simulator.studies.fan_layout import FanPlace, with_fans
from simulator.studies.figures import PlaceTime, mean_value
from simulator.studies.heat_need import HeatNeed, heat_need
from simulator.studies.heater_count import HeaterCount, by_heaters
from simulator.studies.layout import (
    Layout,
    fan_voltage,
    given_fans,
    given_heaters,
    left_off,
)
from simulator.studies.layout_rules import RULES, RuleNumbers, lay_out
from simulator.studies.objectives import OBJECTIVES, Objective
from simulator.studies.placement_search import Effort, Ranked, Search, Space, Step
from simulator.studies.rungs import Rung
from simulator.studies.sensor_places import SensorPlan, place_sensors
from simulator.studies.trial_log import TrialLog
from simulator.studies.trials import Outcome, Trial, Trials

#: Common-practice layouts that every answer is compared with, by the names of their rules.
PRACTICE = ("corners", "beds", "heater")

#: Starts of the averages with which layouts are compared: none that the search chose by.
FIRST_START, COMPARED_STARTS = 10, 2

#: One more fan is worth it if it makes the objective smaller by more than this share [-] (choice).
KNEE = 0.02


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked for.

    Attributes
    ----------
    fans : how many; None: as many as the layout has.
    objective : to be made small.
    moves_heaters : whether heaters and ducts may be moved as well.
    states : the same dwelling in further states of preparation; a layout is as good as in its
        worst one.
    density, effort : how many poses there are to choose from, and how long the search goes on.
    sensors : how many are to be placed for the answer; 0: none.
    workers : processes; None: one for each core.
    log : file of what was run; None: nothing is kept.
    """

    fans: int | None = None
    objective: Objective = OBJECTIVES[0]
    moves_heaters: bool = False
    states: tuple[Case, ...] = ()
    density: Density = field(default_factory=Density)
    effort: Effort = field(default_factory=Effort)
    sensors: int = 0
    workers: int | None = None
    log: Path | None = None


@dataclass(frozen=True, slots=True)
class Contribution:
    """What the layout loses without one fan, by whole runs on coarse cells.

    ``meets`` is what its jet meets first and how far off [m]; ``helped`` the places that would be
    done latest without it, each with the difference [s].
    """

    fan: FanPlace
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
class Placement:
    """What ``place`` returns.

    Attributes
    ----------
    layout, case : the best layout found, and the case with it.
    finalists : the last layouts with their values on ``rung``, the best first.
    compared : the answer itself, the given layout and those of common practice, on ``rung`` from
        starts that the search did not choose by; empty if it was interrupted.
    contributions : of each fan.
    by_number : the best layout of each number of fans on the way, by whole runs on coarse cells.
    by_heaters : the answer with fewer heaters and with one more, likewise.
    enough : the number of fans beyond which one more is not worth it.
    sensors : where they catch the last cold places of the answer; None: not asked for.
    need : heat needed and given.
    poses : how many poses there were to choose from for the first fan, for each heater.
    runs, known : made, and found in the log.
    notes : what was left out.
    """

    question: Question
    layout: Layout
    case: Case
    rung: Rung
    finalists: tuple[Ranked, ...]
    compared: tuple[Compared, ...]
    contributions: tuple[Contribution, ...]
    by_number: tuple[Ranked, ...]
    by_heaters: tuple[HeaterCount, ...]
    enough: int
    sensors: SensorPlan | None
    need: HeatNeed
    poses: tuple[int, ...]
    runs: int
    notes: tuple[str, ...]
    is_complete: bool

    @property
    def runner_up(self) -> Ranked | None:
        """The next best layout if averages cannot tell it from the best, or None."""
        if len(self.finalists) < 2:
            return None
        best, second = self.finalists[:2]
        is_tied = second.value - best.value < self.question.objective.width(best.value)
        return second if is_tied else None


def place(
    case: Case, question: Question, tell: Callable[[Step], None] = lambda _: None
) -> Placement:
    """Return where the fans of a case should stand.

    Parameters
    ----------
    case : with the layout that the answer is compared with; its heaters stay unless they are free.
    tell : called with each step of the search.

    Raises
    ------
    CaseError
        If no fan can stand anywhere, or the circuits do not even carry the heaters.
    """
    states = (case, *question.states)
    task = _Task.of(states, question)
    log = TrialLog(question.log)
    is_complete = True
    compared: tuple[Compared, ...] = ()
    contributions: tuple[Contribution, ...] = ()
    counts: tuple[HeaterCount, ...] = ()
    sensors: SensorPlan | None = None
    try:
        with Workers(question.workers) as workers:
            trials = Trials(task.bare, workers, log)
            search = Search(
                task.space, trials, question.objective, question.effort, tell, task.space.start
            )
            try:
                search.run()
                compared = _compared(task, search, trials, tell)
                contributions = _contributions(task, search, trials, tell)
                counts = by_heaters(
                    task.bare, search.best, trials, question.effort.judge, question.objective
                )
                if question.sensors:
                    answer = trials.case(search.best)
                    sensors = place_sensors(
                        answer, question.sensors, workers, rung=question.effort.look
                    )
            except (KeyboardInterrupt, Interrupted):
                is_complete = False
                workers.give_up()
    finally:
        log.close()
    best = search.best
    return Placement(
        question=question,
        layout=best,
        case=trials.case(best),
        rung=search.reached,
        finalists=search.finalists,
        compared=compared,
        contributions=contributions,
        by_number=tuple(search.by_number),
        by_heaters=counts,
        enough=_knee(search.by_number),
        sensors=sensors,
        need=heat_need(case),
        poses=(
            *(len(poses) for poses in task.space.fans[:1]),
            *(len(poses) for poses in task.space.heaters),
        ),
        runs=trials.run,
        notes=(*task.notes, *_unplaced(task, best, is_complete)),
        is_complete=is_complete,
    )


def _unplaced(task: "_Task", best: Layout, is_complete: bool) -> tuple[str, ...]:
    wanted = len(task.space.fans)
    if not is_complete or len(best.fans) == wanted:
        return ()
    return (f"{len(best.fans)} of {wanted} fans are placed: no free floor is left for more",)


@dataclass(frozen=True, slots=True)
class _Task:
    """The question made ready: cases without fans, the space to choose from, what was left out."""

    given: Case
    bare: tuple[Case, ...]
    space: Space
    notes: tuple[str, ...]

    @classmethod
    def of(cls, states: Sequence[Case], question: Question) -> "_Task":
        """Return the question made ready.

        Raises
        ------
        CaseError
            As ``place``.
        """
        case = states[0]
        bare = tuple(with_fans(state, (), "heaters alone") for state in states)
        given = given_fans(case)
        wanted = len(given) if question.fans is None else question.fans
        heaters = given_heaters(case) if question.moves_heaters else ()
        start = Layout((), heaters)
        specs, notes = _powered(bare[0], _specs(case, given, wanted), start)
        floors = Floors(bare, [heater.name for heater in heaters])
        machines = {piece.name: piece for piece in equipment_of(case) if isinstance(piece, Blower)}
        poses = {spec: fan_candidates(floors, spec, question.density) for spec in set(specs)}
        space = Space(
            case=bare[0],
            floors=floors,
            fans=tuple(_reached(bare[0], start, poses[spec]) for spec in specs),
            heaters=tuple(
                heater_candidates(floors, heater, machines[heater.name], question.density)
                for heater in heaters
            ),
            start=start,
            density=question.density,
        )
        return cls(case, bare, space, notes)


def _specs(case: Case, given: Sequence[FanPlace], wanted: int) -> list[FanPlace]:
    """Return the fans to be placed, wherever they stand now: the given ones, and more like them."""
    room = case.dwelling.rooms[0].name
    usual = FanPlace(room, (0.0, 0.0), 0.0, voltage=fan_voltage(case))
    fans = [*given[:wanted], *([given[-1] if given else usual] * max(wanted - len(given), 0))]
    return [
        replace(fan, room=room, at=(0.0, 0.0), turn=0.0, tilt=0.0, height=usual.height)
        for fan in fans
    ]


def _powered(
    case: Case, specs: Sequence[FanPlace], start: Layout
) -> tuple[list[FanPlace], tuple[str, ...]]:
    """Return the fans that the circuits carry in some room, and a note on the others."""
    off = left_off(case, start)
    if off:
        raise CaseError(
            f"no feasible plan of circuits: {', '.join(off)} finds no circuit with its voltage and "
            "enough left (80 % of the rating); `roomsoak check` shows the load of each"
        )
    kept: list[FanPlace] = []
    rooms = [room.name for room in case.dwelling.rooms]
    for spec in specs:
        fans = [replace(spec, room=room) for room in rooms]
        placed = tuple(kept)
        carried = [fan for fan in fans if not left_off(case, Layout((*placed, fan), start.heaters))]
        if not carried:
            break
        kept.append(carried[0])
    if specs and not kept:
        raise CaseError(
            f"no feasible circuit: none has {specs[0].power:.0f} W at {specs[0].voltage:g} V left "
            "for a fan (80 % of its rating, less what is plugged in); add a circuit or a smaller "
            "fan, or ask for --fans 0"
        )
    if len(kept) < len(specs):
        note = f"the circuits carry {len(kept)} of {len(specs)} fans: {len(kept)} are placed"
        return list(specs[: len(kept)]), (note,)
    return list(specs), ()


def _reached(case: Case, start: Layout, poses: Sequence[FanPlace]) -> tuple[FanPlace, ...]:
    """Return the poses in rooms where a circuit carries the fan."""
    rooms = {pose.room: pose for pose in poses}
    carried = {room for room, pose in rooms.items() if not left_off(case, start.with_fan(pose))}
    return tuple(pose for pose in poses if pose.room in carried)


def _compared(
    task: _Task, search: Search, trials: Trials, tell: Callable[[Step], None]
) -> tuple[Compared, ...]:
    """Return the answer, the given layout and common practice by the closest look of the search."""
    number = len(search.best.fans)
    given = Layout(given_fans(task.given), search.space.start.heaters)
    rows = [("this plan", "search", search.best), ("the given layout", "given", given)]
    if number:
        fan = search.best.fans[0]
        numbers = RuleNumbers(diameter=fan.diameter, flow=fan.flow, power=fan.power)
        for name in PRACTICE:
            rule = RULES[name]
            fans = lay_out(rule, trials.case(search.space.start), numbers, number)
            layout = replace(
                search.space.start, fans=tuple(replace(one, voltage=fan.voltage) for one in fans)
            )
            rows.append((rule.words, rule.standing, layout))
    elif not given.fans:
        rows = rows[:1]
    asked = [
        Trial(layout, search.reached, FIRST_START + start)
        for _, _, layout in rows
        for start in range(COMPARED_STARTS)
    ]
    outcomes = trials.outcomes(asked)
    found = []
    for index, (words, standing, layout) in enumerate(rows):
        ours = outcomes[COMPARED_STARTS * index : COMPARED_STARTS * (index + 1)]
        values = tuple(one.value(search.objective) for one in ours)
        found.append(Compared(words, standing, len(layout.fans), tuple(ours), values))
    tell(
        Step(
            "compared with the given layout and common practice",
            search.best,
            found[0].value,
            search.reached,
        )
    )
    return tuple(found)


def _contributions(
    task: _Task, search: Search, trials: Trials, tell: Callable[[Step], None]
) -> tuple[Contribution, ...]:
    """Return what is lost without each fan, by whole runs on coarse cells."""
    best = search.best
    if not best.fans:
        return ()
    layouts = [best, *(best.without_fan(index) for index in range(len(best.fans)))]
    asked = [
        Trial(layout, search.effort.judge, FIRST_START + start, with_places=True)
        for layout in layouts
        for start in range(COMPARED_STARTS)
    ]
    outcomes = trials.outcomes(asked)
    runs = [
        outcomes[COMPARED_STARTS * index : COMPARED_STARTS * (index + 1)]
        for index in range(len(layouts))
    ]
    values = [mean_value([one.value(search.objective) for one in ours]) for ours in runs]
    found = [
        Contribution(
            fan=fan,
            loss=values[index + 1] - values[0],
            meets=task.space.floors.stuff.met_by(fan),
            helped=_helped(runs[0], runs[index + 1]),
        )
        for index, fan in enumerate(best.fans)
    ]
    tell(Step("each fan left out in turn", best, values[0], search.effort.judge))
    return tuple(found)


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


_Key = tuple[str, str, str]


def _mean_times(outcomes: Sequence[Outcome]) -> dict[_Key, PlaceTime]:
    """Return each place's time in the first state, the mean over the starts."""
    times: dict[_Key, list[float]] = {}
    for outcome in outcomes:
        for place in outcome.states[0].times if outcome.states else ():
            times.setdefault((place.owner, place.words, place.room), []).append(place.time)
    return {key: PlaceTime(*key, mean_value(runs)) for key, runs in times.items()}


def _pairs(
    whole: dict[_Key, PlaceTime], left: dict[_Key, PlaceTime]
) -> list[tuple[_Key, tuple[PlaceTime, float]]]:
    return [(key, (place, left[key].time)) for key, place in whole.items() if key in left]


def _knee(by_number: Sequence[Ranked]) -> int:
    """Return the number of fans beyond which one more gains less than is worth it."""
    for number in range(1, len(by_number)):
        before, after = by_number[number - 1].value, by_number[number].value
        if before - after < KNEE * before:
            return number - 1
    return len(by_number) - 1
