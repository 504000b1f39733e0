"""``roomsoak causes``: why places lag, by making each cause other than it is."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import json_option, read_cell_size, units_option
from simulator.errors import Interrupted

if TYPE_CHECKING:
    from simulator.units import System


@click.command(short_help="Why places stay cold: the shares of six causes, by the model.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@click.option(
    "--cell",
    "cell_size",
    metavar="LENGTH",
    callback=read_cell_size,
    default="0.20 m",
    show_default=True,
    help="Size of the cells of the study's own runs; smaller ones take much longer.",
)
@units_option
@json_option
@click.option("-q", "--quiet", is_flag=True, help="No progress.")
def causes(
    result_path: Path, cell_size: float, units: "System", as_json: bool, quiet: bool
) -> None:
    """Find why the cold spots of RESULT lag, and append it to RESULT.

    Six causes are made harmless, each alone and with all others: little air speed, heat store, cold
    walls and floors, things in the way of the air stream, being shut in, the room's air being late.
    """
    from simulator.assessment.assess import assess
    from simulator.assessment.summary import paragraphs, plain
    from simulator.cli.progress import progress_report
    from simulator.output.field_file import read_result
    from simulator.output.findings import append_findings
    from simulator.studies import causes as study
    from simulator.studies.causes_words import TITLE, in_words
    from simulator.studies.evaluate import Workers
    from simulator.studies.neutral_runs import COALITIONS
    from simulator.studies.pace import Pace
    from simulator.units import format_small_length

    result = read_result(result_path)
    answer = assess(result.case, result.grid, result.history)
    points = study.slowest_points(result.case, result.grid, result.history, answer.cold_spots)

    try:
        with Workers() as workers, progress_report(units, is_quiet=quiet) as report:
            if not quiet:
                click.echo(
                    "causes: 2 runs of the whole dwelling on cells of "
                    f"{format_small_length(cell_size, units)}, then {len(COALITIONS)} small ones "
                    f"around each spot (spots: {len(points)}, {workers.count} at a time); how "
                    "long they take is told as they are done",
                    err=True,
                )
            pace = Pace(len(points), workers.count)

            def told(done: int) -> None:
                if not done:
                    pace.begin()
                elif not quiet:
                    words = f"causes: {done} of {len(points)} spots"
                    click.echo(f"{words}{pace.remark(done)}", err=True)

            found = study.causes(
                result.case, cell_size, points, workers, progress=report, on_point=told
            )
    except KeyboardInterrupt as stop:
        raise Interrupted(f"interrupted; {result_path} is as it was") from stop
    append_findings(result_path, study.NAME, found)
    if as_json:
        click.echo(json.dumps(plain(found), indent=2, ensure_ascii=False))
        return
    for line in paragraphs(TITLE, in_words(found, units)):
        click.echo(line)
