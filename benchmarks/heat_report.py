"""How near is the heat to what was published or is exact, case by case?

Solves every problem of ``heat_problems`` and writes the table to standard output and to
``benchmarks/HEAT_REPORT.md``; progress goes to standard error. Exits with 1 if a binding band is
missed. A word in the command line restricts it to the problems that have it in their name, and then
no file is written.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/heat_report.py`` (2 minutes)
"""

import sys
from pathlib import Path

from heat_problems.all_problems import PROBLEMS, REPORTED
from report_table import report

PAGE = Path(__file__).resolve().parent / "HEAT_REPORT.md"

PREFACE = """# The heat against published and exact solutions

Made by `OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/heat_report.py`; do not edit by
hand. The problems stand in `tests/heat_problems/`, and `tests/verification/` asks for every band
that is not marked *report only*. "From memory" marks what was not seen in print; "for this project"
what was computed for it from closed forms.
"""

if __name__ == "__main__":
    raise SystemExit(report(PAGE, PREFACE, PROBLEMS, REPORTED, " ".join(sys.argv[1:])))
