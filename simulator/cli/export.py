"""``roomsoak export``: a result as files for other programs."""

import json
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import check_moment, json_option, read_moment
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.assessment.assessment import Assessment
    from simulator.output.field_file import Result

FORMATS = ("vtu", "xdmf", "gltf", "csv")


@click.command(short_help="Write a result for other programs: VTU, XDMF, glTF, CSV.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "formats",
    type=click.Choice(FORMATS),
    multiple=True,
    help="vtu: cells, surfaces and hiding places at a moment; xdmf: the series in time, beside the"
    " result; gltf: the room at a moment, to turn; csv: sensors, air and heaters over time."
    "  [default: all]",
)
@click.option(
    "--out",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder to write into.  [default: the folder of RESULT]",
)
@click.option(
    "--at",
    "moment",
    metavar="TIME",
    callback=read_moment,
    help="Moment of vtu and gltf, such as '2 h'.  [default: the end of the heat]",
)
@click.option("--force", is_flag=True, help="Replace files that are there already.")
@json_option
def export(
    result_path: Path,
    formats: Sequence[str],
    folder: Path | None,
    moment: float | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write the RESULT of a run for other programs, and print what was written.

    Temperatures are in degrees Celsius, all else in SI; each name carries its unit. RESULT itself
    is HDF5, CF netCDF-4 and VTKHDF at once, and opens in readers of these as it is.
    """
    from simulator.assessment.assess import assess
    from simulator.output.exchange.vtu import owners
    from simulator.output.field_file import read_result

    result = read_result(result_path)
    assessment = assess(result.case, result.grid, result.history)
    last = float(result.history.time[-1])
    check_moment(result_path, last, moment)
    time = float(result.history.time[assessment.end.index]) if moment is None else moment
    target = folder or result_path.parent
    writers = _writers(result, assessment, result_path, target, time)
    chosen = {
        target / f"{result_path.stem}{ending}": write
        for name, ending, write in writers
        if not formats or name in formats
    }
    refuse_to_overwrite(chosen, force=force)
    target.mkdir(parents=True, exist_ok=True)
    # All or none: written aside first, so that a full disk leaves no half of them.
    with tempfile.TemporaryDirectory(dir=target) as aside:
        for path, write in chosen.items():
            write(Path(aside) / path.name)
        for path in chosen:
            (Path(aside) / path.name).replace(path)
    if as_json:
        table = {
            "files": [str(path) for path in chosen],
            "time": time,
            "owners": owners(result),
            "rooms": list(result.grid.room_names),
            "places": [
                {"owner": group.owner, "words": group.words, "room": group.room}
                for group in result.grid.refuges.groups
            ],
        }
        click.echo(json.dumps(table, indent=2, ensure_ascii=False))
        return
    for path in chosen:
        click.echo(str(path))


def _writers(
    result: "Result", assessment: "Assessment", result_path: Path, folder: Path, time: float
) -> list[tuple[str, str, Callable[[Path], None]]]:
    """Return format, ending of the file's name, and what writes it."""
    from simulator.output.exchange.probe_table import write_probes
    from simulator.output.exchange.room_picture import write_picture
    from simulator.output.exchange.vtu import write_places, write_surfaces, write_volumes
    from simulator.output.exchange.xdmf import write_series

    return [
        ("vtu", "_volumes.vtu", lambda path: write_volumes(result, path, time)),
        ("vtu", "_surfaces.vtu", lambda path: write_surfaces(result, path, time)),
        ("vtu", "_places.vtu", lambda path: write_places(result, assessment, path, time)),
        ("xdmf", "_series.xdmf", lambda path: write_series(result, result_path, path, folder)),
        ("gltf", ".glb", lambda path: write_picture(result, assessment, path, time)),
        ("csv", "_probes.csv", lambda path: write_probes(result, path)),
    ]
