"""The table of problems with a known answer: ours beside the reference, case by case."""

import os
import platform
import sys
import time
from collections.abc import Sequence
from math import isfinite, isnan
from pathlib import Path

import numba
import numpy as np
from known_answers import Figure, Problem

COLUMNS = """
| case | source | cells | figure | reference | ours | error | band | verdict | CPU s |
|---|---|---|---|--:|--:|--:|---|---|--:|
"""


def machine() -> str:
    """Say what the figures were made with."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    versions = f"numpy {np.__version__}, numba {numba.__version__}"
    return f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}, {versions}."


def error(figure: Figure) -> str:
    """Say how far ours is from the reference: as it is, or as a share where there is no unit."""
    if figure.unit:
        return f"{figure.ours - figure.reference:+.3g} {figure.unit}"
    if isnan(figure.reference) or figure.reference == 0.0:
        return ""
    share = 100.0 * (figure.ours / figure.reference - 1.0)
    return f"{share:+.2f} %" if abs(share) >= 0.005 else "< 0.01 %"


def band(figure: Figure) -> str:
    """Say where ours must lie."""
    if not isfinite(figure.low):
        return f"≤ {figure.high:.4g}"
    if not isfinite(figure.high):
        return f"≥ {figure.low:.4g}"
    if figure.low == 0.0 == figure.reference:
        return f"≤ {figure.high:.4g}"
    return f"{figure.low:.5g} … {figure.high:.5g}"


def verdict(figure: Figure, is_tested: bool) -> str:
    """Say whether the band is met and whether the tests ask for it."""
    word = "met" if figure.is_met else "**missed**"
    return word if figure.is_binding and is_tested else f"{word} (report only)"


def rows(
    problem: Problem, figures: tuple[Figure, ...], seconds: float, is_tested: bool
) -> list[str]:
    """Return the rows of one problem; what they share stands in the first."""
    lines = []
    for n, figure in enumerate(figures):
        own = (problem.name, problem.source, problem.mesh) if n == 0 else ("", "", "")
        reference = "" if isnan(figure.reference) else f"{figure.reference:.5g}"
        cells = (
            *own,
            figure.name,
            reference,
            f"{figure.ours:.4g}" if figure.reference == 0.0 else f"{figure.ours:.5g}",
            error(figure),
            band(figure),
            verdict(figure, is_tested),
            f"{seconds:.1f}" if n == 0 else "",
        )
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def report(
    page: Path, preface: str, tested: Sequence[Problem], reported: Sequence[Problem], word: str
) -> int:
    """Solve, print, write the page; return 1 if a binding band is missed.

    With a ``word``, only problems that have it in their name are solved and no file is written.
    """
    head = f"{preface}\n{machine()}\n{COLUMNS}"
    print(head, end="", flush=True)
    lines, missed = [], 0
    for problem in (*tested, *reported):
        if word not in problem.name:
            continue
        print(f"{problem.name}, {problem.mesh}", file=sys.stderr)
        start = time.process_time()
        figures = problem.figures()
        new = rows(problem, figures, time.process_time() - start, problem in tested)
        print("\n".join(new), flush=True)
        lines += new
        missed += sum(figure.is_binding and not figure.is_met for figure in figures)
    if lines and not word:
        page.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    return 1 if missed else 0
