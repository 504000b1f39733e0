"""The basis of a case for ``follow``: read from its file, or made, run by run, and kept there."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from simulator.errors import Interrupted, ResultError

if TYPE_CHECKING:
    from simulator.studies.following.basis import Basis
    from simulator.studies.following.basis_runs import BasisPlan, Kept
    from simulator.units import System


def basis_for(
    plan: "BasisPlan",
    path: Path,
    workers: int | None,
    units: "System",
    *,
    quiet: bool,
) -> "Basis":
    """Return the reduced model of a case, from its file or made and kept there.

    What it will cost is told first. Every run is kept in a file beside it; a building that was
    stopped goes on from there.

    Raises
    ------
    ResultError
        If the file is no basis, or one of another case, cell size or program.
    """
    from simulator.output.checkpoint import load_checkpoint, save_checkpoint
    from simulator.studies.evaluate import Workers
    from simulator.studies.following.basis import Basis
    from simulator.studies.following.basis_runs import build_basis
    from simulator.units import format_small_length

    mark = basis_mark(plan)
    if path.exists():
        try:
            arrays, facts = load_checkpoint(path, mark)
        except ResultError as error:
            raise ResultError(f"{error}; or name another file with --basis") from None
        return Basis.restored(arrays, facts["basis"])
    if not path.resolve().parent.is_dir():
        raise ResultError(f"{path.parent}: no such folder; make it first")
    parts = path.with_name(f"{path.name}.runs")
    kept = _restored(parts, mark)
    with Workers(workers) as crew:
        if not quiet:
            cells = format_small_length(plan.cell_size, units)
            runs = f"{plan.count} runs on cells of {cells}"
            if plan.finer is not None:
                fine = format_small_length(plan.finer, units)
                runs = f"{plan.count - 1} runs on cells of {cells} and one on {fine}"
            click.echo(
                f"reduced model: {runs}, {crew.count} at a time, {len(kept.courses)} made before; "
                f"kept in {path}, so this is done once",
                err=True,
            )
        kept.on_run = _Keeper(parts, mark, plan.count, len(kept.courses), crew.count, quiet=quiet)
        try:
            basis = build_basis(plan, crew, kept)
        except KeyboardInterrupt:
            raise Interrupted(
                f"interrupted after {len(kept.courses)} of {plan.count} runs; the same command "
                "goes on from there"
            ) from None
    arrays, facts = basis.kept()
    save_checkpoint(path, arrays, {"hash": mark, "basis": facts})
    parts.unlink(missing_ok=True)
    return basis


def basis_mark(plan: "BasisPlan") -> str:
    """Return the hash of what a basis is made from: case, runs and the modules that make it."""
    from simulator.case.variants import main_of
    from simulator.output.field_file import run_hash
    from simulator.studies.program_digest import program_digest

    program = program_digest("simulator.studies.following.basis_runs")
    runs = f"{plan.runs} runs from {plan.seed}, {plan.finer} m, {plan.settings}"
    return run_hash(plan.case.sources, main_of(plan.case), plan.cell_size, f"{program}, {runs}")


class _Keeper:
    """Keeps the runs of a basis after each one, and tells how long the rest will take."""

    def __init__(
        self, path: Path, mark: str, count: int, before: int, at_once: int, *, quiet: bool
    ) -> None:
        from simulator.studies.pace import Pace

        self._path, self._mark, self._count, self._before = path, mark, count, before
        self._pace = Pace(count - before, at_once)
        self._quiet = quiet
        self._told = -1

    def __call__(self, kept: "Kept") -> None:
        """Write all runs so far; tell the time that is left now and then."""
        from simulator.output.checkpoint import save_checkpoint
        from simulator.studies.following.courses import packed

        arrays, facts = packed(kept.courses)
        save_checkpoint(self._path, arrays, {"hash": self._mark, "runs": facts})
        done = len(kept.courses)
        tenth = 10 * done // self._count
        if not self._quiet and (tenth > self._told or done == self._before + 1):
            self._told = tenth
            left = self._pace.remark(done - self._before)
            click.echo(f"{done} of {self._count} runs{left}", err=True)


def _restored(path: Path, mark: str) -> "Kept":
    """Return the runs that were made before; those of another case count as none."""
    from simulator.output.checkpoint import load_checkpoint
    from simulator.studies.following.basis_runs import Kept
    from simulator.studies.following.courses import unpacked

    kept = Kept()
    if path.exists():
        try:
            arrays, facts = load_checkpoint(path, mark)
        except ResultError:
            return kept
        kept.courses.update(unpacked(arrays, facts["runs"]))
    return kept
