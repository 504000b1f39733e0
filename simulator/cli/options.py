"""Options that several commands share."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from simulator.errors import ResultError, UnitError

F = TypeVar("F", bound=Callable[..., Any])

#: Sizes of cells that the methods were tried with [m]; the largest to the next inch, 8 in.
SMALLEST_CELL, LARGEST_CELL = 0.05, 0.2032

#: The same as people write them, by the system that a value was written in.
_BOUNDS = {"si": "5 cm and 20 cm", "us": "2 in and 8 in"}


def read_cell_size(_: click.Context, __: click.Parameter, value: str) -> float:
    """Return the size of a cell [m] from text with its unit."""
    size = _quantity(value, "length")
    if not SMALLEST_CELL - 1e-9 <= size <= LARGEST_CELL + 1e-9:
        written = "us" if re.search("in|f|yd|'|\"|″|′|”|’", value.casefold()) else "si"
        raise click.BadParameter(f"{value} is not between {_BOUNDS[written]}")
    return size


def read_moment(_: click.Context, __: click.Parameter, value: str | None) -> float | None:
    """Return a time [s] from text with its unit."""
    return None if value is None else _quantity(value, "time")


def read_length(_: click.Context, __: click.Parameter, value: str | None) -> float | None:
    """Return a length [m] from text with its unit."""
    return None if value is None else _quantity(value, "length")


def read_temperature(_: click.Context, __: click.Parameter, value: str | None) -> float | None:
    """Return a temperature [°C] from text with its unit."""
    return None if value is None else _quantity(value, "temperature")


def check_moment(result_path: Path, last: float, moment: float | None) -> None:
    """Refuse a moment after the ``last`` of a run [s]."""
    from simulator.units import format_quantity

    if moment is not None and moment > last:
        raise ResultError(f"{result_path}: it has no moment after {format_quantity(last, 'time')}")


def _quantity(value: str, dimension: str) -> float:
    from simulator.units import parse_quantity

    try:
        return parse_quantity(value, dimension)
    except UnitError as problem:
        raise click.BadParameter(str(problem)) from None


def case_argument(function: F) -> F:
    """Add the argument CASE."""
    path = click.Path(path_type=Path)
    return click.argument("case_path", metavar="CASE", type=path)(function)


def units_option(function: F) -> F:
    """Add ``--units``."""
    return click.option(
        "--units",
        type=click.Choice(("si", "us")),
        default="si",
        show_default=True,
        help="Units of what is printed and drawn.",
    )(function)


def json_option(function: F) -> F:
    """Add ``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON (always SI and °C).")(
        function
    )


def cell_option(function: F) -> F:
    """Add ``--cell``."""
    return click.option(
        "--cell",
        "cell_size",
        metavar="LENGTH",
        callback=read_cell_size,
        default="0.10 m",
        show_default=True,
        help="Size of the grid's cells, with unit: '0.05 m' to '0.20 m', or '2 in' to '8 in'.",
    )(function)
