"""Changes during a run: at a given hour some keys of the case get other values.

Each ``[[treatment.change]]`` row yields a whole new case, with all changes up to it:

    [[treatment.change]]
    at = "2 h"
    words = "turn the mattress, aim fan 1 under the bed"
    set = { "dwelling.furniture.bed.mattress" = "turned", "layout.equipment.fan 1.turn" = "90 deg" }
    remove = ["laundry"]

The keys are those of ``load(overrides=...)``. What a preparation has changed or added is found
under ``dwelling.furniture`` too, so nobody need know in which file a value was written.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from pydantic import Field, model_validator

from simulator.case.case import Case, Change
from simulator.case.documents import Problems, Spot, Table, choices, parse
from simulator.case.dwelling import Doorway, Dwelling
from simulator.case.entries import list_entries
from simulator.case.fields import Duration, Name, Record, Temperature, refusal
from simulator.case.overrides import override
from simulator.case.parts import HeatedJet
from simulator.case.refusals import read_record
from simulator.case.sections import SECTIONS, source_name
from simulator.errors import CaseError
from simulator.units import format_quantity

#: Makes a case from texts, without its changes.
Build = Callable[[Mapping[str, str]], Case]

_PLACE = re.compile(r"^[^:]*:\d+: ")

#: Why some things stay as they are for a whole run.
_WALLS = "rooms, walls and windows' places stay for the whole run; only doorways open and shut"


class ChangeRecord(Record):
    """One change: when, what a crew calls it, and the values that hold from then on."""

    at: Duration = Field(description="time since the heat was turned on, such as '2 h'")
    words: Name = Field(description="what is done, such as 'turn the mattress'")
    set: dict[str, Any] = Field(
        default_factory=dict,
        description="table of dotted keys and their new values, such as"
        ' { "layout.equipment.fan 1.turn" = "90 deg" }',
    )
    remove: tuple[Name, ...] = Field(default=(), description="names of furniture to take out")
    enters_at: Temperature | None = Field(
        default=None, description="of what is brought in; left out: the dwelling's start"
    )

    @model_validator(mode="after")
    def _something_changes(self) -> "ChangeRecord":
        if not self.set and not self.remove:
            raise refusal("set", "nothing changes; give 'set' or 'remove'")
        return self


def with_changes(
    case: Case, treatment: Table, sources: Mapping[str, str], main: str, build: Build
) -> Case:
    """Return the case with what its treatment changes during the run.

    Parameters
    ----------
    case : the case at the start of the run.
    treatment : table that may hold ``[[change]]`` rows.
    sources, main : texts that the case was made of.
    build : makes a case from changed texts.
    """
    problems = Problems()
    texts = dict(sources)
    changes: list[Change] = []
    before = 0.0
    for entry in list_entries(treatment, "change", problems):
        spot = Spot(entry, (), problems)
        record = read_record(ChangeRecord, entry, problems)
        if record is None:
            continue
        _check_time(record, before, case.treatment.horizon, spot)
        problems.raise_any()
        before = record.at
        what = f"'{record.words}' at {format_quantity(record.at, 'time')}"
        try:
            texts = changed_texts(texts, main, record.set, record.remove)
            changed = build(texts)
        except CaseError as error:
            for line in str(error).splitlines():
                spot.refuse(f"{what}: {_PLACE.sub('', line)}")
        else:
            _check_same_run(case, changed, spot.at("set"), what)
            changes.append(Change(record.at, record.words, changed, record.enters_at))
        problems.raise_any()
    problems.raise_any()
    return _with_all_doorways(replace(case, changes=tuple(changes)))


def _check_time(record: ChangeRecord, before: float, horizon: float, spot: Spot) -> None:
    if record.at >= horizon:
        limit = format_quantity(horizon, "time")
        spot.at("at").refuse(f"lies after the end of the run; it must be before {limit}")
    elif record.at <= before:
        earlier = format_quantity(before, "time")
        spot.at("at").refuse(f"changes stand in order of time; it must be after {earlier}")


def changed_texts(
    texts: Mapping[str, str], main: str, values: Mapping[str, Any], remove: Sequence[str]
) -> dict[str, str]:
    """Return a case's texts with other values, and with furniture taken out.

    Parameters
    ----------
    texts, main : as ``Case.sources`` and the name of the case file's text.
    values : dotted key -> value; whole sections stay.
    remove : names of furniture.

    Raises
    ------
    CaseError
        A key leads nowhere; wrong values are found when the texts are read.
    """
    changed = dict(texts)
    for key, value in values.items():
        if key in SECTIONS or key == "title" or key.startswith("treatment.change"):
            end = choices("", [f"{section}.…" for section in SECTIONS], "keys within")
            raise CaseError(f"'{key}' as a whole cannot be changed; {end}")
        override_within(changed, main, key, value)
    if remove:
        _take_out(changed, main, remove)
    return changed


def _take_out(sources: dict[str, str], main: str, names: Sequence[str]) -> None:
    """Add furniture to what the preparation takes out; what it does to it no longer counts."""
    preparation = _preparation(sources, main)
    changes = preparation.get("change", {})
    kept = {name: keys for name, keys in changes.items() if name not in names}
    if len(kept) < len(changes):
        override_within(sources, main, "preparation.change", kept)
    taken = [*preparation.get("remove", []), *names]
    override_within(sources, main, "preparation.remove", taken)


def override_within(sources: dict[str, str], main: str, key: str, value: object) -> None:
    """Replace a value in the text of the section that it belongs to.

    A value of a piece of furniture that the preparation gives is replaced there.
    """
    section, *rest = key.split(".")
    if section not in SECTIONS and key != "title":
        end = choices(section, [*SECTIONS, "title"], "first keys")
        raise CaseError(f"override of '{key}': unknown first key '{section}'; {end}")
    if section == "dwelling" and len(rest) > 2 and rest[0] == "furniture":
        section, rest = _where_given(_preparation(sources, main), rest)
    reference = parse(main, sources[main]).data.get(section)
    if isinstance(reference, str) and rest:
        name = source_name(main, reference)
        sources[name] = override(sources[name], rest, value)
    else:
        sources[main] = override(sources[main], [section, *rest], value)


def _preparation(sources: Mapping[str, str], main: str) -> Mapping[str, Any]:
    section = parse(main, sources[main]).data.get("preparation", {})
    if isinstance(section, str):
        name = source_name(main, section)
        section = parse(name, sources[name]).data
    return section if isinstance(section, dict) else {}


def _where_given(preparation: Mapping[str, Any], keys: list[str]) -> tuple[str, list[str]]:
    """Return the section and the keys where a value of a piece of furniture is written."""
    _, name, *rest = keys
    changes, added = preparation.get("change", {}), preparation.get("furniture", [])
    change = changes.get(name, {}) if isinstance(changes, dict) else {}
    if isinstance(change, dict) and rest[0] in change:
        return "preparation", ["change", name, *rest]
    if any(isinstance(piece, dict) and piece.get("name") == name for piece in added):
        return "preparation", keys
    return "dwelling", keys


def _check_same_run(first: Case, changed: Case, spot: Spot, what: str) -> None:
    """Note what cannot change while a run goes on."""
    if _shell(first.dwelling) != _shell(changed.dwelling):
        spot.refuse(f"{what}: {_WALLS}")
    if first.dwelling.start_temperature != changed.dwelling.start_temperature:
        spot.refuse(f"{what}: the start temperature is the run's; use 'enters_at'")
    plan, other = first.treatment, changed.treatment
    if (plan.horizon, plan.target_temperature, plan.air_limit) != (
        other.horizon,
        other.target_temperature,
        other.air_limit,
    ):
        spot.refuse(f"{what}: target, air_limit and horizon hold for the whole run")
    heaters, others = (
        [part.owner for part in case.parts if isinstance(part, HeatedJet)]
        for case in (first, changed)
    )
    if heaters != others:
        spot.refuse(f"{what}: heaters cannot come or go; turn one off by power = '0 W'")
    known = {(probe.owner, probe.name) for probe in first.probes}
    for probe in changed.probes:
        if (probe.owner, probe.name) not in known:
            spot.refuse(f"{what}: '{probe.owner}' is watched and cannot be brought in later")


def _shell(dwelling: Dwelling) -> tuple[object, ...]:
    rooms = tuple((room.name, room.low, room.size) for room in dwelling.rooms)
    doors = tuple(replace(door, is_open=False) for door in dwelling.doorways)
    windows = tuple((w.name, w.room, w.side, w.low, w.high) for w in dwelling.windows)
    return rooms, doors, windows, dwelling.sockets


def _with_all_doorways(case: Case) -> Case:
    """Mark the doorways that are open at any time: cells are laid out for them throughout."""
    cases = [case, *(change.case for change in case.changes)]
    opened = {door.name for one in cases for door in one.dwelling.doorways if door.is_open}

    def marked(one: Case) -> Case:
        doors: tuple[Doorway, ...] = tuple(
            replace(door, is_ever_open=door.name in opened) for door in one.dwelling.doorways
        )
        return replace(one, dwelling=replace(one.dwelling, doorways=doors))

    changes = tuple(replace(change, case=marked(change.case)) for change in case.changes)
    return replace(marked(case), changes=changes) if changes else case
