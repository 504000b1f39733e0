"""DECIDE where fans, and if they are free heaters, stand: a search, and what it is worth.

``place`` is what the command line and the browser page call. It answers with the best layout found,
what each fan adds, the runner-up if the two cannot be told apart, and how the given layout and
three of common practice do by the same measure.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from simulator.case.case import Case
from simulator.errors import Interrupted
from simulator.studies.evaluate import Workers
from simulator.studies.heat_need import HeatNeed, heat_need
from simulator.studies.heater_count import HeaterCount, by_heaters
from simulator.studies.layout import Layout
from simulator.studies.placement_search import Search
from simulator.studies.placement_space import Ranked, Step
from simulator.studies.placement_task import PlacementTask
from simulator.studies.placement_task import Question as Question
from simulator.studies.placement_worth import (
    Compared,
    Contribution,
    compared,
    contributions,
    rivals_of,
    run_ahead,
)
from simulator.studies.rungs import Rung
from simulator.studies.sensor_places import SensorPlan, place_sensors
from simulator.studies.trial_log import TrialLog
from simulator.studies.trials import Trials

#: One more fan is worth it if it makes the objective smaller by more than this share [-] (choice).
KNEE = 0.02


@dataclass(frozen=True, slots=True)
class Placement:
    """What ``place`` returns.

    Attributes
    ----------
    layout, case : the best layout found, and the case with it.
    finalists : the last layouts with their values on ``rung``, the best first.
    compared : the answer itself, the given layout and those of common practice, on the rung of the
        effort for it, from starts that the search did not choose by; empty if it was interrupted.
    contributions : of each fan.
    by_number : the best layout known of each number of fans, by whole runs on coarse cells.
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
    task = PlacementTask.of(states, question)
    log = TrialLog(question.log)
    is_complete = True
    rivals: tuple[Compared, ...] = ()
    parts: tuple[Contribution, ...] = ()
    counts: tuple[HeaterCount, ...] = ()
    sensors: SensorPlan | None = None
    try:
        with Workers(question.workers) as workers:
            trials = Trials(task.bare, workers, log)
            if not len(log):
                workers.lay_ahead(task.bare[0], question.effort.look.cell_size)
            search = question.search(
                task.space, trials, question.objective, question.effort, tell, task.space.start
            )
            try:
                search.run()
                rows = rivals_of(task, search, trials)
                run_ahead(rows, search, trials)
                rivals = compared(rows, search, trials, tell)
                parts = contributions(task, search, trials, tell)
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
    by_number = _by_number(search, parts)
    return Placement(
        question=question,
        layout=best,
        case=trials.case(best),
        rung=search.reached,
        finalists=search.finalists,
        compared=rivals,
        contributions=parts,
        by_number=by_number,
        by_heaters=counts,
        enough=_knee(by_number),
        sensors=sensors,
        need=heat_need(case),
        poses=(
            *(len(poses) for poses in task.space.fans[:1]),
            *(len(poses) for poses in task.space.heaters),
        ),
        runs=trials.run,
        notes=(*task.notes, *_unplaced(task, search, is_complete)),
        is_complete=is_complete,
    )


def _unplaced(task: PlacementTask, search: Search, is_complete: bool) -> tuple[str, ...]:
    wanted, placed = len(task.space.fans), len(search.best.fans)
    if not is_complete or placed == wanted:
        return ()
    told = f"{placed} of {wanted} fans are placed: "
    if search.spared:
        return (f"{told}by whole runs on coarse cells no layout of more was as good",)
    return (f"{told}no free floor is left for more",)


def _by_number(search: Search, parts: Sequence[Contribution]) -> tuple[Ranked, ...]:
    """Return the best layout known of each number of fans, also the answer without its least."""
    found, number = search.by_number(), len(search.best.fans)
    if not parts:
        return tuple(found)
    least = min(range(number), key=lambda index: parts[index].loss)
    value = search.judged(search.best) + parts[least].loss
    if value < found[number - 1].value:
        found[number - 1] = Ranked(search.best.without_fan(least), (value,))
    return tuple(found)


def _knee(by_number: Sequence[Ranked]) -> int:
    """Return the least number of fans beyond which no more of them are worth it, each by itself."""
    values = [one.value for one in by_number]
    for number, value in enumerate(values):
        more = enumerate(values[number + 1 :], start=1)
        if all(value - other < KNEE * value * added for added, other in more):
            return number
    return 0
