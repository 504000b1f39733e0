"""The process that carries out one order: it tells how far it is, writes a file, and ends."""

import dataclasses
import os
import signal
from multiprocessing.connection import Connection
from typing import Any

from simulator.errors import RoomsoakError
from simulator.progress import Progress
from simulator.workspace.long_tasks import make_lesson, place_fans
from simulator.workspace.orders import Order


def run_in_child(connection: Connection, order: Order) -> None:
    """Run an order and send ("progress", …), then ("done", …) or ("failed", one line).

    The process ends by itself when nobody listens any more.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def tell(progress: Progress) -> None:
        _send(connection, "progress", dataclasses.asdict(progress))

    try:
        _send(connection, "done", _DOERS[order.what](order, tell))
    except RoomsoakError as problem:
        _send(connection, "failed", str(problem).splitlines()[0])
    except MemoryError:
        _send(connection, "failed", "not enough memory; try larger cells")
    except OSError as problem:
        _send(connection, "failed", f"{problem.filename or ''}: {problem.strerror or problem}")
    finally:
        connection.close()


def _send(connection: Connection, what: str, value: Any) -> None:
    try:
        connection.send((what, value))
    except OSError:  # the server is gone, and with it whoever asked
        os._exit(1)


def _run(order: Order, tell: Any) -> dict[str, Any]:
    from simulator.assessment.assess import assess
    from simulator.case.load import load_texts
    from simulator.case.size import check_size
    from simulator.output.field_file import write_result
    from simulator.simulation import simulate

    case = load_texts(order.texts, order.main)
    check_size(case, order.cell_size)
    done = simulate(case, order.cell_size, progress=tell)
    write_result(
        order.path, case, order.cell_size, done.grid, done.history, main=order.main, force=True
    )
    answer = assess(case, done.grid, done.history)
    if order.coarse is not None and order.coarse.exists():
        _tell_grid_error(order, answer)
    count = len(answer.cold_spots)
    cold = f"{count} cold spot{'' if count == 1 else 's'} left"
    return {"words": "every hiding place is done" if answer.is_all_done else cold, "lines": []}


def _tell_grid_error(order: Order, answer: Any) -> None:
    """Append what the size of the cells does to the answer, from the run on larger ones."""
    from simulator.assessment.assess import assess
    from simulator.output.field_file import read_result
    from simulator.output.findings import append_findings
    from simulator.studies import grid_error

    assert order.coarse is not None
    coarse = read_result(order.coarse)
    if dict(coarse.case.sources) != order.texts:
        return
    theirs = assess(coarse.case, coarse.grid, coarse.history)
    found = grid_error.compare_grids(answer, order.cell_size, theirs, coarse.cell_size)
    append_findings(order.path, grid_error.NAME, found)


_DOERS = {"run": _run, "place": place_fans, "lesson": make_lesson}
