"""A calibration held against a run in full at the values that it found."""

import numpy as np

from simulator.case.case import Case
from simulator.studies.following.basis import Basis
from simulator.studies.following.basis_runs import course_at
from simulator.studies.following.fit import GRID_AT
from simulator.studies.following.following import Following
from simulator.units import System, format_quantity


def full_check(found: Following, case: Case, basis: Basis, units: System = "si") -> list[str]:
    """Return in words how far the reduced model is from a full run at the calibrated values.

    Both are without departures, clock and share of the cells' error: a run knows none of them.
    """
    point = found.calibration.centre[:GRID_AT].tolist()
    course = course_at(case, found.calibration.values, basis.cell_size)
    model = basis.temperatures(point)
    off = model - course.temperature
    rows = basis.time <= found.calibration.until
    sensors = len(basis.sensors)
    usual, worst = (
        format_quantity(value, "temperature difference", units)
        for value in (float(np.sqrt((off**2).mean())), float(np.abs(off).max()))
    )
    lines = [
        f"full run at the calibrated values: the reduced model misses it by {usual} (root mean "
        f"square over all sensors, places and times) and {worst} at most"
    ]
    for number, name in enumerate(basis.sensors):
        here = format_quantity(
            float(np.sqrt((off[rows, number] ** 2).mean())), "temperature difference", units
        )
        lines.append(f"  {name}: {here} over the log's time")
    places = off[:, sensors:-1]
    if places.size:
        column = int(np.abs(places).max(axis=0).argmax())
        place = basis.places[column]
        lines.append(f"  where it misses most: {place.owner}, {place.words}")
    return lines
