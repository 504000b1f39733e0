"""The rows of a study as a table that comes out the same to the last byte."""

import csv
import io
from collections.abc import Iterable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from simulator.studies.campaign.job import Row

#: Digits of floats: more than any figure bears, fewer than round-off of another order would show.
DIGITS = 7


def ordered(rows: Iterable[Row]) -> list[Row]:
    """Return rows in an order that does not depend on when they were made."""
    return sorted(rows, key=lambda row: [_sortable(value) for value in _identity(row)])


def _identity(row: Row) -> list[Any]:
    return [row["dwelling"], row["preparation"], row["layout"], row["rule"], row["key"]]


def _sortable(value: Any) -> tuple[Any, ...]:
    """Return a key by which "seed 9" comes before "seed 10"."""
    head, _, tail = str(value).rpartition(" ")
    return (head, int(tail)) if tail.isdigit() else (str(value), -1)


def columns_of(rows: Sequence[Row]) -> list[str]:
    """Return the columns of all rows, those of the first row first; "_" begins what is left out."""
    names = dict.fromkeys(name for row in rows for name in row)
    return [name for name in names if not name.startswith("_")]


def csv_text(rows: Sequence[Row]) -> str:
    """Return the table as CSV (RFC 4180, but with line feeds); empty: not known, never."""
    names = columns_of(rows)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in names])
    return text.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.{DIGITS}g}" if isinstance(value, float) else str(value)


def write_tables(rows: Sequence[Row], folder: Path) -> list[Path]:
    """Write ``runs.csv``, and ``runs.parquet`` if pyarrow is there; return the paths."""
    path = folder / "runs.csv"
    path.write_text(csv_text(rows), encoding="utf-8", newline="")
    if find_spec("pyarrow") is None:
        return [path]
    import pyarrow
    import pyarrow.parquet

    names = columns_of(rows)
    table = pyarrow.table({name: [row.get(name) for row in rows] for name in names})
    pyarrow.parquet.write_table(table, folder / "runs.parquet")
    return [path, folder / "runs.parquet"]
