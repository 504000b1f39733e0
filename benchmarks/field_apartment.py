"""How long does a comparable invented apartment take to its target, beside the published times?

Catron, Wilson & Miller (International Conference on Urban Pests) heated 14 apartments with 4
heaters and 10 fans each to a target of 55 °C: mean times 171, 184 and 212 min for low, medium and
high clutter, not significantly different (P > 0.05). ``geometries/field_apartment*`` is an invented
apartment of that kind; its file states every assumption. The text at hand does not tell how the
times of several sensors were made one, so three readings are printed:

* air: the mean of the rooms' air reaches 55 °C;
* half: half of the sensors in hard places have reached it;
* all that do: the last sensor that reaches it within the horizon; the rest are counted.

Usage: python benchmarks/field_apartment.py [cell size in m, default 0.10]
"""

import sys
from pathlib import Path

import numpy as np

from simulator.assessment.assess import assess
from simulator.case.load import load
from simulator.simulation import simulate

TARGET = 55.0  # [°C]
PUBLISHED = {"low": 171, "medium": 184, "high": 212}  # [min]
GEOMETRIES = Path(__file__).parent.parent / "geometries"


def first_time(time: np.ndarray, temperature: np.ndarray) -> float:
    """Return when a curve first reaches the target [min]; nan: never."""
    if temperature[0] >= TARGET:
        return 0.0
    above = np.flatnonzero(temperature >= TARGET)
    if not above.size:
        return float("nan")
    k = int(above[0])
    share = (TARGET - temperature[k - 1]) / (temperature[k] - temperature[k - 1])
    return float(time[k - 1] + share * (time[k] - time[k - 1])) / 60.0


def main() -> None:
    """Print one row a clutter level."""
    cell_size = float(sys.argv[1]) if len(sys.argv) > 1 else 0.10
    print(f"cells of {cell_size:.2f} m; times to {TARGET:.0f} °C in minutes")
    print("clutter  published    air   half   all that do   never   below 50 °C at the end")
    for clutter, published in PUBLISHED.items():
        case = load(GEOMETRIES / f"field_apartment_{clutter}.toml")
        run = simulate(case, cell_size)
        history = run.history
        sensors = [
            k
            for k, probe in enumerate(case.probes)
            if probe.limit is None and not probe.is_thermostat
        ]
        times = [first_time(history.time, history.probe_temperature[:, k]) for k in sensors]
        reached = np.sort([t for t in times if np.isfinite(t)])
        half = reached[(len(times) - 1) // 2] if len(reached) > (len(times) - 1) // 2 else np.nan
        cold = assess(case, run.grid, history).fraction_below_50[-1]
        print(
            f"{clutter:<8} {published:>9} {first_time(history.time, history.air_mean):>6.0f}"
            f" {half:>6.0f} {reached[-1] if reached.size else np.nan:>13.0f}"
            f" {len(times) - reached.size:>4} of {len(times)} {100 * cold:>20.0f} %",
            flush=True,
        )
        for k, t in zip(sensors, times, strict=True):
            end = history.probe_temperature[-1, k]
            print(f"           {case.probes[k].owner:<44} {t:>6.0f}   {end:.1f} °C at the end")


if __name__ == "__main__":
    main()
