"""``roomsoak dwelling``: a furnished dwelling drawn from a seed, as case files."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import json_option, units_option
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.units import System


@click.command(short_help="Write a furnished dwelling drawn from a seed.")
@click.option("--seed", type=click.IntRange(min=0), required=True, help="Any whole number.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for its files.  [default: ./dwelling_SEED]",
)
@click.option("--force", is_flag=True, help="Replace files that are there already.")
@units_option
@json_option
def dwelling(seed: int, out: Path | None, force: bool, units: "System", as_json: bool) -> None:
    """Write a drawn dwelling, as found and prepared, with heaters and no fans: invented content.

    The same seed gives the same files. `roomsoak check` and `roomsoak run` take its case files.
    """
    from simulator.studies.random_dwellings.random_dwelling import random_dwelling
    from simulator.units import format_quantity, parse_quantity

    drawn = random_dwelling(seed)
    folder = out or Path(f"dwelling_{seed}")
    refuse_to_overwrite([folder / name for name in drawn.files], force=force)
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in drawn.files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    cases = sorted(str(folder / name) for name in drawn.files if name.startswith("case_"))
    if as_json:
        facts = {"seed": seed, "kind": drawn.kind, "area_m2": drawn.area, **drawn.facts}
        click.echo(json.dumps({**facts, "cases": cases}))
        return
    outdoors = format_quantity(
        parse_quantity(drawn.facts["outdoors"], "temperature"), "temperature", units
    )
    words = ", ".join({**drawn.facts, "outdoors": f"{outdoors} outdoors"}.values())
    area = format_quantity(drawn.area, "area", units)
    click.echo(f"{drawn.kind} of {area}, {words}", err=True)
    for path in cases:
        click.echo(path)
