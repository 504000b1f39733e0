"""Whole studies of tiny rooms: one process, several, a cluster with a worker that is killed."""

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from simulator.cli.program import roomsoak
from simulator.output.field_file import read_result
from simulator.studies.campaign import executors
from simulator.studies.campaign.job import Row
from simulator.studies.campaign.plan import batches, read_plan
from simulator.studies.campaign.store import Store
from simulator.studies.campaign.table import csv_text, ordered
from tests.unit.campaign.tiny import PLAN, write_plan


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


def study(plan: Path, out: Path, *options: str) -> Result:
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
    page = (whole / "study.md").read_text()
    assert "10 runs in 2 dwellings, on cells of 0.3 m" in page
    assert (whole / "league.png").is_file()
    assert (whole / "worst.png").is_file()


def test_a_second_call_runs_nothing_and_writes_the_same_bytes(plan: Path, whole: Path) -> None:
    names = ("runs.csv", "runs.jsonl", "study.md", "league.png", "worst.png")
    before = {name: (whole / name).read_bytes() for name in names}
    done = study(plan, whole)
    assert "10 runs, 0 to be made" in done.output
    assert {name: (whole / name).read_bytes() for name in names} == before


def test_parts_joined_give_the_whole_to_the_last_byte(
    plan: Path, whole: Path, tmp_path: Path
) -> None:
    for part in ("1/2", "2/2"):
        assert study(plan, tmp_path / part[0], "--shard", part).exit_code == 0
    joined = tmp_path / "joined"
    joined.mkdir()
    shutil.copy(tmp_path / "1" / "runs-1-of-2.jsonl", joined)
    shutil.copy(tmp_path / "2" / "runs-2-of-2.jsonl", joined)
    done = study(plan, joined)
    assert "10 runs, 0 to be made" in done.output
    assert table(joined) == table(whole)


def test_what_was_done_before_a_stop_is_not_done_again(
    plan: Path, whole: Path, tmp_path: Path
) -> None:
    kept = (whole / "runs.jsonl").read_bytes().splitlines(keepends=True)
    (tmp_path / "runs.jsonl").write_bytes(b"".join(kept[:8]) + kept[8][:100])  # torn
    done = study(plan, tmp_path)
    assert "10 runs, 2 to be made" in done.output
    assert table(tmp_path) == table(whole)


def test_a_run_that_cannot_be_made_is_a_row_and_an_exit_code(tmp_path: Path) -> None:
    path = write_plan(tmp_path, PLAN.replace('"two.toml"', "").replace('"ring"', ""))
    text = (tmp_path / "one.toml").read_text()
    change = '\n[changes]\n"layout.equipment.heater.at" = [["0.3 m", "1.8 m"]]\n'
    path.write_text(path.read_text() + change)
    done = study(path, tmp_path / "out")
    assert done.exit_code == 1
    assert "must blow from free air" in done.output
    rows = Store(tmp_path / "out").rows().values()
    assert len(rows) == 3
    assert all("must blow" in row["error"] and row["mean_hours"] is None for row in rows)
    assert text == (tmp_path / "one.toml").read_text()


def test_result_files_are_kept_if_asked_and_a_dry_run_runs_nothing(tmp_path: Path) -> None:
    path = write_plan(tmp_path, PLAN.replace(', "two.toml"', "").replace(', "corners", "ring"', ""))
    assert "1 runs, 1 to be made" in study(path, tmp_path / "out", "--dry-run").output
    assert study(path, tmp_path / "out", "--results").exit_code == 0
    (row,) = Store(tmp_path / "out").rows().values()
    kept = read_result(tmp_path / "out" / f"{row['key']}.vtkhdf")
    assert kept.case.title == "tiny"


def killing(rows: Iterator[list[Row]], victims: Callable[[], list[int]], store: Store) -> list[str]:
    """Store rows as they come, kill processes after the first, return the keys that came."""
    came: list[str] = []
    for few in rows:
        if not came:
            for victim in victims():
                os.kill(victim, signal.SIGKILL)
        store.add(few)
        came += [row["key"] for row in few]
    return came


@pytest.mark.slow
def test_a_killed_worker_of_a_cluster_loses_nothing(
    plan: Path, whole: Path, tmp_path: Path
) -> None:
    distributed = pytest.importorskip("distributed")
    work = batches(read_plan(plan)[1], 1)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        rows = executors.run_on_cluster(work, cluster.scheduler_address)
        first = next(iter(cluster.workers.values()))
        came = killing(rows, lambda: [first.process.pid], Store(tmp_path))
    assert sorted(came) == sorted(Store(whole).rows())
    assert csv_text(ordered(Store(tmp_path).rows().values())).encode() == table(whole)


@pytest.mark.slow
def test_a_killed_process_of_this_machine_loses_nothing(
    plan: Path, whole: Path, tmp_path: Path
) -> None:
    import multiprocessing

    def one_child() -> list[int]:
        return [multiprocessing.active_children()[0].pid or 0]

    rows = executors.run_in_processes(batches(read_plan(plan)[1], 1), 2)
    came = killing(rows, one_child, Store(tmp_path))
    assert sorted(came) == sorted(Store(whole).rows())
    assert csv_text(ordered(Store(tmp_path).rows().values())).encode() == table(whole)


def test_a_cluster_that_does_not_answer_is_told_in_one_line(plan: Path) -> None:
    pytest.importorskip("distributed")
    work = batches(read_plan(plan)[1], 1)
    with pytest.raises(executors.ClusterError, match="no scheduler answers"):
        next(executors.run_on_cluster(work, "tcp://127.0.0.1:9", timeout=0.5))
