"""``roomsoak place``: where the fans should stand, and what that is worth."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.exit_codes import INTERRUPTED
from simulator.cli.options import case_argument, json_option, units_option
from simulator.output.overwriting import refuse_to_overwrite

if TYPE_CHECKING:
    from simulator.studies.placement import Placement, Question
    from simulator.studies.placement_space import Step
    from simulator.units import System


@click.command(short_help="Search where fans and heaters should stand.")
@case_argument
@click.option("--fans", type=click.IntRange(0, 40), help="How many.  [default: as in the layout]")
@click.option("--objective", default="finish", show_default=True, help="What to make small.")
@click.option("--move-heaters", is_flag=True, help="Heaters and ducts may be moved as well.")
@click.option(
    "--also",
    multiple=True,
    metavar="PREPARATION",
    help="Also in this state of the dwelling, a file beside CASE; may be given several times.",
)
@click.option("--poses", type=click.IntRange(8, 5000), default=500, show_default=True,
              help="About how many poses of a fan to choose from.")  # fmt: skip
@click.option(
    "--effort",
    type=click.Choice(("quick", "usual", "long")),
    default="usual",
    show_default=True,
    help="quick: coarse cells only; usual: exchanges decided and the best four run on cells of "
    "0.1 m; long: layouts drawn by lot besides, the best fourteen run there and the best one "
    "exchanged by such runs, about three times the work of usual.",
)
@click.option(
    "--search",
    type=click.Choice(("greedy", "sampler")),
    default="greedy",
    show_default=True,
    help="greedy: add fans one by one, then exchange; sampler: draw whole layouts by a model of "
    "the good ones (extra 'sampler').",
)
@click.option(
    "--sensors", type=click.IntRange(0, 40), default=0, help="Also place so many sensors."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Of poses drawn by lot.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write the layout.")
@click.option("--force", is_flag=True, help="Replace the file of --out.")
@click.option(
    "--log",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File of what was run; a search goes on from it.  [default: ./CASE.placement.jsonl]",
)
@click.option("--workers", type=click.IntRange(1, 256), help="Processes.  [default: all cores]")
@units_option
@json_option
@click.option("-q", "--quiet", is_flag=True, help="No progress.")
def place(
    case_path: Path,
    fans: int | None,
    objective: str,
    move_heaters: bool,
    also: tuple[str, ...],
    poses: int,
    effort: str,
    search: str,
    sensors: int,
    seed: int,
    out: Path | None,
    force: bool,
    log: Path | None,
    workers: int | None,
    units: "System",
    as_json: bool,
    quiet: bool,
) -> None:
    """Search where the fans of CASE should stand: sooner done, fewer cold spots.

    Every run is kept in a log; a search that was stopped goes on from it and gives the same answer.
    """
    from dataclasses import replace

    from simulator.case.load import load
    from simulator.studies.candidates import Density
    from simulator.studies.heat_need import heat_need, in_words
    from simulator.studies.objectives import objective_named
    from simulator.studies.placement import Question
    from simulator.studies.placement import place as place_fans
    from simulator.studies.placement_effort import EFFORTS
    from simulator.studies.placement_sampler import SEARCHES

    if out is not None:
        refuse_to_overwrite([out], force=force)
    case = load(case_path)
    question = Question(
        fans=fans,
        objective=objective_named(objective),
        moves_heaters=move_heaters,
        states=tuple(load(case_path, overrides={"preparation": name}) for name in also),
        density=Density(wanted=poses),
        search=SEARCHES[search],
        effort=replace(EFFORTS[effort], seed=seed),
        sensors=sensors,
        workers=workers,
        log=log or Path(f"{case_path.stem}.placement.jsonl"),
    )
    if not quiet:
        for line in in_words(heat_need(case), units):
            click.echo(line, err=True)
    found = place_fans(case, question, _teller(question, units, quiet=quiet))
    _print(found, out, units, as_json=as_json)
    if not found.is_complete:
        click.get_current_context().exit(INTERRUPTED)


def _teller(question: "Question", units: "System", *, quiet: bool) -> Callable[["Step"], None]:
    """Return what tells each step of the search on stderr, with the best so far."""

    def tell(step: "Step") -> None:
        if not quiet:
            value = question.objective.say(step.value, units)
            click.echo(f"{step.words} · best so far {value} by {step.rung.words}", err=True)

    return tell


def _print(found: "Placement", out: Path | None, units: "System", *, as_json: bool) -> None:
    from simulator.studies.placement_table import placement_table
    from simulator.studies.placement_words import placement_lines, plan_text

    if out is not None:
        out.write_text(plan_text(found), encoding="utf-8")
    if as_json:
        table = placement_table(found)
        table["file"] = None if out is None else str(out)
        click.echo(json.dumps(table, indent=2, ensure_ascii=False))
        return
    for line in placement_lines(found, units):
        click.echo(line)
    if out is not None:
        click.echo(f"\nWritten: {out}")
