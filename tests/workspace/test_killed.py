"""A server that is killed amid saves leaves a case that loads, old or new, and never half of it."""

import itertools
import signal
import threading
import time
import urllib.error
import urllib.request
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
def test_ctrl_c_ends_the_desk_and_its_run_though_a_page_is_open(tmp_path: Path) -> None:
    lay_out(tmp_path)
    desk = DeskProcess(tmp_path)
    assert desk.address.startswith("http://127.0.0.1:")
    with urllib.request.urlopen(f"{desk.address}api/events", timeout=30) as events:
        desk.ask("api/runs", {"case": CASE, "cells": [0.05]})
        while b'"state": "running"' not in events.readline():
            pass
        desk.process.send_signal(signal.SIGINT)
        said = desk.process.communicate(timeout=30)[1]
    assert desk.process.returncode == 0
    assert said.splitlines() == [f"the desk works in {tmp_path}; Ctrl-C ends it"]
    assert list(tmp_path.rglob("*.vtkhdf*")) == []
