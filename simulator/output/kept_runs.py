"""Runs that something else needs first: read if they were made, made and kept if not."""

from collections.abc import Callable

from simulator import simulation
from simulator.case.case import Case
from simulator.case.variants import main_of
from simulator.output.checkpoint_file import CheckpointFile
from simulator.output.field_file import Result, read_result, write_result
from simulator.output.kept_results import KeptResults
from simulator.progress import Progress


def kept_or_run(
    kept: KeptResults,
    case: Case,
    cell_size: float,
    word: str,
    *,
    progress: Callable[[Progress], None] | None = None,
) -> Result:
    """Return the result of a case, from the folder or from a run that is then kept there.

    A run that is stopped leaves a checkpoint from which the next call goes on.

    Parameters
    ----------
    word : begins the file's name.
    progress : as for ``simulate``.

    Raises
    ------
    Interrupted
        If the run is stopped.
    """
    found = kept.find(case, cell_size, word)
    if found is not None:
        return found
    path = kept.path(case, cell_size, word)
    checkpoint = CheckpointFile(path.with_suffix(".checkpoint.npz"), kept.hash(case, cell_size))
    run = simulation.simulate(
        case, cell_size, progress=progress, checkpoint=checkpoint, resume=True
    )
    write_result(path, case, cell_size, run.grid, run.history, main=main_of(case), force=True)
    checkpoint.remove()
    return read_result(path)
