"""The load sheet: what each circuit carries, what trips, what fits, cords in the heat, energy."""

from dataclasses import dataclass

from simulator.assessment.cords import CordCheck, check_cord
from simulator.assessment.energy import EnergyUse, energy_uses
from simulator.assessment.plugging import (
    ROUND_OFF,
    PluggingPlan,
    allowed_power,
    is_in_doubt,
    is_same_voltage,
    plan_circuits,
    plugged_into,
    voltage_of,
)
from simulator.case.case import Case, Circuit
from simulator.grid.grid import Grid
from simulator.history import History

BASIS = (
    "A load that stays on for three hours or more may take at most 80 % of what its circuit is "
    "rated for (NEC 210.19 and 210.20; here the same share is used for systems of 230 V). The "
    "local code and a licensed electrician decide."
)

#: Height over the floor in which a cord lies [m] (estimate).
CORD_HEIGHT = 0.5


@dataclass(frozen=True, slots=True)
class CircuitLoad:
    """A circuit with the power [W] of what is plugged in and of what it may carry for hours."""

    name: str
    voltage: float  # [V]
    rating: float  # [A]
    loads: tuple[str, ...]
    power: float
    allowed: float
    is_overloaded: bool
    trips: str  # what its breaker does, in words; nothing if the load is allowed


@dataclass(frozen=True, slots=True)
class PowerSheet:
    """What the circuits carry and what is used.

    Attributes
    ----------
    circuits : with their loads as plugged in.
    unplugged : loads on none of the circuits.
    mismatched : (load, circuit) where the load is made for another voltage.
    in_doubt : (load, circuit) where it must be made for another, and none is given.
    cords : each load's cord where it lies in the heat.
    plan : a plan in which no circuit is over; None: no circuits are given.
    energy : of each machine, once there is a run.
    """

    circuits: tuple[CircuitLoad, ...] = ()
    unplugged: tuple[str, ...] = ()
    mismatched: tuple[tuple[str, str], ...] = ()
    in_doubt: tuple[tuple[str, str], ...] = ()
    cords: tuple[CordCheck, ...] = ()
    plan: PluggingPlan | None = None
    energy: tuple[EnergyUse, ...] = ()


#: The sheet of a case that plugs nothing in.
NO_POWER = PowerSheet()


def planned_power(case: Case) -> PowerSheet:
    """Return the load sheet before a run, cords in the air that the thermostat asks for."""
    return _sheet(case, dict.fromkeys((r.name for r in case.dwelling.rooms), hot_air(case)), ())


def hot_air(case: Case) -> float:
    """Return the air that machines are planned to stand in [°C]."""
    return max(case.treatment.target_temperature, case.treatment.hottest_set_point)


def power_of_run(case: Case, grid: Grid, history: History) -> PowerSheet:
    """Return the load sheet after a run, cords in the air near the floor at its hottest."""
    return _sheet(case, _floor_air(case, grid, history), energy_uses(case, grid, history))


def _sheet(case: Case, air: dict[str, float], energy: tuple[EnergyUse, ...]) -> PowerSheet:
    plugged = plugged_into(case.circuits)
    return PowerSheet(
        circuits=tuple(_circuit_load(case, circuit) for circuit in case.circuits),
        unplugged=tuple(load.name for load in case.loads if load.name not in plugged),
        mismatched=_mismatched(case),
        in_doubt=tuple(
            (load.name, case.circuits[plugged[load.name]].name)
            for load in case.loads
            if is_in_doubt(load, case.circuits)
        ),
        cords=_cords(case, air),
        plan=plan_circuits(case.loads, case.circuits) if case.circuits else None,
        energy=energy,
    )


def _circuit_load(case: Case, circuit: Circuit) -> CircuitLoad:
    power = sum(load.power for load in case.loads if load.name in circuit.loads)
    allowed = allowed_power(circuit)
    is_overloaded = power > allowed * (1.0 + ROUND_OFF)
    trips = ""
    if power > circuit.voltage * circuit.rating * (1.0 + ROUND_OFF):
        trips = "trips: above the breaker's rating"
    elif is_overloaded:
        trips = "may trip within hours: above 80 % of the breaker's rating"
    return CircuitLoad(
        circuit.name,
        circuit.voltage,
        circuit.rating,
        circuit.loads,
        power,
        allowed,
        is_overloaded,
        trips,
    )


def _mismatched(case: Case) -> tuple[tuple[str, str], ...]:
    return tuple(
        (load.name, circuit.name)
        for load in case.loads
        for circuit in case.circuits
        if load.name in circuit.loads
        and load.voltage is not None
        and not is_same_voltage(load.voltage, circuit.voltage)
    )


def _cords(case: Case, air: dict[str, float]) -> tuple[CordCheck, ...]:
    """Return the cords of all loads whose voltage is known and whose cord lies in the heat."""
    checks = []
    for load in case.loads:
        voltage = voltage_of(load, case.circuits)
        if voltage is not None and load.is_cord_in_heat and load.room in air:
            checks.append(check_cord(load, voltage, air[load.room]))
    return tuple(checks)


def _floor_air(case: Case, grid: Grid, history: History) -> dict[str, float]:
    """Return the mean air near the floor of each room in its hottest frame [°C].

    The mean, because a cord is kept out of the jets; in a jet it is hotter.
    """
    middles = 0.5 * (grid.z_edges[1:] + grid.z_edges[:-1])
    floors = {room.name: room.low[2] for room in case.dwelling.rooms}
    hottest = {}
    for number, name in enumerate(grid.room_names):
        if name not in floors:
            continue
        low = middles[None, None, :] <= floors[name] + CORD_HEIGHT
        cells = grid.is_open & (grid.room == number) & low
        if cells.any() and history.frame_temperature.size:
            hottest[name] = float(history.frame_temperature[:, cells].mean(axis=1).max())
    return hottest
