"""What a run uses: electricity of each machine, and the fuel of a burner outdoors."""

from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.units import BTU

KILOWATT_HOUR = 3.6e6  # [J] exact

#: Share of the fuel's heat that a burner with a heat exchanger gives to the air [-] (common
#: practice, no source: 0.80 to 0.90).
BURNER_SHARE = 0.85

#: Net heating values by volume [J/l]: diesel or light heating oil, propane as a liquid at 15 °C
#: (both from memory: 42.8 MJ/kg at 0.84 kg/l, 46.3 MJ/kg at 0.51 kg/l).
HEATING_OIL, PROPANE = 36.0e6, 23.6e6

THERM = 1e5 * BTU  # [J] by definition 100,000 BTU, of the gas's gross heating value

#: Gross over net heating value of natural gas [-] (from memory).
GAS_GROSS = 1.11

FUEL_BASIS = (
    f"a burner that gives {100 * BURNER_SHARE:.0f} % of the fuel's heat to the air (common "
    "practice, no source); net heating values of "
    f"{HEATING_OIL / 1e6:.1f} MJ per litre of heating oil or diesel and {PROPANE / 1e6:.1f} MJ per "
    f"litre of liquid propane, gross over net {GAS_GROSS:g} of natural gas (from memory); a therm "
    "is 100,000 BTU"
)


@dataclass(frozen=True, slots=True)
class Fuel:
    """One run's fuel, if it is all of one sort: litres of oil, litres of propane, or therms."""

    heating_oil: float
    propane: float
    natural_gas: float


@dataclass(frozen=True, slots=True)
class EnergyUse:
    """What one machine used in a run.

    ``electricity`` [J] from its circuit, ``heat`` [J] given to the air that came from fuel, with
    the ``fuel`` for it; None: burns none.
    """

    name: str
    words: str
    electricity: float
    heat: float = 0.0
    fuel: Fuel | None = None


def fuel_for(heat: float) -> Fuel:
    """Return the fuel that gives ``heat`` [J] to the air.

    Examples
    --------
    100 kWh at 85 % are 423.5 MJ of fuel, 11.8 l of heating oil:

    >>> round(fuel_for(100 * KILOWATT_HOUR).heating_oil, 1)
    11.8
    """
    burnt = heat / BURNER_SHARE
    return Fuel(burnt / HEATING_OIL, burnt / PROPANE, GAS_GROSS * burnt / THERM)


def energy_uses(case: Case, grid: Grid, history: History) -> tuple[EnergyUse, ...]:
    """Return what each machine used from the start to the end of a history.

    Heaters by their power against time, scaled so that all of them together give what the ledger
    says; the blowers of ducts and the fans run in the phases that say so, all else all the time.
    """
    end = float(history.time[-1]) if history.time.size else 0.0
    blowing = case.treatment.hours(lambda phase: phase.heater_fans_on, end)
    fanning = case.treatment.hours(lambda phase: phase.fans_on, end)
    fans = {fan.part.owner for fan in grid.fans}
    heat = dict(zip([jet.part.owner for jet in grid.jets], _heat_of_jets(history), strict=False))
    burners = {jet.part.owner for jet in grid.jets if jet.part.intake is None}
    uses = []
    for load in case.loads:
        given = float(heat.get(load.name, 0.0))
        if load.name in burners:
            use = EnergyUse(load.name, load.words, load.power * blowing, given, fuel_for(given))
        elif load.name in heat:
            use = EnergyUse(load.name, load.words, given)
        else:
            running = fanning if load.name in fans else end
            use = EnergyUse(load.name, load.words, load.power * running)
        uses.append(use)
    return tuple(uses)


def _heat_of_jets(history: History) -> FloatArray:
    """Return what each heater gave to the air [J], shape (H,)."""
    if history.time.size < 2:
        return np.zeros(history.heater_power.shape[1])
    step = np.diff(history.time)[:, None]
    mean = 0.5 * (history.heater_power[1:] + history.heater_power[:-1])
    heat: FloatArray = (step * mean).sum(axis=0)
    total, told = float(heat.sum()), float(history.ledger.heaters[-1])
    return heat * (told / total) if total > 0.0 else heat
