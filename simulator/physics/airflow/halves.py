"""Runs the loops over both halves of a split layout, one after the other or at once.

What a loop writes for one half never depends on what the other half writes meanwhile, so the
numbers are the same to the last bit on one thread and on two. The second thread is an ordinary one
that calls compiled loops, which let go of the interpreter's lock; it sleeps between them.
"""

from collections.abc import Callable
from queue import SimpleQueue
from threading import Thread
from types import TracebackType

import numba

from simulator.physics.airflow.staggered import HIGH, LOW, MIDDLE, Layout

#: What is done for a part: ``LOW``, ``HIGH`` or ``MIDDLE``.
Work = Callable[[int], object]


class Halves:
    """Runs work for both halves of a layout: in a ``with`` block on two threads, else on one.

    Parameters
    ----------
    threads : as many threads at most; never more than two, nor than numba may use (by default as
        many as there are cores; the environment variable NUMBA_NUM_THREADS limits it).
    """

    def __init__(self, layout: Layout, threads: int = 1) -> None:
        self._is_split = layout.is_split
        self._is_shared = layout.is_split and min(threads, numba.config.NUMBA_NUM_THREADS) > 1
        self._helper: _Helper | None = None

    def __enter__(self) -> "Halves":
        self._helper = _Helper() if self._is_shared else None
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._helper is not None:
            self._helper.dismiss()
            self._helper = None

    def run(self, work: Work) -> None:
        """Do the work for both halves; a layout that is not split has none."""
        if not self._is_split:
            return
        if self._helper is None:
            work(LOW)
            work(HIGH)
            return
        self._helper.begin(work)
        try:
            work(LOW)
        finally:
            self._helper.finish()

    def inward(self, work: Work) -> None:
        """Do the work for both halves, then for the middle."""
        self.run(work)
        work(MIDDLE)

    def outward(self, work: Work) -> None:
        """Do the work for the middle, then for both halves."""
        work(MIDDLE)
        self.run(work)


class _Helper:
    """A second thread, which does the work for the high half."""

    def __init__(self) -> None:
        self._tasks: SimpleQueue[Work | None] = SimpleQueue()
        self._ends: SimpleQueue[BaseException | None] = SimpleQueue()
        self._thread = Thread(target=self._serve, name="airflow-high-half", daemon=True)
        self._thread.start()

    def begin(self, work: Work) -> None:
        """Start the work."""
        self._tasks.put(work)

    def finish(self) -> None:
        """Wait until it is done, and raise what it raised."""
        error = self._ends.get()
        if error is not None:
            raise error

    def dismiss(self) -> None:
        """End the thread."""
        self._tasks.put(None)
        self._thread.join()

    def _serve(self) -> None:
        while (work := self._tasks.get()) is not None:
            try:
                work(HIGH)
            except BaseException as error:  # it is raised where the work was asked for
                self._ends.put(error)
            else:
                self._ends.put(None)
