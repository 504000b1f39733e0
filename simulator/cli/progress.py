"""The progress of a run on stderr: a bar for a person at a terminal, else a line for each stage."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from simulator.progress import Progress
    from simulator.units import System

Report = Callable[["Progress"], None]


@contextmanager
def progress_report(units: "System", *, is_quiet: bool) -> Iterator[Report]:
    """Return a function that shows how far a run is; nothing is shown if ``is_quiet``."""
    from rich.console import Console

    console = Console(stderr=True)
    if is_quiet:
        yield lambda _: None
    elif console.is_terminal:
        with _bar(console) as (bar, task):
            yield lambda progress: bar.update(
                task, completed=progress.fraction, description=description(progress, units)
            )
    else:
        yield _StageLines(units)


@contextmanager
def _bar(console: Any) -> Iterator[tuple[Any, Any]]:
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn
    from rich.progress import TimeRemainingColumn as TimeLeft

    columns = (
        TaskProgressColumn(),
        BarColumn(bar_width=24),
        TimeLeft(),
        TextColumn("{task.description}", markup=False),
    )
    with Progress(*columns, console=console, transient=True) as bar:
        yield bar, bar.add_task("starting", total=1.0)


class _StageLines:
    """Prints a line when the stage changes; for logs, where a bar would be noise."""

    def __init__(self, units: "System") -> None:
        self._units = units
        self._stage = ""

    def __call__(self, progress: "Progress") -> None:
        """Print the stage if it is a new one."""
        if progress.stage != self._stage:
            self._stage = progress.stage
            share = f"{100.0 * progress.fraction:3.0f} %"
            click.echo(f"{share}  {description(progress, self._units)}", err=True)


def description(progress: "Progress", units: "System") -> str:
    """Return stage, simulated time and the coldest place so far in a line."""
    from simulator.units import format_quantity

    words = [progress.stage]
    if progress.simulated_time > 0.0:
        words.append(f"at {format_quantity(progress.simulated_time, 'time', units)}")
    if progress.coldest is not None:
        coldest = format_quantity(progress.coldest, "temperature", units)
        words.append(f"coldest {coldest} {progress.coldest_words}".rstrip())
    return " · ".join(words)
