"""``follow --watch``: a log that grows is read again whenever it has, and each forecast is kept."""

import json
import os
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.errors import CaseError, Interrupted

if TYPE_CHECKING:
    from simulator.studies.following.basis import Basis
    from simulator.studies.following.following import Following
    from simulator.units import System


def watch_log(
    basis: "Basis",
    path: Path,
    names: Sequence[str],
    heat_on: str | None,
    heat_off: float | None,
    planned: float,
    pause: float,
    units: "System",
    *,
    as_json: bool,
) -> "Following":
    """Return the last forecast once Ctrl-C comes; until then, tell one whenever rows arrive.

    The log is only ever read: a killed watch loses no row. Each forecast goes to a file beside the
    log, LOG.forecasts.jsonl, a line each, forced to disk.

    Raises
    ------
    CaseError
        If the log cannot be read at the start for any other reason than that it is too short.
    Interrupted
        If Ctrl-C comes before there is a forecast.
    """
    from simulator.studies.following.following import Following
    from simulator.studies.following.sensor_log import TooFewRows, read_log
    from simulator.studies.following.words import forecast_table, watch_line

    found: Following | None = None
    seen, told, is_first = (-1, -1), "", True
    try:
        while True:
            size = _size(path)
            if size != seen or is_first:
                seen = size
                try:
                    log = read_log(path, names, heat_on)
                    if found is None or log.time.size != found.log.time.size:
                        found = Following.of(basis, log, planned, heat_off)
                        click.echo(watch_line(found.forecast, units), err=as_json)
                        _keep(path, forecast_table(found.forecast))
                except CaseError as problem:
                    if is_first and not isinstance(problem, TooFewRows):
                        raise
                    if str(problem) != told:
                        told = str(problem)
                        click.echo(f"{told}; still watching", err=True)
                is_first = False
            time.sleep(pause)
    except KeyboardInterrupt:
        if found is None:
            raise Interrupted("interrupted before the log had rows enough for a forecast") from None
        return found


def _size(path: Path) -> tuple[int, int]:
    """Return size and time of the last change of a file, -1 where there is none."""
    try:
        state = path.stat()
    except OSError:
        return -1, -1
    return state.st_size, state.st_mtime_ns


def _keep(path: Path, table: dict[str, object]) -> None:
    """Append a forecast to the file beside the log."""
    with path.with_name(f"{path.name}.forecasts.jsonl").open("a", encoding="utf-8") as file:
        file.write(json.dumps(table, ensure_ascii=False, allow_nan=False) + "\n")
        file.flush()
        os.fsync(file.fileno())
