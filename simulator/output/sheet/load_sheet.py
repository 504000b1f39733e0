"""The load sheet in rows: each circuit, what is plugged into it, what it carries and may carry."""

from collections.abc import Sequence
from dataclasses import dataclass

from simulator.assessment.power import BASIS, CircuitLoad, PowerSheet
from simulator.assessment.power_words import (
    circuit_warnings,
    cord_lines,
    energy_lines,
    plan_lines,
)
from simulator.case.case import Case
from simulator.output.sheet.marks import Mark
from simulator.units import System, kilowatts


@dataclass(frozen=True, slots=True)
class CircuitRow:
    """One circuit, all of it text."""

    name: str
    supply: str
    plugged: str
    load: str
    allowed: str
    verdict: str
    reach: str


@dataclass(frozen=True, slots=True)
class LoadSheet:
    """Rows of circuits, and what has to be said beside them."""

    rows: tuple[CircuitRow, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def load_sheet(case: Case, sheet: PowerSheet, marks: Sequence[Mark], units: System) -> LoadSheet:
    """Return the load sheet of a run."""
    tags = {mark.name: mark.tag for mark in marks}
    rooms = {circuit.name: circuit.rooms for circuit in case.circuits}
    powers = {load.name: load.power for load in case.loads}
    rows = tuple(
        _row(circuit, tags, powers, rooms.get(circuit.name, ())) for circuit in sheet.circuits
    )
    missing = () if sheet.circuits else ("no circuits are given in the case: write them down",)
    return LoadSheet(
        rows=rows,
        warnings=(*missing, *circuit_warnings(sheet, units), *plan_lines(sheet.plan)),
        notes=(*cord_lines(sheet.cords, units), *energy_lines(sheet.energy, units), BASIS),
    )


def _row(
    circuit: CircuitLoad, tags: dict[str, str], powers: dict[str, float], rooms: tuple[str, ...]
) -> CircuitRow:
    current = circuit.power / circuit.voltage
    share = 100.0 * current / circuit.rating
    return CircuitRow(
        name=circuit.name,
        supply=f"{circuit.voltage:g} V, {circuit.rating:g} A",
        plugged=", ".join(
            f"{tags.get(name, name)} {powers.get(name, 0.0) / circuit.voltage:.1f} A"
            for name in circuit.loads
        )
        or "nothing",
        load=f"{kilowatts(circuit.power)}, {current:.1f} A",
        allowed=f"{kilowatts(circuit.allowed)}, {circuit.allowed / circuit.voltage:.1f} A",
        verdict=f"OVER: {share:.0f} %" if circuit.is_overloaded else f"{share:.0f} % of rating",
        reach=", ".join(rooms) or "any room",
    )
