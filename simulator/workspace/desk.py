"""The desk itself: one folder, the cases that are open in it, its runs, and who is told."""

import threading
from collections.abc import Callable
from typing import Any

from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.units import System
from simulator.workspace.folder import Folder
from simulator.workspace.free_place import with_place
from simulator.workspace.new_case import NewDwelling, copied_texts, new_texts, stem_of
from simulator.workspace.open_case import OpenCase, attached, references
from simulator.workspace.operations import AddEntry, Operation, Texts
from simulator.workspace.orders import What
from simulator.workspace.plan import laid_out
from simulator.workspace.runs import Runs
from simulator.workspace.shipped import copy_shipped
from simulator.workspace.view import case_view, sharers

#: Is called with what changed: {"type": "case", "runs" or "end", ...}.
Tell = Callable[[dict[str, Any]], None]


class Desk:
    """What all requests share. One edit at a time: every method that changes something locks.

    ``first`` is the name of the case that the page opens.
    """

    def __init__(self, folder: Folder, first: str = "") -> None:
        self.folder = folder
        self.first = first
        self.recovered = folder.recover()
        self._open: dict[str, OpenCase] = {}
        self._lock = threading.RLock()
        self._listeners: list[Tell] = []
        self.is_ending = False
        self.runs = Runs(folder, lambda shown: self._tell({"type": "runs", "runs": shown}))

    def listen(self, listener: Tell) -> Callable[[], None]:
        """Have a listener told of all that changes; returns what ends that."""
        with self._lock:
            self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def end(self) -> None:
        """Tell all who listen that there is nothing more to come; may be called by a signal."""
        self.is_ending = True
        self._tell({"type": "end"})

    def close(self) -> None:
        """End what runs."""
        self.runs.close()

    def view(self, name: str) -> dict[str, Any]:
        """Return a case as the page sees it now."""
        with self._lock:
            case = self._case(name)
            case.refresh()
            return case_view(case)

    def edit(
        self,
        name: str,
        revision: int,
        operations: list[Operation],
        client: str,
        units: System = "si",
    ) -> dict[str, Any]:
        """Apply operations to a revision of a case and return the case after them.

        ``units`` are those in which a free place is written where a new piece has none.
        """
        return self._change(
            name, client, lambda case: case.edit(revision, _placed(case, operations, units))
        )

    def undo(self, name: str, revision: int, client: str) -> dict[str, Any]:
        """Go one step back in a case."""
        return self._change(name, client, lambda case: case.undo(revision))

    def redo(self, name: str, revision: int, client: str) -> dict[str, Any]:
        """Go one step forward again in a case."""
        return self._change(name, client, lambda case: case.redo(revision))

    def new(self, asked: NewDwelling, units: System = "si") -> str:
        """Write a new dwelling and return the name of its case."""
        with self._lock:
            main = self.folder.free_name(stem_of(asked.title), ".toml")
            return self._begun(main, new_texts(asked, main, units))

    def copy(self, name: str, title: str, layout: str = "") -> str:
        """Write a second case beside one, on the same dwelling, and return its name.

        ``layout`` is the name of a layout file to use in place of a copy of the first one's.
        """
        with self._lock:
            self._case(name).refresh()
            return self._begun(*copied_texts(self.folder, name, title, layout))

    def copy_ready(self, name: str) -> str:
        """Copy a ready case into the folder and return the name of its copy."""
        with self._lock:
            return copy_shipped(name, self.folder)

    def ask_runs(self, name: str, cells: list[float]) -> list[dict[str, Any]]:
        """Queue runs of a case as it is now."""
        with self._lock:
            title = self.loaded(name).title
            texts = self._open[name].whole
        return self.runs.ask(name, title, texts, cells)

    def ask_long(self, what: What, name: str, units: System) -> list[dict[str, Any]]:
        """Queue a search for the places of fans, or a lesson, of a case as it is now."""
        with self._lock:
            title = self.loaded(name).title
            texts = self._open[name].whole
        return self.runs.ask_long(what, name, title, texts, units)

    def loaded(self, name: str) -> Case:
        """Return a case as it is now, compiled."""
        with self._lock:
            case = self._case(name)
            case.refresh()
            return case.require()

    def _change(self, name: str, client: str, change: Callable[[OpenCase], None]) -> dict[str, Any]:
        with self._lock:
            case = self._case(name)
            before = dict(case.texts)
            change(case)
            shown = {**case_view(case), "broken": self._broken(case, before)}
        self._tell({"type": "case", "name": name, "revision": case.revision, "client": client})
        return shown

    def _broken(self, case: OpenCase, before: Texts) -> list[dict[str, str]]:
        """Return the other cases that share what was changed and do not load with it."""
        changed = [name for name, text in case.texts.items() if before.get(name) != text]
        others = {other for name in changed for other in sharers(self.folder, name, case.main)}
        problems = {other: OpenCase(self.folder, other).problems for other in sorted(others)}
        return [{"name": other, "problem": found[0]} for other, found in problems.items() if found]

    def _begun(self, main: str, texts: dict[str, str]) -> str:
        """Save the texts of a new case if they load."""
        known = {
            other: self.folder.read(other)
            for other in references(texts[main], main)
            if other not in texts
        }
        whole = {**known, **texts}
        load_texts({**attached(self.folder, whole), **whole}, main)
        self.folder.save(texts)
        return main

    def _case(self, name: str) -> OpenCase:
        if name not in self._open:
            self._open[name] = OpenCase(self.folder, name)
        return self._open[name]

    def _tell(self, what: dict[str, Any]) -> None:
        for listener in list(self._listeners):
            listener(what)


def _placed(case: OpenCase, operations: list[Operation], units: System) -> list[Operation]:
    """Return operations in which new pieces that have no place are given a free one."""
    found: list[Operation] = []
    for operation in operations:
        if not isinstance(operation, AddEntry) or case.case is None:
            found.append(operation)
            continue
        value = operation.value
        if operation.path[-1] in ("furniture", "equipment") and "at" not in value:
            layout = laid_out(case.whole, case.main, case.case.dwelling)
            value = with_place(value, case.case.dwelling, layout.placed, units)
        found.append(operation.model_copy(update={"value": value}))
    return found
