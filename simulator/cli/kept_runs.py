"""Runs that commands need before they can show anything, with progress and companion runs."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from simulator.case.case import Case
    from simulator.output.field_file import Result
    from simulator.output.kept_results import KeptResults
    from simulator.units import System


def kept_or_run(
    kept: "KeptResults",
    case: "Case",
    cell_size: float,
    word: str,
    units: "System",
    *,
    companion: bool,
    quiet: bool,
) -> "Result":
    """Return the result of a case, from the folder or from a run that is then kept there.

    A run that is stopped leaves a checkpoint from which the next call goes on.

    Parameters
    ----------
    word : begins the file's name.
    companion : also find the error of the cells, if they are fine enough for it.
    """
    from simulator.assessment.assess import assess
    from simulator.cli.progress import progress_report
    from simulator.output import kept_runs
    from simulator.output.field_file import read_result
    from simulator.output.findings import append_findings
    from simulator.studies import grid_error

    path = kept.path(case, cell_size, word)
    with progress_report(units, is_quiet=quiet) as report:
        result = kept_runs.kept_or_run(kept, case, cell_size, word, progress=report)
    needs = companion and grid_error.companion_cell_size(cell_size) is not None
    if needs and grid_error.NAME not in result.findings:
        if not quiet:
            click.echo("companion run on coarser cells (--no-companion skips it)", err=True)
        judged = assess(result.case, result.grid, result.history)
        with progress_report(units, is_quiet=quiet) as report:
            found = grid_error.grid_error(result.case, cell_size, judged, progress=report)
        append_findings(path, grid_error.NAME, found)
        result = read_result(path)
    return result
