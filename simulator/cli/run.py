"""``roomsoak run``: from a case file to the answer, its file and its pictures."""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from simulator.cli.band import append_band
from simulator.cli.exit_codes import COLD_SPOTS_REMAIN
from simulator.cli.options import case_argument, cell_option, json_option, units_option
from simulator.errors import Interrupted, ResultError
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.assessment.assessment import Assessment
    from simulator.case.case import Case
    from simulator.run_cost import Estimate
    from simulator.simulation import Run
    from simulator.studies.band import Band
    from simulator.studies.grid_error import GridError
    from simulator.units import System


@dataclass(frozen=True, slots=True)
class Files:
    """What a run writes."""

    result: Path
    picture: Path
    curves: Path
    checkpoint: Path

    @classmethod
    def beside(cls, result: Path) -> "Files":
        """Return the names that go with a result file."""
        stem = result.stem
        return cls(
            result,
            result.with_name(f"{stem}.png"),
            result.with_name(f"{stem}_curves.png"),
            result.with_name(f"{stem}.checkpoint.npz"),
        )

    def refuse_to_overwrite(self, *, with_pictures: bool) -> None:
        """Raise if the folder is missing or a file is there already."""
        if not self.result.parent.is_dir():
            raise ResultError(f"{self.result.parent}: no such folder; make it first")
        written = [self.result, *([self.picture, self.curves] if with_pictures else [])]
        refuse_to_overwrite(written)


@click.command(short_help="Simulate a case: when is it done, what stays cold.")
@case_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The result file; pictures go beside it.  [default: ./CASE.vtkhdf]",
)
@cell_option
@units_option
@json_option
@click.option("--dry-run", is_flag=True, help="Only say how large and how long the run would be.")
@click.option("--resume", is_flag=True, help="Go on from the checkpoint of a run that was stopped.")
@click.option("--force", is_flag=True, help="Replace files that are there already.")
@click.option("--no-picture", is_flag=True, help="Write the result file only.")
@click.option(
    "--no-companion",
    is_flag=True,
    help="Skip the companion run on coarser cells that tells the error of the cells.",
)
@click.option(
    "--band",
    "with_band",
    is_flag=True,
    help="Also run it many times over with what is uncertain varied: how sure the answer is.",
)
@click.option("-q", "--quiet", is_flag=True, help="No progress and no notes.")
@click.option("-v", "--verbose", is_flag=True, help="Also print where the heat went.")
def run(
    case_path: Path,
    out: Path | None,
    cell_size: float,
    units: "System",
    as_json: bool,
    dry_run: bool,
    resume: bool,
    force: bool,
    no_picture: bool,
    no_companion: bool,
    with_band: bool,
    quiet: bool,
    verbose: bool,
) -> None:
    """Simulate CASE and print when each hiding place is done and which stay cold."""
    from simulator.assessment.plan_warnings import plan_warnings
    from simulator.case.load import load
    from simulator.case.size import check_size

    case = load(case_path)
    check_size(case, cell_size)
    for warning in plan_warnings(case, units):
        click.echo(f"warning: {warning}", err=True)
    if dry_run:
        _print_estimate(case, cell_size, as_json=as_json)
        return
    files = Files.beside(out or Path(f"{case_path.stem}.vtkhdf"))
    if not force:
        files.refuse_to_overwrite(with_pictures=not no_picture)
    done = _simulated(case, case_path.name, cell_size, files, units, resume=resume, quiet=quiet)
    assessment = _judged_and_written(case, case_path.name, cell_size, done, files)
    written = [files.result]
    if not no_picture:
        written += _drawn(case, done, assessment, files, units, quiet=quiet)
    studied, trouble = Studied(), None
    try:  # the run is done: its answer comes first, whatever happens now
        if not no_companion:
            error = _companion(case, cell_size, assessment, files, units, quiet=quiet)
            studied = replace(studied, error=error)
        if with_band:
            sure = append_band(case, cell_size, assessment, files.result, units, quiet=quiet)
            studied = replace(studied, band=sure)
    except (Interrupted, ResultError) as caught:
        trouble = caught
    _print_answer(case, done, assessment, studied, written, units, as_json=as_json, verbose=verbose)
    if trouble is not None:
        raise trouble
    if not assessment.is_all_done:
        click.get_current_context().exit(COLD_SPOTS_REMAIN)


@dataclass(frozen=True, slots=True)
class Studied:
    """What was found by runs beside the run; None: not asked for, or not told by them."""

    error: "GridError | None" = None
    band: "Band | None" = None


def _simulated(
    case: "Case",
    main: str,
    cell_size: float,
    files: Files,
    units: "System",
    *,
    resume: bool,
    quiet: bool,
) -> "Run":
    """Return the run, with progress on stderr and a checkpoint beside the result."""
    from simulator import simulation
    from simulator.cli.progress import progress_report
    from simulator.output.checkpoint_file import CheckpointFile
    from simulator.output.field_file import current_versions, run_hash

    version = current_versions()["roomsoak"]
    checkpoint = CheckpointFile(files.checkpoint, run_hash(case.sources, main, cell_size, version))
    if files.checkpoint.exists() and not resume and not quiet:
        click.echo(f"{files.checkpoint}: not used; --resume would go on from it", err=True)
    if resume and not files.checkpoint.exists() and not quiet:
        click.echo(f"{files.checkpoint}: no checkpoint; starting from the beginning", err=True)
    with progress_report(units, is_quiet=quiet) as report:
        return simulation.simulate(
            case, cell_size, progress=report, checkpoint=checkpoint, resume=resume
        )


def _judged_and_written(
    case: "Case", main: str, cell_size: float, done: "Run", files: Files
) -> "Assessment":
    """Return the assessment; the result file is written and the checkpoint removed."""
    from simulator.assessment.assess import assess
    from simulator.output.field_file import write_result

    write_result(files.result, case, cell_size, done.grid, done.history, main=main, force=True)
    files.checkpoint.unlink(missing_ok=True)
    return assess(case, done.grid, done.history)


def _companion(
    case: "Case",
    cell_size: float,
    assessment: "Assessment",
    files: Files,
    units: "System",
    *,
    quiet: bool,
) -> "GridError | None":
    """Return what the size of the cells does to the answer; it is appended to the result file."""
    from simulator.cli.progress import progress_report
    from simulator.output.findings import append_findings
    from simulator.studies import grid_error

    if grid_error.companion_cell_size(cell_size) is None:
        return None
    if not quiet:
        click.echo("companion run on coarser cells (--no-companion skips it)", err=True)
    try:
        with progress_report(units, is_quiet=quiet) as report:
            found = grid_error.grid_error(case, cell_size, assessment, progress=report)
    except Interrupted as stop:
        raise Interrupted(
            f"interrupted; {files.result} holds the whole run, its companion run is left out"
        ) from stop
    append_findings(files.result, grid_error.NAME, found)
    return found


def _drawn(
    case: "Case",
    done: "Run",
    assessment: "Assessment",
    files: Files,
    units: "System",
    *,
    quiet: bool,
) -> list[Path]:
    """Return the pictures written; without OpenGL the room is drawn as a plan, with a note."""
    from simulator.output.graphics_check import graphics_problem
    from simulator.output.pictures import draw_room
    from simulator.output.plots import SetPointPlan, plot_curves

    problem = graphics_problem()
    if problem and not quiet:
        click.echo(f"the picture is a plan: {problem}", err=True)
    draw_room(case, done.grid, done.history, assessment, files.picture, units=units)
    plot_curves(
        done.history,
        assessment,
        files.curves,
        plan=SetPointPlan(case.treatment, case.dwelling.start_temperature),
        title=case.title,
        units=units,
    )
    return [files.picture, files.curves]


def _print_answer(
    case: "Case",
    done: "Run",
    assessment: "Assessment",
    studied: Studied,
    written: list[Path],
    units: "System",
    *,
    as_json: bool,
    verbose: bool,
) -> None:
    from simulator.assessment import summary
    from simulator.studies import band_words, grid_error

    error, sure = studied.error, studied.band
    if as_json:
        table = summary.as_json(assessment, case, done.history.time)
        table["grid_error"] = summary.plain(error)
        table["band"] = summary.plain(sure)
        table["files"] = [str(path) for path in written]
        click.echo(json.dumps(table, indent=2, ensure_ascii=False))
        return
    told = NOT_ESTIMATED if error is None else grid_error.in_words(error, units)
    for line in summary.summary_lines(assessment, case, units, more_limits=(told,)):
        click.echo(line)
    if sure is not None:
        click.echo()
        for line in summary.paragraphs(band_words.TITLE, band_words.in_words(sure, units)):
            click.echo(line)
    if verbose:
        click.echo()
        for line in ledger_lines(done):
            click.echo(line)
    click.echo()
    click.echo("Written: " + ", ".join(str(path) for path in written))


def ledger_lines(done: "Run") -> list[str]:
    """Return where the heat of a run came from and went to [kWh]."""
    from simulator.units import format_quantity

    ledger = done.history.ledger
    terms = (
        ("from heaters", ledger.heaters),
        ("from fans and appliances", ledger.fans_and_appliances),
        *([("in with things brought in", ledger.carried)] if ledger.carried.any() else []),
        ("out with leaking air", ledger.leaks),
        ("out through the shell", ledger.envelope),
        ("kept by the air", ledger.stored_air),
        ("kept by furniture and contents", ledger.stored_solids),
        ("kept by the shell", ledger.stored_envelope),
    )
    return [
        "Where the heat came from and went",
        *(
            f"  {name:<32}{format_quantity(float(values[-1]), 'energy'):>14}"
            for name, values in terms
        ),
    ]


def _print_estimate(case: "Case", cell_size: float, *, as_json: bool) -> None:
    from simulator import run_cost
    from simulator.cli.doctor import total_memory

    estimate = run_cost.estimate(case, cell_size)
    if as_json:
        click.echo(json.dumps(estimate_table(estimate), indent=2))
        return
    memory = total_memory()
    here = f" of {memory / 2**30:.1f} GiB here" if memory else ""
    click.echo(f"cells      {estimate.cells:,}, of them {estimate.open_cells:,} with air")
    click.echo(f"unknowns   {estimate.unknowns:,}")
    click.echo(f"memory     about {estimate.memory_bytes / 2**30:.2f} GiB{here}")
    click.echo(f"time       about {_duration(estimate.seconds)}")
    click.echo(f"basis      {ESTIMATE_BASIS}")


#: Said where no companion run was made.
NOT_ESTIMATED = (
    "The error of the cells is not estimated; a run at 0.15 m (6 in) or finer estimates it by a "
    "companion run."
)
#: Where the figures of --dry-run come from.
ESTIMATE_BASIS = (
    "costs per cell measured on one core of a two-core machine; others differ by a factor of two "
    "or more, and the first run also compiles"
)


def estimate_table(estimate: "Estimate") -> dict[str, Any]:
    """Return an estimate as plain JSON."""
    return {
        "cells": estimate.cells,
        "open_cells": estimate.open_cells,
        "unknowns": estimate.unknowns,
        "memory_bytes": estimate.memory_bytes,
        "seconds": estimate.seconds,
        "basis": ESTIMATE_BASIS,
    }


def _duration(seconds: float) -> str:
    from simulator.units import format_quantity

    return format_quantity(seconds, "time")
