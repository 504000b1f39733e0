"""A new name for something, everywhere in a case where it is called by its name."""

from collections.abc import Iterator, Mapping
from typing import Any

from simulator.case.documents import choices
from simulator.case.locate import KeyPath
from simulator.errors import CaseError
from simulator.workspace import toml_edit

#: What can be renamed -> where its own name stands, then where else it is named. A path begins
#: with its section; "*" is every entry of a list or a table.
PLACES: Mapping[str, tuple[KeyPath, ...]] = {
    "room": (
        ("dwelling", "room", "*", "name"),
        ("dwelling", "doorway", "*", "between", "*"),
        ("dwelling", "window", "*", "room"),
        ("dwelling", "socket", "*", "room"),
        ("dwelling", "furniture", "*", "room"),
        ("preparation", "change", "*", "room"),
        ("preparation", "furniture", "*", "room"),
        ("layout", "equipment", "*", "room"),
        ("layout", "circuit", "*", "rooms", "*"),
    ),
    "furniture": (
        ("dwelling", "furniture", "*", "name"),
        ("preparation", "furniture", "*", "name"),
        ("preparation", "remove", "*"),
        ("treatment", "change", "*", "remove", "*"),
    ),
    "equipment": (
        ("layout", "equipment", "*", "name"),
        ("layout", "circuit", "*", "loads", "*"),
        ("layout", "equipment", "*", "sensor"),
    ),
    "doorway": (("dwelling", "doorway", "*", "name"),),
    "window": (("dwelling", "window", "*", "name"),),
    "circuit": (("layout", "circuit", "*", "name"),),
    "phase": (("treatment", "phase", "*", "name"),),
    "construction": (
        ("dwelling", "construction", "*", "name"),
        ("dwelling", "partition"),
        ("dwelling", "window", "*", "construction"),
        ("dwelling", "shell", "*", "construction"),
        ("dwelling", "room", "*", "*", "construction"),
    ),
    "behind": (
        ("dwelling", "behind", "*", "name"),
        ("dwelling", "shell", "*", "behind"),
        ("dwelling", "room", "*", "*", "behind"),
    ),
    "material": (
        ("dwelling", "material", "*", "name"),
        ("dwelling", "construction", "*", "layers", "*", "material"),
    ),
}

#: Tables whose keys are names -> what they name, and what stands before the name in a key.
_KEYS: Mapping[str, tuple[tuple[KeyPath, str], ...]] = {
    "furniture": (
        (("preparation", "change"), ""),
        (("treatment", "change", "*", "set"), "dwelling.furniture."),
    ),
    "equipment": ((("treatment", "change", "*", "set"), "layout.equipment."),),
    "doorway": ((("treatment", "change", "*", "set"), "dwelling.doorway."),),
    "window": ((("treatment", "change", "*", "set"), "dwelling.window."),),
}


def renamings(
    data: Mapping[str, Any], what: str, old: str, new: str
) -> Iterator[tuple[str, toml_edit.Change]]:
    """Yield the changes that give something a new name: (section, change).

    Parameters
    ----------
    data : section -> its values.
    what : key of ``PLACES``.

    Raises
    ------
    CaseError
        There is no such thing, or the new name is taken.
    """
    own = PLACES[what][0]
    names = [str(_at(data, path)) for path in _paths(data, own)]
    if what == "furniture":
        names += [str(_at(data, path)) for path in _paths(data, PLACES[what][1])]
    if old not in names:
        raise CaseError(f"there is no {what} '{old}'; {choices(old, names, what)}")
    if new in names:
        raise CaseError(f"there is already a {what} named '{new}'; choose another name")
    for pattern in PLACES[what]:
        for path in _paths(data, pattern):
            if _at(data, path) == old:
                yield str(path[0]), toml_edit.set_value(path[1:], new)
    for pattern, before in _KEYS.get(what, ()):
        for path in _paths(data, pattern):
            table = _at(data, path)
            renamed = {_key(key, before, old, new): value for key, value in table.items()}
            if renamed != table:
                yield str(path[0]), _replaced_keys(path[1:], list(table), list(renamed), renamed)


def _key(key: str, before: str, old: str, new: str) -> str:
    """Return a key of a table with the name in it replaced."""
    if not before:
        return new if key == old else key
    rest = key.removeprefix(before + old)
    return f"{before}{new}{rest}" if key.startswith(f"{before}{old}.") else key


def _replaced_keys(
    path: KeyPath, old: list[str], new: list[str], values: Mapping[str, Any]
) -> toml_edit.Change:
    """Return the change that gives keys of a table their new names."""

    def change(data: Any, writer: toml_edit.Writer) -> None:
        node = data
        for key in path:
            node = toml_edit.step(node, key, writer)
        for before, after in zip(old, new, strict=True):
            if before != after:
                value = values[after]
                kept = writer.entry(node, value)
                node.pop(before)
                node[after] = kept

    return change


def _paths(data: Any, pattern: KeyPath, done: KeyPath = ()) -> Iterator[KeyPath]:
    """Yield the paths that a pattern stands for in some values."""
    if not pattern:
        yield done
        return
    first, rest = pattern[0], pattern[1:]
    if first != "*":
        if isinstance(data, Mapping) and first in data:
            yield from _paths(data[str(first)], rest, (*done, first))
    elif isinstance(data, Mapping):
        for key, value in data.items():
            yield from _paths(value, rest, (*done, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from _paths(value, rest, (*done, number))


def _at(data: Any, path: KeyPath) -> Any:
    for key in path:
        data = data[key]
    return data
