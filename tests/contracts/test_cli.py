"""The command line: data on stdout, the rest on stderr, one exit code for each way to end."""

import json
import os
import re
import signal
import subprocess
import sys
import time as clock
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from runs import hand_history

from simulator import simulation
from simulator.assessment.cautions import CAUTIONS
from simulator.assessment.summary import CAUTIONS as SHORT_CAUTIONS
from simulator.case.case import Case
from simulator.case.load import load
from simulator.cli import doctor
from simulator.cli.program import roomsoak
from simulator.errors import ConvergenceError, Interrupted
from simulator.grid.voxelise import voxelise
from simulator.output import graphics_check
from simulator.output.field_file import read_result
from simulator.progress import Progress
from simulator.simulation import Run
from simulator.studies import band, causes, evaluate, grid_error, moves
from simulator.studies.moves import Move

HERE = Path(__file__).parent
SOUND = HERE / "sound.toml"
BROKEN = HERE / "broken" / "misspelt_unit.toml"
CELL = ("--cell", "0.2 m")


def call(*arguments: str) -> Result:
    return CliRunner().invoke(roomsoak, arguments)


def fresh_process(*arguments: str, **options: Any) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "simulator.cli", *arguments]
    root = HERE.parents[1]
    return subprocess.run(
        command, capture_output=True, text=True, cwd=root, timeout=120, check=False, **options
    )


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working directory."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def pretended(end: float) -> Callable[..., Run]:
    """Return a stand-in for ``simulate`` in which every hiding place ends at ``end`` [°C]."""

    def simulate(
        case: Case,
        cell_size: float,
        *,
        progress: Callable[[Progress], None] = lambda _: None,
        checkpoint: Any = None,
        resume: bool = False,
        settings: Any = None,
    ) -> Run:
        grid = voxelise(case, cell_size)
        time = np.linspace(0.0, 6 * 3600.0, 37)
        rise = (1.0 - np.exp(-time / 1800.0))[:, None]
        course = 20.0 + (end - 20.0) * rise * np.ones(grid.refuges.index.size)
        progress(Progress(0.1, "solving the airflow", 0.0, None, ""))
        progress(Progress(0.5, "warming", 7200.0, 31.5, "under the bed"))
        if checkpoint is not None:
            checkpoint.save({"state": np.zeros(3)}, {"results": 1})
        return Run(grid, hand_history(case, grid, time, course))

    return simulate


@pytest.fixture
def cold(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(simulation, "simulate", pretended(40.0))


@pytest.fixture
def hot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(simulation, "simulate", pretended(60.0))


def raising(problem: BaseException) -> Callable[..., Run]:
    def simulate(*_: Any, **__: Any) -> Run:
        raise problem

    return simulate


# --- starting


def test_help_and_doctor_start_without_the_heavy_libraries() -> None:
    code = (
        "import sys, simulator.cli; "
        "print([m for m in ('numpy', 'numba', 'pydantic', 'rich', 'vtk', 'matplotlib') "
        "if m in sys.modules])"
    )
    command = [sys.executable, "-c", code]
    loaded = subprocess.run(
        command, capture_output=True, text=True, cwd=HERE.parents[1], check=True
    )
    assert loaded.stdout.strip() == "[]"


def test_help_lists_every_command_and_the_exit_codes() -> None:
    result = call("--help")
    assert result.exit_code == 0
    for command in ("check", "run", "compare", "lesson", "show", "sheet", "kinds", "doctor"):
        assert re.search(rf"^  {command} ", result.stdout, re.MULTILINE)
        assert call(command, "--help").exit_code == 0
    for code in ("0 done", "1 failure", "2 bad input", "3 ran but cold spots remain", "130"):
        assert code in " ".join(result.stdout.split())


# --- bad input


@pytest.mark.parametrize("command", ["check", "run"])
@pytest.mark.parametrize("path", [BROKEN, HERE / "no such case.toml"], ids=lambda path: path.stem)
def test_a_case_that_cannot_be_used_is_one_line_on_stderr_and_exit_2(
    folder: Path, command: str, path: Path
) -> None:
    result = call(command, str(path))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    assert str(path) in result.stderr
    assert list(folder.iterdir()) == []


def test_a_broken_case_ends_a_real_process_without_a_traceback() -> None:
    result = fresh_process("check", str(BROKEN))
    assert result.returncode == 2
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize("cell", ["3 m", "1 cm", "0.1", "0.1 kg", "nonsense"])
def test_a_cell_size_that_makes_no_sense_is_refused(folder: Path, cell: str) -> None:
    result = call("run", str(SOUND), "--cell", cell)
    assert result.exit_code == 2
    assert "--cell" in result.stderr and result.stdout == ""


@pytest.mark.parametrize("content", [b"", b"not a result at all", None])
def test_a_result_that_cannot_be_read_is_one_line_and_exit_2(
    folder: Path, content: bytes | None
) -> None:
    path = folder / "bad.vtkhdf"
    if content is not None:
        path.write_bytes(content)
    result = call("show", str(path))
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1 and str(path) in result.stderr


# --- check


def test_check_prints_what_was_understood() -> None:
    result = call("check", str(SOUND))
    assert result.exit_code == 0 and result.stderr == ""
    for words in (
        "bedroom",
        "hall",
        "Furniture and contents (2)",
        "heater 1",
        "Heat store",
        "80 %",
    ):
        assert words in result.stdout


def test_check_prints_the_plan_of_the_day(folder: Path) -> None:
    path = folder / "day.toml"
    plan = """control = "on_off"
[[treatment.phase]]
name = "warm-up"
at = "0 h"
ramp = "5 K/h"
[[treatment.phase]]
name = "cool-down"
at = "5 h"
heaters = false
heater_fans = true
"""
    path.write_text(SOUND.read_text(encoding="utf-8") + plan, encoding="utf-8")
    text = call("check", str(path)).stdout
    for words in (
        "off at the set point, on again 2.0 K below it",
        "Plan of the day (2 phases)",
        "0 h to 5 h  warm-up    heaters to 60.0 °C from 21.0 °C, no faster than 5.0 K/h",
        "(the set point gets to 46.0 °C)",
        "5 h to 6 h  cool-down  heaters off, but they blow",
    ):
        assert words in text
    assert "no faster than 9.0 °F/h" in call("check", str(path), "--units", "us").stdout
    treatment = json.loads(call("check", str(path), "--json").stdout)["treatment"]
    assert treatment["differential"] == 2.0
    assert [phase["start"] for phase in treatment["phases"]] == [0.0, 18000.0]
    assert "throttled over the last 3.0 K" in call("check", str(SOUND)).stdout


def test_check_asks_for_an_exhaust_where_ducted_air_has_none(folder: Path) -> None:
    text = SOUND.read_text(encoding="utf-8").replace("electric_heater", "hot_air_inlet")
    sash = """[[layout.equipment]]
kind = "exhaust"
name = "sash"
room = "hall"
side = "east"
along = "1 m"

[[layout.equipment]]
kind = "sensor"
name = "high"
room = "hall"
at = ["0.5 m", "0.5 m", "2.3 m"]
guards_air_limit = true

[[layout.circuit]]"""
    tight, open_path = folder / "tight.toml", folder / "open.toml"
    tight.write_text(text, encoding="utf-8")
    open_path.write_text(text.replace("[[layout.circuit]]", sash), encoding="utf-8")
    assert "no exhaust: all air that heater 1 brings" in call("check", str(tight)).stdout
    told = call("check", str(open_path)).stdout
    assert "no exhaust" not in told
    assert "off at the air limit by high" in told


def test_a_room_that_begins_hotter_than_the_target_is_told_and_not_refused(
    folder: Path, cold: None
) -> None:
    path = folder / "hot.toml"
    text = SOUND.read_text()
    start = re.search(r'^start = "(.*)"', text, re.MULTILINE)
    assert start is not None
    path.write_text(text.replace(start[0], 'start = "68 degC"'))
    words = "68.0 °C at the start, before any heat"
    assert words in " ".join(call("check", str(path)).stdout.split())
    ran = call("run", str(path), *CELL, "--no-picture", "--no-companion")
    assert ran.exit_code == 3
    assert f"warning: {words}" in ran.stderr


def test_check_as_json_agrees_with_the_case() -> None:
    result = call("check", str(SOUND), "--json", "--cautions")
    table = json.loads(result.stdout)
    case = load(SOUND)
    assert [room["name"] for room in table["rooms"]] == ["bedroom", "hall"]
    assert table["rooms"][0]["volume"] == pytest.approx(4.2 * 3.6 * 2.44)
    contents = sum(piece["heat_capacity"] for piece in table["furniture"])
    assert table["heat_store"]["contents"] == pytest.approx(contents, rel=1e-9)
    assert set(case.furniture_words) == {piece["name"] for piece in table["furniture"]}
    assert table["cautions"] == list(CAUTIONS)


def test_check_prints_the_readiness_lists_with_boxes_and_reasons() -> None:
    text = call("check", str(SOUND), "--readiness").stdout
    for words in ("The occupant, before the day", "The crew, on arrival", "[ ] dresser: pull out"):
        assert words in text
    assert "why: " in text and "common practice, no source" in text
    assert max(len(line) for line in text.splitlines()) <= 100
    table = json.loads(call("check", str(SOUND), "--json", "--readiness").stdout)["readiness"]
    drawers = next(row for row in table["crew"] if row["key"] == "dresser: drawers")
    assert drawers["overrides"] == {"preparation.change.dresser.drawers_are": "open"}
    assert drawers["cost"] is None


def circuit_case(folder: Path, rating: str) -> Path:
    text = SOUND.read_text(encoding="utf-8")
    text = re.sub(r"\[\[layout\.circuit\]\].*?(?=\n\[|\Z)", "", text, flags=re.DOTALL)
    text += (
        '\n[[layout.circuit]]\nname = "dryer"\nvoltage = "240 V"\n'
        f'rating = "{rating}"\nloads = ["heater 1"]\n'
    )
    path = folder / "circuit.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("rating, is_overloaded", [("30 A", False), ("29 A", True)])
def test_check_warns_of_a_circuit_over_80_percent(
    folder: Path, rating: str, is_overloaded: bool
) -> None:
    """NEC 210.19 and 210.20: 5.76 kW on 30 A at 240 V; the heater draws 5.6 kW."""
    path = circuit_case(folder, rating)
    table = json.loads(call("check", str(path), "--json").stdout)
    (circuit,) = table["circuits"]
    assert circuit["power"] == pytest.approx(5600.0)
    assert circuit["allowed"] == pytest.approx(0.8 * 240.0 * float(rating.split()[0]))
    assert circuit["is_overloaded"] == is_overloaded
    assert any("'dryer'" in warning for warning in table["warnings"]) == is_overloaded
    assert ("OVERLOADED" in call("check", str(path)).stdout) == is_overloaded


# --- run


@pytest.mark.slow
def test_a_run_with_cold_spots_ends_with_3_and_its_files(folder: Path, cold: None) -> None:
    result = call("run", str(SOUND), *CELL)
    assert result.exit_code == 3
    assert "NOT DONE" in result.stdout and "Traceback" not in result.stderr
    names = {path.name for path in folder.iterdir()}
    assert names == {"sound.vtkhdf", "sound.png", "sound_curves.png"}
    for name in names:
        assert name in result.stdout


def test_a_run_without_cold_spots_ends_with_0(folder: Path, hot: None) -> None:
    result = call("run", str(SOUND), *CELL, "--no-picture")
    assert result.exit_code == 0
    assert result.stdout.startswith(load(SOUND).title)
    assert [path.name for path in folder.iterdir()] == ["sound.vtkhdf"]


def test_json_is_all_that_a_run_prints_on_stdout(folder: Path, cold: None) -> None:
    result = call("run", str(SOUND), *CELL, "--json", "--no-picture", "--out", "a.vtkhdf")
    table = json.loads(result.stdout)
    assert table["is_all_done"] is False
    assert table["files"] == ["a.vtkhdf"]
    assert len(table["curves"]["time"]) == len(table["curves"]["coldest"])
    assert result.exit_code == 3


def test_without_a_terminal_progress_is_plain_lines_on_stderr(folder: Path, cold: None) -> None:
    result = call("run", str(SOUND), *CELL, "--no-picture")
    lines = result.stderr.splitlines()
    assert lines[-1] == " 50 %  warming · at 2 h · coldest 31.5 °C under the bed"
    assert "\x1b" not in result.stderr and "\r" not in result.stderr


def test_a_quiet_run_says_nothing_on_stderr(folder: Path, cold: None) -> None:
    assert call("run", str(SOUND), *CELL, "--no-picture", "-q").stderr == ""


def test_a_verbose_run_tells_where_the_heat_went(folder: Path, cold: None) -> None:
    result = call("run", str(SOUND), *CELL, "--no-picture", "-v")
    assert "out through the shell" in result.stdout


def test_a_companion_run_tells_the_error_of_the_cells(folder: Path, cold: None) -> None:
    result = call("run", str(SOUND), "--cell", "0.1 m", "--no-picture", "--json", "-q")
    told = json.loads(result.stdout)["grid_error"]
    assert told["companion_cell_size"] == pytest.approx(0.2)
    assert told["most_within"] == pytest.approx(0.0, abs=1e-5)  # the stand-in knows no cells
    assert read_result(folder / "sound.vtkhdf").findings["grid_error"] == told
    words = call("run", str(SOUND), "--cell", "0.1 m", "--no-picture", "--force").stdout
    assert "Error of the cells" in words


@pytest.mark.parametrize("options", [("--cell", "0.2 m"), ("--cell", "0.1 m", "--no-companion")])
def test_without_a_companion_run_the_error_of_the_cells_is_said_to_be_unknown(
    options: tuple[str, ...], folder: Path, cold: None
) -> None:
    result = call("run", str(SOUND), *options, "--no-picture")
    assert "The error of the cells is not estimated" in " ".join(result.stdout.split())


def test_a_companion_run_that_is_stopped_loses_nothing(
    folder: Path, cold: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: Any, **__: Any) -> None:
        raise Interrupted("interrupted")

    monkeypatch.setattr(grid_error, "grid_error", stopped)
    result = call("run", str(SOUND), "--cell", "0.1 m", "--no-picture")
    assert result.exit_code == 130 and "holds the whole run" in result.stderr
    assert "NOT DONE" in result.stdout  # the answer is told all the same
    assert read_result(folder / "sound.vtkhdf").history.is_complete


def test_units_change_what_is_printed_and_not_the_verdict(folder: Path, cold: None) -> None:
    celsius = call("run", str(SOUND), *CELL, "--no-picture")
    fahrenheit = call("run", str(SOUND), *CELL, "--no-picture", "--units", "us", "--force")
    assert "40.0 °C" in celsius.stdout and "104.0 °F" in fahrenheit.stdout
    assert celsius.exit_code == fahrenheit.exit_code == 3


def test_nothing_is_overwritten_without_force(folder: Path, cold: None) -> None:
    (folder / "sound.png").write_text("mine")
    result = call("run", str(SOUND), *CELL)
    assert result.exit_code == 2 and "--force" in result.stderr
    assert (folder / "sound.png").read_text() == "mine"
    assert call("run", str(SOUND), *CELL, "--no-picture").exit_code == 3
    assert call("run", str(SOUND), *CELL, "--no-picture").exit_code == 2
    assert call("run", str(SOUND), *CELL, "--no-picture", "--force").exit_code == 3


def test_a_missing_folder_is_said_before_the_run(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(simulation, "simulate", raising(AssertionError("it ran")))
    result = call("run", str(SOUND), "--out", "nowhere/a.vtkhdf")
    assert result.exit_code == 2 and "nowhere" in result.stderr


def test_a_dry_run_tells_size_and_time_and_writes_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(simulation, "simulate", raising(AssertionError("it ran")))
    result = call("run", str(SOUND), *CELL, "--dry-run", "--json")
    table = json.loads(result.stdout)
    grid = voxelise(load(SOUND), 0.2)
    assert table["cells"] == grid.is_open.size
    assert table["open_cells"] == int(grid.is_open.sum())
    assert table["memory_bytes"] > 0.0 and table["seconds"] > 0.0 and table["basis"]
    assert result.exit_code == 0 and list(folder.iterdir()) == []
    assert "basis" in call("run", str(SOUND), *CELL, "--dry-run").stdout


@pytest.mark.parametrize(
    "problem, code",
    [
        (Interrupted("interrupted; here.npz holds the run up to 1.00 h"), 130),
        (KeyboardInterrupt(), 130),
        (ConvergenceError("the flow did not settle; use smaller cells"), 1),
        (MemoryError(), 1),
        (OSError(28, "No space left on device", "a.vtkhdf"), 1),
    ],
    ids=lambda value: type(value).__name__,
)
def test_what_stops_a_run_is_one_line_and_its_exit_code(
    folder: Path, monkeypatch: pytest.MonkeyPatch, problem: BaseException, code: int
) -> None:
    monkeypatch.setattr(simulation, "simulate", raising(problem))
    result = call("run", str(SOUND), *CELL, "-q")
    assert result.exit_code == code
    assert len(result.stderr.splitlines()) == 1 and result.stdout == ""


def until(condition: Callable[[], bool], process: subprocess.Popen[str], seconds: float) -> None:
    end = clock.monotonic() + seconds
    while not condition():
        assert process.poll() is None, "the run ended before it was interrupted"
        assert clock.monotonic() < end, "the run did not get that far"
        clock.sleep(0.05)


@pytest.mark.slow
def test_an_interrupted_run_goes_on_from_its_checkpoint(folder: Path) -> None:
    """Ctrl-C during the heat march ends it with 130; resumed, it gives what an uncut run gives."""
    text = SOUND.read_text(encoding="utf-8")
    (folder / "short.toml").write_text(text, encoding="utf-8")
    # A shell's background jobs ignore the signal; the run must not inherit that.
    start = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    program = [sys.executable, "-c", f"{start}from simulator.cli import main; main()"]
    arguments = ["run", "short.toml", *CELL, "--no-picture", "--json"]
    environment = {**os.environ, "PYTHONPATH": str(HERE.parents[1])}
    whole = subprocess.run(
        [*program, *arguments, "--out", "whole.vtkhdf", "-q"],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    checkpoint = folder / "cut.checkpoint.npz"
    cut = subprocess.Popen(
        [*program, *arguments, "--out", "cut.vtkhdf"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    until(checkpoint.exists, cut, 120.0)
    cut.send_signal(signal.SIGINT)
    asked = clock.monotonic()
    printed, said = cut.communicate(timeout=30.0)
    # A second is what the user is promised; the rest is for a busy machine.
    assert clock.monotonic() - asked < 3.0
    assert cut.returncode == 130 and printed == ""
    assert said.splitlines()[-1].startswith("interrupted; cut.checkpoint.npz holds the run up to")
    assert not (folder / "cut.vtkhdf").exists()
    resumed = subprocess.run(
        [*program, *arguments, "--out", "cut.vtkhdf", "-q", "--resume"],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    assert resumed.returncode == whole.returncode
    assert not checkpoint.exists()
    one, other = json.loads(whole.stdout), json.loads(resumed.stdout)
    assert other["curves"] == one["curves"]


# --- show


@pytest.fixture
def result_file(folder: Path, cold: None) -> Iterator[Path]:
    call("run", str(SOUND), *CELL, "--no-picture", "-q")
    yield folder / "sound.vtkhdf"


@pytest.mark.slow
def test_show_draws_a_png_from_the_file_alone(
    folder: Path, result_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graphics_check, "has_display", lambda: False)
    result = call("show", str(result_file))
    assert result.exit_code == 0 and result.stdout == "sound.png\n"
    assert (folder / "sound.png").read_bytes()[:4] == b"\x89PNG"
    assert call("show", str(result_file)).exit_code == 2
    assert call("show", str(result_file), "--force", "--at", "2 h").exit_code == 0
    assert call("show", str(result_file), "--out", "b.png", "--at", "2 kg").exit_code == 2
    besides = ("--slice", "1 ft", "--surface", "--hide-furniture", "--streamlines")
    assert (
        call("show", str(result_file), "--out", "b.png", "--units", "us", *besides).exit_code == 0
    )
    high = call("show", str(result_file), "--out", "c.png", "--slice", "9 m")
    assert high.exit_code == 2
    assert "not within the dwelling" in high.stderr


def test_show_without_graphics_says_so_and_draws_a_plan(
    folder: Path, result_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)
    result = call("show", str(result_file), "--surface")
    assert result.exit_code == 0
    assert "apt-get install libegl1 libgl1-mesa-dri" in result.stderr
    assert "surfaces and lines are left out" in result.stderr
    assert (folder / "sound.png").exists()


# --- kinds and doctor


@pytest.mark.parametrize("topic", ["furniture", "equipment", "materials", "correlations"])
def test_every_kind_says_what_it_is_and_where_it_comes_from(topic: str) -> None:
    listed = json.loads(call("kinds", topic, "--json").stdout)
    assert list(listed) == [topic] and listed[topic]
    for entry in listed[topic]:
        if "keys" in entry:
            assert entry["kind"] and entry["about"]
            assert all(key["meaning"] for key in entry["keys"])
        else:
            assert entry["source"].strip(), entry["name"]
    printed = call("kinds", topic).stdout
    for entry in listed[topic]:
        assert entry.get("kind", entry.get("name")) in printed


def test_all_kinds_are_listed_without_a_topic() -> None:
    assert len(json.loads(call("kinds", "--json").stdout)) == 4
    assert call("kinds", "carpets").exit_code == 2


def test_doctor_is_content_with_all_that_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: "vtkEGLRenderWindow")
    result = call("doctor")
    assert result.exit_code == 0
    assert "All that is needed is here." in result.stdout
    table = json.loads(call("doctor", "--json").stdout)
    assert table["is_well"] and all(f["is_good"] for f in table["findings"] if f["is_needed"])


def test_doctor_names_the_packages_that_are_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)
    monkeypatch.setattr(doctor, "NEEDED", ("numpy", "no-such-library-as-this"))
    result = call("doctor")
    assert result.exit_code == 1
    assert "apt-get install libegl1 libgl1-mesa-dri" in result.stdout
    assert "install no-such-library-as-this with pip" in result.stdout
    assert "Missing: libraries, OpenGL" in result.stdout


def test_doctor_notices_a_cache_that_cannot_be_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    occupied = folder / "a file"
    occupied.write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(occupied / "cache"))
    findings = json.loads(call("doctor", "--json").stdout)["findings"]
    (cache,) = [finding for finding in findings if finding["name"] == "compiled-code cache"]
    assert not cache["is_good"] and "NUMBA_CACHE_DIR" in cache["remedy"]


# --- words


def test_no_command_promises_what_a_model_cannot(folder: Path, hot: None) -> None:
    printed = [
        call("run", str(SOUND), *CELL, "--no-picture", "-v").output,
        call("check", str(SOUND), "--cautions", "--readiness").output,
        call("kinds").output,
        call("--help").output,
        SHORT_CAUTIONS,
    ]
    for text in printed:
        assert not re.search(r"\b(eradicat\w*|guarantee\w*|safe|safely)\b", text, re.IGNORECASE)


# --- compare


def compare(*arguments: str) -> Result:
    return call("compare", *arguments, *CELL, "--no-companion")


@pytest.mark.usefixtures("cold")
def test_compare_runs_cases_once_and_keeps_their_results(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = folder / "other.toml"
    other.write_text(SOUND.read_text(encoding="utf-8") + "\n# another hash\n", encoding="utf-8")
    first = compare(str(SOUND), str(other), "--no-picture")
    assert first.exit_code == 0
    assert "volume below 50 °C" in first.stdout
    assert "the same in both runs" in first.stdout
    kept = sorted(path.name for path in (folder / "results").iterdir())
    assert len(kept) == 2
    assert all(name.endswith(".vtkhdf") for name in kept)
    monkeypatch.setattr(simulation, "simulate", raising(AssertionError("run again")))
    again = compare(str(SOUND), str(folder / "results" / kept[0]), "--json", "--no-picture")
    assert again.exit_code == 0
    assert json.loads(again.stdout)["answers"][1]["name"] == "B"


def test_compare_wants_two_things_that_are_there(folder: Path) -> None:
    assert compare(str(SOUND)).exit_code == 2
    missing = compare(str(folder / "no.toml"), str(folder / "no.vtkhdf"), "-q")
    assert missing.exit_code == 2
    assert len(missing.stderr.splitlines()) == 1
    (folder / "compared.png").write_bytes(b"mine")
    assert compare(str(SOUND), str(SOUND)).exit_code == 2
    assert (folder / "compared.png").read_bytes() == b"mine"


# --- band


def test_a_band_of_few_runs_is_refused(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(simulation, "simulate", pretended(58.0))
    call("run", str(SOUND), *CELL, "--no-picture", "--no-companion", "--out", "a.vtkhdf")
    found = call("band", "a.vtkhdf", "--samples", "12")
    assert found.exit_code == 2
    assert "12 samples are too few" in found.stderr
    assert call("band", "none.vtkhdf").exit_code == 2


def test_run_band_tells_how_sure_it_is(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(simulation, "simulate", pretended(58.0))
    monkeypatch.setattr(evaluate.os, "cpu_count", lambda: 1)
    whole = band.band

    def short(*arguments: Any, samples: int, **options: Any) -> band.Band:
        assert samples == 64
        return whole(*arguments, samples=3, **options)

    monkeypatch.setattr(band, "band", short)
    found = call("run", str(SOUND), *CELL, "--no-picture", "--band", "--json", "--quiet")
    table = json.loads(found.stdout)
    assert table["band"]["samples"] == 3
    assert table["band"]["done_in"] == 3
    assert read_result(folder / "sound.vtkhdf").findings["band"] == table["band"]
    again = call("band", "sound.vtkhdf")
    assert again.exit_code == 0
    assert "in 3 of 3 runs" in again.stdout
    assert "64 runs on cells of" in again.stderr
    assert "3 of 3 runs" in again.stderr


# --- remedies


def test_remedies_are_appended_to_the_result(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert call("remedies", "none.vtkhdf").exit_code == 2
    monkeypatch.setattr(simulation, "simulate", pretended(40.0))
    monkeypatch.setattr(evaluate.os, "cpu_count", lambda: 1)
    call("run", str(SOUND), *CELL, "--no-picture", "--no-companion", "--out", "a.vtkhdf")
    pull = Move(
        "pull the bed off", ("bed", "at"), {"dwelling.furniture.bed.at": ["1.9 m", "2.3 m"]}
    )
    monkeypatch.setattr(moves, "moves_for", lambda *_: (pull,))
    found = call("remedies", "a.vtkhdf", "--json")
    assert found.exit_code == 0
    table = json.loads(found.stdout)
    assert [move["words"] for move in table["moves"]] == ["pull the bed off"]
    assert read_result(folder / "a.vtkhdf").findings["remedies"] == table
    first, *told = found.stderr.splitlines()
    assert "about 4 runs (each of the moves found: 1; then a plan) on cells of 20.0 cm" in first
    assert re.fullmatch(r"run 1: as it is, about \d+ (s|min) left", told[0])
    assert told[1].startswith("run 2: pull the bed off")


# --- lesson


@pytest.fixture
def plans_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures are plans, which are quickly drawn."""
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)


def lesson(*arguments: str) -> Result:
    return call("lesson", str(SOUND), "--no-film", "--series", "clutter", *arguments)


def test_a_dry_lesson_tells_its_cost_and_makes_nothing(folder: Path) -> None:
    result = lesson("--dry-run")
    assert result.exit_code == 0
    assert result.stdout == ""
    assert "3 runs on cells of 20.0 cm, 0 of them made already" in result.stderr
    assert list(folder.iterdir()) == []


def test_a_lesson_shows_a_prepared_case_or_says_that_no_series_does(folder: Path) -> None:
    result = lesson("--dry-run", "--prepared", str(SOUND))
    assert result.exit_code == 2
    assert "shown in the series 'preparation' only" in result.stderr
    assert list(folder.iterdir()) == []
    both = lesson("--dry-run", "--series", "preparation", "--prepared", str(SOUND))
    assert both.exit_code == 0


@pytest.mark.usefixtures("plans_only")
def test_a_lesson_that_is_stopped_keeps_its_runs_and_goes_on_from_them(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = []

    def stopped(case: Case, cell_size: float, **options: Any) -> Run:
        calls.append(case.title)
        if len(calls) == 2:
            raise Interrupted("interrupted")
        return pretended(40.0 + len(calls))(case, cell_size, **options)

    monkeypatch.setattr(simulation, "simulate", stopped)
    first = lesson("-q")
    kept = folder / "sound_lesson" / "results"
    assert first.exit_code == 130
    assert "results: 1; the same command" in first.stderr
    assert len(list(kept.glob("*.vtkhdf"))) == 1
    again = lesson("--json")
    assert again.exit_code == 0
    assert len(calls) == 4
    assert "1 of them made already" in again.stderr
    table = json.loads(again.stdout)
    states = [state["name"] for state in table["series"][0]["states"]]
    assert states == ["no clutter", "as found", "stuffed"]
    assert all(Path(path).exists() for path in table["files"])
    assert (folder / "sound_lesson" / "lesson.html").stat().st_size < 2_000_000


# --- causes


@pytest.mark.slow
def test_causes_are_appended_to_the_result(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert call("causes", "none.vtkhdf").exit_code == 2
    monkeypatch.setattr(evaluate.os, "cpu_count", lambda: 1)
    text = SOUND.read_text(encoding="utf-8")
    assert 'horizon = "6 h"' in text
    (folder / "short.toml").write_text(text.replace('horizon = "6 h"', 'horizon = "10 min"'))
    whole = simulation.simulate
    monkeypatch.setattr(simulation, "simulate", pretended(40.0))
    call("run", "short.toml", *CELL, "--no-picture", "--no-companion", "--out", "a.vtkhdf")
    monkeypatch.setattr(simulation, "simulate", whole)
    listed = causes.slowest_points
    monkeypatch.setattr(causes, "slowest_points", lambda *asked: listed(*asked)[:1])
    found = call("causes", "a.vtkhdf", "--json")
    assert found.exit_code == 0, found.stderr
    table = json.loads(found.stdout)
    assert read_result(folder / "a.vtkhdf").findings["causes"] == table
    (spot,) = table["spots"]
    assert sum(cause["share"] for cause in spot["causes"]) == pytest.approx(1.0)
    assert "small ones around each spot (spots: 1, 1 at a time)" in found.stderr
    assert "causes: 1 of 1 spots\n" in found.stderr
    assert call("causes", "a.vtkhdf", "--cell", "3 m").exit_code == 2


# --- what a newcomer stumbled over


def test_a_case_given_as_a_result_is_told_from_one(folder: Path) -> None:
    found = call("show", str(SOUND))
    assert found.exit_code == 2
    assert "a case, not a result; run it first" in found.stderr


def test_show_refuses_a_moment_after_the_run(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(simulation, "simulate", pretended(58.0))
    call("run", str(SOUND), *CELL, "--no-picture", "--no-companion", "--out", "a.vtkhdf")
    found = call("show", "a.vtkhdf", "--at", "9 h", "--out", "late.png")
    assert found.exit_code == 2
    assert "it has no moment after 6 h" in found.stderr
    assert not (folder / "late.png").exists()


def test_check_lists_what_is_changed_during_the_run() -> None:
    case = HERE.parents[1] / "geometries" / "bedroom_with_cool_down.toml"
    found = call("check", str(case))
    assert "Changes during the run (3)" in found.stdout
    assert re.search(r"3 h 30 min\s+turn the mattress", found.stdout)


@pytest.mark.parametrize("size", ["8 in", "2 in", "20 cm", "5 cm"])
def test_usual_cells_of_both_systems_are_taken(size: str) -> None:
    assert call("run", str(SOUND), "--cell", size, "--dry-run").exit_code == 0


@pytest.mark.parametrize(
    ("size", "bounds"), [("9 in", "2 in and 8 in"), ("1 ft", "2 in and 8 in"), ("21 cm", "20 cm")]
)
def test_bounds_of_cells_are_told_in_the_units_of_the_value(size: str, bounds: str) -> None:
    refused = call("run", str(SOUND), "--cell", size, "--dry-run")
    assert refused.exit_code == 2
    assert f"{size} is not between" in refused.stderr
    assert bounds in refused.stderr


def test_a_drawn_dwelling_is_told_in_the_units_asked_for(tmp_path: Path) -> None:
    told = {
        units: call(
            "dwelling", "--seed", "7", "--out", f"{tmp_path / units}", "--units", units
        ).stderr
        for units in ("si", "us")
    }
    assert " m², " in told["si"] and told["si"].rstrip().endswith(" °C outdoors")
    assert " ft², " in told["us"] and told["us"].rstrip().endswith(" °F outdoors")
    for one in (tmp_path / "si").iterdir():
        assert one.read_text() == (tmp_path / "us" / one.name).read_text()
