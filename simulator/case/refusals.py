"""Pydantic's refusals in our own words: what is wrong, what is allowed, the nearest valid name."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from simulator.case.documents import Problems, Table, child, choices
from simulator.case.fields import Record
from simulator.case.locate import KeyPath

RecordType = TypeVar("RecordType", bound=Record)


def read_record(model: type[RecordType], table: Table, problems: Problems) -> RecordType | None:
    """Return the record that a table holds, or None after noting all that is wrong with it."""
    try:
        return model.model_validate(dict(table.data))
    except ValidationError as error:
        found = error.errors(include_url=False)
        for details in found:
            if _follows_from_others(details, found):
                continue
            key = _key(details)
            problems.add(table, key, _message(details, model, table.data, key))
    return None


def _follows_from_others(details: ErrorDetails, found: Sequence[ErrorDetails]) -> bool:
    """Return whether a list is only too short because entries of it were refused."""
    place = details["loc"]
    return details["type"] == "too_short" and any(
        len(other["loc"]) > len(place) and other["loc"][: len(place)] == place for other in found
    )


def _key(details: ErrorDetails) -> KeyPath:
    """Return the path of the refused key; a table's own check names its key in the context."""
    key = details.get("ctx", {}).get("key", ())
    return (*details["loc"], *((key,) if isinstance(key, str) else key))


def _message(
    details: ErrorDetails, model: type[BaseModel], data: Mapping[str, Any], key: KeyPath
) -> str:
    kind = details["type"]
    context = details.get("ctx", {})
    written = _written(data, key)
    if kind in ("quantity", "refusal"):
        return str(context["problem"])
    if kind == "missing":
        return _missing(model, key)
    if kind == "extra_forbidden":
        return _unknown(model, key)
    if kind in ("literal_error", "enum"):
        return f"{written} is not allowed; allowed: {context['expected']}"
    if kind in _BOUNDS:
        bound = next(iter(context.values()))
        return f"{written} is not allowed; it must be {_BOUNDS[kind]} {bound:g}"
    if kind in ("too_short", "too_long") and "actual_length" in context:
        few = context.get("min_length", context.get("max_length"))
        return f"has {context['actual_length']} entries; it takes {_AT[kind]} {few}"
    if kind in _EXPECTED:
        return f"expected {_EXPECTED[kind]}, not {written}"
    text = details["msg"].removeprefix("Value error, ").removeprefix("Assertion failed, ")
    return " ".join(text.split())


_BOUNDS = {
    "greater_than": "greater than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}
_AT = {"too_short": "at least", "too_long": "at most"}
_EXPECTED = {
    "string_type": "text",
    "string_too_short": "some text",
    "string_too_long": "shorter text",
    "string_pattern_mismatch": "one line of text",
    "float_type": "a number without a unit",
    "float_parsing": "a number without a unit",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "tuple_type": "a list (of tables: [[double brackets]])",
    "list_type": "a list (of tables: [[double brackets]])",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}


def _written(data: Any, key: KeyPath) -> str:
    """Return a value as the user wrote it, shortened."""
    node = data
    for part in key:
        node = child(node, part)
    return describe(node)


def describe(value: object) -> str:
    """Return a value of a file in words for a message."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        line = " ".join(value.split())
        return f"'{line[:60]}'"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    return str(value)


def _missing(model: type[BaseModel], key: KeyPath) -> str:
    """Say that a key is missing and what belongs there."""
    last = key[-1]
    if isinstance(last, int):
        return f"value {last + 1} of the list is missing"
    table = model_at(model, key[:-1])
    info = table.model_fields.get(last) if table is not None else None
    what = f" ({info.description})" if info is not None and info.description else ""
    ready = _ready(model, key)
    return f"missing; give '{last}'{what}" + (f"; ready: {ready}" if ready else "")


def _ready(model: type[BaseModel], key: KeyPath) -> str:
    """Return the names that suit a missing key by the field that its table stands in."""
    holder = model_at(model, key[:-2])
    info = holder.model_fields.get(str(key[-2])) if holder is not None and len(key) > 1 else None
    extra = info.json_schema_extra if info is not None else None
    named = extra.get("ready") if isinstance(extra, dict) else None
    return str(named.get(str(key[-1]), "")) if isinstance(named, dict) else ""


def _unknown(model: type[BaseModel], key: KeyPath) -> str:
    last = str(key[-1])
    if isinstance(key[-1], int):
        return "one value too many in the list"
    table = model_at(model, key[:-1])
    known = list(table.model_fields) if table is not None else []
    return f"unknown key '{last}'; {choices(last, known, 'keys here')}"


def model_at(model: type[BaseModel], path: KeyPath) -> type[BaseModel] | None:
    """Return the model of the table at a path below a model's own table, or None."""
    here: Any = model
    for part in path:
        if isinstance(part, int):
            continue
        if not (isinstance(here, type) and issubclass(here, BaseModel)):
            return None
        info = here.model_fields.get(part)
        if info is None:
            return None
        here = _table_in(info.annotation)
    return here if isinstance(here, type) and issubclass(here, BaseModel) else None


def _table_in(annotation: Any) -> Any:
    """Return the first model within an annotation such as ``tuple[Model, ...]``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        found = _table_in(argument)
        if found is not None:
            return found
    return None
