"""What hangs on each circuit, and whether it may carry that for hours."""

from dataclasses import dataclass

from simulator.case.case import Case
from simulator.case.entries import read_entries
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.sections import Sections

#: Share of a breaker's rating for a load of three hours or more [-]; NEC 210.19 and 210.20.
CONTINUOUS_SHARE = 0.80

BASIS = (
    "A load that stays on for three hours or more may take at most 80 % of what its circuit is "
    "rated for (NEC 210.19 and 210.20). The local code and a licensed electrician decide."
)


@dataclass(frozen=True, slots=True)
class CircuitLoad:
    """A circuit with the power [W] of what is plugged in and of what it may carry for hours."""

    name: str
    voltage: float  # [V]
    rating: float  # [A]
    loads: tuple[str, ...]
    power: float
    allowed: float

    @property
    def is_overloaded(self) -> bool:
        """More than it may carry; round figures such as 1.92 kW on 20 A are still allowed."""
        return self.power > self.allowed * (1.0 + 1e-9)


def equipment_of(case: Case) -> tuple[Equipment, ...]:
    """Return the equipment as the case's own texts give it: with kinds and electrical draw."""
    if not case.sources:
        return ()
    main = next(iter(case.sources))
    sections = Sections(case.sources, main, "")
    entries = read_entries(sections.equipment(), EQUIPMENT, sections.problems)
    sections.problems.raise_any()
    return tuple(entry for entry, _ in entries)


def circuit_loads(case: Case, equipment: tuple[Equipment, ...]) -> tuple[CircuitLoad, ...]:
    """Return the circuits of the case with their loads added up."""
    draw = {piece.name: piece.electrical_power for piece in equipment}
    return tuple(
        CircuitLoad(
            circuit.name,
            circuit.voltage,
            circuit.rating,
            circuit.loads,
            sum(draw.get(load, 0.0) for load in circuit.loads),
            CONTINUOUS_SHARE * circuit.voltage * circuit.rating,
        )
        for circuit in case.circuits
    )


def unplugged(case: Case, equipment: tuple[Equipment, ...]) -> tuple[str, ...]:
    """Return what draws power and is on none of the circuits."""
    plugged = {load for circuit in case.circuits for load in circuit.loads}
    return tuple(
        piece.name
        for piece in equipment
        if piece.electrical_power > 0.0 and piece.name not in plugged
    )
