"""Change one value in a TOML text and keep the rest as it was written, comments included."""

from collections.abc import Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from simulator.case.documents import choices
from simulator.errors import CaseError


def override(text: str, keys: Sequence[str], value: object) -> str:
    """Return the text with the value at a path of keys replaced or added.

    Parameters
    ----------
    text : valid TOML.
    keys : path to the value; an entry of a list is found by its ``name``.
    value : text, number, boolean, list or table.

    Raises
    ------
    CaseError
        A key on the way is a value and no table, a list has no such entry, or TOML cannot hold it.
    """
    try:
        document = tomlkit.parse(text)
        node: Any = document
        for key in keys[:-1]:
            node = _step(node, key)
        if not isinstance(node, dict):
            raise CaseError(_not_a_table(keys))
        node[keys[-1]] = value
        return tomlkit.dumps(document)
    except (TOMLKitError, TypeError, ValueError) as error:
        what = " ".join(str(error).split())
        raise CaseError(f"override of '{'.'.join(keys)}': {what}") from None


def _step(node: Any, key: str) -> Any:
    """Return what lies under a key, or the entry of a list that has this name."""
    if isinstance(node, list):
        for entry in node:
            if isinstance(entry, dict) and entry.get("name") == key:
                return entry
        names = [str(entry.get("name")) for entry in node if isinstance(entry, dict)]
        raise CaseError(f"override: no entry named '{key}'; {choices(key, names, 'entries')}")
    if not isinstance(node, dict):
        raise CaseError(f"override: there is no table in which to look for '{key}'")
    if key not in node:
        node[key] = tomlkit.table()
    return node[key]


def _not_a_table(keys: Sequence[str]) -> str:
    return f"override of '{'.'.join(keys)}': '{keys[-2]}' is no table; give a key of a table"
