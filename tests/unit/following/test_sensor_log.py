"""Logs broken in the ways that loggers break them: a clear line, or a clean recovery and a note."""

import math
from pathlib import Path

import numpy as np
import pytest

from simulator.errors import CaseError
from simulator.studies.following.sensor_log import SensorLog, read_log, read_log_text

KNOWN = ("under the bed", "sensor, closet", "thermostat")
HEAD = "time,under the bed [degC],thermostat [degC]\n"


def rows(*lines: str) -> SensorLog:
    return read_log_text(HEAD + "\n".join(lines) + "\n", KNOWN)


def course(count: int = 12) -> list[str]:
    """Return rows every ten minutes of a slow and a fast sensor."""
    return [
        f"2026-11-29 {8 + n // 6:02d}:{10 * (n % 6):02d},{20 + n:.1f},{20 + 3 * n:.1f}"
        for n in range(count)
    ]


def noted(log: SensorLog, what: str) -> bool:
    return any(note.startswith(what) for note in log.notes)


# --- sound logs in all their spellings


def test_dates_elapsed_times_and_fahrenheit_say_the_same() -> None:
    dated = rows(*course())
    assert dated.notes == ()
    assert dated.time[-1] == 110 * 60.0
    elapsed = "time [min],under the bed [degF],thermostat [degF]\n" + "".join(
        f"{10 * n},{(20 + n) * 9 / 5 + 32:.6f},{(20 + 3 * n) * 9 / 5 + 32:.6f}\n" for n in range(12)
    )
    again = read_log_text(elapsed, KNOWN)
    np.testing.assert_allclose(again.time, dated.time)
    np.testing.assert_allclose(again.value, dated.value, atol=1e-5)


def test_semicolons_with_decimal_commas_and_a_byte_order_mark(tmp_path: Path) -> None:
    text = HEAD.replace(",", ";") + "".join(
        line.replace(",", ";").replace(".", ",") + "\r\n" for line in course()
    )
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode("utf-8-sig"))
    np.testing.assert_array_equal(read_log(path, KNOWN).value, rows(*course()).value)
    path.write_bytes(text.encode("utf-16"))
    np.testing.assert_array_equal(read_log(path, KNOWN).value, rows(*course()).value)


def test_the_moment_of_heat_on_is_the_logs_or_the_callers() -> None:
    text = "# heat on: 2026-11-29 08:20\n" + HEAD + "\n".join(course()) + "\n"
    log = read_log_text(text, KNOWN)
    assert log.time[0] == 0.0
    assert log.value[0, 0] == 22.0
    assert noted(log, "rows before the heat was turned on: 2")
    assert read_log_text(text, KNOWN, "2026-11-29 07:00").time[0] == 3600.0


def test_a_log_can_be_read_as_it_was_at_a_moment() -> None:
    assert rows(*course()).until(1800.0).time.tolist() == [0.0, 600.0, 1200.0, 1800.0]


# --- what is mended, with a note


def test_rows_out_of_order_and_twice_are_put_right() -> None:
    lines = course()
    twice = lines[5].replace("25.0,", "25.5,")
    log = rows(*lines[6:], *lines[:6], twice)
    np.testing.assert_array_equal(log.time, rows(*lines).time)
    assert log.value[5, 0] == 25.5
    assert noted(log, "rows out of order")
    assert noted(log, "rows at a time that was given twice")


def test_gaps_stay_gaps() -> None:
    lines = course()
    lines[3] = "2026-11-29 08:30,,NA"
    log = rows(*lines[:6], *lines[9:])
    assert np.isnan(log.value[3]).all()
    assert log.time.size == 9
    assert log.notes == ()


@pytest.mark.parametrize("cell", ["ERR", "12 34", "1e999", "0x1F", "²⁰"])
def test_a_reading_that_is_no_number_is_left_out(cell: str) -> None:
    lines = course()
    lines[4] = f"2026-11-29 08:40,{cell},32.0"
    log = rows(*lines)
    assert math.isnan(log.value[4, 0])
    assert log.value[4, 1] == 32.0
    assert len(log.notes) == 1


def test_faults_and_spikes_are_left_out() -> None:
    lines = course()
    lines[2] = "2026-11-29 08:20,-127.0,26.0"
    lines[7] = "2026-11-29 09:10,27.0,85.0"
    log = rows(*lines)
    assert math.isnan(log.value[2, 0])
    assert math.isnan(log.value[7, 1])
    assert noted(log, "readings that no home has: 1")
    assert noted(log, "single readings off their neighbours: 1")
    assert np.isfinite(log.value).sum() == 2 * 12 - 2


def test_a_step_is_no_spike() -> None:
    """A sensor that falls off reads the air from then on: that is told later, not wiped out."""
    lines = [line.rsplit(",", 1)[0] for line in course()]
    log = rows(*[f"{line},{20 if n < 6 else 50}" for n, line in enumerate(lines)])
    assert np.isfinite(log.value).all()


def test_the_row_being_written_waits_for_the_next_reading() -> None:
    log = read_log_text(HEAD + "\n".join(course()) + "\n2026-11-29 10:00,3", KNOWN)
    assert log.time.size == 12
    assert noted(log, "the last row is not whole yet")


def test_rows_that_cannot_be_placed_are_counted() -> None:
    lines = course()
    log = rows(*lines[:4], "yesterday,21,22", *lines[4:], "2026-11-29T10:00+01:00,40,41", "1,2,3,4")
    assert log.time.size == 12
    assert noted(log, "rows without a time that can be read: 1 (line 6: 'yesterday')")
    assert noted(log, "times with and without a time zone: 1 (line 15)")
    assert noted(log, "rows of the wrong length: 1 (line 16)")


def test_a_sensor_that_never_reads_is_told() -> None:
    log = rows(*[f"{line.rsplit(',', 1)[0]}," for line in course()])
    assert noted(log, "sensors without any reading: 1 (thermostat)")


# --- what is refused, in one line


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "the log is empty"),
        ("# nothing\n", "the log is empty"),
        ("when,under the bed [degC]\n", "log:1: the first column is 'when'; it must be 'time'"),
        ("time [kg],under the bed [degC]\n", "log:1: time: 'kg'"),
        ("time,under the bed\n", "column 'under the bed' has no unit"),
        ("time,under the bed [kW]\n", "under the bed: 'kW'"),
        ("time,under the bedd [degC]\n", "did you mean 'under the bed'?"),
        ("time,thermostat [degC],thermostat [degC]\n", "has two columns"),
        ("time\n", "no sensor; each further column is one"),
        (HEAD, "0 rows can be used; 3 are the least"),
        (HEAD + "a,1,2\nb,3,4\n", "0 rows can be used; 3 are the least that say anything; rows"),
        (HEAD + "\n".join(course(2)), "2 rows can be used"),
        ("# heat on: noon\n" + HEAD, "log:1: heat on: 'noon' is no date with hour"),
        (HEAD + "2026-11-29 08:00,68,70\n2026-11-29 08:10,69,80\n2026-11-29 08:20,70,90\n", "degF"),
        ("time,under the bed [degC]\n\0\0\0", "bytes that are no text"),
    ],
)
def test_a_log_that_says_nothing_is_refused_in_one_line(text: str, says: str) -> None:
    with pytest.raises(CaseError) as refused:
        read_log_text(text, KNOWN)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_files_that_are_no_logs_are_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="no such log"):
        read_log(tmp_path / "none.csv", KNOWN)
    with pytest.raises(CaseError, match="cannot be read"):
        read_log(tmp_path, KNOWN)
    path = tmp_path / "picture.csv"
    path.write_bytes(b"time\n\x89PNG\r\n\x1a\n\xff\xfe")
    with pytest.raises(CaseError, match=r"picture.csv:2: not UTF-8 text"):
        read_log(path, KNOWN)
