"""``roomsoak follow``: a treatment by its sensors: when will each place be done?"""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.exit_codes import COLD_SPOTS_REMAIN
from simulator.cli.options import case_argument, json_option, read_cell_size, units_option
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.case.case import Case
    from simulator.studies.following.basis import Basis
    from simulator.studies.following.following import Following
    from simulator.units import System

LOG_HELP = """LOG is a CSV table. Its first column is the time, each further one a sensor of the
layout by its name with its unit in brackets:

\b
    # heat on: 2026-11-29 08:05
    time,under the bed [degC],"closet, low [degF]"
    2026-11-29 08:10,20.5,68
    2026-11-29 08:15,21.0,

Times are dates with hours, or time since heat on with a unit ('time [min]'). Gaps, rows out of
order or given twice, faults and single spikes are mended and told."""


@click.command(
    short_help="Follow a treatment by its sensors: when will each place be done?", epilog=LOG_HELP
)
@case_argument
@click.argument("log_path", metavar="LOG", type=click.Path(path_type=Path))
@click.option(
    "--basis",
    "basis_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File of the case's reduced model; made if it is not there.  [default: ./CASE.basis.npz]",
)
@click.option(
    "--cell",
    "cell_size",
    metavar="LENGTH",
    callback=read_cell_size,
    default="0.20 m",
    show_default=True,
    help="Size of the cells of the model's runs; one more run has half of it.",
)
@click.option("--heat-on", help="Date and hour of heat on, instead of what the log says.")
@click.option("--heat-off", metavar="TIME", help="Time since heat on when it ended, as '6 h'.")
@click.option("--watch", is_flag=True, help="Go on: a line whenever rows arrive. Ctrl-C ends it.")
@click.option("--every", default="30 s", show_default=True, help="How often --watch looks.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write a sheet, .html or .pdf.",
)
@click.option("--force", is_flag=True, help="Replace the file of --out.")
@click.option("--check", is_flag=True, help="Also run the case in full as corrected, and compare.")
@click.option(
    "--invent", type=click.IntRange(0), metavar="SEED", help="Write an invented LOG for training."
)
@click.option("--runs", type=click.IntRange(16, 500), default=60, show_default=True,
              help="Runs of the reduced model.")  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 256), help="Processes.  [default: all cores]")
@units_option
@json_option
@click.option("-q", "--quiet", is_flag=True, help="No progress.")
def follow(
    case_path: Path,
    log_path: Path,
    basis_path: Path | None,
    cell_size: float,
    heat_on: str | None,
    heat_off: str | None,
    watch: bool,
    every: str,
    out: Path | None,
    force: bool,
    check: bool,
    invent: int | None,
    runs: int,
    workers: int | None,
    units: "System",
    as_json: bool,
    quiet: bool,
) -> None:
    """Follow a treatment of CASE by the LOG of its sensors.

    Corrects what nobody knew beforehand, tells when each hiding place will be done and with what
    band, which sensor disagrees, and what was measured where. Inspection decides.
    """
    from simulator.case.load import load
    from simulator.cli.follow_basis import basis_for
    from simulator.cli.follow_watch import watch_log
    from simulator.output.sheet.page import check_place
    from simulator.studies.following.basis_runs import BasisPlan
    from simulator.studies.following.courses import sensors_of
    from simulator.studies.following.following import Following
    from simulator.studies.following.sensor_log import read_log
    from simulator.units import parse_quantity

    case = load(case_path)
    if invent is not None:
        _invent(case, log_path, invent, cell_size, force=force)
        return
    if out is not None:
        check_place(out, force=force)
    pause = parse_quantity(every, "time")
    end = None if heat_off is None else parse_quantity(heat_off, "time")
    names = sensors_of(case)
    log = None if watch else read_log(log_path, names, heat_on)
    path = basis_path or Path(f"{case_path.stem}.basis.npz")
    plan = BasisPlan(case, cell_size, 0.5 * cell_size, runs)
    basis = basis_for(plan, path, workers, units, quiet=quiet)
    if log is None:
        found = watch_log(
            basis,
            log_path,
            names,
            heat_on,
            end,
            case.treatment.heat_ends,
            pause,
            units,
            as_json=as_json,
        )
    else:
        found = Following.of(basis, log, case.treatment.heat_ends, end)
    _print(found, units, as_json=as_json)
    if out is not None:
        _sheet(found, case, out, units)
    if check:
        _check(found, case, basis, units)
    if watch:
        from simulator.errors import Interrupted

        raise Interrupted("interrupted; above is the last forecast")
    if found.is_late:
        click.get_current_context().exit(COLD_SPOTS_REMAIN)


def _print(found: "Following", units: "System", *, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps(found.table(), indent=2, ensure_ascii=False))
        return
    for line in found.lines(units):
        click.echo(line)


def _sheet(found: "Following", case: "Case", out: Path, units: "System") -> None:
    from simulator.output.sheet.follow_sheet import write_follow_sheet

    click.echo(f"Written: {write_follow_sheet(found, case, out, units)}", err=True)


def _check(found: "Following", case: "Case", basis: "Basis", units: "System") -> None:
    """Run the case in full at the values that the log taught, and tell what the model misses."""
    from simulator.studies.following.full_check import full_check

    for line in full_check(found, case, basis, units):
        click.echo(line, err=True)


def _invent(case: "Case", path: Path, seed: int, cell_size: float, *, force: bool) -> None:
    from simulator.studies.following.twin import HIDDEN_CELLS, as_csv, invented_log

    refuse_to_overwrite([path], force=force)
    path.write_text(as_csv(invented_log(case, seed, HIDDEN_CELLS * cell_size)), encoding="utf-8")
    click.echo(f"Written: {path} (invented)")
