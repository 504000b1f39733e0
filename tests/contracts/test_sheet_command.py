"""``roomsoak sheet``: what it writes, and one line with an exit code for what it cannot do."""

import shutil
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from runs import hand_history

from simulator.case.load import load
from simulator.cli.program import roomsoak
from simulator.grid.voxelise import voxelise
from simulator.output.field_file import write_result
from simulator.workspace import offers

SOUND = Path(__file__).parent / "sound.toml"


def call(*arguments: str | Path) -> Result:
    return CliRunner().invoke(roomsoak, ["sheet", *map(str, arguments)])


@pytest.fixture(scope="module")
def result_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    case = load(SOUND)
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 6 * 3600.0, 25)
    course = np.tile(20.0 + time[:, None] / 800.0, (1, grid.refuges.index.size))
    path = tmp_path_factory.mktemp("result") / "sound.vtkhdf"
    history = hand_history(case, grid, time, course)
    write_result(path, case, 0.2, grid, history, main=SOUND.name)
    return path


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(result: Result, code: int, *words: str) -> None:
    assert result.exit_code == code, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    for word in words:
        assert word in result.stderr


def test_the_sheet_is_named_after_the_result_and_its_path_is_all_that_is_printed(
    folder: Path, result_path: Path
) -> None:
    result = call(result_path)
    assert result.exit_code == 0, result.output
    assert result.stdout == "sound.html\n"
    assert (folder / "sound.html").read_text("utf-8").startswith("<!doctype html>")


def test_an_ending_decides_the_format(folder: Path, result_path: Path) -> None:
    assert call(result_path, "--out", "day.pdf").exit_code == 0
    assert (folder / "day.pdf").read_bytes().startswith(b"%PDF-")
    refused(call(result_path, "--out", "day.docx"), 2, "day.docx", ".html", ".pdf")


def test_a_sheet_is_not_replaced_without_force(folder: Path, result_path: Path) -> None:
    (folder / "sound.html").write_text("mine")
    refused(call(result_path), 2, "sound.html", "--force")
    assert (folder / "sound.html").read_text() == "mine"
    assert call(result_path, "--force").exit_code == 0
    assert (folder / "sound.html").read_text("utf-8") != "mine"


def test_what_is_no_result_is_refused(folder: Path) -> None:
    refused(call("no such.vtkhdf"), 2, "no such.vtkhdf")
    (folder / "notes.txt").write_text("not a result")
    refused(call("notes.txt"), 2, "notes.txt", "not a result file")
    refused(call(SOUND), 2, "sound.toml")
    assert [path.name for path in folder.iterdir()] == ["notes.txt"]


def test_a_missing_folder_is_said(folder: Path, result_path: Path) -> None:
    refused(call(result_path, "--out", "nowhere/day.html"), 2, "nowhere", "no such folder")


def test_without_weasyprint_a_pdf_is_refused_and_html_still_written(
    folder: Path, result_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    refused(call(result_path, "--out", "day.pdf"), 1, "roomsoak[pdf]", ".html")
    assert not (folder / "day.pdf").exists()
    assert call(result_path, "--out", "day.html").exit_code == 0


def test_the_desk_writes_the_same_sheet_beside_the_result_as_often_as_it_is_asked(
    folder: Path, result_path: Path
) -> None:
    copy = folder / "sound.vtkhdf"
    shutil.copyfile(result_path, copy)
    pages = [offers.job_sheet(copy, "us").read_text("utf-8") for _ in range(2)]
    assert call(copy, "--units", "us").exit_code == 0
    assert pages == 2 * [(folder / "sound.html").read_text("utf-8")]
