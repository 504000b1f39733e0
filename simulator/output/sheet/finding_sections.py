"""What studies found, as sections of the sheet: one function and one name for each finding.

A study appends its findings to the result file as plain JSON under its name. To print them, write
a function of that table and the units, and put it under the name in ``SECTIONS``.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any

from simulator.studies import grid_error
from simulator.studies.grid_error import GridError, Spread
from simulator.units import System


@dataclass(frozen=True, slots=True)
class Section:
    """A finding in print: paragraphs, then a table if ``head`` is given."""

    title: str
    paragraphs: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def _grid_error(table: Mapping[str, Any], units: System) -> Section:
    """Return what the companion run on coarser cells told."""
    known = {field.name: _number(table[field.name]) for field in fields(GridError)}
    known["figures"] = tuple(
        Spread(**{key: _number(value) for key, value in row.items()}) for row in table["figures"]
    )
    return Section("Error of the cells", (grid_error.in_words(GridError(**known), units),))


def _number(value: Any) -> Any:
    """Return a value with null, as which nan was written, turned to nan again."""
    return math.nan if value is None else value


#: Name of a finding -> how it is printed, in the order in which they are printed.
SECTIONS: Mapping[str, Callable[[Mapping[str, Any], System], Section]] = {
    grid_error.NAME: _grid_error,
}


def finding_sections(findings: Mapping[str, Any], units: System) -> tuple[Section, ...]:
    """Return the sections of all findings in a result file.

    A finding that this version cannot print is named, never dropped in silence.
    """
    found, unread = [], [name for name in findings if name not in SECTIONS]
    for name, section in SECTIONS.items():
        table = findings.get(name)
        if table is None:
            continue
        try:
            found.append(section(table, units))
        except (KeyError, TypeError, ValueError, AttributeError):
            unread.append(name)
    if unread:
        told = f"in the result file, but not printed by this version: {', '.join(unread)}"
        found.append(Section("Other findings", (told,)))
    return tuple(found)
