"""``roomsoak kinds``: what a case may name, each number with where it comes from."""

import inspect
import json
import re
import textwrap
from collections.abc import Callable
from typing import Any

import click

from simulator.cli.options import json_option

Entry = dict[str, Any]

TOPICS = ("furniture", "equipment", "materials", "correlations")


@click.command(short_help="List what a case may name, with sources.")
@click.argument("topic", type=click.Choice(TOPICS), required=False)
@json_option
def kinds(topic: str | None, as_json: bool) -> None:
    """List furniture, equipment, materials and correlations with their sources."""
    chosen = (topic,) if topic else TOPICS
    listed = {name: _LISTS[name]() for name in chosen}
    if as_json:
        click.echo(json.dumps(listed, indent=2, ensure_ascii=False))
        return
    for name, entries in listed.items():
        click.echo(f"{name.upper()} ({len(entries)})")
        for entry in entries:
            for line in _PRINTERS[name](entry):
                click.echo(line)
        click.echo()


def _furniture() -> list[Entry]:
    from simulator.case.furniture.kinds import FURNITURE

    return [_record_entry(kind) for kind in FURNITURE]


def _equipment() -> list[Entry]:
    from simulator.case.equipment.kinds import EQUIPMENT

    return [_record_entry(kind) for kind in EQUIPMENT]


def _record_entry(kind: Any) -> Entry:
    """Return a kind's name in case files, its meaning and its keys."""
    keys = []
    for name, field in kind.model_fields.items():
        if name == "kind":
            continue
        default = None if field.is_required() else field.get_default(call_default_factory=True)
        keys.append(
            {
                "key": name,
                "is_required": field.is_required(),
                "default": default if isinstance(default, str | int | float | bool) else None,
                "meaning": field.description or "",
            }
        )
    about = inspect.cleandoc(kind.__doc__ or "").replace("`", "")
    kind_name = kind.model_fields["kind"].get_default()
    return {"kind": kind_name, "words": kind.words, "about": about, "keys": keys}


def _materials() -> list[Entry]:
    from simulator.case.materials import MATERIALS

    return [
        {
            "name": row.name,
            "conductivity": row.conductivity,
            "density": row.density,
            "heat_capacity": row.heat_capacity,
            "emissivity": row.emissivity,
            "harm_temperature": row.harm_temperature,
            "source": row.source,
        }
        for row in MATERIALS.values()
    ]


def _correlations() -> list[Entry]:
    from simulator.physics.convection import CORRELATIONS

    return [_correlation_entry(function) for function in CORRELATIONS]


def _correlation_entry(function: Any) -> Entry:
    """Return a correlation's name, what it is for and its references, from its docstring."""
    formula = getattr(function, "py_func", function)
    text = inspect.getdoc(formula) or ""
    first = " ".join(text.split("\n\n")[0].split()).removeprefix("Return ")
    found = re.search(r"References\n-+\n(.*?)(?=\n\n\S[^\n]*\n-+\n|\Z)", text, re.DOTALL)
    source = " ".join(found.group(1).split()) if found else ""
    return {"name": formula.__name__, "about": first, "source": source.replace("`", "")}


def _print_record(entry: Entry) -> list[str]:
    lines = ["", f"  {entry['kind']}: {entry['words']}"]
    lines += _wrapped(" ".join(entry["about"].split()), "    ")
    for key in entry["keys"]:
        state = "required" if key["is_required"] else ""
        name = f"{key['key']} ({state})" if state else key["key"]
        lines += _wrapped(f"{name}: {key['meaning']}", "    - ", "      ")
    return lines


def _print_material(entry: Entry) -> list[str]:
    numbers = (
        f"k {entry['conductivity']:g} W/(m K), {entry['density']:g} kg/m³, "
        f"{entry['heat_capacity']:g} J/(kg K), emissivity {entry['emissivity']:g}"
    )
    harm = entry["harm_temperature"]
    limit = "" if harm is None else f", harmed at {harm:g} °C"
    return [
        f"  {entry['name']}: {numbers}{limit}",
        *_wrapped(entry["source"], "      source: ", "      "),
    ]


def _print_correlation(entry: Entry) -> list[str]:
    return [
        f"  {entry['name']}",
        *_wrapped(entry["about"], "      "),
        *_wrapped(entry["source"], "      source: ", "      "),
    ]


def _wrapped(text: str, first: str, later: str | None = None) -> list[str]:
    return textwrap.wrap(
        text, 100, initial_indent=first, subsequent_indent=first if later is None else later
    )


_LISTS: dict[str, Callable[[], list[Entry]]] = {
    "furniture": _furniture,
    "equipment": _equipment,
    "materials": _materials,
    "correlations": _correlations,
}
_PRINTERS: dict[str, Callable[[Entry], list[str]]] = {
    "furniture": _print_record,
    "equipment": _print_record,
    "materials": _print_material,
    "correlations": _print_correlation,
}
