"""The question that a placement answers, made ready: what may be chosen, and what cannot be."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.equipment.placement import Blower
from simulator.errors import CaseError
from simulator.studies.candidates import Density, Floors, fan_candidates, heater_candidates
from simulator.studies.fan_layout import FanPlace, with_fans
from simulator.studies.layout import Layout, fan_voltage, given_fans, given_heaters, left_off
from simulator.studies.objectives import OBJECTIVES, Objective
from simulator.studies.placement_effort import Effort
from simulator.studies.placement_search import Search
from simulator.studies.placement_space import Space


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked for.

    Attributes
    ----------
    fans : how many; None: as many as the layout has.
    objective : to be made small.
    moves_heaters : whether heaters and ducts may be moved as well.
    states : the same dwelling in further states of preparation; a layout is as good as in its
        worst one.
    search : how layouts are chosen; ``Search`` or one like it.
    density, effort : how many poses there are to choose from, and how long the search goes on.
    sensors : how many are to be placed for the answer; 0: none.
    workers : processes; None: one for each core.
    log : file of what was run; None: nothing is kept.
    """

    fans: int | None = None
    objective: Objective = OBJECTIVES[0]
    moves_heaters: bool = False
    states: tuple[Case, ...] = ()
    search: type[Search] = Search
    density: Density = field(default_factory=Density)
    effort: Effort = field(default_factory=Effort)
    sensors: int = 0
    workers: int | None = None
    log: Path | None = None


@dataclass(frozen=True, slots=True)
class PlacementTask:
    """The question made ready: cases without fans, the space to choose from, what was left out."""

    given: Case
    bare: tuple[Case, ...]
    space: Space
    notes: tuple[str, ...]

    @classmethod
    def of(cls, states: Sequence[Case], question: Question) -> "PlacementTask":
        """Return the question made ready.

        Raises
        ------
        CaseError
            As ``place``.
        """
        case = states[0]
        bare = tuple(with_fans(state, (), "heaters alone") for state in states)
        given = given_fans(case)
        wanted = len(given) if question.fans is None else question.fans
        heaters = given_heaters(case) if question.moves_heaters else ()
        start = Layout((), heaters)
        specs, notes = _powered(bare[0], _specs(case, given, wanted), start)
        floors = Floors(bare, [heater.name for heater in heaters])
        machines = {piece.name: piece for piece in equipment_of(case) if isinstance(piece, Blower)}
        poses = {spec: fan_candidates(floors, spec, question.density) for spec in set(specs)}
        space = Space(
            case=bare[0],
            floors=floors,
            fans=tuple(_reached(bare[0], start, poses[spec]) for spec in specs),
            heaters=tuple(
                heater_candidates(floors, heater, machines[heater.name], question.density)
                for heater in heaters
            ),
            start=start,
            density=question.density,
        )
        return cls(case, bare, space, notes)


def _specs(case: Case, given: Sequence[FanPlace], wanted: int) -> list[FanPlace]:
    """Return the fans to be placed, wherever they stand now: the given ones, and more like them."""
    room = case.dwelling.rooms[0].name
    usual = FanPlace(room, (0.0, 0.0), 0.0, voltage=fan_voltage(case))
    fans = [*given[:wanted], *([given[-1] if given else usual] * max(wanted - len(given), 0))]
    return [
        replace(fan, room=room, at=(0.0, 0.0), turn=0.0, tilt=0.0, height=usual.height)
        for fan in fans
    ]


def _powered(
    case: Case, specs: Sequence[FanPlace], start: Layout
) -> tuple[list[FanPlace], tuple[str, ...]]:
    """Return the fans that the circuits carry in some room, and a note on the others."""
    off = left_off(case, start)
    if off:
        raise CaseError(
            f"no feasible plan of circuits: {', '.join(off)} finds no circuit with its voltage and "
            "enough left (80 % of the rating); `roomsoak check` shows the load of each"
        )
    kept: list[FanPlace] = []
    rooms = [room.name for room in case.dwelling.rooms]
    for spec in specs:
        fans = [replace(spec, room=room) for room in rooms]
        placed = tuple(kept)
        carried = [fan for fan in fans if not left_off(case, Layout((*placed, fan), start.heaters))]
        if not carried:
            break
        kept.append(carried[0])
    if specs and not kept:
        raise CaseError(
            f"no feasible circuit: none has {specs[0].power:.0f} W at {specs[0].voltage:g} V left "
            "for a fan (80 % of its rating, less what is plugged in); add a circuit or a smaller "
            "fan, or ask for --fans 0"
        )
    if len(kept) < len(specs):
        note = f"the circuits carry {len(kept)} of {len(specs)} fans: {len(kept)} are placed"
        return list(specs[: len(kept)]), (note,)
    return list(specs), ()


def _reached(case: Case, start: Layout, poses: Sequence[FanPlace]) -> tuple[FanPlace, ...]:
    """Return the poses in rooms where a circuit carries the fan."""
    rooms = {pose.room: pose for pose in poses}
    carried = {room for room, pose in rooms.items() if not left_off(case, start.with_fan(pose))}
    return tuple(pose for pose in poses if pose.room in carried)
