"""The desk's folder: every path lies within it, and every save replaces files whole.

A save of one file is an ``os.replace``. A save of several goes into a journal first, so that a
machine that stops in between still ends with all of them, or with none.
"""

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath

from simulator.case.sections import read_text
from simulator.errors import CaseError
from simulator.output.whole_file import whole_file
from simulator.workspace.refusals import NotThere

#: Ends the name of a file that is being written.
PART = ".desk-part"

_JOURNAL = ".roomsoak-desk-save.json"
_LONGEST_NAME = 200


class Folder:
    """A folder and the names of files within it, always written with ``/``."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    def path(self, name: str) -> Path:
        """Return the path of a name within the folder.

        Raises
        ------
        NotThere
            The name leads out of the folder (also by a link), or is no plain name.
        """
        parts = PurePosixPath(name).parts
        is_plain = (
            0 < len(name) <= _LONGEST_NAME
            and name.isprintable()
            and "\\" not in name
            and ":" not in name
            and bool(parts)
            and not any(part.startswith((".", "/")) for part in parts)
        )
        path = self.root.joinpath(*parts) if is_plain else self.root
        if not is_plain or not path.resolve().is_relative_to(self.root):
            raise NotThere(f"'{name[:60]}' is not a file of this desk's folder")
        return path

    def holds(self, name: str) -> bool:
        """Return whether a name stays within the folder."""
        try:
            self.path(name)
        except NotThere:
            return False
        return True

    def read(self, name: str) -> str:
        """Return the text of a case file."""
        return read_text(self.path(name), name, name)

    def save(self, texts: Mapping[str, str]) -> None:
        """Replace files by new texts, all or none of them.

        Raises
        ------
        CaseError
            One line, if the folder cannot be written.
        """
        try:
            if len(texts) > 1:
                _replace(self.root / _JOURNAL, json.dumps(dict(texts)))
            for name, text in texts.items():
                path = self.path(name)
                path.parent.mkdir(parents=True, exist_ok=True)
                _replace(path, text)
            if len(texts) > 1:
                (self.root / _JOURNAL).unlink()
        except OSError as error:
            raise CaseError(f"{', '.join(texts)}: cannot be saved: {error.strerror}") from error

    def recover(self) -> list[str]:
        """Finish the save that a stopped machine left, and return the names that it wrote."""
        for left in [*self.root.glob(f".*{PART}"), *self.root.glob(f"*/.*{PART}")]:
            left.unlink(missing_ok=True)
        journal = self.root / _JOURNAL
        if not journal.is_file():
            return []
        texts = json.loads(journal.read_text(encoding="utf-8"))
        self.save(texts)
        journal.unlink(missing_ok=True)
        return list(texts)

    def files(self, pattern: str) -> Iterator[str]:
        """Yield the names of files that match, hidden ones left out, in order."""
        found = [*self.root.glob(pattern), *self.root.glob(f"*/{pattern}")]
        for path in sorted(found):
            name = path.relative_to(self.root).as_posix()
            if path.is_file() and not any(part.startswith(".") for part in name.split("/")):
                yield name

    def free_name(self, stem: str, ending: str) -> str:
        """Return a name that no file has: the stem, or the stem with a number."""
        number, name = 1, f"{stem}{ending}"
        while self.path(name).exists():
            number += 1
            name = f"{stem}_{number}{ending}"
        return name


def _replace(path: Path, text: str) -> None:
    """Write a file under another name, force it to the disk, and give it its name."""
    with whole_file(path, part=f".{path.name}.{os.getpid()}{PART}", is_forced=True) as part:
        with part.open("w", encoding="utf-8", newline="") as file:
            file.write(text)
        if path.exists():
            part.chmod(path.stat().st_mode & 0o7777)
