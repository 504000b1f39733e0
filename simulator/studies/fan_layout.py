"""Fans as a search or a rule sets them, and the case with them: new texts, loaded like others."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simulator.assessment.plugging import allowed_power, is_same_voltage
from simulator.case.case import Case
from simulator.case.layout_file import CircuitRecord
from simulator.studies.layout_text import set_equipment, standing, with_layout

#: Voltage that fans are made for where no circuit says otherwise [V] (estimate: North America).
FAN_VOLTAGE = 120.0


@dataclass(frozen=True, slots=True)
class FanPlace:
    """A fan as it stands: spot on its room's floor [m], aim and tilt [deg], height of its hub [m].

    ``diameter`` [m], ``flow`` [m³/s] and ``power`` [W] are those of the kind "fan" by default;
    ``voltage`` [V] is written only if it is given.
    """

    room: str
    at: tuple[float, float]
    turn: float
    tilt: float = 0.0
    height: float = 0.40
    diameter: float = 0.50
    flow: float = 1.0
    power: float = 200.0
    voltage: float | None = None


def with_fans(case: Case, fans: Sequence[FanPlace], name: str) -> Case:
    """Return the case with these fans and no others; all else is as it was.

    The fans are called "fan 1", "fan 2", ... and are plugged in where the layout's circuits carry
    them; those that fit nowhere are left unplugged, as the case's power sheet then says.

    Parameters
    ----------
    case : what ``load`` returned; it must carry its texts.
    fans : in the order in which they are numbered.
    name : what the layout is called.

    Raises
    ------
    CaseError
        If a fan cannot stand where it is put.
    """

    def change(layout: Any) -> None:
        layout["name"] = name
        kept = [entry for entry in layout.get("equipment", []) if entry["kind"] != "fan"]
        added = [_entry(number, fan) for number, fan in enumerate(fans, start=1)]
        set_equipment(layout, [*kept, *added])
        _plug_in(layout, fans)

    return with_layout(case, change)


def fans_of(case: Case) -> tuple[str, ...]:
    """Return the names of the fans that a case has."""
    return tuple(load.name for load in case.loads if load.words == "fan")


def _entry(number: int, fan: FanPlace) -> dict[str, Any]:
    entry = {
        "kind": "fan",
        "name": f"fan {number}",
        **standing(fan.room, fan.at, fan.turn),
        "tilt": f"{fan.tilt:.1f} deg",
        "height": f"{fan.height:.3f} m",
        "diameter": f"{fan.diameter:.3f} m",
        "flow": f"{fan.flow:.4f} m3/s",
        "power": f"{fan.power:.1f} W",
    }
    if fan.voltage is not None:
        entry["voltage"] = f"{fan.voltage:g} V"
    return entry


def _made_for(fan: FanPlace) -> float:
    return FAN_VOLTAGE if fan.voltage is None else fan.voltage


def _plug_in(layout: Any, fans: Sequence[FanPlace]) -> None:
    """Plug each fan into the circuit of its voltage and room that has most left."""
    free: list[tuple[Any, float]] = []
    for circuit in layout.get("circuit", []):
        compiled = CircuitRecord(**circuit.unwrap()).compile()
        if not compiled.loads:
            free.append((circuit, allowed_power(compiled)))
    for number, fan in enumerate(fans, start=1):
        reachable = [
            index
            for index, (circuit, left) in enumerate(free)
            if left >= fan.power
            and fan.room in circuit.get("rooms", [fan.room])
            and is_same_voltage(CircuitRecord(**circuit.unwrap()).voltage, _made_for(fan))
        ]
        if not reachable:
            continue
        best = max(reachable, key=lambda index: free[index][1])
        circuit, left = free[best]
        circuit["loads"].append(f"fan {number}")
        free[best] = (circuit, left - fan.power)
