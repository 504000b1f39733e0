"""What takes many runs and is asked for from the page: a search for fans, a lesson to hand out."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from simulator.errors import CaseError
from simulator.progress import Progress
from simulator.workspace.orders import Order

if TYPE_CHECKING:
    from simulator.output.field_file import Result

Tell = Callable[[Progress], None]

#: Cells of a lesson's runs [m]: large ones show the order of things and are quick.
LESSON_CELL = 0.20


def place_fans(order: Order, tell: Tell) -> dict[str, Any]:
    """Search where the fans should stand and write the layout that was found.

    A search that was cancelled goes on from what it has run when it is asked for again.
    """
    from simulator.case.load import load_texts
    from simulator.studies.placement import Question, place
    from simulator.studies.placement_effort import QUICK
    from simulator.studies.placement_words import placement_lines, plan_text

    log = order.path.with_suffix(".jsonl")
    question = Question(effort=QUICK, workers=1, log=log)

    def step(found: Any) -> None:
        value = question.objective.say(found.value, order.units)
        tell(Progress(0.0, f"{found.words}; best so far {value}", 0.0, None, ""))

    found = place(load_texts(order.texts, order.main), question, step)
    if not found.is_complete:
        raise CaseError("the search was cut off; ask for it again and it goes on")
    order.path.write_text(plan_text(found), encoding="utf-8")
    return {"words": "a layout was found", "lines": placement_lines(found, order.units)}


def make_lesson(order: Order, tell: Tell) -> dict[str, Any]:
    """Run the series of a lesson, those that are not there yet, and write the hand-out."""
    from simulator.case.load import load_texts
    from simulator.output.kept_results import KeptResults
    from simulator.output.kept_runs import kept_or_run
    from simulator.output.lesson.gathered import gather
    from simulator.output.lesson.lesson_runs import WORD, Turn, lesson_plan, lesson_results
    from simulator.output.lesson.page import lesson_page, write_page
    from simulator.studies.lesson_plan import SERIES

    case = load_texts(order.texts, order.main)
    plan = lesson_plan(case, tuple(SERIES))
    kept = KeptResults(order.path.parent / "results", {})
    kept.folder.mkdir(parents=True, exist_ok=True)

    def result_of(turn: Turn) -> "Result":
        words = f"{turn.words} ({turn.number} of {turn.of})"
        told = _within(tell, words, turn.number - 1, turn.of)
        return kept_or_run(kept, turn.state.case, LESSON_CELL, WORD, progress=told)

    results = lesson_results(plan, kept, LESSON_CELL, result_of)
    tell(Progress(1.0, "writing the hand-out", 0.0, None, ""))
    page = lesson_page(gather(case.title, LESSON_CELL, plan, results), units=order.units)
    write_page(page, order.path)
    left_out = [reason for series in plan for reason in series.left_out]
    return {"words": "the hand-out is written", "lines": left_out}


def _within(tell: Tell, words: str, number: int, count: int) -> Tell:
    """Return what tells the progress of one run as that of all of them."""

    def told(progress: Progress) -> None:
        share = (number + progress.fraction) / count
        tell(Progress(share, words, 0.0, None, ""))

    return told
