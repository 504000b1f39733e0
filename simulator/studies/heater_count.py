"""The same layout with fewer heaters or one more: what each of them is worth."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit

from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.equipment.placement import Blower
from simulator.case.load import load_texts
from simulator.case.variants import main_of
from simulator.errors import CaseError
from simulator.studies.candidates import Density, Floors, heater_candidates
from simulator.studies.layout import HeaterPlace, Layout, given_heaters, layout_file
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
    texts, document, layout = _layout_of(case)
    kept = [piece for piece in layout["equipment"] if piece["name"] not in names]
    _write(layout, kept)
    for circuit in layout.get("circuit", []):
        circuit["loads"] = [load for load in circuit.get("loads", []) if load not in names]
    texts[layout_file(case)] = tomlkit.dumps(document)
    return load_texts(texts, main_of(case))


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
    texts, document, table = _layout_of(case)
    moved = {heater.name: heater for heater in layout.heaters}
    pieces = []
    for piece in table["equipment"]:
        heater = moved.get(piece["name"])
        pieces.append(piece if heater is None else _at(piece, heater))
        if piece["name"] == name:
            another = _at(piece, pose)
            another["name"] = name + ONE_MORE
            pieces.append(another)
    _write(table, pieces)
    texts[layout_file(case)] = tomlkit.dumps(document)
    return load_texts(texts, main_of(case))


def _at(piece: dict[str, Any], heater: HeaterPlace) -> dict[str, Any]:
    return {
        **piece,
        "room": heater.room,
        "at": [f"{heater.at[0]:.3f} m", f"{heater.at[1]:.3f} m"],
        "turn": f"{heater.turn:.1f} deg",
    }


def _layout_of(case: Case) -> tuple[dict[str, str], Any, Any]:
    """Return the texts of a case, the document that holds the layout, and the layout in it."""
    texts, file = dict(case.sources), layout_file(case)
    document: Any = tomlkit.parse(texts[file])
    return texts, document, document["layout"] if file == main_of(case) else document


def _write(layout: Any, pieces: Sequence[Any]) -> None:
    equipment = tomlkit.aot()
    for piece in _plain(pieces):
        equipment.append(tomlkit.item(piece))
    layout.pop("equipment", None)
    layout.append("equipment", equipment)


def _plain(pieces: Sequence[Any]) -> Iterator[Any]:
    for piece in pieces:
        yield piece.unwrap() if hasattr(piece, "unwrap") else dict(piece)
