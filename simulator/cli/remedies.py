"""``roomsoak remedies``: what would help where a run left places cold, each move tried."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import json_option, units_option
from simulator.errors import Interrupted

if TYPE_CHECKING:
    from simulator.units import System


@click.command(short_help="What would help where places stay cold: every move tried by a run.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@units_option
@json_option
@click.option("-q", "--quiet", is_flag=True, help="No progress.")
def remedies(result_path: Path, units: "System", as_json: bool, quiet: bool) -> None:
    """Try every move of a crew on the case of RESULT and append to RESULT what each gains.

    Moves: what the readiness lists ask for, piles taken out, fans and heaters turned to the worst
    places, a fan more, a board over a window. The best are put together to the first plan that
    leaves no place cold, or it is said that none does.
    """
    from simulator.assessment.assess import assess
    from simulator.assessment.summary import paragraphs, plain
    from simulator.output.field_file import read_result
    from simulator.output.findings import append_findings
    from simulator.studies import remedies as study
    from simulator.studies.evaluate import Workers
    from simulator.studies.grid_error import companion_cell_size
    from simulator.studies.moves import moves_for
    from simulator.studies.pace import Pace
    from simulator.studies.remedies_words import TITLE, in_words
    from simulator.units import format_small_length

    result = read_result(result_path)
    answer = assess(result.case, result.grid, result.history)
    moves = moves_for(result.case, answer)

    try:
        with Workers() as workers:
            runs = study.expected_runs(len(moves))
            pace = Pace(runs, workers.count)
            if not quiet:
                cells = companion_cell_size(result.cell_size) or result.cell_size
                click.echo(
                    f"remedies: about {runs} runs (each of the moves found: {len(moves)}; then a "
                    f"plan) on cells of {format_small_length(cells, units)}, {workers.count} at a "
                    "time; how long they take is told as they are done",
                    err=True,
                )

            def told(runs: int, words: str) -> None:
                if not quiet:
                    click.echo(f"run {runs}: {words}{pace.remark(runs)}", err=True)

            found = study.remedies(
                result.case, result.cell_size, answer, workers, moves=moves, on_run=told
            )
    except KeyboardInterrupt as stop:
        raise Interrupted(f"interrupted; {result_path} is as it was") from stop
    append_findings(result_path, study.NAME, found)
    if as_json:
        click.echo(json.dumps(plain(found), indent=2, ensure_ascii=False))
        return
    for line in paragraphs(TITLE, in_words(found, units)):
        click.echo(line)
