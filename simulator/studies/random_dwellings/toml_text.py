"""Plain TOML from tables of text, numbers and lists: what a drawn dwelling is written as."""

import json
import re
from collections.abc import Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(table: Mapping[str, Any]) -> str:
    """Return the TOML of a table; lists of tables become ``[[name]]``, tables ``[name]``."""
    lines: list[str] = []
    _write(table, (), lines)
    return "\n".join(lines).lstrip("\n") + "\n"


def _write(table: Mapping[str, Any], path: tuple[str, ...], lines: list[str]) -> None:
    inner: list[tuple[str, Any]] = []
    for key, value in table.items():
        if _is_tables(value) or (isinstance(value, Mapping) and not path):
            inner.append((key, value))
        else:
            lines.append(f"{_key(key)} = {_value(value)}")
    for key, value in inner:
        below = (*path, _key(key))
        if isinstance(value, Mapping):
            lines += ["", f"[{'.'.join(below)}]"]
            _write(value, below, lines)
            continue
        for entry in value:
            lines += ["", f"[[{'.'.join(below)}]]"]
            _write(entry, below, lines)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(entry) for entry in value) + "]"
    return json.dumps(value, ensure_ascii=False)
