"""What a run came to, in figures that rank layouts even where nothing is done in time.

In many dwellings some hiding place is not done within the horizon, and then the finishing time says
nothing more. ``mean_hours`` still does: the mean time to done over the volume of all hiding places,
those not done counted at the horizon. Survival analysis calls it the restricted mean survival time
(Royston & Parmar 2013, BMC Med. Res. Methodol. 13:152, from memory); here it is over litres.
"""

import math
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.case.parts import AirMover, HeatedJet
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History

#: Columns of an outcome: name -> what it is.
OUTCOMES = {
    "fans": "number of fans",
    "heaters": "number of heaters",
    "power_kw": "power of all heaters [kW]",
    "horizon_h": "length of the run [h]",
    "finishing_h": "when the last place is done [h]; empty: not within the horizon",
    "mean_hours": "mean time to done over the volume of hiding places, at most the horizon [h]",
    "hours_90": "when 90 % of that volume is done [h]; empty: not within the horizon",
    "hours_95": "the same for 95 %",
    "share_done": "share of that volume that is done at the end [-]",
    "cold_litres": "volume that is not done [l]",
    "litre_hours": "volume not yet done, summed over the time until the horizon [l h]",
    "mean_c": "mean of the hiding places at the end of the heat [°C]",
    "coldest_c": "coldest hiding place then [°C]",
    "air_max_c": "hottest air anywhere [°C]",
    "energy_kwh": "heat given by the heaters [kWh]",
    "speed_m_s": "mean speed near surfaces of the first flow [m/s]",
    "imbalance": "largest imbalance of the ledger of heat [-]",
}


def outcome_of(case: Case, grid: Grid, history: History, answer: Assessment) -> dict[str, Any]:
    """Return the figures of a run by the names in ``OUTCOMES``; None stands for "never"."""
    horizon = case.treatment.horizon
    litres = 1000.0 * grid.refuges.volume
    done = answer.time_to_done
    late = np.where(np.isfinite(done), np.minimum(done, horizon), horizon) / 3600.0
    heaters = [part for part in case.parts if isinstance(part, HeatedJet)]
    end = answer.end.index
    return {
        "fans": sum(isinstance(part, AirMover) for part in case.parts),
        "heaters": len(heaters),
        "power_kw": sum(part.power for part in heaters) / 1000.0,
        "horizon_h": horizon / 3600.0,
        "finishing_h": _hours(answer.finishing_time),
        "mean_hours": float(litres @ late / litres.sum()),
        "hours_90": _hours(time_of_share(done, litres, 0.90)),
        "hours_95": _hours(time_of_share(done, litres, 0.95)),
        "share_done": float(litres[np.isfinite(done)].sum() / litres.sum()),
        "cold_litres": float(litres[~np.isfinite(done)].sum()),
        "litre_hours": float(litres @ late),
        "mean_c": float(answer.mean[end]),
        "coldest_c": float(answer.coldest[end]),
        "air_max_c": answer.air_maximum,
        "energy_kwh": float(np.trapezoid(history.heater_power.sum(axis=1), history.time)) / 3.6e6,
        "speed_m_s": history.epochs[0].near_surface_speed,
        "imbalance": answer.heat_imbalance,
    }


def time_of_share(done: FloatArray, volume: FloatArray, share: float) -> float:
    """Return when this share of the volume is done [s], nan: never.

    Parameters
    ----------
    done : time at which each place is done, nan: never, shape (R,) [s].
    volume : of each place, shape (R,).
    """
    order = np.argsort(done)  # nan last
    reached = np.cumsum(volume[order]) >= share * volume.sum() * (1.0 - 1e-12)
    return float(done[order][int(np.argmax(reached))])


def _hours(seconds: float) -> float | None:
    return seconds / 3600.0 if math.isfinite(seconds) else None
