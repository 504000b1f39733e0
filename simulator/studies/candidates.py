"""Where a fan or a heater may stand and blow: the places that a search chooses from.

Spots lie on an even lattice over the free floor, each moved to the nearest free one. From each a
fan blows to eight sides, on the floor or on a stand, level or tilted; poses that blow at something
right before them, or stand in a room that no circuit with enough left reaches, are left out.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulator.case.case import Case
from simulator.case.equipment.electric_heater import INTAKE_DEPTH, ElectricHeater
from simulator.case.equipment.hot_air_inlet import DUCT_LENGTH
from simulator.case.equipment.placement import Blower
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.studies.fan_layout import FanPlace
from simulator.studies.free_floor import (
    CLEARANCE,
    FreeFloor,
    Spot,
    free_floor,
    radius_of_fan,
    reach,
)
from simulator.studies.jet_path import Stuff
from simulator.studies.layout import HeaterPlace

#: Air that a fan has before it, at least [m] (choice: half of what throttles it is nearer).
FREE_RUN = 0.60
#: Hub of a fan on the floor over the radius of its blades, and of one on a stand [m] (common
#: practice, no source).
ON_FLOOR, ON_STAND = 0.02, 1.20
#: Spots that there are to be for every posture that is tried (choice: places come first).
LEAST_SPOTS = 8
#: How far a spot moves when its neighbourhood is searched [m], and the turn [deg] (choice).
STEP, TURN_STEP = 0.25, 22.5


@dataclass(frozen=True, slots=True)
class Posture:
    """How a fan stands: on a stand or on the floor, and its tilt [deg]."""

    is_on_stand: bool
    tilt: float

    def height(self, diameter: float) -> float:
        """Return the height of its hub [m]."""
        low = 0.5 * diameter + ON_FLOOR
        return round(max(ON_STAND, low) if self.is_on_stand else low, 3)


#: Level and up from the floor; down, level and up from a stand.
POSTURES = (
    Posture(False, 0.0),
    Posture(False, 30.0),
    Posture(True, -20.0),
    Posture(True, 0.0),
    Posture(True, 30.0),
)


@dataclass(frozen=True, slots=True)
class Density:
    """How many poses a search has to choose from.

    Attributes
    ----------
    wanted : about how many poses of a fan there are; the lattice is as fine as that allows.
    turns : sides to which a fan or a heater blows.
    postures : of fans.
    finest : least distance of spots [m].
    heater_poses : about how many poses of a heater.
    """

    wanted: int = 500
    turns: int = 8
    postures: tuple[Posture, ...] = POSTURES
    finest: float = 0.30
    heater_poses: int = 64


class Floors:
    """The free floor of every room in all states of the dwelling, without what may be moved."""

    def __init__(self, cases: Sequence[Case], ignore: Sequence[str]) -> None:
        self.cases = tuple(cases)
        self.stuff = Stuff.of(cases[0])
        self.floors: Mapping[str, FreeFloor] = {
            room.name: _in_all_states(cases, room.name, ignore) for room in cases[0].dwelling.rooms
        }

    def spots(self, room: str, needed: float, spacing: float) -> list[Spot]:
        """Return free spots with this much floor around them [m], about ``spacing`` apart [m]."""
        floor = self.floors[room]
        free = floor.spots(needed)
        if not free.size:
            return []
        found: dict[Spot, None] = {}
        lines = [_lattice(side, spacing) for side in floor.room.size[:2]]
        for x in lines[0]:
            for y in lines[1]:
                away = np.hypot(free[:, 0] - x, free[:, 1] - y).round(6)
                best = int(np.argmin(away))
                if away[best] <= 0.5 * spacing:
                    found[_spot(free[best])] = None
        return list(found) or [_spot(free[0])]

    def nearest(self, room: str, wished: Spot, needed: float) -> Spot | None:
        """Return the free spot nearest to a wished one."""
        return self.floors[room].nearest(wished, needed)

    def widest(self) -> tuple[str, float]:
        """Return the room with the widest free floor, and the distance around its middle [m]."""
        gaps = {name: float(floor.gap.max(initial=0.0)) for name, floor in self.floors.items()}
        best = max(gaps, key=lambda name: gaps[name])
        return best, gaps[best]


def _in_all_states(cases: Sequence[Case], room: str, ignore: Sequence[str]) -> FreeFloor:
    floors = [free_floor(case, room, ignore=ignore) for case in cases]
    gap = floors[0].gap
    for floor in floors[1:]:
        gap = np.minimum(gap, floor.gap)
    return replace(floors[0], gap=gap)


def _lattice(length: float, spacing: float) -> list[float]:
    """Return points at even distances of about ``spacing``, half of one from both ends [m]."""
    count = max(1, round(length / spacing))
    return [(n + 0.5) * length / count for n in range(count)]


def _spot(point: FloatArray) -> Spot:
    return (round(float(point[0]), 3), round(float(point[1]), 3))


def fan_candidates(floors: Floors, fan: FanPlace, density: Density) -> tuple[FanPlace, ...]:
    """Return the poses of a fan, at most about as many as wanted.

    Raises
    ------
    CaseError
        If it can stand nowhere.
    """
    needed = reach(fan.diameter)
    few = max(1, density.wanted // (LEAST_SPOTS * density.turns))
    density = replace(density, postures=density.postures[:few])
    found: tuple[FanPlace, ...] = ()
    spacing = 2.0
    while spacing >= density.finest - 1e-9:
        poses = tuple(_poses(floors, fan, density, needed, spacing))
        if found and len(poses) > density.wanted:
            break
        found = poses
        spacing *= 0.85
    if not found:
        room, gap = floors.widest()
        raise CaseError(
            f"no free floor for a fan of {fan.diameter:g} m: it needs {needed:.2f} m around its "
            f"middle, and the widest place, in room '{room}', has {gap:.2f} m; "
            "clear the floor or use a smaller fan"
        )
    return found


def _poses(
    floors: Floors, fan: FanPlace, density: Density, needed: float, spacing: float
) -> Iterator[FanPlace]:
    for room in floors.floors:
        for at in floors.spots(room, needed, spacing):
            for number in range(density.turns):
                turn = number * 360.0 / density.turns
                for posture in density.postures:
                    pose = replace(
                        fan, room=room, at=at, turn=turn, tilt=posture.tilt,
                        height=posture.height(fan.diameter),
                    )  # fmt: skip
                    if floors.stuff.met_by(pose, FREE_RUN) is None:
                        yield pose


def neighbours(floors: Floors, fan: FanPlace, density: Density) -> tuple[FanPlace, ...]:
    """Return poses that differ from a fan's by a step, a turn or another posture."""
    needed = reach(fan.diameter)
    found: dict[FanPlace, None] = {}
    for dx, dy in ((STEP, 0.0), (-STEP, 0.0), (0.0, STEP), (0.0, -STEP)):
        at = floors.nearest(fan.room, (fan.at[0] + dx, fan.at[1] + dy), needed)
        if at is not None and math.dist(at, fan.at) > 0.4 * STEP:
            found[replace(fan, at=at)] = None
    for turn in (TURN_STEP, -TURN_STEP):
        found[replace(fan, turn=(fan.turn + turn) % 360.0)] = None
    for posture in density.postures:
        other = replace(fan, tilt=posture.tilt, height=posture.height(fan.diameter))
        found[other] = None
    found.pop(fan, None)
    return tuple(pose for pose in found if floors.stuff.met_by(pose, FREE_RUN) is None)


def apart(one: FanPlace, other: FanPlace) -> bool:
    """Return whether two fans can both be turned where they stand."""
    least = radius_of_fan(one.diameter) + radius_of_fan(other.diameter)
    return one.room != other.room or math.dist(one.at, other.at) >= least


def heater_candidates(
    floors: Floors, heater: HeaterPlace, machine: Blower, density: Density
) -> tuple[HeaterPlace, ...]:
    """Return the poses of a heater or the end of a duct: spots times sides that it blows to."""
    needed = heater_radius(machine) + CLEARANCE
    found: tuple[HeaterPlace, ...] = ()
    spacing = 2.0
    while spacing >= density.finest:
        poses = tuple(
            replace(heater, room=room, at=at, turn=number * 360.0 / density.turns)
            for room in floors.floors
            for at in floors.spots(room, needed, spacing)
            for number in range(density.turns)
        )
        if found and len(poses) > density.heater_poses:
            break
        found = poses
        spacing *= 0.85
    return found


def heater_radius(machine: Blower) -> float:
    """Return the radius of the cylinder in which a heater or a duct's end can be turned [m]."""
    if isinstance(machine, ElectricHeater):
        return math.hypot(0.5 * machine.length + INTAKE_DEPTH, 0.5 * machine.width)
    return DUCT_LENGTH
