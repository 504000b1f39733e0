"""The lists of furniture and equipment: each entry read by the model of its kind."""

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar, get_args

from simulator.case.documents import Problems, Spot, Table, choices
from simulator.case.fields import Record
from simulator.case.layout_file import PreparationFile
from simulator.case.refusals import describe, read_record

Kind = TypeVar("Kind", bound=Record)


def kind_name(model: type[Record]) -> str:
    """Return the word by which case files name a kind, such as "bed"."""
    return str(get_args(model.model_fields["kind"].annotation)[0])


def list_entries(table: Table, key: str, problems: Problems) -> list[Table]:
    """Return the tables of a list such as ``[[furniture]]``."""
    data = table.data.get(key, [])
    if not isinstance(data, list) or not all(isinstance(entry, dict) for entry in data):
        problems.add(table, (key,), f"expected a list of tables, [[{key}]], not {describe(data)}")
        return []
    return [table.within(key, index) for index in range(len(data))]


def prepare(
    entries: Sequence[Table], preparation: PreparationFile, table: Table, problems: Problems
) -> list[Table]:
    """Return the furniture after a preparation: without what is removed, with what is changed.

    Parameters
    ----------
    entries : the dwelling's furniture as found.
    preparation : what is done.
    table : where that was written, for messages.
    problems : takes what is wrong.
    """
    written = [entry.data.get("name") for entry in entries]
    names = [name if isinstance(name, str) else "" for name in written]
    known = [name for name in names if name]
    for entry, name in zip(entries, names, strict=True):
        if name and entry is not entries[names.index(name)]:
            message = f"there is already a piece of furniture named '{name}'; choose another name"
            problems.add(entry, ("name",), message)
    for index, name in enumerate(preparation.remove):
        _check_known(name, known, Spot(table, ("remove", index), problems))
    changes = {}
    for name, change in preparation.change.items():
        spot = Spot(table, ("change", name), problems)
        _check_known(name, known, spot)
        if name in preparation.remove:
            spot.refuse(f"'{name}' is also removed; either change or remove it")
        if "name" in change:
            spot.at("name").refuse("a name cannot be changed; allowed: the other keys of the piece")
        changes[name] = Table(table.document, (*table.path, "change", name), change)
    return [
        entry.overlaid(changes.pop(name)) if name in changes else entry
        for entry, name in zip(entries, names, strict=True)
        if name not in preparation.remove
    ]


def _check_known(name: str, known: Iterable[str], spot: Spot) -> None:
    names = list(known)
    if name not in names:
        end = choices(name, names, "furniture of the dwelling")
        spot.refuse(f"unknown piece of furniture '{name}'; {end}")


def read_entries(
    entries: Sequence[Table], kinds: Sequence[type[Kind]], problems: Problems
) -> list[tuple[Kind, Spot]]:
    """Return the entries read by their kinds, each with where it was written."""
    models = {kind_name(model): model for model in kinds}
    read = []
    for entry in entries:
        spot = Spot(entry, (), problems)
        kind: Any = entry.data.get("kind")
        if kind is None:
            spot.at("kind").refuse(f"missing; {choices('', models, 'kinds')}")
        elif not isinstance(kind, str) or kind not in models:
            end = choices(str(kind), models, "kinds")
            spot.at("kind").refuse(f"unknown kind {describe(kind)}; {end}")
        else:
            record = read_record(models[kind], entry, problems)
            if record is not None:
                read.append((record, spot))
    return read
