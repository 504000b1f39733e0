"""Running many cases: the same verdicts in this process and in others, whatever befalls these."""

import dataclasses
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator import simulation
from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.variants import main_of, varied
from simulator.errors import CaseError, Interrupted
from simulator.furnished import furnish
from simulator.run_settings import ORDINARY, QUICK
from simulator.studies import evaluate
from simulator.studies.evaluate import (
    Failed,
    Task,
    Workers,
    answer,
    one_thread,
    or_failed,
    run_task,
)

SOUND = Path(__file__).parents[2] / "contracts" / "sound.toml"


@pytest.fixture(scope="module")
def case() -> Case:
    return load(SOUND, overrides={"treatment.horizon": "10 min"})


def test_a_varied_case_is_the_case_with_other_values(case: Case) -> None:
    same = varied(case, {})
    assert same.parts == case.parts
    assert main_of(same) == SOUND.name
    longer = varied(case, {"treatment.horizon": "20 min"})
    assert longer.treatment == replace(case.treatment, horizon=1200.0)
    name = next(iter(case.furniture_words))
    fewer = varied(case, {}, remove=[name])
    assert name not in fewer.furniture_words
    with pytest.raises(CaseError, match="horizon"):
        varied(case, {"treatment.horizon": "a while"})


def test_other_processes_find_the_same_to_the_last_bit(case: Case) -> None:
    warmer = varied(case, {"dwelling.start": "30 degC"})
    tasks = [Task.of(one, 0.2) for one in (case, warmer)]
    here = [answer(run_task(task)) for task in tasks]
    with Workers(2) as workers:
        workers.lay_ahead(case, 0.2)  # changes nothing
        there = [answer(outcome) for outcome in workers.outcomes(tasks)]
    for ours, theirs in zip(here, there, strict=True):
        np.testing.assert_array_equal(ours.egg_dose, theirs.egg_dose)
        np.testing.assert_array_equal(ours.coldest, theirs.coldest)
    assert here[1].coldest[0] == pytest.approx(30.0, abs=0.01)
    assert here[0].coldest[0] < 29.0


def test_what_cannot_be_laid_ahead_is_told_by_its_task(case: Case) -> None:
    broken = replace(case, sources={main_of(case): "title = 3"})
    with Workers(1) as workers:
        workers.lay_ahead(case, 0.2)
        assert workers._pool is None
    with Workers(2) as workers:
        workers.lay_ahead(broken, 0.2)
        found = workers.outcomes([Task.of(broken, 0.2)] * 2)
    assert all(isinstance(one, Failed) and "title" in one.reason for one in found)


def test_a_case_that_cannot_be_run_says_why(case: Case) -> None:
    broken = Task({main_of(case): "title = 3"}, main_of(case), 0.2, QUICK)
    found = run_task(broken)
    assert isinstance(found, Failed)
    assert "title" in found.reason
    assert "\n" not in found.reason
    with pytest.raises(CaseError, match="title"):
        answer(found)


class _Deadly(Task):
    """A task whose process is killed the first time."""

    __slots__ = ()

    def __reduce__(self) -> tuple[object, ...]:
        return _reborn, (self.main, str(self.sources["mark"]))


def _reborn(main: str, mark: str) -> Task:
    """Make the task in the process that is to run it, unless that is killed here."""
    if not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return Task({main: "title = 3"}, main, 0.2, QUICK)


def test_a_killed_process_costs_its_task_one_more_try(tmp_path: Path) -> None:
    deadly = _Deadly({"mark": str(tmp_path / "dead")}, "case.toml", 0.2, QUICK)
    plain = Task({"case.toml": "title = 3"}, "case.toml", 0.2, QUICK)
    with Workers(2) as workers:
        found = workers.outcomes([deadly, plain, plain])
    assert (tmp_path / "dead").exists()
    assert all(isinstance(one, Failed) and "title" in one.reason for one in found)


def test_ctrl_c_is_no_case_that_cannot_be_run() -> None:
    def stopped() -> None:
        raise Interrupted("interrupted at 1 h")

    with pytest.raises(Interrupted):
        or_failed(stopped)


_LONG = """
import time
from simulator.studies.evaluate import Workers

def job(path):
    import os, pathlib
    pathlib.Path(path).write_text(str(os.getpid()))
    time.sleep(600)

if __name__ == "__main__":
    import sys
    with Workers(2) as workers:
        list(workers.each(job, sys.argv[1:]))
"""


def test_processes_end_when_the_one_that_began_them_is_killed(tmp_path: Path) -> None:
    script = tmp_path / "long.py"
    script.write_text(_LONG, encoding="utf-8")
    marks = [tmp_path / "first", tmp_path / "second"]
    parent = subprocess.Popen([sys.executable, str(script), *map(str, marks)])
    try:
        wait_for(lambda: all(mark.exists() and mark.read_text() for mark in marks))
        children = [int(mark.read_text()) for mark in marks]
    finally:
        parent.kill()
        parent.wait()
    wait_for(lambda: not any(is_running(child) for child in children))


def wait_for(condition: Callable[[], bool], seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.05)


def is_running(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2]
    except OSError:
        return False
    return state.split()[0] != "Z"


def test_settings_scale_what_they_name(case: Case) -> None:
    early = 2  # recorded moment: by the tenth minute the surfaces' gain has passed through zero
    base = evaluate.evaluate(case, 0.2).mean[early]
    brisk, stirred, mixed = (
        float(evaluate.evaluate(case, 0.2, settings).mean[early] - base)
        for settings in (
            replace(QUICK, convection_factor=1.3),
            replace(QUICK, surface_speed_factor=1.3),
            replace(QUICK, eddy_factor=2.0),
        )
    )
    # A coefficient grows with no more than the 0.8th power of the speed.
    assert brisk > 0.01  # measured 0.019 K
    assert 0.0 < stirred / brisk < 1.0
    assert mixed != 0.0
    assert one_thread(ORDINARY).first_flow.settings.threads == 1


def test_a_dwelling_laid_before_changes_no_figure(case: Case) -> None:
    """Fans moved or taken out, heaters turned: the laid dwelling serves, to the last bit."""
    laid = furnish(case, 0.2)
    other = varied(case, {"layout.equipment.fan 1.turn": "200 deg"})
    colder = varied(case, {"dwelling.start": "10 degC"})
    emptier = varied(case, {}, remove=[next(iter(case.furniture_words))])
    assert laid.suits(other, 0.2)
    assert not any(laid.suits(*one) for one in ((other, 0.1), (colder, 0.2), (emptier, 0.2)))
    anew = simulation.simulate(other, 0.2, settings=QUICK)
    again = simulation.simulate(other, 0.2, settings=QUICK, furnished=laid)
    for field in dataclasses.fields(anew.history):
        ours, theirs = getattr(anew.history, field.name), getattr(again.history, field.name)
        if isinstance(ours, np.ndarray):
            np.testing.assert_array_equal(ours, theirs, err_msg=field.name)
