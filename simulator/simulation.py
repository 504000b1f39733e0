"""ADVANCE: the run as a table of contents, from a case to its history.

A run is a few epochs of frozen flow (``epoch.py``). What a crew changes during the run divides it
into stages, each with a grid of its own; the heat in all things is carried over (``course.py``).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.course import lay_course, prepare
from simulator.epoch import Epoch
from simulator.errors import Interrupted
from simulator.furnished import Furnished
from simulator.grid.grid import Grid
from simulator.history import History
from simulator.physics.witness import Witness
from simulator.progress import Progress, Reporter
from simulator.run_record import CheckpointStore, RunRecord
from simulator.run_settings import ORDINARY, RunSettings
from simulator.units import format_quantity


@dataclass(frozen=True, slots=True)
class Run:
    """What ``simulate`` returns: the grid and the history on it."""

    grid: Grid
    history: History


def simulate(
    case: Case,
    cell_size: float,
    *,
    progress: Callable[[Progress], None] | None = None,
    checkpoint: CheckpointStore | None = None,
    resume: bool = False,
    settings: RunSettings = ORDINARY,
    furnished: Furnished | None = None,
    witness: Witness | None = None,
) -> Run:
    """Return the history of a case on cells of about ``cell_size`` [m].

    Parameters
    ----------
    case : what ``load`` returned.
    cell_size : nominal size of the cells [m], 0.05 to 0.20.
    progress : called about every 0.2 s; it may raise to stop the run.
    checkpoint : where to keep the state after every stage; None keeps nothing.
    resume : go on from the checkpoint, if it holds one of this case.
    settings : how flows are averaged, and factors on what is known by estimate only.
    furnished : the same dwelling laid before for other equipment; it changes no figure.
    witness : is shown the balance of every epoch, and its temperatures as they come.

    Raises
    ------
    Interrupted
        On KeyboardInterrupt; the message says where the checkpoint is.
    """
    kept = checkpoint.load() if checkpoint is not None and resume else None
    record = RunRecord.restored(*kept) if kept else RunRecord()
    try:
        course = lay_course(case, cell_size, Reporter(progress), settings, furnished)
        for number, spans in enumerate(course.spans):
            if len(record.results) >= spans[-1].number + 1:
                continue
            dwelling = prepare(course, number, record)
            for span in spans:
                epoch = Epoch(dwelling, span)
                if len(record.epochs) <= span.number:
                    record = record.with_flow(*epoch.flow(record))
                    _keep(checkpoint, record)
                if len(record.results) <= span.number:
                    record = record.with_epoch(epoch.march(record, witness))
                    _keep(checkpoint, record)
    except KeyboardInterrupt as stop:
        raise Interrupted(_stopped(checkpoint, record)) from stop
    gone_at = course.stages[-1].gone_at
    removed_at = gone_at if np.isfinite(gone_at).any() else None
    return Run(course.stages[0].grid, record.history(is_complete=True, removed_at=removed_at))


def _keep(checkpoint: CheckpointStore | None, record: RunRecord) -> None:
    if checkpoint is not None:
        checkpoint.save(*record.kept())


def _stopped(checkpoint: CheckpointStore | None, record: RunRecord) -> str:
    reached = record.results[-1].end if record.results else 0.0
    told = format_quantity(reached, "time")
    if checkpoint is None:
        return f"interrupted at {told}; no checkpoint was asked for"
    _keep(checkpoint, record)
    return f"interrupted; {checkpoint.where} holds the run up to {told}"
