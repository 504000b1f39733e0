"""``roomsoak import``: a building model as a dwelling file."""

from pathlib import Path

import click

from simulator.errors import CaseError
from simulator.output.overwriting import refuse_to_overwrite


@click.command("import", short_help="Read a building model (IFC) into a dwelling file.")
@click.argument("model_path", metavar="FILE.ifc", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Dwelling file to write.  [default: FILE.toml in this folder]",
)
@click.option("--start", default="20 degC", show_default=True, help="Temperature at the start.")
@click.option("--outdoors", default="5 degC", show_default=True, help="Temperature outdoors.")
@click.option("--walls", default="frame_wall", show_default=True, help="Outer construction.")
@click.option("--floor", default="carpeted_wood_floor", show_default=True, help="Construction.")
@click.option("--ceiling", default="attic_ceiling", show_default=True, help="Construction.")
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
def import_model(
    model_path: Path,
    out: Path | None,
    start: str,
    outdoors: str,
    walls: str,
    floor: str,
    ceiling: str,
    force: bool,
) -> None:
    """Read the rooms, walls, doors, windows and furniture of FILE.ifc into a dwelling file.

    What a building model does not tell is assumed, and told: read the notes, then the file.
    """
    from simulator.case.ifc_dwelling import Assumed, dwelling_text
    from simulator.case.ifc_import import read_building
    from simulator.case.load import load_texts

    path = out or Path(f"{model_path.stem}.toml")
    refuse_to_overwrite([path], force=force)
    assumed = Assumed(start, outdoors, walls, floor, ceiling)
    text, notes = dwelling_text(read_building(model_path), model_path.name, assumed)
    case = 'title = "model"\ndwelling = "model.toml"\n[treatment]\nhorizon = "1 h"\n'
    try:
        load_texts({"case.toml": case, "model.toml": text}, "case.toml")
        problem = ""
    except CaseError as error:
        problem = str(error)
    path.write_text(text, encoding="utf-8")
    for note in notes:
        click.echo(note, err=True)
    click.echo(str(path))
    if problem:
        raise CaseError(
            "the dwelling does not fit yet, mend it by hand:\n"
            + problem.replace("model.toml:", f"{path}:")
        )
