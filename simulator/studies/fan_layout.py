"""Fans as a search or a rule sets them, and the case with them: new texts, loaded like others."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit

from simulator.assessment.plugging import allowed_power, is_same_voltage
from simulator.case.case import Case
from simulator.case.documents import parse
from simulator.case.layout_file import CircuitRecord
from simulator.case.load import load_texts
from simulator.case.sections import source_name
from simulator.case.variants import main_of

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
    main = main_of(case)
    texts = dict(case.sources)
    reference = parse(main, texts[main]).data.get("layout")
    file = source_name(main, reference) if isinstance(reference, str) else main
    document: Any = tomlkit.parse(texts[file])
    if file == main and "layout" not in document:
        document["layout"] = tomlkit.table()
    layout = document["layout"] if file == main else document
    layout["name"] = name
    _replace_fans(layout, fans)
    texts[file] = tomlkit.dumps(document)
    return load_texts(texts, main)


def fans_of(case: Case) -> tuple[str, ...]:
    """Return the names of the fans that a case has."""
    return tuple(load.name for load in case.loads if load.words == "fan")


def _replace_fans(layout: Any, fans: Sequence[FanPlace]) -> None:
    """Take the layout's fans out, also from its circuits, and put others in."""
    kept = [entry.unwrap() for entry in layout.get("equipment", []) if entry["kind"] != "fan"]
    names = {entry["name"] for entry in kept}
    equipment = tomlkit.aot()
    for entry in [*kept, *(_entry(number, fan) for number, fan in enumerate(fans, start=1))]:
        equipment.append(tomlkit.item(entry))
    layout.pop("equipment", None)
    layout.append("equipment", equipment)
    for circuit in layout.get("circuit", []):
        circuit["loads"] = [load for load in circuit.get("loads", []) if load in names]
    _plug_in(layout, fans)


def _entry(number: int, fan: FanPlace) -> dict[str, Any]:
    entry = {
        "kind": "fan",
        "name": f"fan {number}",
        "room": fan.room,
        "at": [f"{fan.at[0]:.3f} m", f"{fan.at[1]:.3f} m"],
        "turn": f"{fan.turn:.1f} deg",
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
