"""The same layout with fewer heaters or one more: what each of them is worth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.equipment.placement import Blower
from simulator.errors import CaseError
from simulator.studies.candidates import Density, Floors, heater_candidates
from simulator.studies.layout import HeaterPlace, Layout, given_heaters
from simulator.studies.layout_text import set_equipment, standing, with_layout
from simulator.studies.objectives import Objective
from simulator.studies.rungs import Rung
from simulator.studies.trials import Trial, Trials

#: Added to the name of the heater that one more is like.
ONE_MORE = " (one more)"


@dataclass(frozen=True, slots=True)
class HeaterCount:
    """The value of an objective with a number of heaters; ``is_added``: one more than there are."""

    number: int
    value: float
    is_added: bool = False


def by_heaters(
    cases: Sequence[Case],
    layout: Layout,
    trials: Trials,
    rung: Rung,
    objective: Objective,
) -> tuple[HeaterCount, ...]:
    """Return the value of a layout with one heater, two, ... and one more than there are.

    The first ones of the case are kept; one more is like the last, where it stands farthest from
    all the others. Of states of the dwelling that of the worst.
    """
    names = [heater.name for heater in given_heaters(cases[0])]
    found = []
    for number in range(1, len(names) + 1):
        fewer = [_without(case, names[number:]) for case in cases]
        kept = replace(layout, heaters=layout.heaters[:number])
        found.append(HeaterCount(number, _value(fewer, kept, trials, rung, objective)))
    more = _with_one_more(cases, layout) if names else None
    if more is not None:
        value = _value(more, replace(layout, heaters=()), trials, rung, objective)
        found.append(HeaterCount(len(names) + 1, value, is_added=True))
    return tuple(found)


def _value(
    cases: Sequence[Case], layout: Layout, trials: Trials, rung: Rung, objective: Objective
) -> float:
    (outcome,) = trials.of(cases).outcomes([Trial(layout, rung)])
    return outcome.value(objective)


def _without(case: Case, names: Sequence[str]) -> Case:
    """Return a case without some of its machines."""
    if not names:
        return case

    def change(layout: Any) -> None:
        set_equipment(layout, [p for p in layout["equipment"] if p["name"] not in names])

    return with_layout(case, change)


def _with_one_more(cases: Sequence[Case], layout: Layout) -> list[Case] | None:
    """Return the cases with one heater more; None if there is no room for it."""
    machines = [piece for piece in equipment_of(cases[0]) if isinstance(piece, Blower)]
    last = given_heaters(cases[0])[-1]
    machine = next(piece for piece in machines if piece.name == last.name)
    moved = {heater.name: heater for heater in layout.heaters}
    standing = [moved.get(h.name, h) for h in given_heaters(cases[0])]
    taken = [(heater.room, heater.at) for heater in standing]
    taken += [(fan.room, fan.at) for fan in layout.fans]
    floors = Floors(cases, ())
    poses = heater_candidates(floors, last, machine, Density())
    poses = tuple(sorted(poses, key=lambda pose: -_nearest(pose, taken)))
    for pose in poses:
        if _nearest(pose, taken) < 2.0 * HALF_WAY:
            return None
        try:
            return [_added(case, layout, last.name, pose) for case in cases]
        except CaseError:
            continue
    return None


#: Half of the least distance of one more heater from all else [m] (estimate: room for its jet).
HALF_WAY = 0.4


def _nearest(pose: HeaterPlace, taken: Sequence[tuple[str, tuple[float, float]]]) -> float:
    here = (math.dist(pose.at, at) for room, at in taken if room == pose.room)
    return min(here, default=math.inf)


def _added(case: Case, layout: Layout, name: str, pose: HeaterPlace) -> Case:
    """Return a case with a heater like one of its own, and with its heaters where they stand."""
    moved = {heater.name: heater for heater in layout.heaters}

    def change(table: Any) -> None:
        pieces = []
        for piece in table["equipment"]:
            heater = moved.get(piece["name"])
            pieces.append(piece if heater is None else _at(piece, heater))
            if piece["name"] == name:
                pieces.append({**_at(piece, pose), "name": name + ONE_MORE})
        set_equipment(table, pieces)

    return with_layout(case, change)


def _at(piece: Any, heater: HeaterPlace) -> dict[str, Any]:
    return {**piece.unwrap(), **standing(heater.room, heater.at, heater.turn)}
