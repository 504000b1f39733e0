"""A layout as a search changes it: where the fans stand, and the heaters if they are free."""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit

from simulator.assessment.plugging import plan_circuits
from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.electrical import ElectricalLoad
from simulator.case.equipment.fan import Fan
from simulator.case.equipment.placement import Blower
from simulator.case.variants import main_of, varied
from simulator.studies.fan_layout import FanPlace, with_fans
from simulator.studies.layout_text import layout_file, standing, with_layout


@dataclass(frozen=True, slots=True)
class HeaterPlace:
    """A heater or the end of a duct of the case, by name, with its spot [m] and aim [deg]."""

    name: str
    room: str
    at: tuple[float, float]
    turn: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Fans in the order in which they were placed, and the heaters that may be moved."""

    fans: tuple[FanPlace, ...] = ()
    heaters: tuple[HeaterPlace, ...] = ()

    def without_fan(self, index: int) -> "Layout":
        """Return the layout without one of its fans."""
        return replace(self, fans=self.fans[:index] + self.fans[index + 1 :])

    def with_fan(self, fan: FanPlace) -> "Layout":
        """Return the layout with one more fan."""
        return replace(self, fans=(*self.fans, fan))

    def with_heater(self, index: int, heater: HeaterPlace) -> "Layout":
        """Return the layout with one of its heaters elsewhere."""
        heaters = list(self.heaters)
        heaters[index] = heater
        return replace(self, heaters=tuple(heaters))


def laid_out(case: Case, layout: Layout, name: str) -> Case:
    """Return a case with a layout: its other equipment, its sensors and circuits stay.

    Machines are plugged in by the plan that leaves the least power off.

    Raises
    ------
    CaseError
        If a piece cannot stand where it is put.
    """
    moved = {
        f"layout.equipment.{heater.name}.{key}": value
        for heater in layout.heaters
        for key, value in standing(heater.room, heater.at, heater.turn).items()
    }
    base = varied(with_fans(case, (), name), moved) if moved else case
    return _plugged_in(with_fans(base, layout.fans, name))


def _plugged_in(case: Case) -> Case:
    """Return the case with its machines on the circuits that carry them."""
    if not case.circuits:
        return case
    plan = plan_circuits(case.loads, case.circuits)
    if not plan.moved:
        return case

    def change(layout: Any) -> None:
        for circuit in layout["circuit"]:
            circuit["loads"] = [name for name, where in plan.plugs if where == circuit["name"]]

    return with_layout(case, change)


def layout_text(case: Case, heading: Sequence[str]) -> str:
    """Return the layout of a case as the text of a file of its own, with comments on top."""
    file = layout_file(case)
    text = case.sources[file]
    if file == main_of(case):
        text = tomlkit.dumps(tomllib.loads(text)["layout"])
    return "".join(f"# {line}\n" for line in heading) + "\n" + _without_head_comments(text)


def _without_head_comments(text: str) -> str:
    """Return a text without the comments before its first key: they describe another layout."""
    lines = text.splitlines(keepends=True)
    first = next((n for n, line in enumerate(lines) if line.strip() and line[0] != "#"), 0)
    return "".join(lines[first:])


def given_fans(case: Case) -> tuple[FanPlace, ...]:
    """Return the fans of a case as they are given, each with the voltage it is plugged into."""
    fans = []
    for piece in equipment_of(case):
        if isinstance(piece, Fan):
            fans.append(
                FanPlace(
                    room=piece.room,
                    at=(piece.at[0], piece.at[1]),
                    turn=piece.turn % 360.0,
                    tilt=piece.tilt,
                    height=piece.height,
                    diameter=piece.diameter,
                    flow=piece.flow,
                    power=piece.power,
                    voltage=fan_voltage(case, piece.name) if case.circuits else None,
                )
            )
    return tuple(fans)


def fan_voltage(case: Case, name: str = "") -> float | None:
    """Return the voltage of a fan of a case, or of one that is new there [V]; None: no circuits.

    A new one is made for the lowest voltage of the circuits (common practice, no source: heaters
    have the high one).
    """
    if not case.circuits:
        return None
    load = next((load for load in case.loads if load.name == name), None)
    if load is not None and load.voltage is not None:
        return load.voltage
    own = [circuit.voltage for circuit in case.circuits if name in circuit.loads]
    return own[0] if own else min(circuit.voltage for circuit in case.circuits)


def given_heaters(case: Case) -> tuple[HeaterPlace, ...]:
    """Return the heaters and ducts of a case as they are given."""
    return tuple(
        HeaterPlace(piece.name, piece.room, (piece.at[0], piece.at[1]), piece.turn % 360.0)
        for piece in equipment_of(case)
        if isinstance(piece, Blower) and not isinstance(piece, Fan)
    )


def loads_of(case: Case, layout: Layout) -> tuple[ElectricalLoad, ...]:
    """Return what a layout plugs in, with the room of each machine."""
    rooms = {heater.name: heater.room for heater in layout.heaters}
    kept = [
        replace(load, room=rooms.get(load.name, load.room))
        for load in case.loads
        if load.words != Fan.words
    ]
    fans = [
        ElectricalLoad(f"fan {number}", Fan.words, fan.room, fan.power, fan.voltage)
        for number, fan in enumerate(layout.fans, start=1)
        if fan.power > 0.0
    ]
    return (*kept, *fans)


def left_off(case: Case, layout: Layout) -> tuple[str, ...]:
    """Return the machines that no circuit carries beside the others; none without circuits."""
    if not case.circuits:
        return ()
    circuits = [replace(circuit, loads=_kept(case, circuit.loads)) for circuit in case.circuits]
    return plan_circuits(loads_of(case, layout), circuits).left_off


def _kept(case: Case, names: Sequence[str]) -> tuple[str, ...]:
    """Return the plugged in machines that are no fans."""
    fans = {load.name for load in case.loads if load.words == Fan.words}
    return tuple(name for name in names if name not in fans)
