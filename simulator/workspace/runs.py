"""Runs that the page asks for: one at a time, the others wait, each in a process of its own.

A search for the places of fans and a lesson are many runs in one process, and wait alike.
"""

import itertools
import multiprocessing
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Any, Literal

from simulator.units import System
from simulator.workspace.folder import Folder
from simulator.workspace.orders import Order, What
from simulator.workspace.refusals import NotThere, Refused
from simulator.workspace.run_child import run_in_child

State = Literal["waiting", "running", "done", "cancelled", "failed"]

#: Where results go, within the desk's folder.
RESULTS = "results"
RESULT_ENDING = ".vtkhdf"

#: Sizes of cells that may be asked for [m], and runs that may wait.
SMALLEST_CELL, LARGEST_CELL, MOST_WAITING = 0.05, 0.20, 12

#: How often a running process is looked at, and how long it has to end by itself [s].
_LOOK, _GRACE = 0.1, 0.5


@dataclass(slots=True)
class Job:
    """One run, or many in one: what, how far, and how it ended."""

    what: What
    number: int
    group: int  # the runs that were asked for together
    case: str
    title: str
    cell_size: float  # [m]
    result: str  # name of the file that is written
    units: System
    texts: Mapping[str, str] = field(repr=False)
    state: State = "waiting"
    progress: dict[str, Any] = field(default_factory=dict)
    words: str = ""
    lines: list[str] = field(default_factory=list)
    is_cancelled: bool = False

    def shown(self) -> dict[str, Any]:
        """Return the job as plain JSON."""
        return {
            "what": self.what,
            "number": self.number,
            "case": self.case,
            "title": self.title,
            "cell_size": self.cell_size,
            "result": self.result,
            "state": self.state,
            "progress": self.progress,
            "words": self.words,
            "lines": self.lines,
        }


class Runs:
    """The queue. ``tell`` is called with the list of runs whenever it changes, from any thread."""

    def __init__(self, folder: Folder, tell: Callable[[list[dict[str, Any]]], None]) -> None:
        self._folder = folder
        self._tell = tell
        self._jobs: list[Job] = []
        self._numbers = itertools.count(1)
        self._changed = threading.Condition()
        self._is_closed = False
        self._thread = threading.Thread(target=self._work, name="desk runs", daemon=True)
        self._thread.start()

    def ask(
        self, case: str, title: str, texts: Mapping[str, str], cells: Sequence[float]
    ) -> list[dict[str, Any]]:
        """Queue a run for each cell size, the largest first, and return them.

        The texts are those of now: later edits do not change a run that waits.
        """
        if not cells or not all(SMALLEST_CELL <= cell <= LARGEST_CELL for cell in cells):
            raise Refused(f"cells must be from {SMALLEST_CELL:g} to {LARGEST_CELL:g} m")
        with self._changed:
            group = next(self._numbers)
            stem = f"{RESULTS}/{PurePosixPath(case).stem}"
            jobs = [
                Job(
                    what="run",
                    number=next(self._numbers),
                    group=group,
                    case=case,
                    title=title,
                    cell_size=cell,
                    result=self._free_name(f"{stem}_{100 * cell:.0f}cm", RESULT_ENDING),
                    units="si",
                    texts=dict(texts),
                )
                for cell in sorted(cells, reverse=True)
            ]
            return self._queued(jobs)

    def ask_long(
        self, what: What, case: str, title: str, texts: Mapping[str, str], units: System
    ) -> list[dict[str, Any]]:
        """Queue a search for the places of fans, or a lesson."""
        with self._changed:
            number = next(self._numbers)
            stem = f"{RESULTS}/{PurePosixPath(case).stem}"
            names = {"place": f"{stem}_placed.toml", "lesson": f"{stem}_lesson/lesson.html"}
            job = Job(what, number, number, case, title, 0.2, names[what], units, dict(texts))
            return self._queued([job])

    def _queued(self, jobs: list[Job]) -> list[dict[str, Any]]:
        waiting = sum(job.state in ("waiting", "running") for job in self._jobs)
        if waiting + len(jobs) > MOST_WAITING:
            raise Refused(f"{waiting} runs wait already; at most {MOST_WAITING}")
        self._jobs.extend(jobs)
        self._changed.notify_all()
        self._tell(self.shown())
        return [job.shown() for job in jobs]

    def cancel(self, number: int) -> None:
        """Cancel a run, and those asked for together with it that still wait."""
        with self._changed:
            job = next((job for job in self._jobs if job.number == number), None)
            if job is None:
                raise NotThere(f"there is no run {number}")
            for other in self._jobs:
                if other.group == job.group and other.number >= number:
                    other.is_cancelled = True
                    if other.state == "waiting":
                        other.state, other.words = "cancelled", "cancelled before it began"
            self._changed.notify_all()
        self._tell(self.shown())

    def shown(self) -> list[dict[str, Any]]:
        """Return all runs of this desk, the oldest first."""
        with self._changed:
            return [job.shown() for job in self._jobs]

    def close(self) -> None:
        """Stop what runs and take no more."""
        with self._changed:
            self._is_closed = True
            for job in self._jobs:
                job.is_cancelled = True
            self._changed.notify_all()
        self._thread.join(timeout=5.0)

    def _free_name(self, stem: str, ending: str) -> str:
        taken = {job.result for job in self._jobs if job.state in ("waiting", "running", "done")}
        names = (f"{stem}{f'_{n}' if n > 1 else ''}{ending}" for n in itertools.count(1))
        return next(
            name for name in names if name not in taken and not self._folder.path(name).exists()
        )

    def _work(self) -> None:
        while True:
            with self._changed:
                job = self._next()
                while job is None and not self._is_closed:
                    self._changed.wait()
                    job = self._next()
                if self._is_closed or job is None:
                    return
                job.state = "running"
            self._tell(self.shown())
            self._run(job)
            self._tell(self.shown())

    def _next(self) -> Job | None:
        return next((job for job in self._jobs if job.state == "waiting"), None)

    def _run(self, job: Job) -> None:
        """Run one job to its end, whichever it is."""
        path = self._folder.path(job.result)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            job.state, job.words = "failed", f"{job.result}: {error.strerror}"
            return
        coarse = next(
            (
                self._folder.path(other.result)
                for other in self._jobs
                if other.group == job.group and other.state == "done"
            ),
            None,
        )
        order = Order(job.what, dict(job.texts), job.case, path, job.units, job.cell_size, coarse)
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=run_in_child, args=(theirs, order), daemon=True)
        process.start()
        theirs.close()
        try:
            self._follow(job, ours, process)
        finally:
            _end(process)
            ours.close()
            for left in path.parent.glob(f"{path.name}.*.part"):
                left.unlink(missing_ok=True)

    def _follow(self, job: Job, connection: Any, process: Any) -> None:
        while not job.is_cancelled:
            try:
                if not connection.poll(_LOOK):
                    if not process.is_alive():
                        break
                    continue
                what, value = connection.recv()
            except (EOFError, OSError):
                break
            if what == "progress":
                job.progress = value
                self._tell(self.shown())
            else:
                job.state = "done" if what == "done" else "failed"
                job.words = value["words"] if what == "done" else str(value)
                job.lines = value["lines"] if what == "done" else []
                return
        job.state = "cancelled" if job.is_cancelled else "failed"
        job.words = "cancelled" if job.is_cancelled else "the run ended without an answer"


def _end(process: Any) -> None:
    """End a process: ask it first, then make it."""
    if process.is_alive():
        process.terminate()
        process.join(_GRACE)
    if process.is_alive():
        process.kill()
    process.join()
