"""The four sections of a case, each a table in the case file or a file of its own."""

import posixpath
from collections.abc import Mapping
from pathlib import Path
from typing import TypeVar

from simulator.case.documents import Problems, Spot, Table, parse
from simulator.case.entries import list_entries, prepare
from simulator.case.fields import Record
from simulator.case.layout_file import CaseFile, PreparationFile
from simulator.case.refusals import describe, read_record
from simulator.errors import CaseError

#: The tables of a case file that may be files of their own.
SECTIONS = ("dwelling", "preparation", "layout", "treatment")

#: A case file is written by hand; a text beyond this is something else [bytes].
LARGEST_FILE = 2_000_000

RecordType = TypeVar("RecordType", bound=Record)


class Sections:
    """Finds each section of a case, in the case file itself or in a file of its own.

    ``used`` holds the texts that the case is made of, the case file's first.
    """

    def __init__(self, sources: Mapping[str, str], main: str, folder: str) -> None:
        self.problems = Problems()
        self.used = {main: sources[main]}
        self._sources = sources
        self._main = main
        self._folder = folder
        self._document = parse(label_of(folder, main), sources[main])
        self._case = Table(self._document, (), self._document.data)
        self._sections = {name: self._section(name) for name in SECTIONS}

    def title(self) -> str:
        """Return the case's title after checking the keys of the case file."""
        file = self.record(CaseFile, self._case)
        return "" if file is None else file.title

    def section(self, name: str) -> Table:
        """Return one of the four sections; an absent one is an empty table."""
        return self._sections[name]

    def spot(self, name: str) -> Spot:
        """Return where a section is written."""
        return Spot(self._sections[name], (), self.problems)

    def record(self, model: type[RecordType], table: Table) -> RecordType | None:
        """Return a table read by its model, or None after noting what is wrong."""
        return read_record(model, table, self.problems)

    def furniture(self, state: PreparationFile) -> list[Table]:
        """Return the dwelling's furniture in this state, and what the preparation adds."""
        dwelling, preparation = self.section("dwelling"), self.section("preparation")
        found = list_entries(dwelling, "furniture", self.problems)
        kept = prepare(found, state, preparation, self.problems)
        return [*kept, *list_entries(preparation, "furniture", self.problems)]

    def names_found(self) -> list[str]:
        """Return the names of the dwelling's own furniture, before any preparation."""
        found = list_entries(self.section("dwelling"), "furniture", self.problems)
        return [str(entry.data.get("name")) for entry in found]

    def equipment(self) -> list[Table]:
        """Return the layout's equipment."""
        return list_entries(self.section("layout"), "equipment", self.problems)

    def _section(self, name: str) -> Table:
        value = self._document.data.get(name)
        if isinstance(value, str):
            source = source_name(self._main, value)
            if source not in self._sources:
                place_of = self._case.place((name,))
                raise CaseError(f"{place_of} no text of {describe(value)} was given")
            self.used[source] = self._sources[source]
            document = parse(label_of(self._folder, source), self._sources[source])
            return Table(document, (), document.data)
        if isinstance(value, dict):
            return Table(self._document, (name,), value)
        if value is not None:
            message = f"expected a table or the path of a file, not {describe(value)}"
            self.problems.add(self._case, (name,), message)
        if name == "dwelling":
            self.title()
            self.problems.raise_any()
        return Table(self._document, (name,), {})


def label_of(folder: str, name: str) -> str:
    """Return how messages call a file."""
    return posixpath.normpath(posixpath.join(folder, name)) if folder else name


def source_name(main: str, reference: str) -> str:
    """Return the name of a file that the case file refers to, relative to the case's folder."""
    return posixpath.normpath(posixpath.join(posixpath.dirname(main), reference))


def read_text(path: Path, label: str, unreadable: str) -> str:
    """Return the text of a file; ``unreadable`` begins the message if there is none."""
    try:
        data = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        raise CaseError(f"{unreadable} does not exist; give the path of a TOML file") from None
    except IsADirectoryError:
        raise CaseError(f"{unreadable} is a folder; give the path of a TOML file") from None
    except (OSError, ValueError) as error:
        raise CaseError(f"{unreadable} cannot be read: {error}") from None
    if len(data) > LARGEST_FILE:
        raise CaseError(f"{unreadable} has {len(data):,} bytes; at most {LARGEST_FILE:,} are read")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = data[error.start]
        message = f"not UTF-8 text (byte 0x{byte:02x}); save the file as UTF-8"
        raise CaseError(f"{label}:{line}: {message}") from None
