"""How near is the airflow to what was published or is exact, case by case?

Solves every problem of ``airflow_problems`` and writes the table to standard output and to
``benchmarks/AIRFLOW_REPORT.md``; progress goes to standard error. Exits with 1 if a binding band is
missed. A word in the command line restricts it to the problems that have it in their name, and then
no file is written.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_report.py`` (4 minutes)
"""

import sys
from pathlib import Path

from airflow_problems.all_problems import PROBLEMS, REPORTED
from report_table import report

PAGE = Path(__file__).resolve().parent / "AIRFLOW_REPORT.md"

PREFACE = """# The airflow against published and exact flows

Made by `OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_report.py`; do not edit by
hand. The problems stand in `tests/airflow_problems/`, and `tests/verification/` asks for every band
that is not marked *report only*. Volumes and pages of the sources are from memory.
"""

if __name__ == "__main__":
    raise SystemExit(report(PAGE, PREFACE, PROBLEMS, REPORTED, " ".join(sys.argv[1:])))
