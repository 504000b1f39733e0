"""``roomsoak compare``: cases or results side by side, on one scale and at one moment."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import cell_option, json_option, read_moment, units_option
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.output.field_file import Result
    from simulator.units import System

#: How an HDF5 file begins.
_SIGNATURE = b"\x89HDF\r\n\x1a\n"


@click.command(short_help="Set cases or results side by side.")
@click.argument("paths", metavar="A B ...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("compared.png"),
    show_default=True,
    help="The picture.",
)
@click.option(
    "--at",
    "moment",
    metavar="TIME",
    callback=read_moment,
    help="Moment to compare at, such as '2 h'.  [default: when the first heat ends]",
)
@cell_option
@click.option(
    "--keep",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("results"),
    show_default=True,
    help="Folder for the results of cases; those that are there already are not run again.",
)
@units_option
@json_option
@click.option("--force", is_flag=True, help="Replace a picture that is there already.")
@click.option("--no-picture", is_flag=True, help="Print only.")
@click.option(
    "--no-companion",
    is_flag=True,
    help="Skip the companion runs that tell the error of the cells: then nothing is ranked.",
)
@click.option("-q", "--quiet", is_flag=True, help="No progress and no notes.")
def compare(
    paths: tuple[Path, ...],
    out: Path,
    moment: float | None,
    cell_size: float,
    keep: Path,
    units: "System",
    as_json: bool,
    force: bool,
    no_picture: bool,
    no_companion: bool,
    quiet: bool,
) -> None:
    """Compare A with B and others: case files, which are run first, or results of runs."""
    if len(paths) < 2:
        raise click.UsageError("give at least two case files or results to compare")
    if not no_picture:
        refuse_to_overwrite([out], force=force)
    from simulator.assessment.assess import assess
    from simulator.output.comparison_picture import Room, draw_comparison
    from simulator.studies.comparison import answer_of
    from simulator.studies.comparison import compare as compared
    from simulator.studies.comparison_words import as_json as json_of
    from simulator.studies.comparison_words import text_lines

    plan = _Plan(cell_size, keep, units, companion=not no_companion, quiet=quiet)
    results = [_result(path, plan) for path in paths]
    labels = _labels(paths, results, units)
    answers = [
        answer_of(
            label,
            one.case,
            one.cell_size,
            one.grid,
            one.history,
            assess(one.case, one.grid, one.history),
            one.findings,
        )
        for label, one in zip(labels, results, strict=True)
    ]
    found = compared(answers, moment)
    if not no_picture:
        rooms = [Room(one.grid, one.history) for one in results]
        draw_comparison(found, rooms, out, units=units)
    if as_json:
        table = json_of(found) | {"files": [] if no_picture else [str(out)]}
        click.echo(json.dumps(table, indent=2, ensure_ascii=False, allow_nan=False))
        return
    for line in text_lines(found, units):
        click.echo(line)
    if not no_picture:
        click.echo(f"\nWritten: {out}")


@dataclass(frozen=True, slots=True)
class _Plan:
    """How case files are run before they are compared."""

    cell_size: float
    keep: Path
    units: "System"
    companion: bool
    quiet: bool


def _result(path: Path, plan: _Plan) -> "Result":
    """Return the result in a file, or that of running the case in it."""
    from simulator.case.load import load
    from simulator.case.size import check_size
    from simulator.cli.kept_runs import kept_or_run
    from simulator.output.field_file import read_result
    from simulator.output.kept_results import KeptResults
    from simulator.units import format_small_length

    if _is_result(path):
        return read_result(path)
    case = load(path)
    check_size(case, plan.cell_size)
    plan.keep.mkdir(parents=True, exist_ok=True)
    if not plan.quiet:
        cells = format_small_length(plan.cell_size, plan.units)
        click.echo(f"{path}: run on cells of {cells}", err=True)
    kept = KeptResults(plan.keep, {})
    return kept_or_run(
        kept,
        case,
        plan.cell_size,
        path.stem,
        plan.units,
        companion=plan.companion,
        quiet=plan.quiet,
    )


def _is_result(path: Path) -> bool:
    if path.suffix == ".vtkhdf":
        return True
    try:
        with path.open("rb") as file:
            return file.read(len(_SIGNATURE)) == _SIGNATURE
    except OSError:
        return False


def _labels(paths: tuple[Path, ...], results: "list[Result]", units: "System") -> list[str]:
    """Return what the results are called, so that no two are called alike."""
    from simulator.studies.comparison import distinct_labels
    from simulator.units import format_small_length

    cases = [one.case for one in results]
    return distinct_labels(
        [case.title for case in cases],
        [
            [case.preparation for case in cases],
            [case.layout for case in cases],
            [f"cells of {format_small_length(one.cell_size, units)}" for one in results],
            [path.name for path in paths],
            [str(path) for path in paths],
        ],
    )
