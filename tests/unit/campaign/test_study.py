"""Whole studies of tiny rooms: one process, several, a cluster with a worker that is killed."""

import os
import signal
from pathlib import Path

import pytest
from click.testing import CliRunner

from simulator.cli.program import roomsoak
from simulator.studies.campaign.plan import read_plan
from simulator.studies.campaign.store import Store
from simulator.studies.campaign.table import csv_text, ordered
from tests.unit.campaign.tiny import write_plan

pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_plan(tmp_path_factory.mktemp("study"))


@pytest.fixture(scope="module")
def whole(plan: Path) -> Path:
    """Return the folder of the study run in one process by the command."""
    out = plan.parent / "whole"
    done = study(plan, out)
    assert done.exit_code == 0, done.output
    return out


def study(plan: Path, out: Path, *options: str):
    return CliRunner().invoke(roomsoak, ["study", str(plan), "--out", str(out), *options])


def table(folder: Path) -> bytes:
    return (folder / "runs.csv").read_bytes()


def test_every_run_has_a_row_with_figures(plan: Path, whole: Path) -> None:
    rows = Store(whole).rows()
    assert set(rows) == {job.key for job in read_plan(plan)[1]}
    for row in rows.values():
        assert row["error"] == ""
        assert 0.0 < row["mean_hours"] <= 0.25 + 1e-9
        assert row["imbalance"] < 1e-6
        few = 0 if row["rule"] == "none" else round(5.0 / row["floor_per_fan"]) or 1
        assert row["fans"] in (few, few + 1)


def check_survival(rows, victims, whole: Path, out: Path) -> None:
    store, came = Store(out), []
    for few in rows:
        if not came:
            for victim in victims:
                os.kill(victim, signal.SIGKILL)
        store.add(few)
        came += [row["key"] for row in few]
    assert len(came) == len(set(came)) == 10
    assert csv_text(ordered(store.rows().values())).encode() == table(whole)
