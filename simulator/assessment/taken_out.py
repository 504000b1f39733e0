"""What was taken out or brought in during the run: how far the answer reaches for it."""

import numpy as np

from simulator.case.case import Case
from simulator.case.parts import PorousPart, Refuge, SolidPart
from simulator.grid.grid import BoolArray, FloatArray, Refuges
from simulator.history import History
from simulator.units import format_quantity


def removal_times(history: History) -> FloatArray:
    """Return when the thing that each refuge is in was taken out (R,) [s]; inf: never."""
    count = history.refuge_temperature.shape[1]
    return history.removed_at if history.removed_at.size else np.full(count, np.inf)


def stays(history: History) -> BoolArray:
    """Return which refuges are in the dwelling to the end (R,)."""
    return np.isinf(removal_times(history))


def seen_temperature(history: History) -> FloatArray:
    """Return the temperature of every refuge (T, R) [°C], nan once its thing was taken out."""
    gone = history.time[:, None] > removal_times(history)
    return np.where(gone, np.nan, history.refuge_temperature)


def notes_on_changes(case: Case, refuges: Refuges, history: History, done: BoolArray) -> list[str]:
    """Return what the answer does not tell of things taken out, brought in, and opened."""
    notes = []
    removed = removal_times(history)
    for time in np.unique(removed[np.isfinite(removed)]).tolist():
        ours = removed == time
        groups = [refuges.groups[g] for g in np.unique(refuges.group[ours]).tolist()]
        owners = sorted(
            {f"wall of {g.room} at a door" if g.owner == g.room else g.owner for g in groups}
        )
        undone = int((ours & ~done).sum())
        litres = 1000.0 * float(refuges.volume[ours & ~done].sum())
        notes.append(
            f"Taken out at {format_quantity(time, 'time')}: {', '.join(owners)}. It is judged up to"
            " then and counts in no finishing time"
            + (
                f"; {litres:.2g} litres of it were not done: treat that elsewhere."
                if undone
                else "."
            )
        )
    known = _hiding(case)
    brought = sorted({key for change in case.changes for key in _hiding(change.case) - known})
    if brought:
        words = ", ".join(f"{owner} ({name})" for owner, name in brought)
        notes.append(
            f"Brought in or drawn anew during the run: {words}. It takes up heat, but hiding places"
            " in it are not judged."
        )
    cases = [case, *(change.case for change in case.changes)]
    if any(window.opening > 0.0 for one in cases for window in one.dwelling.windows):
        notes.append(
            "Open windows exchange air by the difference of temperatures alone, each for itself:"
            " with wind or a draught between windows the rooms cool faster than told."
        )
    return notes


def _hiding(case: Case) -> set[tuple[str, str]]:
    """Return owner and name of the parts that bugs can hide in."""
    return {
        (part.owner, part.name)
        for part in case.parts
        if isinstance(part, SolidPart | PorousPart) and part.refuge is not Refuge.NOWHERE
    }
