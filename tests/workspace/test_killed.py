"""A server that is killed amid saves leaves a case that loads, old or new, and never half of it."""

import itertools
import threading
import time
import urllib.error
from pathlib import Path

import pytest
from desk_case import CASE, TEXTS, lay_out
from desk_process import DeskProcess, desk_process

from simulator.case.load import load

NAMES = ("bedroom", "north room with a rather long name")


def keep_saving(desk: DeskProcess, saved: list[int]) -> None:
    """Rename the room to and fro, which writes two files, until the server is gone."""
    try:
        revision = desk.ask(f"api/case/{CASE}")["revision"]
        for number in itertools.count():
            here, there = NAMES[number % 2], NAMES[1 - number % 2]
            rename = {"op": "rename", "what": "room", "from": here, "to": there}
            body = {"revision": revision, "operations": [rename]}
            revision = desk.ask(f"api/case/{CASE}/edit", body)["revision"]
            saved.append(number)
    except (OSError, urllib.error.URLError):
        return


@pytest.mark.slow
@pytest.mark.parametrize("count", (2, 7))
def test_a_case_survives_kill_9_amid_saves(tmp_path: Path, count: int) -> None:
    lay_out(tmp_path)
    desk = DeskProcess(tmp_path)
    saved: list[int] = []
    saver = threading.Thread(target=keep_saving, args=(desk, saved))
    saver.start()
    while len(saved) < count:
        assert saver.is_alive()
        time.sleep(0.001)
    desk.kill()
    saver.join()
    with desk_process(tmp_path) as again:
        view = again.ask(f"api/case/{CASE}")
    assert view["problems"] == []
    assert view["plan"]["rooms"][0]["name"] in NAMES
    case = load(tmp_path / CASE)
    assert case.dwelling.rooms[0].name == view["plan"]["rooms"][0]["name"]
    assert sorted(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*.*")) == sorted(
        TEXTS
    )


@pytest.mark.slow
def test_the_desk_ends_when_it_is_told_to(tmp_path: Path) -> None:
    with desk_process(tmp_path) as desk:
        assert desk.address.startswith("http://127.0.0.1:")
        assert desk.ask("api/desk")["cases"] == []
    assert "Traceback" not in desk.end()
