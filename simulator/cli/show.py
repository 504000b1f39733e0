"""``roomsoak show``: a result as a window to look around in, or as a picture."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import (
    check_moment,
    read_length,
    read_moment,
    read_temperature,
    units_option,
)
from simulator.output.overwriting import refuse_to_overwrite

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
@click.option(
    "--slice",
    "slice_at",
    metavar="HEIGHT",
    callback=read_length,
    help="Add a level slice, such as '0.3 m' above the lowest floor.",
)
@click.option(
    "--surface",
    "surface_of",
    metavar="TEMPERATURE",
    callback=read_temperature,
    is_flag=False,
    flag_value="50 degC",
    help="Add the surface of a temperature.  [without a value: '50 degC']",
)
@click.option("--hide-furniture", is_flag=True, help="Leave the furniture out.")
@click.option("--streamlines", is_flag=True, help="Follow the air of fans and heaters far.")
@units_option
@click.option("--force", is_flag=True, help="Replace a picture that is there already.")
def show(
    result_path: Path,
    out: Path | None,
    moment: float | None,
    slice_at: float | None,
    surface_of: float | None,
    hide_furniture: bool,
    streamlines: bool,
    units: "System",
    force: bool,
) -> None:
    """Show the RESULT of a run: the room, what is cold in it, and which places come last."""
    from simulator.assessment.assess import assess
    from simulator.output.field_file import read_result
    from simulator.output.graphics_check import graphics_problem, has_display
    from simulator.output.layers import PLAIN, Layers, check_slice
    from simulator.output.pictures import draw_room

    result = read_result(result_path)
    check_moment(result_path, float(result.history.time[-1]), moment)
    check_slice(result.grid, slice_at)
    layers = Layers(slice_at, surface_of, not hide_furniture, streamlines)
    assessment = assess(result.case, result.grid, result.history)
    problem = graphics_problem()
    if out is None and has_display() and problem is None:
        from simulator.output.window import open_window

        open_window(
            result.case, result.grid, result.history, assessment, time=moment, layers=layers
        )
        return
    path = out or Path(f"{result_path.stem}.png")
    refuse_to_overwrite([path], force=force)
    if problem:
        left_out = "" if layers == PLAIN else " (slices, surfaces and lines are left out)"
        click.echo(f"the picture is a plan{left_out}: {problem}", err=True)
    draw_room(
        result.case,
        result.grid,
        result.history,
        assessment,
        path,
        time=moment,
        units=units,
        layers=layers,
    )
    click.echo(str(path))
