"""The airflow solver against published tables and exact solutions; see ``airflow_problems``."""

import pytest
from airflow_problems.all_problems import PROBLEMS
from known_answers import Problem, missed


def _case(problem: Problem) -> object:
    marks = [pytest.mark.slow] if problem.is_slow else []
    return pytest.param(problem, id=f"{problem.name}, {problem.mesh}", marks=marks)


@pytest.mark.parametrize("problem", [_case(problem) for problem in PROBLEMS])
def test_the_solver_meets_the_band(problem: Problem) -> None:
    assert not missed(problem)
