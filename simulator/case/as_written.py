"""What a case's own texts say beyond its parts: equipment by kind, and what was prepared."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simulator.case.case import Case
from simulator.case.entries import list_entries, read_entries
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.placement import Furniture
from simulator.case.layout_file import PreparationFile
from simulator.case.sections import Sections


@dataclass(frozen=True, slots=True)
class Preparation:
    """What is done to the furniture before the heat.

    Attributes
    ----------
    removed : names of what is taken out.
    changed : name of a piece -> its keys with the values they get, as they are written.
    added : names of what is brought in.
    """

    removed: tuple[str, ...] = ()
    changed: Mapping[str, Mapping[str, Any]] | None = None
    added: tuple[str, ...] = ()


def equipment_of(case: Case) -> tuple[Equipment, ...]:
    """Return the equipment as the case's own texts give it: with kinds and electrical draw."""
    if not case.sources:
        return ()
    sections = _sections(case)
    entries = read_entries(sections.equipment(), EQUIPMENT, sections.problems)
    sections.problems.raise_any()
    return tuple(entry for entry, _ in entries)


def equipment_tables(case: Case) -> tuple[Mapping[str, Any], ...]:
    """Return the equipment as it is written, table by table."""
    if not case.sources:
        return ()
    return tuple(entry.data for entry in _sections(case).equipment())


def furniture_of(case: Case) -> tuple[Furniture, ...]:
    """Return the furniture as it stands after the preparation, with kinds and keys."""
    if not case.sources:
        return ()
    sections = _sections(case)
    state = sections.record(PreparationFile, sections.section("preparation").without("furniture"))
    entries = read_entries(
        sections.furniture(state or PreparationFile()), FURNITURE, sections.problems
    )
    sections.problems.raise_any()
    return tuple(entry for entry, _ in entries)


def preparation_of(case: Case) -> Preparation:
    """Return what the case's preparation does to the dwelling as found."""
    if not case.sources:
        return Preparation()
    sections = _sections(case)
    table = sections.section("preparation")
    state = sections.record(PreparationFile, table.without("furniture"))
    added = list_entries(table, "furniture", sections.problems)
    sections.problems.raise_any()
    if state is None:
        return Preparation()
    names = tuple(str(entry.data.get("name")) for entry in added)
    return Preparation(state.remove, state.change, names)


def _sections(case: Case) -> Sections:
    return Sections(case.sources, next(iter(case.sources)), "")
