'''The log of a treatment's sensors: a table as loggers write it, cleaned, with what was cleaned.

The first column is the time, each further column a sensor of the case's layout by its name, with
its unit in brackets. Times are dates with hours (ISO 8601), or a length of time since the heat was
turned on whose unit stands in the header (``time [min]``). Lines that begin with # are comments;
``# heat on: 2026-11-29 08:05`` says when the heat was turned on, else it was at the first row.

>>> log = read_log_text("""# heat on: 2026-11-29 08:00
... time,under the bed [degC],"sensor, closet [degF]"
... 2026-11-29 08:00,20.5,68
... 2026-11-29 08:10,21.0,
... 2026-11-29 08:20,23.5,77
... """, ["under the bed", "sensor, closet", "thermostat"])
>>> log.time.tolist(), log.value.round(2).tolist()
([0.0, 600.0, 1200.0], [[20.5, 20.0], [21.0, nan], [23.5, 25.0]])
'''

import csv
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from simulator.errors import CaseError, UnitError
from simulator.grid.grid import BoolArray, FloatArray
from simulator.studies.following.log_header import Columns
from simulator.units import parse_quantity

#: A log beyond this is something else [bytes].
LARGEST_LOG = 200_000_000

#: Readings outside of this are faults of a sensor or its cable [°C] (choice).
COLDEST_READING, HOTTEST_READING = -30.0, 150.0

#: Hotter than this at the start, a column's unit must be wrong [°C] (choice: no home is).
HOTTEST_START = 45.0

#: The start is what is read within this [s]: sensors in hot streams are hot soon after.
FIRST_READINGS = 120.0

#: A reading is a spike if it lies outside the range of the two before and the two after it by more
#: than this [K] and by more than that range (choice: a step or a steep ramp is none).
SPIKE = 3.0

#: Rows below which nothing can be said.
FEWEST_ROWS = 3

_MISSING = frozenset({"", "na", "n/a", "nan", "null", "none", "-", "--", "---"})
_HEAT_ON = re.compile(r"^#\s*heat on\s*:\s*(?P<moment>.+?)\s*$", re.IGNORECASE)


class TooFewRows(CaseError):
    """A log that may yet become one: it has not enough rows to say anything."""


@dataclass(frozen=True, slots=True)
class SensorLog:
    """What a log says. T times, S sensors.

    Attributes
    ----------
    sensors : names, as in the case's layout.
    time : since the heat was turned on, rising, shape (T,) [s].
    value : readings, nan where there is none, shape (T, S) [°C].
    notes : what was mended or left out, a line each.
    """

    sensors: tuple[str, ...]
    time: FloatArray
    value: FloatArray
    notes: tuple[str, ...] = ()

    def until(self, moment: float) -> "SensorLog":
        """Return the log as it was at a moment [s]."""
        rows = self.time <= moment
        return SensorLog(self.sensors, self.time[rows], self.value[rows], self.notes)


def read_log(path: Path, known: Sequence[str], heat_on: str | None = None) -> SensorLog:
    """Return the log in a file.

    Parameters
    ----------
    known : names of the sensors in the case's layout.
    heat_on : date and hour at which the heat was turned on, instead of what the log says.

    Raises
    ------
    CaseError
        One line, if the file is no such log or says too little.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise CaseError(f"{path}: no such log; give the path of a CSV file") from None
    except OSError as error:
        raise CaseError(f"{path}: the log cannot be read: {error.strerror}") from None
    if len(data) > LARGEST_LOG:
        raise CaseError(f"{path}: {len(data):,} bytes; at most {LARGEST_LOG:,} are read")
    try:
        text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise CaseError(f"{path}:{line}: not UTF-8 text; save the log as CSV in UTF-8") from None
    return read_log_text(text, known, heat_on, label=str(path))


def read_log_text(
    text: str, known: Sequence[str], heat_on: str | None = None, *, label: str = "log"
) -> SensorLog:
    """Return the log in a text; as ``read_log``."""
    if "\0" in text:
        raise CaseError(f"{label}: holds bytes that are no text; save the log as CSV in UTF-8")
    lines = list(_lines(text))
    header = next(((n, line) for n, line in lines if not line.startswith("#")), None)
    if header is None:
        raise CaseError(f"{label}: the log is empty; its first line names the columns")
    for number, line in lines[: lines.index(header)]:
        found = _HEAT_ON.match(line)
        if found and heat_on is None:
            heat_on = found["moment"]
            _moment(heat_on, f"{label}:{number}: heat on")
    separator = max((",", ";", "\t"), key=header[1].count)
    columns = Columns.read(next(csv.reader([header[1]], delimiter=separator)), known, label, header)
    rows = [(n, line) for n, line in lines[lines.index(header) + 1 :] if not line.startswith("#")]
    is_cut = bool(rows) and not text.endswith(("\n", "\r"))
    return _Reader(columns, separator, label).read(rows, heat_on, is_cut=is_cut)


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """Yield number and text of every line that is not blank."""
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            yield number, line.strip("\r\n")


def _moment(text: str, where: str) -> datetime:
    try:
        return datetime.fromisoformat(text.strip().replace("/", "-"))
    except ValueError:
        raise CaseError(
            f"{where}: '{text}' is no date with hour; write for example '2026-11-29 08:05'"
        ) from None


class _Reader:
    """Reads the rows of a log and keeps account of what had to be mended."""

    def __init__(self, columns: Columns, separator: str, label: str) -> None:
        self._columns = columns
        self._separator = separator
        self._label = label
        self._notes: dict[str, tuple[int, str]] = {}  # what -> how often, where first

    def read(
        self, rows: Sequence[tuple[int, str]], heat_on: str | None, *, is_cut: bool
    ) -> SensorLog:
        """Return the log; ``is_cut`` says that the last row may not be whole yet."""
        stamps: list[tuple[int, str]] = []  # line and text of each time
        values: list[list[float]] = []
        for index, (number, line) in enumerate(rows):
            cells = next(csv.reader([line], delimiter=self._separator))
            if len(cells) != len(self._columns.names) + 1:
                last = is_cut and index == len(rows) - 1
                what = "the last row is not whole yet" if last else "rows of the wrong length"
                self._note(what, f"line {number}")
                continue
            stamps.append((number, cells[0]))
            values.append(
                [
                    self._reading(cell, unit, number)
                    for cell, unit in zip(cells[1:], self._columns.units, strict=True)
                ]
            )
        time, good = self._times(stamps, heat_on)
        table = np.array(values, dtype=np.float64).reshape(len(values), len(self._columns.names))
        time, table = self._in_order(time[good], table[good])
        if time.size < FEWEST_ROWS:
            raise TooFewRows(
                f"{self._label}: {time.size} rows can be used; {FEWEST_ROWS} are the least that "
                f"say anything{self._first_trouble()}"
            )
        self._check_start(time, table)
        table = self._without_spikes(time, table)
        self._empty_columns(table)
        return SensorLog(self._columns.names, time, table, self._told())

    def _reading(self, cell: str, unit: str, number: int) -> float:
        """Return a reading [°C], nan for one that is missing or cannot be."""
        text = cell.strip()
        if text.lower() in _MISSING:
            return math.nan
        if self._separator != ",":
            text = text.replace(",", ".")
        try:
            value = parse_quantity(f"{float(text)!r} {unit}", "temperature")
        except (ValueError, UnitError):
            self._note("readings that are no numbers", f"line {number}: '{cell.strip()[:20]}'")
            return math.nan
        if not COLDEST_READING <= value <= HOTTEST_READING:
            self._note("readings that no home has", f"line {number}: {cell.strip()[:20]}")
            return math.nan
        return value

    def _times(
        self, stamps: Sequence[tuple[int, str]], heat_on: str | None
    ) -> tuple[FloatArray, BoolArray]:
        """Return times since the heat was turned on [s], and which rows have one."""
        unit = self._columns.time_unit
        if unit is not None:
            factor = parse_quantity(f"1 {unit}", "time")
            seconds = [self._elapsed(text, factor, number) for number, text in stamps]
        else:
            moments = [(number, self._stamp(text, number)) for number, text in stamps]
            start = _moment(heat_on, "heat on") if heat_on is not None else None
            if start is None:
                real = [moment for _, moment in moments if moment is not None]
                start = min(real, key=lambda moment: moment.replace(tzinfo=None), default=None)
            seconds = [self._since(start, moment, number) for number, moment in moments]
        found = np.array(seconds, dtype=np.float64)
        return found, np.isfinite(found)

    def _since(self, start: datetime | None, moment: datetime | None, number: int) -> float:
        if moment is None or start is None:
            return math.nan
        if (moment.tzinfo is None) != (start.tzinfo is None):
            self._note("times with and without a time zone", f"line {number}")
            return math.nan
        return (moment - start).total_seconds()

    def _elapsed(self, text: str, factor: float, number: int) -> float:
        try:
            return float(text.strip().replace(",", ".")) * factor
        except ValueError:
            self._note("rows without a time that can be read", f"line {number}: '{text[:20]}'")
            return math.nan

    def _stamp(self, text: str, number: int) -> datetime | None:
        try:
            return _moment(text, "")
        except CaseError:
            self._note("rows without a time that can be read", f"line {number}: '{text[:20]}'")
            return None

    def _in_order(self, time: FloatArray, table: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return rows in order of time, one for each; of two at one time the later counts."""
        if np.any(np.diff(time) < 0.0):
            self._note("rows out of order", "sorted by their time")
        order = np.argsort(time, kind="stable")
        time, table = time[order], table[order]
        before = time < 0.0
        if before.any():
            count = int(before.sum())
            self._note("rows before the heat was turned on", "left out", count)
            time, table = time[~before], table[~before]
        is_last = np.append(np.diff(time) > 0.0, True) if time.size else np.zeros(0, np.bool_)
        if not is_last.all():
            twice = int((~is_last).sum())
            self._note("rows at a time that was given twice", "the later one counts", twice)
        return time[is_last], table[is_last]

    def _check_start(self, time: FloatArray, table: FloatArray) -> None:
        for name, unit, column in zip(
            self._columns.names, self._columns.units, table.T, strict=True
        ):
            here = np.flatnonzero(np.isfinite(column) & (time < FIRST_READINGS))
            if here.size and column[here[0]] > HOTTEST_START:
                raise CaseError(
                    f"{self._label}: {name} begins at {column[here[0]]:.0f} °C by its unit "
                    f"[{unit}]; no home does: is it degF, or was the heat turned on before?"
                )

    def _without_spikes(self, time: FloatArray, table: FloatArray) -> FloatArray:
        """Return the readings without single ones that jump off their neighbours."""
        clean = table.copy()
        for name, column in zip(self._columns.names, clean.T, strict=True):
            here = np.flatnonzero(np.isfinite(column))
            if here.size < 5:
                continue
            windows = np.lib.stride_tricks.sliding_window_view(column[here], 5)
            around = np.delete(windows, 2, axis=1)
            low, high = around.min(axis=1), around.max(axis=1)
            middle = windows[:, 2]
            outside = np.maximum(low - middle, middle - high)
            spikes = here[2:-2][outside > np.maximum(SPIKE, high - low)]
            for row in spikes:
                self._note("single readings off their neighbours", f"{name} at {time[row]:.0f} s")
            column[spikes] = np.nan
        return clean

    def _empty_columns(self, table: FloatArray) -> None:
        for name, column in zip(self._columns.names, table.T, strict=True):
            if not np.isfinite(column).any():
                self._note("sensors without any reading", name)

    def _note(self, what: str, where: str, count: int = 1) -> None:
        before, first = self._notes.get(what, (0, where))
        self._notes[what] = (before + count, first)

    def _told(self) -> tuple[str, ...]:
        return tuple(f"{what}: {count} ({first})" for what, (count, first) in self._notes.items())

    def _first_trouble(self) -> str:
        told = self._told()
        return f"; {told[0]}" if told else ""
