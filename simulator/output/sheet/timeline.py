"""The day hour by hour: what is planned, what the crew changes, what is expected when."""

import math
from dataclasses import dataclass

from simulator.assessment.assessment import Assessment
from simulator.assessment.cold_spots import first_time
from simulator.assessment.naming import short_name
from simulator.case.case import Case, Change
from simulator.case.dwelling import Dwelling
from simulator.case.treatment import Phase
from simulator.history import History
from simulator.output.sheet.marks import Mark, marks_of
from simulator.output.sheet.setting_out import placings
from simulator.units import System, format_quantity

#: What an event is: planned beforehand, done by the crew, or expected by the model.
PLAN, CHANGE, EXPECTED = "plan", "change", "expected"


@dataclass(frozen=True, slots=True)
class Event:
    """Something at a time of the day [s], and what kind of thing it is."""

    time: float
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """All events in order, and in words what is expected and does not come within the run."""

    events: tuple[Event, ...]
    missing: tuple[str, ...]


def timeline(case: Case, history: History, assessment: Assessment, units: System) -> Timeline:
    """Return the day of a case and its run."""
    end = float(history.time[-1])
    planned = [
        Event(phase.start, PLAN, _phase(case, phase, units)) for phase in case.treatment.plan
    ]
    planned.append(Event(case.treatment.horizon, PLAN, _last(case)))
    changes = [
        Event(
            moved.change.time,
            CHANGE,
            "; ".join(
                [
                    moved.change.words,
                    *moved.openings,
                    *(_move(m, moved.change.case, units) for m in moved.marks),
                ]
            ),
        )
        for moved in moved_equipment(case)
    ]
    expected, missing = _expected(case, history, assessment, units)
    events = sorted([*planned, *changes, *expected], key=lambda event: event.time)
    return Timeline(
        tuple(event for event in events if event.time <= max(end, case.treatment.horizon)), missing
    )


@dataclass(frozen=True, slots=True)
class Moved:
    """A change of the run, the machines and sensors it moves or turns, what it opens or shuts."""

    change: Change
    marks: tuple[Mark, ...]

    openings: tuple[str, ...] = ()

    @property
    def when(self) -> str:
        """The time of it in words."""
        return f"at {format_quantity(self.change.time, 'time')}"


def moved_equipment(case: Case) -> tuple[Moved, ...]:
    """Return each change of a case with the equipment that stands otherwise from then on."""
    moved, dwelling = [], case.dwelling
    before = {mark.name: mark for mark in marks_of(case)}
    for change in case.changes:
        marks = {mark.name: mark for mark in marks_of(change.case)}
        other = [
            mark
            for name, mark in marks.items()
            if name not in before or mark.pieces != before[name].pieces
        ]
        now = change.case.dwelling
        moved.append(Moved(change, tuple(other), _openings(dwelling, now)))
        before, dwelling = marks, now
    return tuple(moved)


def _openings(before: Dwelling, after: Dwelling) -> tuple[str, ...]:
    """Return in words which windows and doors a change opens or shuts."""
    told = [
        f"{new.name} open over {100.0 * new.opening:.0f} % of its area"
        if new.opening
        else f"{new.name} shut"
        for old, new in zip(before.windows, after.windows, strict=True)
        if old.opening != new.opening
    ]
    told += [
        f"{new.name} {'open' if new.is_open else 'shut'}"
        for old, new in zip(before.doorways, after.doorways, strict=True)
        if old.is_open != new.is_open
    ]
    return tuple(told)


def _move(mark: Mark, case: Case, units: System) -> str:
    row = placings([mark], case, units)[0]
    points = f", points {row.points}" if row.points else ""
    return (
        f"{row.tag} then stands {row.from_west} from west wall, {row.from_south} from south wall, "
        f"{row.height} up{points}"
    )


def _phase(case: Case, phase: Phase, units: System) -> str:
    """Return what begins with a phase."""
    told = []
    if phase.heaters_on:
        point = format_quantity(phase.thermostat, "temperature", units)
        told.append(f"heaters on, set point {point}")
        if math.isfinite(phase.ramp):
            told.append(
                f"raised by at most {format_quantity(phase.ramp, 'temperature rate', units)}"
            )
    else:
        told.append("heaters off")
        if phase.heater_fans_on:
            told.append("their blowers on")
    told.append("fans on" if phase.fans_on else "fans off")
    return f"{phase.name}: {', '.join(told)}"


def _last(case: Case) -> str:
    if case.treatment.heat_ends < case.treatment.horizon:
        return "end of the planned cool-down"
    return "end of the planned heat; cool-down by the crew's list"


def _expected(
    case: Case, history: History, assessment: Assessment, units: System
) -> tuple[list[Event], tuple[str, ...]]:
    """Return what the model expects, and what it expects in vain."""
    target = format_quantity(case.treatment.target_temperature, "temperature", units)
    within = f"within {format_quantity(case.treatment.horizon, 'time', units)}"
    events, missing = [], []
    air = first_time(history.time, history.air_mean, case.treatment.target_temperature)
    if math.isnan(air):
        missing.append(f"the mean of the room air does not reach {target} {within}")
    else:
        events.append(Event(air, EXPECTED, f"room air, its mean, reaches {target}"))
    done = [place for place in assessment.places if not math.isnan(place.time_to_done)]
    if done:
        first = min(done, key=lambda place: place.time_to_done)
        events.append(
            Event(
                first.time_to_done,
                EXPECTED,
                f"first hiding place done: {_name(case, first.owner, first.words)}",
            )
        )
    else:
        missing.append(f"no hiding place is done {within}")
    count = len(assessment.places)
    left = count - len(done)
    if assessment.is_all_done and done:
        last = max(done, key=lambda place: place.time_to_done)
        events.append(
            Event(
                last.time_to_done,
                EXPECTED,
                f"last hiding place done: {_name(case, last.owner, last.words)}",
            )
        )
    elif left:
        missing.append(f"{left} of {count} hiding places are not done {within}: see the watch list")
        if done:
            last = max(done, key=lambda place: place.time_to_done)
            events.append(
                Event(
                    last.time_to_done,
                    EXPECTED,
                    f"{len(done)} of {count} hiding places done, the last of them: "
                    f"{_name(case, last.owner, last.words)}",
                )
            )
    return events, tuple(missing)


def _name(case: Case, owner: str, words: str) -> str:
    return short_name(owner, words, case.furniture_words)
