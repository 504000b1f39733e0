"""``roomsoak show``: a result as a window to look around in, or as a picture."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import read_moment, units_option
from simulator.errors import ResultError

if TYPE_CHECKING:
    from simulator.units import System


@click.command(short_help="Show a result in a window or as a picture.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a PNG instead of opening a window.  [default without a display: ./RESULT.png]",
)
@click.option(
    "--at",
    "moment",
    metavar="TIME",
    callback=read_moment,
    help="Moment to show, such as '2 h'.  [default: the end]",
)
@units_option
@click.option("--force", is_flag=True, help="Replace a picture that is there already.")
def show(
    result_path: Path, out: Path | None, moment: float | None, units: "System", force: bool
) -> None:
    """Show the RESULT of a run: the room, what is cold in it, and which places come last."""
    from simulator.assessment.assess import assess
    from simulator.output.field_file import read_result
    from simulator.output.graphics_check import graphics_problem, has_display
    from simulator.output.pictures import draw_room

    result = read_result(result_path)
    assessment = assess(result.case, result.grid, result.history)
    problem = graphics_problem()
    if out is None and has_display() and problem is None:
        from simulator.output.window import open_window

        open_window(result.case, result.grid, result.history, assessment, time=moment)
        return
    path = out or Path(f"{result_path.stem}.png")
    if path.exists() and not force:
        raise ResultError(f"{path}: exists already; give --force to replace it")
    if problem:
        click.echo(f"the picture is a plan: {problem}", err=True)
    draw_room(result.case, result.grid, result.history, assessment, path, time=moment, units=units)
    click.echo(str(path))
