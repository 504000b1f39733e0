"""Plans: what they cross, how they are cut into parts, how bad ones are refused."""

import dataclasses
from pathlib import Path

import pytest

from simulator.errors import CaseError
from simulator.studies.campaign.job import case_of
from simulator.studies.campaign.plan import batches, read_plan, shard_of
from simulator.studies.random_dwellings.random_dwelling import random_dwelling
from tests.unit.campaign.tiny import PLAN, write_plan


def test_a_plan_crosses_everything_once(tmp_path: Path) -> None:
    plan, jobs = read_plan(write_plan(tmp_path))
    assert plan.cell == pytest.approx(0.30)
    # "none" has no numbers, so it is one run a dwelling; 6 m² is the usual number
    assert [(job.dwelling, job.rule, job.numbers) for job in jobs[:5]] == [
        ("one.toml", "none", ()),
        ("one.toml", "corners", (("floor_per_fan", 3.0),)),
        ("one.toml", "corners", ()),
        ("one.toml", "ring", (("floor_per_fan", 3.0),)),
        ("one.toml", "ring", ()),
    ]
    assert len(jobs) == len({job.key for job in jobs}) == 10


def test_drawn_dwellings_are_crossed_with_states_and_changes(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(
        'title = "x"\nrules = ["corners"]\npreparations = ["as found", "prepared"]\n'
        "[dwellings]\nfirst_seed = 7\ncount = 3\nseeds = [8, 20]\n"
        '[changes]\n"treatment.horizon" = ["2 h", "3 h"]\n'
    )
    _, jobs = read_plan(path)
    assert len(jobs) == 4 * 2 * 2
    assert list(dict.fromkeys(job.seed for job in jobs)) == [7, 8, 9, 20]
    case = case_of(jobs[1])
    assert (case.preparation, case.treatment.horizon) == ("as found", 10800.0)
    assert case.layout == "in the corners, along the walls"


def test_the_search_is_a_job_of_the_first_dwellings(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text('title = "x"\nrules = ["none"]\nplace = 2\n[dwellings]\ncount = 3\n')
    jobs = read_plan(path)[1]
    assert [(job.seed, job.rule) for job in jobs if job.rule == "place"] == [
        (1, "place"),
        (2, "place"),
    ]
    assert len(jobs) == 5


def test_kinds_choose_among_the_seeds(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    text = 'title = "x"\nrules = ["none"]\n[dwellings]\ncount = 4\nkinds = ["studio"]\n'
    path.write_text(text)
    jobs = read_plan(path)[1]
    assert len(jobs) == 4
    assert all(random_dwelling(job.seed or 0).kind == "studio" for job in jobs)
    path.write_text(text.replace('"studio"', '"studioo"'))
    with pytest.raises(CaseError, match=r"unknown kind 'studioo'.*did you mean 'studio'"):
        read_plan(path)


def test_keys_follow_the_texts_and_the_settings(tmp_path: Path) -> None:
    _, jobs = read_plan(write_plan(tmp_path))
    _, again = read_plan(write_plan(tmp_path))
    assert [job.key for job in jobs] == [job.key for job in again]
    job = jobs[0]
    for change in ({"cell_size": 0.2}, {"method": "ordinary"}, {"texts": (("one.toml", "x"),)}):
        assert dataclasses.replace(job, **change).key != job.key


@pytest.mark.parametrize("of", [1, 2, 3, 5])
def test_parts_make_up_the_whole_and_keep_dwellings_together(tmp_path: Path, of: int) -> None:
    _, jobs = read_plan(write_plan(tmp_path))
    parts = [shard_of(jobs, number + 1, of) for number in range(of)]
    assert sorted(job.key for part in parts for job in part) == sorted(job.key for job in jobs)
    for part in parts:
        for batch in batches(part, 4):
            assert len(batch) <= 4
            assert len({job.place for job in batch}) == 1


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"corners"', '"cornres"', r"rules\[entry 2\]: unknown rule 'cornres'.*mean 'corners'"),
        ('"0.30 m"', '"0.5 m"', "cell: 0.5 m; allowed: 0.05 to 0.30 m"),
        ('"0.30 m"', '"0.3"', "plan.toml:3: cell: .*unit"),
        ("floor_per_fan", "floor_per_fen", "unknown number 'floor_per_fen'.*'floor_per_fan'"),
        ('"3 m2"', '"3 kg"', "numbers.*'kg'"),
        ('"3 m2"', '"0 m2"', "plan.toml:7: numbers: floor_per_fan: '0 m2' is not allowed"),
        ("floor_per_fan = [", "tilt = ['100 deg'] # ", "tilt: '100 deg' .* from -90 to 90 deg"),
        ("floor_per_fan = [", "seed = [1.5] # ", "seed: 1.5 is no whole number"),
        ('files = ["one.toml", "two.toml"]', "count = 0", "dwellings: names none"),
        ('"two.toml"', '"three.toml"', "three.toml does not exist|three.toml"),
        ("[numbers]", "[figures]", "unknown key 'figures'"),
    ],
)
def test_bad_plans_are_refused_with_their_line(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    path = write_plan(tmp_path, PLAN.replace(old, new, 1))
    with pytest.raises(CaseError, match=message):
        read_plan(path)
