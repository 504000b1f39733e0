"""Run many cases and judge them: what every study that re-runs a case does, on all cores."""

import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from types import TracebackType
from typing import Self, TypeVar

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError, Interrupted, RoomsoakError, reason_of
from simulator.furnished import Furnished, furnish
from simulator.progress import Progress
from simulator.run_settings import QUICK, RunSettings


@dataclass(frozen=True, slots=True)
class Failed:
    """A case that could not be run: ``reason`` in one line, ``short`` without file and key."""

    reason: str
    short: str = ""


Outcome = Assessment | Failed

Ask = TypeVar("Ask")
Found = TypeVar("Found")


def evaluate(
    case: Case,
    cell_size: float,
    settings: RunSettings = QUICK,
    *,
    progress: Callable[[Progress], None] | None = None,
) -> Assessment:
    """Return the verdict on a case on cells of about ``cell_size`` [m]; nothing is written.

    The furnished dwelling is kept for the next case that differs by its equipment alone.
    """
    run = simulation.simulate(
        case,
        cell_size,
        settings=settings,
        progress=progress,
        furnished=laid_before(case, cell_size),
    )
    return assess(case, run.grid, run.history)


#: Dwellings that this process has laid last, the latest at the end: a process of a study runs many
#: layouts of one dwelling, or of one in a few states of preparation.
_LAID: list[Furnished] = []
_MOST_LAID = 4


def laid_before(case: Case, cell_size: float) -> Furnished:
    """Return the dwelling of a case, laid before or now."""
    known = next((one for one in _LAID if one.suits(case, cell_size)), None)
    if known is None:
        known = furnish(case, cell_size)
    else:
        _LAID.remove(known)
    _LAID.append(known)
    del _LAID[:-_MOST_LAID]
    return known


@dataclass(frozen=True, slots=True)
class Task:
    """One run to be made: the texts of its case, its cells [m] and its settings."""

    sources: Mapping[str, str]
    main: str
    cell_size: float
    settings: RunSettings

    @classmethod
    def of(cls, case: Case, cell_size: float, settings: RunSettings = QUICK) -> Self:
        """Return the task of running a case."""
        return cls(dict(case.sources), main_of(case), cell_size, settings)


def or_failed(make: Callable[[], Found]) -> Found | Failed:
    """Return what is made, or why it could not be; Ctrl-C and errors that are defects rise."""
    try:
        return make()
    except Interrupted:
        raise
    except RoomsoakError as error:
        short = error.short if isinstance(error, CaseError) else ""
        return Failed(reason_of(error), " ".join(short.split()))


def run_task(task: Task) -> Outcome:
    """Return the verdict, or why the case could not be run."""

    def verdict() -> Assessment:
        return evaluate(load_texts(task.sources, task.main), task.cell_size, task.settings)

    return or_failed(verdict)


def _lay(sources: Mapping[str, str], main: str, cell_size: float) -> None:
    laid_before(load_texts(sources, main), cell_size)


class Workers:
    """Processes that run tasks; leaving the context stops them.

    With one worker the tasks run in this process, and no other is started. Ctrl-C reaches this
    process alone: what is done is done, what runs is given up.

    >>> with Workers(1) as workers:
    ...     list(workers.run([]))
    []
    """

    def __init__(self, count: int | None = None) -> None:
        self.count = count or os.cpu_count() or 1
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._pool is not None:
            _stop(self._pool, at_once=kind is not None)
            self._pool = None

    def give_up(self) -> None:
        """Stop at once what runs."""
        if self._pool is not None:
            _stop(self._pool, at_once=True)
            self._pool = None

    def lay_ahead(self, case: Case, cell_size: float) -> None:
        """Start the processes and have them lay a dwelling, while this one does other work."""
        if self.count > 1:
            for _ in range(self.count):
                self._begun().submit(_lay, dict(case.sources), main_of(case), cell_size)

    def _begun(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                self.count, multiprocessing.get_context("spawn"), initializer=begin_worker
            )
        return self._pool

    def run(self, tasks: Sequence[Task]) -> Iterator[tuple[int, Outcome]]:
        """Yield the number of each task with its outcome, in the order in which they are done."""
        return self.each(run_task, tasks)

    def each(
        self, job: Callable[[Ask], Found], asked: Sequence[Ask]
    ) -> Iterator[tuple[int, Found | Failed]]:
        """Yield the number of each thing asked with what the job found, as they are done.

        A worker that dies (killed, or out of memory) takes its work with it: that one and those in
        flight are tried once more in new processes, and then told as failed.

        Parameters
        ----------
        job : a function of a module; it and what it takes and returns go between processes.
        """
        if self.count == 1 or len(asked) <= 1:
            for number, one in enumerate(asked):
                yield number, job(one)
            return
        left, lives = list(range(len(asked))), 2
        while left and lives:
            lives -= 1
            for number, found in self._in_pool(job, asked, tuple(left)):
                left.remove(number)
                yield number, found
        for number in left:
            yield number, Failed("its process died twice, perhaps for want of memory")

    def _in_pool(
        self, job: Callable[[Ask], Found], asked: Sequence[Ask], numbers: Sequence[int]
    ) -> Iterator[tuple[int, Found]]:
        """Yield what is done until all is done or a worker dies."""
        pool = self._begun()
        waiting = list(reversed(numbers))
        flying: dict[Future[Found], int] = {}
        try:
            while waiting or flying:
                while waiting and len(flying) < 2 * self.count:
                    number = waiting.pop()
                    flying[pool.submit(job, asked[number])] = number
                done, _ = wait(flying, return_when=FIRST_COMPLETED)
                for future in done:
                    found = future.result()
                    yield flying.pop(future), found
        except BrokenProcessPool:
            _stop(pool, at_once=True)
            self._pool = None

    def outcomes(self, tasks: Sequence[Task]) -> list[Outcome]:
        """Return the outcomes in the order of the tasks."""
        found = dict(self.run(tasks))
        return [found[number] for number in range(len(tasks))]


def one_thread(settings: RunSettings) -> RunSettings:
    """Return the settings with every flow on one thread: the workers share the cores."""
    first, again = (
        replace(plan, settings=replace(plan.settings, threads=1))
        for plan in (settings.first_flow, settings.next_flow)
    )
    return replace(settings, first_flow=first, next_flow=again)


def begin_worker() -> None:
    """Make a process of a pool deaf to Ctrl-C, and end it when the one that began it is gone.

    A pool's processes hold both ends of its pipes, so of themselves they outlive one that is
    killed.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    os._exit(1)


def _stop(pool: ProcessPoolExecutor, *, at_once: bool) -> None:
    """End the processes; ``at_once`` without waiting for what they run."""
    processes = list((pool._processes or {}).values()) if at_once else []
    pool.shutdown(wait=not at_once, cancel_futures=True)
    for process in processes:
        process.kill()


def answer(outcome: Outcome) -> Assessment:
    """Return the verdict of an outcome.

    Raises
    ------
    CaseError
        If the case could not be run.
    """
    if isinstance(outcome, Failed):
        raise CaseError(outcome.reason)
    return outcome
