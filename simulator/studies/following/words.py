"""What following a treatment found, in words for print and as a table for programs."""

import math
from collections.abc import Iterator
from typing import Any

from simulator.assessment.summary import plain
from simulator.studies.following.agreement import SensorCheck
from simulator.studies.following.basis import Basis
from simulator.studies.following.calibrate import Calibration, Learnt
from simulator.studies.following.forecast import Band, Forecast, PlaceForecast, SensorDose
from simulator.studies.following.sensor_log import SensorLog
from simulator.studies.following.unknowns import UNKNOWNS
from simulator.units import System, format_quantity, format_small_length

#: What a follow-up is and is not.
DECIDES = (
    "Inspection decides, not these numbers. What sensors read is measured where they are; all "
    "else is inferred by a model that was corrected by them."
)

#: What the forecast takes for granted.
TAKEN = (
    "The forecast takes it that the heat goes on as planned and nothing is moved. After a fan is "
    "moved, the log before it says less: watch the sensors for half an hour first."
)

#: Places that are listed.
MOST_PLACES = 12

_RATIOS = frozenset(thing.name for thing in UNKNOWNS if thing.nominal > 0.0)


def time_words(band: Band, horizon: float, units: System) -> str:
    """Return a time with its band; beyond the model's time as such."""
    beyond = f"not within {format_quantity(horizon, 'time', units)}"
    low, middle, high = (
        beyond if math.isnan(value) else format_quantity(value, "time", units)
        for value in (band.low, band.middle, band.high)
    )
    if low == middle == high:
        return middle
    return f"{middle} ({low} to {high})"


def watch_line(found: Forecast, units: System = "si") -> str:
    """Return a forecast in one line: all done, the last place, sensors in what is done."""
    now = format_quantity(found.now, "time", units)
    line = f"at {now}: all done after {time_words(found.finishing, found.horizon, units)}"
    if found.places:
        last = found.places[0]
        line += (
            f"; last: {last.owner}, {last.words}, now {temperature_words(last.temperature, units)}"
        )
    return line


def follow_lines(
    basis: Basis,
    calibration: Calibration,
    found: Forecast,
    log: SensorLog,
    planned: float,
    heat_off: float | None,
    units: System = "si",
) -> list[str]:
    """Return what was found as lines of print.

    Parameters
    ----------
    planned : when the heat is planned to end [s].
    heat_off : when it ended [s]; None: it goes on.
    """
    return [
        *headline(found, planned, units),
        "",
        "Hiding places, the last first; in brackets where nine tenths of what may be lie",
        *(f"- {line}" for line in _places(found, units)),
        "",
        "Sensors",
        *(f"- {line}" for line in sensor_lines(calibration, found, units)),
        "",
        "What the log has taught",
        *(f"- {line}" for line in learnt_lines(calibration, units)),
        "",
        "Measured at the sensors, and how far to trust the rest",
        *(f"- {line}" for line in measured_lines(found, units)),
        *(f"- {line}" for line in trust_lines(basis, calibration, log, units)),
        "",
        outlook(heat_off, units),
        DECIDES,
    ]


def outlook(heat_off: float | None, units: System) -> str:
    """Return what the times of places take for granted."""
    if heat_off is None:
        return TAKEN
    end = format_quantity(heat_off, "time", units)
    return (
        f"The heat ended after {end}. A place whose time lies after that did not get there by the "
        "heat; what it still got while it cooled only a sensor in it can tell."
    )


def headline(found: Forecast, planned: float, units: System) -> list[str]:
    """Return when all will be done, and what decides that."""
    now = format_quantity(found.now, "time", units)
    finish = time_words(found.finishing, found.horizon, units)
    end = format_quantity(planned, "time", units)
    late = [row for row in found.places if not row.done.middle <= planned]
    by_end = f"; {len(late)} of {len(found.places)} places not by the planned end" if late else ""
    lines = [
        f"{now} after heat on. All hiding places done after {finish}; the heat is planned to end "
        f"after {end}{by_end}."
    ]
    return [*lines, *_deciding(found, units)]


def _deciding(found: Forecast, units: System) -> Iterator[str]:
    """Yield which place decides, and so where air is wanted."""
    waiting = [row for row in found.places if row.done_now < 0.95]
    if not waiting:
        return
    row = max(waiting, key=lambda one: one.decides)
    yield (
        f"{row.owner}, {row.words} ({row.room}) decides: it is the last in "
        f"{100.0 * row.decides:.0f} % of what may be, and now at "
        f"{temperature_words(row.temperature, units)}. A fan that is to be moved goes there; "
        "opening or thinning it out helps as well."
    )


def _places(found: Forecast, units: System) -> Iterator[str]:
    for row in found.places[:MOST_PLACES]:
        yield place_line(row, found.horizon, units)
    rest = found.places[MOST_PLACES:]
    if rest:
        last = time_words(rest[0].done, found.horizon, units)
        yield f"{len(rest)} more, the last of them after {last}"


def place_line(row: PlaceForecast, horizon: float, units: System) -> str:
    """Return one place: when done, how warm and with what dose now, how that is known."""
    known = f"; sensor in it: {' and '.join(row.sensors)}" if row.sensors else "; inferred"
    return (
        f"{row.owner}, {row.words} ({row.room}): done after "
        f"{time_words(row.done, horizon, units)}; now {temperature_words(row.temperature, units)}, "
        f"egg dose {dose_words(row.dose)}{known}"
    )


def dose_words(band: Band) -> str:
    """Return a dose with its band; past what is asked for as such."""
    low, middle, high = (dose_number(value) for value in (band.low, band.middle, band.high))
    return middle if low == high else f"{middle} ({low} to {high})"


def dose_number(value: float) -> str:
    """Return a dose in print."""
    return "over 10" if value > 10.0 else f"{value:.1f}"


def temperature_words(band: Band, units: System) -> str:
    """Return a temperature with its band."""
    low, middle, high = (
        format_quantity(value, "temperature", units) for value in (band.low, band.middle, band.high)
    )
    return middle if low == high else f"{middle} ({low} to {high})"


def sensor_lines(calibration: Calibration, found: Forecast, units: System) -> Iterator[str]:
    """Yield how each sensor agrees and what it suggests."""
    for check in calibration.sensors:
        yield _sensor(check, units)


def _sensor(check: SensorCheck, units: System) -> str:
    if not check.readings:
        return f"{check.name}: has no reading"
    off = format_quantity(check.rms, "temperature difference", units)
    agrees = f"agrees within {off}" if math.isfinite(check.rms) else "is left out"
    last = format_quantity(check.last_reading, "temperature", units)
    words = f": {check.words}" if check.words else ""
    return f"{check.name}: {last}, {agrees}{words}"


def learnt_lines(calibration: Calibration, units: System) -> Iterator[str]:
    """Yield each unknown with its band, or that the log does not tell it; then null directions."""
    for row in calibration.learnt:
        yield learnt_line(row, units)
    for words in calibration.null_directions:
        yield f"not told by these readings: {words}"


def learnt_line(row: Learnt, units: System) -> str:
    """Return one unknown: value and band, or that the log does not tell it."""
    if not row.is_told:
        return f"{row.words}: the log does not tell it"
    if row.name in _RATIOS:
        return f"{row.words}: {row.value:.2f} times as described ({row.low:.2f} to {row.high:.2f})"
    low, value, high = (_shift(number, units) for number in (row.low, row.value, row.high))
    return f"{row.words}: {value} ({low} to {high})"


def _shift(value: float, units: System) -> str:
    sign = "+" if value >= 0.0 else ""
    return f"{sign}{format_quantity(value, 'temperature difference', units)}"


def measured_lines(found: Forecast, units: System) -> Iterator[str]:
    """Yield the dose that each sensor itself measured."""
    for row in found.measured:
        yield measured_line(row, units)
    if not found.measured:
        yield "no sensor has measured enough for a dose"


def measured_line(row: SensorDose, units: System) -> str:
    """Return what one sensor measured."""
    peak = format_quantity(row.peak, "temperature", units)
    state = "egg dose 3.5 and 50 °C reached at the sensor" if row.is_done else "not there yet"
    if units == "us":
        state = state.replace("50 °C", "122 °F")
    return f"{row.name} ({row.place}): egg dose {dose_number(row.dose)}, highest {peak}; {state}"


def trust_lines(
    basis: Basis, calibration: Calibration, log: SensorLog, units: System
) -> Iterator[str]:
    """Yield how much the reduced model, the readings and the log itself are to be trusted."""
    cells = format_small_length(basis.cell_size, units)
    worst = format_quantity(basis.worst, "temperature difference", units)
    usual = format_quantity(float(basis.error.mean()), "temperature difference", units)
    noise = format_quantity(calibration.noise, "temperature difference", units)
    yield (
        f"the reduced model of {basis.runs} runs on cells of {cells} misses a run that it has not "
        f"seen by {usual} as a rule and {worst} at most; readings by {noise}"
    )
    for note in log.notes:
        yield f"log: {note}"


def follow_table(
    basis: Basis, calibration: Calibration, found: Forecast, log: SensorLog, planned: float
) -> dict[str, Any]:
    """Return what was found as JSON knows it; SI and °C."""
    return {
        **forecast_table(found),
        "planned_end": planned,
        "learnt": plain(calibration.learnt),
        "null_directions": list(calibration.null_directions),
        "sensors": plain(calibration.sensors),
        "noise": calibration.noise,
        "pace_spread": calibration.pace_spread,
        "basis": {
            "runs": basis.runs,
            "cell_size": basis.cell_size,
            "finer_cell_size": plain(basis.finer_cell_size),
            "usual_error": float(basis.error.mean()),
            "worst_error": basis.worst,
        },
        "notes": list(log.notes),
        "decides": DECIDES,
    }


def forecast_table(found: Forecast) -> dict[str, Any]:
    """Return a forecast as JSON knows it."""
    table: dict[str, Any] = plain(found)
    return table


def is_late(found: Forecast, planned: float) -> bool:
    """Return whether a place is not expected to be done by the planned end of the heat [s]."""
    return any(not row.done.middle <= planned for row in found.places)
