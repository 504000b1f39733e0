"""``roomsoak study``: many runs by one plan, kept as they come, and what they say about rules."""

import json
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import json_option
from simulator.errors import Interrupted

if TYPE_CHECKING:
    from simulator.assessment.assessment import Assessment
    from simulator.case.case import Case
    from simulator.simulation import Run
    from simulator.studies.campaign.job import Beside, Job, Row
    from simulator.studies.campaign.plan import PlanFile
    from simulator.studies.campaign.store import Store


def read_shard(
    _context: click.Context, _parameter: click.Parameter, value: str | None
) -> tuple[int, int]:
    """Return the number of a part and of how many, from text such as "2/8"."""
    if value is None:
        return (1, 1)
    number, _, of = value.partition("/")
    if not (number.isdigit() and of.isdigit() and 1 <= int(number) <= int(of)):
        raise click.BadParameter(f"'{value}' is no part; give for example '2/8', from '1/8' on")
    return (int(number), int(of))


@click.command(short_help="Run a plan of many cases and rank placement rules.")
@click.argument("plan_path", metavar="PLAN", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the rows, tables and plots; what is in it already is not run again."
    "  [default: ./PLAN]",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 512),
    default=1,
    show_default=True,
    help="Processes on this machine.",
)
@click.option(
    "--shard",
    metavar="i/n",
    callback=read_shard,
    help="Run only this part of the plan; the parts' files in one folder make up the whole.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Run on a Dask cluster: 'tcp://HOST:8786'.")
@click.option("--results", is_flag=True, help="Keep the result file of every run.")
@click.option("--dry-run", is_flag=True, help="Only say how many runs there are and are left.")
@json_option
def study(
    plan_path: Path,
    out: Path | None,
    workers: int,
    shard: tuple[int, int],
    scheduler: str | None,
    results: bool,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Run the PLAN of a study: dwellings, preparations, layouts or rules, and numbers, crossed.

    Stopped or killed, it goes on where it was when called again.
    """
    from simulator.studies.campaign.job import Beside
    from simulator.studies.campaign.plan import batches, read_plan, shard_of
    from simulator.studies.campaign.store import Store
    from simulator.studies.campaign.table import ordered, write_tables

    plan, jobs = read_plan(plan_path)
    part = "runs" if shard == (1, 1) else f"runs-{shard[0]}-of-{shard[1]}"
    store = Store(out or Path(plan_path.stem), part)
    ours = shard_of(jobs, *shard)
    known = store.rows()
    left = [job for job in ours if known.get(job.key, {"error": True})["error"]]
    click.echo(f"{len(ours)} runs, {len(left)} to be made", err=True)
    if dry_run:
        return
    beside = Beside(partial(keep_result, store.folder) if results else None, store.folder)
    try:
        _run(batches(left), store, workers, scheduler, beside)
    except KeyboardInterrupt as stop:
        raise Interrupted(f"stopped; what is done is kept in {store.folder}") from stop
    found = store.rows()
    rows = ordered(found[job.key] for job in ours if job.key in found)
    written = [*write_tables(rows, store.folder), *write_report(plan, ours, rows, store.folder)]
    for path in written:
        click.echo(str(path), err=as_json)
    failed = [row for row in rows if row["error"]]
    for row in failed:
        click.echo(f"{row['dwelling']}, {row['rule'] or row['layout']}: {row['error']}", err=True)
    if as_json:
        click.echo(json.dumps({"runs": len(rows), "failed": len(failed)}))
    if failed:
        raise click.exceptions.Exit(1)


def _run(
    work: list[list["Job"]],
    store: "Store",
    workers: int,
    scheduler: str | None,
    beside: "Beside",
) -> None:
    """Run batches and keep their rows as they come, with a line of progress for each."""
    from simulator.studies.campaign import executors

    rows: Iterator[list[Row]]
    if scheduler is not None:
        rows = executors.run_on_cluster(work, scheduler, beside)
    elif workers > 1:
        rows = executors.run_in_processes(work, workers, beside)
    else:
        rows = executors.run_here(work, beside)
    total, done = sum(len(batch) for batch in work), 0
    for few in rows:
        store.add(few)
        done += len(few)
        last = few[-1]
        click.echo(f"{done} of {total}: {last['dwelling']}, {last['rule']}", err=True)


def write_report(
    plan: "PlanFile", jobs: Sequence["Job"], rows: Sequence["Row"], folder: Path
) -> list[Path]:
    """Write the page of a study, its league and the plans of the worst dwellings as pictures."""
    from simulator.output.league_pictures import draw_plans, plot_league, plot_numbers, worst_words
    from simulator.studies.campaign.job import case_of
    from simulator.studies.campaign.league import place_of, scores_of, worst_dwellings
    from simulator.studies.campaign.report import MEASURES, reference_of, report, usual_rows
    from simulator.studies.layout_rules import RULES

    page = folder / "study.md"
    page.write_text(report(plan, rows, len(jobs)), encoding="utf-8", newline="")
    good = [row for row in rows if row["rule"] and not row["error"] and not row["point"]]
    pictures = [
        plot_numbers(good, name, MEASURES[0], folder / f"{name}.png")
        for name, values in plan.numbers.items()
        if good and len(values) > 1
    ]
    ruled = [row for row in usual_rows(good) if row["rule"] in RULES]
    scores = scores_of(ruled, MEASURES[0])
    if len(scores.rules) < 2 or not scores.dwellings:
        return [page, *pictures]
    reference = reference_of(scores.rules)
    pictures.append(plot_league(scores, reference, folder / "league.png", title=plan.title))
    known = {row["key"]: row for row in usual_rows(good)}
    places = {
        (place_of(row), row["rule"]): job for job in jobs if (row := known.get(job.key)) is not None
    }
    worst = [
        (worst_words(rule, where, loss), case_of(places[where, rule]))
        for rule in scores.rules
        for where, loss in worst_dwellings(scores, rule, 1)
        if rule != reference
    ]
    pictures.append(draw_plans(worst, folder / "worst.png"))
    return [page, *pictures]


def keep_result(folder: Path, key: str, case: "Case", run: "Run", assessment: "Assessment") -> None:
    """Write the result file of a run beside the rows of its study."""
    from simulator.case.variants import main_of
    from simulator.output.field_file import write_result

    size = run.grid.cell_size
    path = folder / f"{key}.vtkhdf"
    write_result(path, case, size, run.grid, run.history, main=main_of(case), force=True)
