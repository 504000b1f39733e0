"""``roomsoak sheet``: a result as printed pages from which a crew can work."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import units_option

if TYPE_CHECKING:
    from simulator.units import System


@click.command(short_help="Write the job sheet of a result, as HTML or PDF.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The sheet, .html or .pdf.  [default: ./RESULT.html]",
)
@units_option
@click.option("--force", is_flag=True, help="Replace a sheet that is there already.")
def sheet(result_path: Path, out: Path | None, units: "System", force: bool) -> None:
    """Write the job sheet of the RESULT of a run: plan, time line, lists, cautions."""
    from simulator.output.sheet.write_sheet import write_sheet

    path = out or Path(f"{result_path.stem}.html")
    click.echo(str(write_sheet(result_path, path, units, force=force)))
