"""What was measured and heated over time, as a table of comma-separated values."""

import csv
from pathlib import Path

import numpy as np

from simulator.case.parts import HeatedJet
from simulator.grid.grid import FloatArray
from simulator.output.field_file import Result

CELSIUS = "[degree_Celsius]"


def write_probes(result: Result, path: Path) -> None:
    """Write a row for each time of the history, a column for each thing, its unit in the name."""
    columns = table(result)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        rows = zip(*columns.values(), strict=True)
        writer.writerows([_written(value) for value in row] for row in rows)


def table(result: Result) -> dict[str, FloatArray]:
    """Return column name -> values (T,): time, air, hiding places, probes, heaters."""
    history, case = result.history, result.case
    places = history.refuge_temperature
    columns: dict[str, FloatArray] = {
        "time [s]": history.time,
        f"air_temperature, mean of the rooms {CELSIUS}": history.air_mean,
        f"air_temperature, lowest {CELSIUS}": history.air_minimum,
        f"air_temperature, highest {CELSIUS}": history.air_maximum,
    }
    if places.size:
        columns[f"temperature, coldest hiding place {CELSIUS}"] = places.min(axis=1).astype(float)
    for number, probe in enumerate(case.probes):
        what = probe.owner if probe.name == probe.owner else f"{probe.owner}, {probe.name}"
        columns[_free(f"temperature, {what} {CELSIUS}", columns)] = history.probe_temperature[
            :, number
        ]
    heaters = [part.owner for part in case.parts if isinstance(part, HeatedJet)]
    for number, name in enumerate(heaters):
        columns[_free(f"power, {name} [W]", columns)] = history.heater_power[:, number]
        outlet = history.outlet_temperature[:, number]
        columns[_free(f"air_temperature, outlet of {name} {CELSIUS}", columns)] = outlet
    return columns


def _free(name: str, taken: dict[str, FloatArray]) -> str:
    """Return the name, or the name with a number if another column has it."""
    number, free = 1, name
    while free in taken:
        number += 1
        free = name.replace(" [", f" ({number}) [", 1)
    return free


def _written(value: float) -> str:
    return "" if np.isnan(value) else f"{value:.6g}"
