"""``roomsoak desk``: draw, run and look in the browser, on this machine alone."""

from pathlib import Path

import click


@click.command(short_help="Draw, run and look in the browser, on this machine alone.")
@click.argument("case_path", metavar="[CASE]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where cases and results are kept.  [default: the folder of CASE, or this one]",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    help="Port on 127.0.0.1.  [default: any free one]",
)
@click.option("--no-browser", is_flag=True, help="Only print the address.")
def desk(case_path: Path | None, folder: Path | None, port: int, no_browser: bool) -> None:
    """Open the desk for CASE, or for a folder of cases; a ready case is copied into the folder."""
    import webbrowser

    from simulator.workspace.desk import Desk
    from simulator.workspace.serve import HOST, open_socket, serve
    from simulator.workspace.shipped import opened

    where, first = opened(case_path, folder)
    listening = open_socket(port)
    address = f"http://{HOST}:{listening.getsockname()[1]}/"
    drawing_desk = Desk(where, first)
    click.echo(address)
    click.echo(f"the desk works in {where.root}; Ctrl-C ends it", err=True)
    for name in drawing_desk.recovered:
        click.echo(f"{name}: a save that was cut off was finished", err=True)
    if not no_browser:
        webbrowser.open(address)
    serve(drawing_desk, listening)
