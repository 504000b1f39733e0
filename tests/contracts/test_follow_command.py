"""``roomsoak follow``: what it prints and keeps, and one line with an exit code for what it cannot.

The reduced model is a formula (``known_following``), kept as the basis of a small case: no runs.
"""

import json
import os
import signal
import subprocess
import sys
import time as clock
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from known_following import SENSORS, known_basis, known_log

from simulator.case.load import load
from simulator.cli.follow_basis import basis_for, basis_mark
from simulator.cli.program import roomsoak
from simulator.errors import Interrupted
from simulator.output.checkpoint import save_checkpoint
from simulator.studies import program_digest
from simulator.studies.following import basis_runs
from simulator.studies.following.basis_runs import BasisPlan
from simulator.studies.following.courses import Course, Place
from simulator.studies.following.sensor_log import read_log
from simulator.studies.following.twin import as_csv, hidden_values

HOUR = 3600.0

CASE = """
title = "One small room, invented"

[dwelling]
name = "room"
start = "20 degC"
outdoors = { temperature = "5 degC" }
leakage = { air_changes = "0.5 1/h" }
shell.walls = { construction = "frame_wall", behind = "outdoors" }
shell.floor = { construction = "wood_floor", behind = "mirror" }
shell.ceiling = { construction = "attic_ceiling", behind = "outdoors" }

[[dwelling.room]]
name = "room"
size = ["1.6 m", "1.6 m", "1.6 m"]

[treatment]
horizon = "5 h"

[layout]
name = "a heater"

[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["0.5 m", "0.5 m"]
turn = "45 deg"
power = "1.5 kW"
""" + "".join(
    f'\n[[layout.equipment]]\nkind = "sensor"\nname = "{name}"\nroom = "room"\n'
    f'at = ["{0.3 + 0.2 * n} m", "1.2 m", "1.0 m"]\n'
    for n, name in enumerate(SENSORS)
)


def call(*arguments: str | Path) -> Result:
    return CliRunner().invoke(roomsoak, ["follow", *map(str, arguments)])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a case, its basis and a log of three hours."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "room.toml").write_text(CASE, encoding="utf-8")
    arrays, facts = known_basis().kept()
    mark = basis_mark(BasisPlan(load(tmp_path / "room.toml"), 0.2, 0.1))
    save_checkpoint(tmp_path / "room.basis.npz", arrays, {"hash": mark, "basis": facts})
    (tmp_path / "log.csv").write_text(log_text(3.0), encoding="utf-8")
    return tmp_path


def log_text(hours: float, **options: Any) -> str:
    return as_csv(known_log(np.zeros(6), hours * HOUR, **options))


def refused(result: Result, *words: str) -> None:
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1, result.stderr
    for word in words:
        assert word in result.stderr


def test_what_is_told(folder: Path) -> None:
    result = call("room.toml", "log.csv")
    assert result.exit_code in (0, 3), result.output
    told = " ".join(result.stdout.split())
    assert "3 h after heat on. All hiding places done after" in told
    assert "decides: it is the last in" in told
    assert "bale, floor under the clutter (room): done after" in told
    assert "inferred" in told
    assert "sensor in it: in the bale" in told
    assert "the log does not tell it" in told
    assert "Inspection decides" in told
    for word in ("eradicat", "safe", "guarantee"):
        assert word not in told.lower()


def test_json_is_plain_and_whole(folder: Path) -> None:
    result = call("room.toml", "log.csv", "--json")
    table = json.loads(result.stdout)
    assert table["now"] == 3.0 * HOUR
    assert {row["owner"] for row in table["places"]} == {"bale", "chair", "room"}
    assert len(table["learnt"]) == 6
    assert table["basis"]["runs"] == 40


def test_us_units_are_used_throughout(folder: Path) -> None:
    told = call("room.toml", "log.csv", "--units", "us").stdout
    assert "°F" in told
    assert "°C" not in told


def test_the_exit_code_says_whether_places_will_be_late(folder: Path) -> None:
    assert call("room.toml", "log.csv").exit_code == 0
    text = (folder / "room.toml").read_text("utf-8").replace('"5 h"', '"3.5 h"')
    (folder / "short.toml").write_text(text, encoding="utf-8")
    arrays, facts = known_basis().kept()
    mark = basis_mark(BasisPlan(load(folder / "short.toml"), 0.2, 0.1))
    save_checkpoint(folder / "short.basis.npz", arrays, {"hash": mark, "basis": facts})
    result = call("short.toml", "log.csv")
    assert result.exit_code == 3
    assert "places not by the planned end" in result.stdout


def test_readings_after_the_heat_count_for_sensors_alone(folder: Path) -> None:
    lines = log_text(4.0).splitlines()
    header, rows = lines[:2], lines[2:]
    cooled = [row if n < 37 else f"{row.split(',')[0]},30,30,30,30" for n, row in enumerate(rows)]
    (folder / "cooled.csv").write_text("\n".join([*header, *cooled]) + "\n", encoding="utf-8")
    result = call("room.toml", "cooled.csv", "--heat-off", "3 h", "--json")
    table = json.loads(result.stdout)
    assert table["now"] == 3.0 * HOUR
    assert table["planned_end"] == 3.0 * HOUR
    assert table["noise"] < 1.0
    assert "The heat ended after 3 h" in call("room.toml", "cooled.csv", "--heat-off", "3 h").stdout


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ("the log is empty",)),
        ("time [min],in the bael [degC]\n0,20\n", ("unknown sensor", "'in the bale'")),
        ("time [min],air\n0,20\n", ("has no unit",)),
        ("time [min],air [degC]\n0,20\n", ("1 rows can be used",)),
        ("hour,air [degC]\n0,20\n", ("must be 'time'",)),
        ("time [min],air [degC]\n0,70\n5,71\n10,72\n", ("no home does",)),
        ("time [min],air [kW]\n0,70\n5,71\n10,72\n", ("air:",)),
        ("time [d],air [degC]\n9,20\n10,21\n11,22\n", ("no reading within the time",)),
    ],
)
def test_a_log_that_cannot_be_used_is_one_line(
    folder: Path, text: str, words: tuple[str, ...]
) -> None:
    (folder / "broken.csv").write_text(text, encoding="utf-8")
    refused(call("room.toml", "broken.csv"), *words)


def test_other_bad_asks_are_one_line(folder: Path) -> None:
    refused(call("room.toml", "none.csv"), "no such log")
    refused(call("room.toml", "log.csv", "--out", "sheet.docx"), ".html or .pdf")
    refused(call("room.toml", "log.csv", "--heat-off", "soon"), "soon")
    refused(call("room.toml", "log.csv", "--basis", "log.csv"), "not a whole checkpoint")
    refused(call("room.toml", "log.csv", "--cell", "0.15 m"), "another case, cell size", "--basis")
    without = CASE.split('\n[[layout.equipment]]\nkind = "sensor"')[0]
    (folder / "bare.toml").write_text(without, encoding="utf-8")
    refused(call("bare.toml", "log.csv"), "unknown sensor")


def test_a_mended_log_says_what_was_mended(folder: Path) -> None:
    lines = log_text(3.0).splitlines()
    rows = lines[2:]
    rows[4], rows[9] = rows[9], rows[4]
    rows[20] = rows[20].split(",")[0] + ",ERR,-127,,20.0"
    (folder / "mended.csv").write_text("\n".join([*lines[:2], *rows, rows[-1]]), encoding="utf-8")
    told = call("room.toml", "mended.csv").stdout
    assert "log: rows out of order" in told
    assert "log: readings that are no numbers: 1" in told
    assert "log: readings that no home has: 1" in told


def test_a_sheet_says_what_was_measured_and_what_inferred(folder: Path) -> None:
    assert call("room.toml", "log.csv", "--out", "day.html").exit_code == 0
    page = (folder / "day.html").read_text("utf-8")
    assert "Measured by the sensors themselves" in page
    assert "inferred" in page
    assert "Inspection decides" in page
    assert "http" not in page
    for word in ("eradicat", " safe", "guarantee"):
        assert word not in page.lower()
    refused(call("room.toml", "log.csv", "--out", "day.html"), "exists already")
    assert call("room.toml", "log.csv", "--out", "day.pdf").exit_code == 0
    assert (folder / "day.pdf").read_bytes().startswith(b"%PDF-")


# --- the basis: kept run by run, made once


def short_run(ask: Any) -> Course:
    """Return a course that needs no solver."""
    time = np.linspace(0.0, 10.0 * HOUR, 121)
    end = 50.0 + 10.0 * ask.values["heater"]
    course = 20.0 + (end - 20.0) * (1.0 - np.exp(-time / 3000.0))
    places = (Place("bale", "inside", "room", 1.0),)
    table = np.repeat(course[:, None], len(SENSORS) + 2, axis=1).astype(np.float32)
    return Course(time, table, places, (-1, 0, 0, 0))


def test_a_basis_that_was_stopped_goes_on(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[float] = []

    def stopped(ask: Any) -> Course:
        if len(made) == 7:
            raise KeyboardInterrupt
        made.append(ask.cell_size)
        return short_run(ask)

    case, path = load(folder / "room.toml"), folder / "new.basis.npz"
    monkeypatch.setattr(basis_runs, "_run", stopped)
    with pytest.raises(Interrupted, match="after 7 of 18 runs; the same command goes on"):
        basis_for(BasisPlan(case, 0.2, 0.1, 16), path, 1, "si", quiet=True)
    assert not path.exists()

    def counted(ask: Any) -> Course:
        made.append(ask.cell_size)
        return short_run(ask)

    monkeypatch.setattr(basis_runs, "_run", counted)
    basis_for(BasisPlan(case, 0.2, 0.1, 16), path, 1, "si", quiet=True)
    assert len(made) == 18
    assert made.count(0.1) == 1
    again = basis_for(BasisPlan(case, 0.2, 0.1, 16), path, 1, "si", quiet=True)
    assert len(made) == 18
    assert again.runs == 16
    assert not path.with_name("new.basis.npz.runs").exists()


def test_a_basis_is_known_by_its_runs_and_by_the_program_that_made_them(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = BasisPlan(load(folder / "room.toml"), 0.2, 0.1)
    marks = [
        basis_mark(one)
        for one in (plan, replace(plan, runs=40), replace(plan, seed=2), replace(plan, finer=None))
    ]
    assert len(set(marks)) == 4
    monkeypatch.setattr(program_digest, "program_digest", lambda *makers: "edited")
    assert basis_mark(plan) != marks[0]
    result = call("room.toml", "log.csv")
    assert result.exit_code == 2
    assert "of another case, cell size or version" in result.stderr
    assert "--basis" in result.stderr


def test_what_a_basis_costs_is_told_first(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(basis_runs, "_run", short_run)
    case, path = load(folder / "room.toml"), folder / "new.basis.npz"
    basis_for(BasisPlan(case, 0.2, 0.1, 16), path, 1, "si", quiet=False)
    told = capsys.readouterr().err.splitlines()
    assert told[0].startswith("reduced model: 17 runs on cells of 20.0 cm and one on 10.0 cm, 1 at")
    assert told[1].startswith("1 of 18 runs, about")


# --- watching a log that grows


@pytest.fixture
def watcher(folder: Path) -> Iterator[Any]:
    """Start a watch in a process of its own; it is ended afterwards."""
    started: list[subprocess.Popen[str]] = []
    # A shell's background jobs ignore Ctrl-C; the watch must not inherit that.
    heed = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
    program = f"{heed}; from simulator.cli import main; main()"
    command = ["follow", "room.toml", "log.csv"]

    def start(*more: str) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-c", program, *command, "--watch", "--every", "0.1 s", *more],
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        started.append(process)
        return process

    yield start
    for process in started:
        if process.poll() is None:
            process.kill()
        process.communicate()


def wait_for_forecasts(folder: Path, count: int) -> list[dict[str, Any]]:
    """Return the kept forecasts once there are so many."""
    path = folder / "log.csv.forecasts.jsonl"
    for _ in range(600):
        lines = path.read_text("utf-8").splitlines() if path.exists() else []
        if len(lines) >= count:
            return [json.loads(line) for line in lines]
        clock.sleep(0.1)
    raise AssertionError(f"{len(lines)} forecasts after a minute")


def test_a_killed_watch_loses_no_row_and_the_next_goes_on(folder: Path, watcher: Any) -> None:
    log, whole = folder / "log.csv", log_text(3.0)
    rows = whole.splitlines(keepends=True)
    log.write_text("".join(rows[:20]), encoding="utf-8")
    first = watcher()
    wait_for_forecasts(folder, 1)
    with log.open("a", encoding="utf-8") as file:
        file.write("".join(rows[20:30]) + rows[30][:5])
    wait_for_forecasts(folder, 2)
    first.send_signal(signal.SIGKILL)
    assert first.wait(30) == -signal.SIGKILL
    with log.open("a", encoding="utf-8") as file:
        file.write(rows[30][5:] + "".join(rows[31:]))
    assert log.read_text("utf-8") == whole
    second = watcher()
    kept = wait_for_forecasts(folder, 3)
    assert [row["now"] for row in kept] == [85 * 60.0, 135 * 60.0, 180 * 60.0]
    second.send_signal(signal.SIGINT)
    told, problem = second.communicate(timeout=60)
    assert second.returncode == 130, problem
    assert told.startswith("at 3 h: all done after")
    assert "All hiding places done after" in told
    assert "interrupted" in problem


def test_a_watch_waits_for_the_first_rows(folder: Path, watcher: Any) -> None:
    rows = log_text(1.0).splitlines(keepends=True)
    (folder / "log.csv").write_text("".join(rows[:3]), encoding="utf-8")
    process = watcher("--json")
    assert "still watching" in process.stderr.readline()
    (folder / "log.csv").write_text("".join(rows), encoding="utf-8")
    wait_for_forecasts(folder, 1)
    process.send_signal(signal.SIGINT)
    told, _ = process.communicate(timeout=60)
    assert process.returncode == 130
    assert json.loads(told)["now"] == HOUR


# --- against full runs


def test_an_invented_log_is_read_like_any_other(folder: Path) -> None:
    result = call("room.toml", "made.csv", "--invent", "7")
    assert result.exit_code == 0, result.output
    text = (folder / "made.csv").read_text("utf-8")
    assert text.startswith("# Invented readings")
    log = read_log(folder / "made.csv", tuple(SENSORS))
    assert log.time[-1] == 10.0 * HOUR
    assert np.nanmax(log.value) > 35.0
    assert log.notes == ()
    refused(call("room.toml", "made.csv", "--invent", "7"), "exists already")


@pytest.mark.slow
def test_a_treatment_is_followed_from_runs_to_forecast(folder: Path) -> None:
    """The whole way with real runs: basis, invented log, forecast, check against a full run."""
    assert call("room.toml", "made.csv", "--invent", "7").exit_code == 0
    rows = (folder / "made.csv").read_text("utf-8").splitlines(keepends=True)
    (folder / "half.csv").write_text("".join(rows[:40]), encoding="utf-8")
    options = ("--runs", "24", "--workers", "1", "--basis", "real.npz", "--check", "--json")
    result = call("room.toml", "half.csv", *options)
    assert result.exit_code in (0, 3), result.output
    assert "reduced model: 25 runs" in result.stderr
    table = json.loads(result.stdout)
    heater = next(row for row in table["learnt"] if row["name"] == "heater")
    assert heater["low"] <= hidden_values(7)["heater"] <= heater["high"]
    check = next(line for line in result.stderr.splitlines() if line.startswith("full run"))
    assert float(check.split("misses it by ")[1].split(" K")[0]) < 1.0
