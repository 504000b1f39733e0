"""Where the jobs of a study run: in this process, in others beside it, or on a cluster.

Each takes batches of jobs and yields their rows as they are done. What a dead worker was at is run
again: nothing is lost, and no row comes twice.
"""

import multiprocessing
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool

from simulator.errors import RoomsoakError
from simulator.studies.campaign.job import NOTHING, Beside, Job, Row, run_job, run_jobs
from simulator.studies.evaluate import begin_worker

#: How often in a row workers may die before anything is done.
LIVES = 3


class ClusterError(RoomsoakError):
    """The cluster cannot be reached or its library is missing; the message says what to do."""


def run_here(batches: Sequence[Sequence[Job]], beside: Beside = NOTHING) -> Iterator[list[Row]]:
    """Yield the rows of each job in turn."""
    for batch in batches:
        for job in batch:
            yield [run_job(job, beside)]


def run_in_processes(
    batches: Sequence[Sequence[Job]], count: int, beside: Beside = NOTHING
) -> Iterator[list[Row]]:
    """Yield the rows of each batch as it is done, on ``count`` processes of this machine.

    Raises
    ------
    ClusterError
        If processes died again and again, for want of memory perhaps.
    """
    left = dict(enumerate(batches))
    deaths = 0
    while left and deaths < LIVES:
        pool = ProcessPoolExecutor(
            count, multiprocessing.get_context("spawn"), initializer=begin_worker
        )
        try:
            flying: dict[Future[list[Row]], int] = {
                pool.submit(run_jobs, batch, beside): number for number, batch in left.items()
            }
            while flying:
                done, _ = wait(flying, return_when=FIRST_COMPLETED)
                for future in done:
                    rows = future.result()
                    del left[flying.pop(future)]
                    deaths = 0
                    yield rows
        except BrokenProcessPool:
            deaths += 1
        finally:
            _stop(pool)
    if left:
        raise ClusterError(
            f"processes died {LIVES} times in a row, perhaps for want of memory; what is done is "
            "kept: run the study again with fewer --workers"
        )


def _stop(pool: ProcessPoolExecutor) -> None:
    """End the processes without waiting for what they run."""
    processes = list((pool._processes or {}).values())
    pool.shutdown(wait=False, cancel_futures=True)
    for process in processes:
        process.kill()


def run_on_cluster(
    batches: Sequence[Sequence[Job]],
    scheduler: str,
    beside: Beside = NOTHING,
    timeout: float = 30.0,
) -> Iterator[list[Row]]:
    """Yield the rows of each batch as it is done on a Dask cluster.

    Parameters
    ----------
    scheduler : address such as "tcp://10.0.0.1:8786".
    timeout : after which nobody answers [s].

    Raises
    ------
    ClusterError
        If the library is missing, nobody answers, or a batch killed every worker that took it.
    """
    try:
        import distributed
    except ImportError:
        raise ClusterError(
            "a cluster needs the extra 'cluster': pip install 'roomsoak[cluster]'"
        ) from None
    try:
        client = distributed.Client(scheduler, timeout=timeout, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise ClusterError(f"{scheduler}: no scheduler answers ({error})") from None
    with client:
        flying = [
            client.submit(run_jobs, list(batch), beside, pure=False, retries=LIVES)
            for batch in batches
        ]
        try:
            for _, rows in distributed.as_completed(flying, with_results=True, loop=client.loop):
                yield rows
        except distributed.KilledWorker as error:
            raise ClusterError(f"workers died again and again: {error}") from None
