"""What a case says, in numbers that can be checked by eye before any run, and what looks wrong."""

from dataclasses import dataclass

import numpy as np

from simulator.assessment.harm import HarmVerdict, foreseen_harm
from simulator.assessment.plan_warnings import plan_warnings
from simulator.assessment.power import PowerSheet, planned_power
from simulator.assessment.power_words import circuit_warnings
from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.dwelling import Construction, Room
from simulator.case.equipment.placement import Equipment
from simulator.case.parts import AirOutlet, HeatedJet, Part, PorousPart, SolidPart
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.units import System, format_quantity

#: Masses and areas on the grid are exact at any cell size, so a coarse one serves [m].
COARSE_CELL = 0.20


@dataclass(frozen=True, slots=True)
class FurnitureFacts:
    """A piece of furniture: what it is, what it weighs [kg], the heat it takes [J/K]."""

    name: str
    words: str
    mass: float
    heat_capacity: float


@dataclass(frozen=True, slots=True)
class HeatStore:
    """Heat per kelvin [J/K] of all contents, of the air, and of all layers of the shell."""

    contents: float
    air: float
    shell: float


@dataclass(frozen=True, slots=True)
class Understanding:
    """What was understood of a case."""

    case: Case
    furniture: tuple[FurnitureFacts, ...]
    equipment: tuple[Equipment, ...]
    power: PowerSheet
    harm: tuple[HarmVerdict, ...]
    heat_store: HeatStore
    heating_power: float  # most that all heaters together give to the air [W]
    least_heating_time: float  # to the target if contents and air took all the heat [s]; inf: never
    warnings: tuple[str, ...]


def understand(case: Case, units: System) -> Understanding:
    """Return what a case says, with warnings about what looks wrong, worded in ``units``."""
    equipment = equipment_of(case)
    sheet = planned_power(case)
    grid = voxelise(case, COARSE_CELL)
    store = HeatStore(
        contents=float(grid.solids.heat_capacity.sum()),
        air=AIR_VOLUMETRIC_HEAT_CAPACITY * float(grid.air_volume.sum()),
        shell=_shell(grid),
    )
    power = sum(part.power for part in case.parts if isinstance(part, HeatedJet))
    rise = case.treatment.target_temperature - case.dwelling.start_temperature
    needed = max(rise, 0.0) * (store.contents + store.air)
    least = needed / power if power > 0.0 else np.inf
    warnings = (
        *circuit_warnings(sheet, units),
        *plan_warnings(case, units),
        *_heating_warnings(case, equipment, float(least), units),
        *_limit_warnings(case, units),
        *case.notes,
    )
    return Understanding(
        case=case,
        furniture=_furniture(case),
        equipment=equipment,
        power=sheet,
        harm=foreseen_harm(case),
        heat_store=store,
        heating_power=power,
        least_heating_time=float(least),
        warnings=warnings,
    )


def volume(room: Room) -> float:
    """Return the volume of a room [m³]."""
    return room.size[0] * room.size[1] * room.size[2]


def mass(part: Part) -> float:
    """Return the mass of a part [kg]; what is no stuff counts as nothing."""
    if isinstance(part, SolidPart):
        return part.box.volume * part.material.density
    if isinstance(part, PorousPart):
        return part.box.volume * (1.0 - part.air_fraction) * part.material.density
    return 0.0


def heat_capacity(part: Part) -> float:
    """Return the heat that a part takes for each kelvin [J/K]."""
    if isinstance(part, SolidPart | PorousPart):
        return mass(part) * part.material.heat_capacity
    return 0.0


def _furniture(case: Case) -> tuple[FurnitureFacts, ...]:
    return tuple(
        FurnitureFacts(
            name,
            words,
            sum(mass(part) for part in case.parts if part.owner == name),
            sum(heat_capacity(part) for part in case.parts if part.owner == name),
        )
        for name, words in case.furniture_words.items()
    )


def _shell(grid: Grid) -> float:
    """Return the heat store of walls, floors, ceilings and windows with all layers [J/K]."""
    columns = grid.columns
    areal = np.array([_areal(construction) for construction in grid.constructions])
    # A partition has a column on each side; only the first of the two counts.
    is_counted = (columns.partner < 0) | (columns.partner > np.arange(columns.partner.size))
    return float(np.sum((columns.area * areal[columns.construction])[is_counted]))


def _areal(construction: Construction) -> float:
    """Return the heat store of a construction by area [J/(m² K)]."""
    return sum(
        layer.thickness * layer.material.volumetric_heat_capacity for layer in construction.layers
    )


def _heating_warnings(
    case: Case, equipment: tuple[Equipment, ...], least: float, units: System
) -> list[str]:
    warnings = []
    jets = [part for part in case.parts if isinstance(part, HeatedJet)]
    alone = [jet.owner for jet in jets if not jet.sensor]
    ducted = [jet.owner for jet in jets if jet.intake is None]
    if not jets:
        warnings.append("no heater: nothing will get warm")
    elif alone and not any(probe.is_thermostat for probe in case.probes):
        warnings.append("no sensor is the thermostat: each heater obeys the air at its own intake")
    if ducted and not any(isinstance(part, AirOutlet) for part in case.parts):
        warnings.append(
            f"no exhaust: all air that {' and '.join(ducted)} brings must press out through leaks; "
            "open a window or a door gap and give it as an exhaust"
        )
    if np.isfinite(least) and least > case.treatment.horizon:
        warnings.append(
            "too little power: contents and air alone would take "
            f"{format_quantity(least, 'time', units)} to the target, the run is "
            f"{format_quantity(case.treatment.horizon, 'time', units)}"
        )
    blown = {piece.room for piece in equipment if piece.electrical_power > 0.0}
    still = [room.name for room in case.dwelling.rooms if room.name not in blown]
    if still and equipment:
        warnings.append(f"neither fan nor heater in: {', '.join(still)}")
    return warnings


def _limit_warnings(case: Case, units: System) -> list[str]:
    """Name the things whose own limit is below what the air may reach."""
    limit = case.treatment.air_limit
    names = [
        f"{probe.owner} ({format_quantity(probe.limit, 'temperature', units)})"
        for probe in case.probes
        if probe.limit is not None and probe.limit < limit
    ]
    if not names:
        return []
    allowed = format_quantity(limit, "temperature", units)
    return [f"limit below the {allowed} that the air may reach: {', '.join(names)}"]
