"""The airflow solver against published tables and exact solutions; see ``airflow_problems``."""

import pytest
from airflow_problems.all_problems import PROBLEMS
from airflow_problems.problem import Problem


def _case(problem: Problem) -> object:
    marks = [pytest.mark.slow] if problem.is_slow else []
    return pytest.param(problem, id=f"{problem.name}, {problem.mesh}", marks=marks)


@pytest.mark.parametrize("problem", [_case(problem) for problem in PROBLEMS])
def test_the_solver_meets_the_band(problem: Problem) -> None:
    missed = [
        f"{figure.name}: {figure.ours:.6g}, not in {figure.low:.6g} to {figure.high:.6g}"
        for figure in problem.figures()
        if figure.is_binding and not figure.is_met
    ]
    assert not missed
