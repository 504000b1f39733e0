"""Runs wait for each other, can be cancelled, and leave whole results or nothing."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk_case import CASE, desk_client, edited, lay_out
from starlette.testclient import TestClient

from simulator.output.viewer.blob import from_bytes

#: Longest that a test waits before it gives up [s]; nothing is timed by it.
PATIENCE = 240.0


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    lay_out(tmp_path)
    with desk_client(tmp_path) as found:
        yield found


def wait(client: TestClient, until: Callable[[list[Any]], bool]) -> list[Any]:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        runs: list[Any] = client.get("/api/runs").json()["runs"]
        if until(runs):
            return runs
        time.sleep(0.05)
    raise AssertionError(f"the runs did not get there: {runs}")


def states(runs: list[Any]) -> list[str]:
    return [run["state"] for run in runs]


def ask(client: TestClient, *cells: float) -> None:
    answer = client.post("/api/runs", json={"case": CASE, "cells": list(cells)})
    assert answer.status_code == 200, answer.text


@pytest.mark.slow
def test_a_run_is_watched_answered_and_kept_with_its_case(
    client: TestClient, tmp_path: Path
) -> None:
    ask(client, 0.2)
    wait(client, lambda runs: runs[0]["progress"].get("fraction", 0.0) > 0.0)
    edited(client, {"op": "set", "section": "case", "path": ["title"], "value": "Later"})
    runs = wait(client, lambda runs: runs[0]["state"] not in ("waiting", "running"))
    assert states(runs) == ["done"]
    name = runs[0]["result"]
    assert [path.name for path in (tmp_path / "results").iterdir()] == ["small_20cm.vtkhdf"]
    answer = client.get(f"/api/result/{name}/answer").json()
    assert answer["title"] == "Small room"  # as it was when the run was asked for
    assert answer["cold_spots"]
    assert answer["plan"]["rooms"][0]["name"] == "bedroom"
    table, arrays = from_bytes(client.get(f"/api/result/{name}/room").content)
    assert table["title"] == answer["title"]
    assert arrays["field"].shape[0] == len(table["times"])
    found = client.get("/api/compare", params={"result": [name, name], "units": "us"}).json()
    assert found["table"][0] == ["", "A", "B"]
    assert not any("better" in line and "neither" not in line for line in found["summary"])
    assert client.get("/api/results").json()["results"][0]["name"] == name


@pytest.mark.slow
def test_cancelling_ends_the_run_and_what_waits_with_it(client: TestClient, tmp_path: Path) -> None:
    ask(client, 0.1, 0.05)
    ask(client, 0.2)
    runs = wait(client, lambda runs: runs[0]["progress"].get("fraction", 0.0) > 0.0)
    assert states(runs) == ["running", "waiting", "waiting"]
    client.post(f"/api/runs/{runs[0]['number']}/cancel", json={})
    runs = wait(client, lambda runs: runs[2]["state"] == "running")
    assert states(runs) == ["cancelled", "cancelled", "running"]
    client.post(f"/api/runs/{runs[2]['number']}/cancel", json={})
    wait(client, lambda runs: runs[2]["state"] == "cancelled")
    assert list((tmp_path / "results").iterdir()) == []


@pytest.mark.slow
def test_a_search_and_a_lesson_wait_in_the_same_queue_and_keep_what_they_ran(
    client: TestClient, tmp_path: Path
) -> None:
    for what in ("place", "lesson"):
        answer = client.post("/api/runs?units=us", json={"case": CASE, "what": what})
        assert answer.status_code == 200, answer.text
    runs = wait(client, lambda runs: "best so far" in runs[0]["progress"].get("stage", ""))
    assert states(runs) == ["running", "waiting"]
    client.post(f"/api/runs/{runs[0]['number']}/cancel", json={})
    runs = wait(client, lambda runs: "(1 of" in runs[1]["progress"].get("stage", ""))
    client.post(f"/api/runs/{runs[1]['number']}/cancel", json={})
    runs = wait(client, lambda runs: runs[1]["state"] != "running")
    assert states(runs) == ["cancelled", "cancelled"]
    assert (tmp_path / "results/small_placed.jsonl").read_text().count("\n") >= 1
    assert client.get("/api/lesson/results/small_lesson/lesson.html").status_code == 404


@pytest.mark.parametrize("cells", [[], [0.01], [0.5], ["0.1"], [1], [float("1e9")], "0.1", None])
def test_cells_that_cannot_be_run_are_refused(client: TestClient, cells: Any) -> None:
    answer = client.post("/api/runs", json={"case": CASE, "cells": cells})
    assert answer.status_code == 400
    assert client.get("/api/runs").json()["runs"] == []


def test_a_case_that_does_not_load_is_not_run(client: TestClient, tmp_path: Path) -> None:
    (tmp_path / "home/layout.toml").write_text("name = 3\n")
    answer = client.post("/api/runs", json={"case": CASE, "cells": [0.2]})
    assert answer.status_code == 422
    assert answer.json()["error"].startswith("home/layout.toml:")
    assert client.post("/api/runs/7/cancel", json={}).status_code == 404
