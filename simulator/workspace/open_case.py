"""A case that the page works on: its texts, their revision, what can be undone.

The files are the document. Every edit that leaves a case which loads is saved at once; an edit
that would not is refused, and the files stay as they are.
"""

import time
import tomllib
from collections.abc import Mapping

from simulator.case.attached_files import read_attached
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.sections import SECTIONS, source_name
from simulator.errors import CaseError
from simulator.workspace.folder import Folder
from simulator.workspace.operations import Operation, Texts, apply_all
from simulator.workspace.refusals import Outdated, Refused

#: Steps back that are kept.
_MOST_STEPS = 200


class OpenCase:
    """One case file with all that it refers to.

    ``revision`` rises with every change, also with those made by another program. It begins with
    the clock's milliseconds, so that a page which outlives the server is seen to be behind.
    """

    def __init__(self, folder: Folder, main: str) -> None:
        self.folder = folder
        self.main = main
        self.revision = time.time_ns() // 1_000_000
        self.texts: Texts = read_texts(folder, main)
        self.case, self.problems = _loaded(self.texts, main, folder)
        self._past: list[Texts] = []
        self._future: list[Texts] = []

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to go back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to go forward again."""
        return bool(self._future)

    def require(self) -> Case:
        """Return the case if it loads; what is wrong with it is raised."""
        if self.case is None:
            raise CaseError("\n".join(self.problems))
        return self.case

    @property
    def whole(self) -> Texts:
        """The texts with the attached files that the case uses: all that a run of it needs."""
        return {**self.require().sources, **self.texts}

    def refresh(self) -> None:
        """Take over what another program, or another case, has written into the files."""
        now = read_texts(self.folder, self.main)
        if now != self.texts:
            self._past, self._future = [], []
            self._take(now)

    def edit(self, revision: int, operations: list[Operation]) -> None:
        """Apply operations to this revision, and save.

        Raises
        ------
        Outdated
            The case has a newer revision.
        CaseError
            The edit would leave a case that does not load; nothing is changed.
        """
        self._expect(revision)
        before = self.texts
        after = apply_all(before, self.main, operations)
        if after == before:
            return
        self._accept(after)
        self._past = [*self._past[-_MOST_STEPS + 1 :], before]
        self._future = []

    def undo(self, revision: int) -> None:
        """Go one step back, and save."""
        self._step(revision, self._past, self._future, "undo")

    def redo(self, revision: int) -> None:
        """Go one step forward again, and save."""
        self._step(revision, self._future, self._past, "redo")

    def _step(self, revision: int, source: list[Texts], target: list[Texts], what: str) -> None:
        self._expect(revision)
        if not source:
            raise Refused(f"there is nothing to {what}")
        before, after = self.texts, source[-1]
        self._accept(after)
        source.pop()
        target.append(before)

    def _expect(self, revision: int) -> None:
        self.refresh()
        if revision != self.revision:
            raise Outdated(
                f"{self.main} has changed since (revision {self.revision}, not {revision})"
            )

    def _accept(self, after: Texts) -> None:
        """Save new texts if they load; a case that did not load before may stay so."""
        case, problems = _loaded(after, self.main, self.folder)
        if case is None and self.case is not None:
            raise CaseError("\n".join(problems))
        names = {name: text for name, text in after.items() if self.texts.get(name) != text}
        self.folder.save(names)
        self._take(after, (case, problems))

    def _take(self, texts: Texts, loaded: tuple[Case | None, list[str]] | None = None) -> None:
        self.texts = texts
        self.case, self.problems = loaded or _loaded(texts, self.main, self.folder)
        self.revision += 1


def read_texts(folder: Folder, main: str) -> Texts:
    """Return the texts of a case: its own first, then those that it refers to."""
    texts = {main: folder.read(main)}
    for name in references(texts[main], main):
        texts[name] = folder.read(name)
    return texts


def references(text: str, main: str) -> list[str]:
    """Return the names of the files that a case file refers to; none if it cannot be read."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return []
    values = [data.get(section) for section in SECTIONS]
    return [source_name(main, value) for value in values if isinstance(value, str)]


def attached(folder: Folder, texts: Mapping[str, str]) -> Texts:
    """Return the attached files that the texts of a case name and that lie within the folder."""
    return {
        name: text
        for name, text in read_attached(texts, str(folder.root)).items()
        if folder.holds(name)
    }


def _loaded(texts: Texts, main: str, folder: Folder) -> tuple[Case | None, list[str]]:
    """Return the case, or what is wrong with it, a line each."""
    try:
        return load_texts({**attached(folder, texts), **texts}, main), []
    except CaseError as error:
        return None, str(error).splitlines()
