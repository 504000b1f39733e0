"""Changes of a TOML text that keep its comments, each checked against the change of its values.

The text is changed by tomlkit and its plain values by the same steps on dictionaries; if the new
text does not read as the new values, nothing is changed.
"""

import copy
import tomllib
from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable

from simulator.case.documents import choices
from simulator.case.locate import KeyPath
from simulator.errors import CaseError

#: A change of nested tables: of plain ones, or of those of a TOML text.
Change = Callable[[Any, "Writer"], None]


class Writer:
    """Makes the values to be put into tables: plain ones, or TOML's own."""

    def __init__(self, *, is_toml: bool) -> None:
        self._is_toml = is_toml

    def value(self, value: Any) -> Any:
        """Return a value as it is to be written: lists and tables on one line."""
        if not self._is_toml:
            return copy.deepcopy(value)
        if isinstance(value, dict):
            table = tomlkit.inline_table()
            for key, entry in value.items():
                table[key] = self.value(entry)
            return table
        if isinstance(value, list):
            array = tomlkit.array()
            for entry in value:
                array.append(self.value(entry))
            return array
        return value

    def table(self, value: dict[str, Any]) -> Any:
        """Return a table under a heading of its own."""
        if not self._is_toml:
            return copy.deepcopy(value)
        table = tomlkit.table()
        for key, entry in value.items():
            table[key] = self.value(entry)
        return table

    def entry(self, inside: Any, value: Any) -> Any:
        """Return a value to be put into ``inside``: a table under a heading where it can be."""
        if isinstance(value, dict) and not isinstance(inside, InlineTable):
            return self.table(value)
        return self.value(value)

    def list_of_tables(self, inside: Any) -> Any:
        """Return an empty list of tables, to be put into ``inside``."""
        if not self._is_toml:
            return []
        return tomlkit.array() if isinstance(inside, InlineTable) else tomlkit.aot()


def edited(text: str, change: Change) -> str:
    """Return a TOML text after a change of its values.

    Raises
    ------
    CaseError
        A key on the way is not there, or the text is written in a form that cannot be changed.
    """
    wanted = tomllib.loads(text)
    change(wanted, Writer(is_toml=False))
    try:
        document = tomlkit.parse(text)
        change(document, Writer(is_toml=True))
        written = tomlkit.dumps(document)
        is_right = tomllib.loads(written) == wanted
    except (TOMLKitError, tomllib.TOMLDecodeError, TypeError, ValueError) as error:
        raise CaseError(f"cannot be written: {' '.join(str(error).split())}") from None
    if not is_right:
        raise CaseError("cannot be written in the form that the file has; edit it as text")
    return written


def below(path: KeyPath, change: Change) -> Change:
    """Return a change of the table at a path of another one."""

    def changed(data: Any, writer: Writer) -> None:
        node = data
        for key in path:
            node = step(node, key, writer)
        change(node, writer)

    return changed


def set_value(path: KeyPath, value: Any) -> Change:
    """Return the change that sets a value; tables on the way to it are made."""

    def change(data: Any, writer: Writer) -> None:
        node = data
        for key in path[:-1]:
            node = step(node, key, writer)
        if not isinstance(node, dict | list):
            raise CaseError(f"there is no table in which to set '{path[-1]}'")
        if isinstance(node, list):
            node[index_of(node, path[-1])] = writer.value(value)
        else:
            node[path[-1]] = writer.value(value)

    return change


def add_entry(path: KeyPath, value: dict[str, Any]) -> Change:
    """Return the change that appends a table to a list of tables, which is made if missing."""

    def change(data: Any, writer: Writer) -> None:
        node = data
        for key in path[:-1]:
            node = step(node, key, writer)
        if path[-1] not in node:
            node[path[-1]] = writer.list_of_tables(node)
        entries = node[path[-1]]
        if not isinstance(entries, list):
            raise CaseError(f"'{path[-1]}' is no list of tables")
        on_one_line = isinstance(entries, Array) and not isinstance(entries, AoT)
        entries.append(writer.value(value) if on_one_line else writer.table(value))

    return change


def remove(path: KeyPath) -> Change:
    """Return the change that removes a key or an entry; tables and lists that it empties go too."""

    def change(data: Any, writer: Writer) -> None:
        node, above = data, []
        for key in path[:-1]:
            above.append(node)
            node = step(node, key, writer)
        if isinstance(node, list):
            del node[index_of(node, path[-1])]
        elif isinstance(node, dict) and path[-1] in node:
            node.pop(path[-1])
        for parent, key in zip(reversed(above), reversed(path[:-1]), strict=True):
            if not isinstance(parent, dict) or parent[key]:
                break
            parent.pop(key)

    return change


def step(node: Any, key: str | int, writer: Writer) -> Any:
    """Return what lies under a key, or the entry of a list by its index or its name."""
    if isinstance(node, list):
        return node[index_of(node, key)]
    if not isinstance(node, dict):
        raise CaseError(f"there is no table in which to look for '{key}'")
    if key not in node:
        node[key] = writer.entry(node, {})
    return node[key]


def index_of(entries: list[Any], key: str | int) -> int:
    """Return the index of a list's entry: itself, or that of the table with this name."""
    if isinstance(key, int):
        if 0 <= key < len(entries):
            return key
        raise CaseError(f"there is no entry {key + 1}; the list has {len(entries)}")
    names = [str(entry.get("name")) if isinstance(entry, dict) else "" for entry in entries]
    if key not in names:
        raise CaseError(f"there is no entry '{key}'; {choices(key, names, 'entries')}")
    return names.index(key)
