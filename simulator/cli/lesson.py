"""``roomsoak lesson``: what preparation, clutter and fans do to one dwelling, to show to others."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import case_argument, json_option, read_cell_size, units_option
from simulator.errors import Interrupted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from simulator.output.field_file import Result
    from simulator.output.kept_results import KeptResults
    from simulator.output.lesson.gathered import Lesson
    from simulator.studies.lesson_plan import Series
    from simulator.units import System

NAMES = ("preparation", "clutter", "fans")


@click.command(short_help="Make a lesson of one dwelling: pictures, a film, a hand-out.")
@case_argument
@click.option(
    "--out",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for all of it.  [default: ./CASE_lesson]",
)
@click.option(
    "--series",
    "names",
    type=click.Choice(NAMES),
    multiple=True,
    default=NAMES,
    show_default=True,
    help="Which series; give it again for another.",
)
@click.option(
    "--prepared",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A case file of the same dwelling, prepared, to be shown in the series 'preparation'.",
)
@click.option(
    "--cell",
    "cell_size",
    metavar="LENGTH",
    callback=read_cell_size,
    default="0.20 m",
    show_default=True,
    help="Size of the grid's cells; large ones are quick and show the order of things.",
)
@units_option
@json_option
@click.option("--dry-run", is_flag=True, help="Only list the runs and say how long they take.")
@click.option("--no-film", is_flag=True, help="Leave out the moving picture.")
@click.option("-q", "--quiet", is_flag=True, help="No progress and no notes.")
def lesson(
    case_path: Path,
    folder: Path | None,
    names: tuple[str, ...],
    prepared: Path | None,
    cell_size: float,
    units: "System",
    as_json: bool,
    dry_run: bool,
    no_film: bool,
    quiet: bool,
) -> None:
    """Show what preparation, clutter and fans do to the dwelling of CASE.

    Runs that are made stay in the folder and are not made again; Ctrl-C loses nothing that is done.
    """
    if prepared is not None and "preparation" not in names:
        raise click.UsageError(
            f"--prepared {prepared} is shown in the series 'preparation' only: add --series "
            "preparation, or leave --prepared out"
        )
    from simulator.case.load import load
    from simulator.case.size import check_size
    from simulator.output.kept_results import KeptResults
    from simulator.output.lesson.gathered import gather
    from simulator.output.lesson.lesson_runs import lesson_plan

    case = load(case_path)
    check_size(case, cell_size)
    other = None if prepared is None else load(prepared)
    plan = lesson_plan(case, names, other)
    out = folder or Path(f"{case_path.stem}_lesson")
    kept = KeptResults(out / "results", {})
    missing = _tell_cost(plan, kept, cell_size, units, is_quiet=quiet and not dry_run)
    if dry_run:
        return
    kept.folder.mkdir(parents=True, exist_ok=True)
    results = _results(plan, kept, cell_size, units, missing=missing, quiet=quiet)
    made = gather(case.title, cell_size, plan, results)
    written = _written(made, out, units, film=not no_film, quiet=quiet)
    _print(made, written, units, as_json=as_json)


def _tell_cost(
    plan: "list[Series]",
    kept: "KeptResults",
    cell_size: float,
    units: "System",
    *,
    is_quiet: bool,
) -> int:
    """Say on stderr how many runs there are and how long they may take; return how many miss."""
    from simulator import run_cost
    from simulator.output.lesson.lesson_runs import WORD
    from simulator.units import format_quantity, format_small_length

    states = {kept.hash(s.case, cell_size): s for series in plan for s in series.states}
    missing = [
        state for state in states.values() if not kept.path(state.case, cell_size, WORD).exists()
    ]
    if is_quiet:
        return len(missing)
    seconds = 0.0
    if missing:
        seconds = len(missing) * run_cost.estimate(missing[0].case, cell_size).seconds
    click.echo(
        f"{len(states)} runs on cells of {format_small_length(cell_size, units)}, "
        f"{len(states) - len(missing)} of them made already; the others take about "
        f"{format_quantity(seconds, 'time')} or more on a free core, which the first of them tells "
        "better; pictures follow",
        err=True,
    )
    for series in plan:
        for reason in series.left_out:
            click.echo(f"left out: {reason}", err=True)
    return len(missing)


def _results(
    plan: "list[Series]",
    kept: "KeptResults",
    cell_size: float,
    units: "System",
    *,
    missing: int,
    quiet: bool,
) -> "Mapping[str, tuple[str, Result]]":
    """Return every state's result; each run is made once and kept."""
    from simulator.cli.kept_runs import kept_or_run
    from simulator.output.lesson.lesson_runs import WORD, Turn, lesson_results
    from simulator.studies.pace import Pace

    pace, made, ready = Pace(missing), 0, 0

    def result_of(turn: Turn) -> "Result":
        nonlocal made, ready
        case = turn.state.case
        is_new = not kept.path(case, cell_size, WORD).exists()
        if not quiet:
            left = pace.remark(made) if is_new else ""
            click.echo(f"{turn.number} of {turn.of}: {turn.words}{left}", err=True)
        found = kept_or_run(kept, case, cell_size, WORD, units, companion=False, quiet=quiet)
        made, ready = made + is_new, ready + 1
        return found

    try:
        return lesson_results(plan, kept, cell_size, result_of)
    except Interrupted as stop:
        raise Interrupted(
            f"interrupted; runs kept in {kept.folder}: {ready}; the same command goes on from there"
        ) from stop


def _written(made: "Lesson", out: Path, units: "System", *, film: bool, quiet: bool) -> list[Path]:
    """Return the files of the lesson: the hand-out first, then film and pictures."""
    from simulator.output.graphics_check import graphics_problem
    from simulator.output.lesson.animation import animate
    from simulator.output.lesson.page import lesson_page, write_page
    from simulator.output.lesson.pictures import main_states, write_pictures

    def note(text: str) -> None:
        if not quiet:
            click.echo(text, err=True)

    problem = graphics_problem()
    if problem:
        note(f"the pictures are plans: {problem}")
    page = lesson_page(made, units=units, on_room=lambda name: note(f"hand-out: {name}"))
    written = [write_page(page, out / "lesson.html")]
    note(f"hand-out: {page.solid_rooms} of {page.pictured_rooms} rooms can be turned")
    if film:
        chapter = made.chapters[0]
        states = main_states(chapter)
        first, last = chapter.shown[states[0]], chapter.shown[states[-1]]
        note("film: " + f"{first.state.name} beside {last.state.name}")
        written.append(animate(first, last, chapter.found.common, out / "lesson.webp", units=units))
    pictures = out / "pictures"
    pictures.mkdir(exist_ok=True)
    written += write_pictures(
        made, pictures, units=units, on_picture=lambda name: note(f"picture: {name}")
    )
    return written


def _print(made: "Lesson", written: list[Path], units: "System", *, as_json: bool) -> None:
    from simulator.studies.comparison_words import as_json as json_of
    from simulator.studies.lesson_words import sentences

    if as_json:
        table = {
            "title": made.title,
            "cell_size": made.cell_size,
            "series": [
                {
                    "name": chapter.series.name,
                    "states": [
                        {"name": one.state.name, "words": one.state.words} for one in chapter.shown
                    ],
                    "left_out": list(chapter.series.left_out),
                    "comparison": json_of(chapter.found),
                    "sentences": sentences(chapter.series, chapter.found, "si"),
                }
                for chapter in made.chapters
            ],
            "files": [str(path) for path in written],
        }
        click.echo(json.dumps(table, indent=2, ensure_ascii=False, allow_nan=False))
        return
    for chapter in made.chapters:
        click.echo(f"{chapter.series.name.capitalize()}: {chapter.series.words}")
        for line in sentences(chapter.series, chapter.found, units):
            click.echo(f"- {line}")
        click.echo()
    click.echo("Written: " + ", ".join(str(path) for path in written[:2]))
    click.echo(f"and {len(written) - 2} pictures in {written[-1].parent}")
