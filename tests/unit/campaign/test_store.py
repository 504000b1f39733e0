"""The store and the table: nothing lost, nothing twice, the same bytes every time."""

import random
from pathlib import Path

import numpy as np
import pytest

from simulator.errors import ResultError
from simulator.studies.campaign.job import Row
from simulator.studies.campaign.outcome import time_of_share
from simulator.studies.campaign.store import Store
from simulator.studies.campaign.table import csv_text, ordered


def row(key: str, value: float = 1.0, error: str = "") -> Row:
    where = {"dwelling": f"seed {int(key)}", "preparation": "", "layout": "", "rule": "ring"}
    return {"key": key, **where, "value": value, "nothing": None, "error": error}


def test_rows_come_back_from_all_files_of_a_folder(tmp_path: Path) -> None:
    Store(tmp_path / "s", "runs-1-of-2").add([row("1"), row("2")])
    Store(tmp_path / "s", "runs-2-of-2").add([row("3")])
    assert list(Store(tmp_path / "s").rows()) == ["1", "2", "3"]


def test_a_torn_line_is_passed_over_and_ended_by_the_next_row(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.add([row("1"), row("2")])
    path = tmp_path / "runs.jsonl"
    path.write_bytes(path.read_bytes()[:-20])
    assert list(store.rows()) == ["1"]
    store.add([row("3")])
    assert list(store.rows()) == ["1", "3"]


def test_a_run_that_worked_counts_before_one_that_failed(tmp_path: Path) -> None:
    store = Store(tmp_path)
    for rows in ([row("1", error="no memory")], [row("1")], [row("1", error="late")], [row("1")]):
        store.add(rows)
    assert store.rows() == {"1": row("1")}


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("")
    with pytest.raises(ResultError, match="is a file"):
        Store(tmp_path / "x")


def test_the_table_does_not_follow_the_order_of_the_rows() -> None:
    rows = [row(str(number), value=1.0 / (number + 3)) for number in range(12)]
    text = csv_text(ordered(rows))
    random.Random(5).shuffle(rows)
    assert csv_text(ordered(rows)) == text
    lines = text.splitlines()
    assert lines[0] == "key,dwelling,preparation,layout,rule,value,nothing,error"
    assert lines[3] == "2,seed 2,,,ring,0.2,,"
    assert [line.split(",")[1] for line in lines[9:13]] == [
        "seed 8",
        "seed 9",
        "seed 10",
        "seed 11",
    ]


def test_time_of_a_share_counts_litres_and_knows_never() -> None:
    done = np.array([10.0, 30.0, np.nan, 20.0])
    litres = np.array([1.0, 2.0, 1.0, 6.0])
    assert time_of_share(done, litres, 0.1) == 10.0
    assert time_of_share(done, litres, 0.7) == 20.0
    assert time_of_share(done, litres, 0.9) == 30.0
    assert np.isnan(time_of_share(done, litres, 0.95))
