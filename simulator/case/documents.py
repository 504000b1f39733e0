"""The texts that a case is made of, and where in them each value was written, for messages."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, NoReturn

from simulator.case.locate import KeyPath, line_of, locate
from simulator.errors import CaseError

#: More problems than this are only counted.
MOST_PROBLEMS = 5

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLACE = re.compile(r"\(at (?:line (\d+), column \d+|end of document)\)")


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed TOML text: ``label`` names it in messages, ``lines`` tells where each key stands."""

    label: str
    data: Mapping[str, Any]
    lines: dict[KeyPath, int]

    def place(self, path: KeyPath) -> str:
        """Return "file:line: table.key" of a path."""
        words = self._words(path)
        return f"{self.label}:{line_of(self.lines, path)}:" + (f" {words}:" if words else "")

    def _words(self, path: KeyPath) -> str:
        """Return a path in TOML's own dotted form, list entries by name or counted from 1."""
        node: Any = self.data
        words: list[str | int] = []
        for key in path:
            node = child(node, key)
            name = node.get("name") if isinstance(node, dict) and isinstance(key, int) else None
            words.append(name if isinstance(name, str) else key)
        return dotted(words)


def dotted(path: Iterable[str | int]) -> str:
    """Return a path in TOML's own dotted form; entries of lists are counted from 1.

    >>> dotted(("treatment", "change", 0, "fan 1", "at"))
    'treatment.change[entry 1]."fan 1".at'
    """
    words = ""
    for key in path:
        if isinstance(key, int):
            words += f"[entry {key + 1}]"
        else:
            words += "." if words else ""
            words += key if _BARE.fullmatch(key) else f'"{_one_line(key)}"'
    return words


def child(node: Any, key: str | int) -> Any:
    """Return what a table or a list holds under a key or index, or None."""
    if isinstance(node, dict):
        return node.get(key)
    if isinstance(node, list) and isinstance(key, int) and key < len(node):
        return node[key]
    return None


def _one_line(text: str) -> str:
    return " ".join(text.split())[:60]


@lru_cache(maxsize=32)
def parse(label: str, text: str) -> Document:
    """Return the document of a TOML text; the last few are kept, for nobody changes one.

    Searches and studies load the texts of one dwelling again and again.

    Raises
    ------
    CaseError
        One line that names the line at which the text stops to be TOML.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError(_syntax_message(label, text, str(error))) from None
    except RecursionError:
        raise CaseError(f"{label}:1: not valid TOML: nested too deep") from None
    return Document(label, data, locate(text))


def _syntax_message(label: str, text: str, message: str) -> str:
    place = _PLACE.search(message)
    at_end = place is None or place[1] is None
    line = max(1, len(text.splitlines())) if place is None or place[1] is None else int(place[1])
    what = _one_line(_PLACE.sub("", message)) or "cannot be read"
    end = " at the end of the file (is it cut off?)" if at_end else ""
    return f"{label}:{line}: not valid TOML: {what}{end}; a line is 'key = value' or '[table]'"


@dataclass(frozen=True, slots=True)
class Table:
    """A table of values, and where each of them was written.

    ``path`` leads to the table in ``document``; the keys in ``changed`` were written elsewhere.
    """

    document: Document
    path: KeyPath
    data: Mapping[str, Any]
    changed: Mapping[str, tuple[Document, KeyPath]] = field(default_factory=dict)

    def place(self, key: KeyPath = ()) -> str:
        """Return "file:line: table.key" of a key of this table."""
        if key and key[0] in self.changed:
            document, path = self.changed[str(key[0])]
            return document.place((*path, *key[1:]))
        return self.document.place((*self.path, *key))

    def document_of(self, key: str) -> Document:
        """Return the document in which a key of this table was written."""
        return self.changed[key][0] if key in self.changed else self.document

    def without(self, key: str) -> "Table":
        """Return the table without one of its keys."""
        rest = {name: value for name, value in self.data.items() if name != key}
        return Table(self.document, self.path, rest, self.changed)

    def overlaid(self, other: "Table") -> "Table":
        """Return the table with the keys of another one laid over it."""
        changed = dict(self.changed)
        for key in other.data:
            changed[key] = (other.document, (*other.path, key))
        return Table(self.document, self.path, {**self.data, **other.data}, changed)

    def within(self, key: str, index: int | None = None) -> "Table":
        """Return a table within this one: under a key, or an entry of the list under a key."""
        data, path = self.data[key], (*self.path, key)
        if index is not None:
            data, path = data[index], (*path, index)
        return Table(self.document, path, data)


class Problems:
    """Collects what is wrong with a case, one line each."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._first = ""

    def add(self, table: Table, key: KeyPath, message: str) -> None:
        """Note a problem with a key of a table: what is wrong; what is allowed."""
        words = " ".join(message.split())
        self._lines.append(f"{table.place(key)} {words}")
        self._first = self._first or words

    @property
    def count(self) -> int:
        """How many were noted so far."""
        return len(self._lines)

    def raise_any(self) -> None:
        """Raise a CaseError if anything was noted."""
        if self._lines:
            self._raise()

    def _raise(self) -> NoReturn:
        lines = list(dict.fromkeys(self._lines))
        shown = lines[:MOST_PROBLEMS]
        more = lines[MOST_PROBLEMS:]
        if more:  # to count a single one takes a line as well
            shown.append(more[0] if len(more) == 1 else f"... and {len(more)} more problems")
        raise CaseError("\n".join(shown), short=self._first)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the texts of a case at which something may be refused."""

    table: Table
    key: KeyPath
    problems: Problems

    def at(self, *key: str | int) -> "Spot":
        """Return a place below this one."""
        return Spot(self.table, (*self.key, *key), self.problems)

    def refuse(self, message: str) -> None:
        """Note what is wrong here; what is allowed."""
        self.problems.add(self.table, self.key, message)


def choices(word: str, known: Iterable[str], what: str) -> str:
    """Return "what: a, b, c; did you mean 'b'?", the end of a message about an unknown name."""
    names = sorted(known)
    near = get_close_matches(word, names, n=1)
    hint = f"; did you mean '{near[0]}'?" if near else ""
    return f"{what}: {', '.join(names) if names else 'none'}{hint}"
