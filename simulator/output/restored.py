"""Findings read back: the dataclass of a study from the plain JSON that stands in a result file."""

import dataclasses
import math
import types
from collections.abc import Mapping
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


def restored(kind: type[T], table: Mapping[str, Any]) -> T:
    """Return the record that ``summary.plain`` made a table of; null is nan where a number stands.

    Parameters
    ----------
    kind : a dataclass of numbers, texts, truth values, tuples, mappings and other such records.
    table : what JSON gave; keys that ``kind`` does not have are left out.

    Raises
    ------
    KeyError, TypeError, ValueError
        If the table is not of this kind.
    """
    hints = get_type_hints(kind)
    values = {}
    for entry in dataclasses.fields(kind):  # type: ignore[arg-type]
        if entry.name in table:
            values[entry.name] = _value(hints[entry.name], table[entry.name])
        elif entry.default is dataclasses.MISSING and entry.default_factory is dataclasses.MISSING:
            raise KeyError(entry.name)
    return kind(**values)


def _value(kind: Any, plain: Any) -> Any:
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        if plain is None and type(None) in inner:
            return None
        return _value(next(one for one in inner if one is not type(None)), plain)
    if kind is float:
        return math.nan if plain is None else float(plain)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return restored(kind, plain)
    if origin is tuple:
        return tuple(_value(inner[0], entry) for entry in plain)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {key: _value(inner[1], entry) for key, entry in plain.items()}
    return plain
