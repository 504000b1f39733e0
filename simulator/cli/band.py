"""``roomsoak band``: how sure the answer in a result file is, from many runs of its case."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.cli.options import json_option, units_option
from simulator.errors import Interrupted

if TYPE_CHECKING:
    from simulator.assessment.assessment import Assessment
    from simulator.case.case import Case
    from simulator.studies.band import Band
    from simulator.studies.pace import Pace
    from simulator.units import System

#: Runs of an ensemble and the seed of what they draw, if nothing is said.
SAMPLES, SEED = 64, 1


@click.command(short_help="How sure an answer is: many runs with what is uncertain varied.")
@click.argument("result_path", metavar="RESULT", type=click.Path(path_type=Path))
@click.option("--samples", default=SAMPLES, show_default=True, help="Runs to make, 64 or more.")
@click.option("--seed", default=SEED, show_default=True, help="The same seed gives the same band.")
@units_option
@json_option
@click.option("-q", "--quiet", is_flag=True, help="No progress.")
def band(
    result_path: Path, samples: int, seed: int, units: "System", as_json: bool, quiet: bool
) -> None:
    """Run the case of RESULT many times and append to RESULT how sure its answer is.

    What is varied: leakage, how much loose stuff there is, heat transfer at surfaces, air speed
    near them, mixing of the air, the weather, and the error of the cells.
    """
    from simulator.assessment.assess import assess
    from simulator.assessment.summary import paragraphs, plain
    from simulator.output.field_file import read_result
    from simulator.studies.band_words import TITLE, in_words

    result = read_result(result_path)
    answer = assess(result.case, result.grid, result.history)
    found = append_band(
        result.case,
        result.cell_size,
        answer,
        result_path,
        units,
        samples=samples,
        seed=seed,
        quiet=quiet,
    )
    if as_json:
        click.echo(json.dumps(plain(found), indent=2, ensure_ascii=False))
        return
    for line in paragraphs(TITLE, in_words(found, units)):
        click.echo(line)


def append_band(
    case: "Case",
    cell_size: float,
    answer: "Assessment",
    result_path: Path,
    units: "System",
    *,
    samples: int = SAMPLES,
    seed: int = SEED,
    quiet: bool,
) -> "Band":
    """Return the band of an answer, found on all cores, appended to its result file."""
    from simulator.output.findings import append_findings
    from simulator.studies import band as study
    from simulator.studies.band_words import plan_in_words
    from simulator.studies.evaluate import Workers
    from simulator.studies.pace import Pace

    with Workers() as workers:
        plan = study.plan_band(cell_size, samples=samples, workers=workers)
        if not quiet:
            click.echo(plan_in_words(plan, units), err=True)
        try:
            found = study.band(
                case,
                cell_size,
                answer,
                workers,
                samples=samples,
                seed=seed,
                on_done=_silent if quiet else _Told(Pace(samples, workers.count)),
            )
        except KeyboardInterrupt as stop:
            raise Interrupted(
                f"interrupted; {result_path} holds the whole run, its band is left out"
            ) from stop
    append_findings(result_path, study.NAME, found)
    return found


def _silent(done: int, of: int) -> None:
    pass


@dataclass(frozen=True, slots=True)
class _Told:
    """Says on stderr how many runs are done, and what is left."""

    pace: "Pace"

    def __call__(self, done: int, of: int) -> None:
        """Say it: at a terminal in one line, else after the first run and now and then."""
        import sys

        if not done:
            self.pace.begin()
            return
        words = f"{done} of {of} runs{self.pace.remark(done)}"
        if sys.stderr.isatty():
            click.echo(f"\r{words:<40}", err=True, nl=done == of)
        elif done == 1 or done % 16 == 0 or done == of:
            click.echo(words, err=True)
