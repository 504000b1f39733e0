"""What studies found, as sections of the sheet: one function and one name for each finding.

A study appends its findings to the result file as plain JSON under its name. To print them, write
a function of that table and the units, and put it under the name in ``SECTIONS``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from simulator.assessment.readiness_item import Cost
from simulator.output.restored import restored
from simulator.studies import (
    band,
    band_words,
    causes,
    causes_words,
    grid_error,
    remedies,
    remedies_words,
)
from simulator.studies.band import Band
from simulator.studies.causes import Causes
from simulator.studies.grid_error import GridError
from simulator.studies.remedies import Remedies
from simulator.units import System

#: What is raised where a finding is not of the kind that this version knows.
UNREADABLE = (KeyError, TypeError, ValueError, AttributeError)


@dataclass(frozen=True, slots=True)
class Section:
    """A finding in print: paragraphs, then a table if ``head`` is given."""

    title: str
    paragraphs: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def _grid_error(table: Mapping[str, Any], units: System) -> Section:
    """Return what the companion run on coarser cells told."""
    found = restored(GridError, table)
    return Section("Error of the cells", (grid_error.in_words(found, units),))


def _band(table: Mapping[str, Any], units: System) -> Section:
    """Return how sure the answer is; the chances of single spots stand in the watch list."""
    found = replace(restored(Band, table), spots=())
    return Section(band_words.TITLE, tuple(band_words.in_words(found, units)))


def _remedies(table: Mapping[str, Any], units: System) -> Section:
    """Return what would help, each move with its gain, and the plan."""
    found = restored(Remedies, table)
    return Section(remedies_words.TITLE, tuple(remedies_words.in_words(found, units)))


def _causes(table: Mapping[str, Any], units: System) -> Section:
    """Return why the cold spots lag."""
    found = restored(Causes, table)
    return Section(
        causes_words.TITLE,
        tuple(causes_words.notes(found, units)),
        ("", "place", "lag", "shares"),
        tuple(causes_words.row_of(spot) for spot in found.spots),
    )


#: Name of a finding -> how it is printed, in the order in which they are printed.
SECTIONS: Mapping[str, Callable[[Mapping[str, Any], System], Section]] = {
    causes.NAME: _causes,
    grid_error.NAME: _grid_error,
    band.NAME: _band,
    remedies.NAME: _remedies,
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
        except UNREADABLE:
            unread.append(name)
    if unread:
        told = f"in the result file, but not printed by this version: {', '.join(unread)}"
        found.append(Section("Other findings", (told,)))
    return tuple(found)


def chances(findings: Mapping[str, Any]) -> dict[str, str]:
    """Return for each cold spot, by its words, in how many runs of the band it stays cold."""
    table = findings.get(band.NAME)
    if table is None:
        return {}
    try:
        found = restored(Band, table)
    except UNREADABLE:
        return {}
    runs = found.samples - found.failed
    return {spot.words: f"cold in {spot.cold_in} of {runs} runs" for spot in found.spots}


def costs(findings: Mapping[str, Any]) -> Mapping[str, Cost]:
    """Return what it costs not to do an item, by its key, where remedies were tried."""
    table = findings.get(remedies.NAME)
    if table is None:
        return {}
    try:
        return restored(Remedies, table).costs
    except UNREADABLE:
        return {}
