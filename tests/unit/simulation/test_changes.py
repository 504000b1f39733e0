"""A run whose case is changed on the way: what stays is untouched, what moves keeps its heat."""

import dataclasses
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from builders import CLOTH, FOAM, NO_TREATMENT, OUTDOOR_WALL, box_room, porous, solid, two_rooms
from numpy.typing import NDArray

from simulator.case.case import Case, Change
from simulator.case.load import load_texts
from simulator.case.parts import UPSIDE_DOWN, AirMover, Box, HeatedJet, Part, Refuge, SolidPart
from simulator.errors import Interrupted
from simulator.output.field_file import read_result, write_result
from simulator.progress import Progress
from simulator.simulation import Run, simulate
from simulator.timetable import epochs

CELL = 0.25
HORIZON = 5400.0
AT = 2700.0

HEATER = HeatedJet(
    "heater",
    "outlet",
    (0.4, 0.5, 0.4),
    (1.0, 0.0, 0.0),
    0.25,
    0.08,
    1500.0,
    80.0,
    Box((0.3, 0.5, 0.9), (0.4, 0.4, 0.4)),
)
FAN = AirMover("fan", "fan", (1.6, 0.4, 0.4), (0.0, 1.0, 0.0), 0.3, 0.2, 60.0)
MATTRESS = solid(
    (0.5, 1.0, 0.5),
    (1.0, 0.75, 0.25),
    owner="bed",
    name="mattress",
    material=FOAM,
    refuge=Refuge.THROUGHOUT,
)
PILE = porous((1.5, 1.5, 0.0), (0.5, 0.5, 0.5), material=CLOTH)
BLOCK = solid((1.5, 0.75, 0.0), (0.25, 0.5, 0.5), refuge=Refuge.SURFACE)


def room(*parts: Part) -> Case:
    return box_room(
        (2.0, 2.0, 1.5),
        parts=parts,
        air_changes=0.5,
        envelope=OUTDOOR_WALL,
        treatment=dataclasses.replace(NO_TREATMENT, horizon=HORIZON),
    )


def changed(first: Case, *changes: tuple[float, Case]) -> Case:
    rows = tuple(Change(time, f"change at {time:g} s", case) for time, case in changes)
    return dataclasses.replace(first, changes=rows)


FIRST = room(HEATER, FAN, MATTRESS, PILE, BLOCK)
FAN_MOVED = room(
    HEATER,
    dataclasses.replace(FAN, centre=(1.5, 1.2, 0.9), direction=(-1.0, 0.0, 0.0)),
    MATTRESS,
    PILE,
    BLOCK,
)


def turned(part: SolidPart) -> SolidPart:
    return dataclasses.replace(part, box=dataclasses.replace(part.box, lie=UPSIDE_DOWN))


TURNED = room(HEATER, FAN, turned(MATTRESS), PILE, BLOCK)
WITHOUT_PILE = room(HEATER, FAN, MATTRESS, BLOCK)


@cache
def run_of(case_name: str) -> Run:
    return simulate(CASES[case_name], CELL)


GEOMETRIES = Path(__file__).parents[3] / "geometries"

#: An invented pile in the empty box, taken out after ten minutes of thirty.
PILE_ROWS = """
[[dwelling.furniture]]
kind = "clutter"
name = "pile"
room = "room"
at = ["2.0 m", "0.6 m"]

[[treatment.change]]
at = "10 min"
words = "take the pile out"
remove = ["pile"]
"""

CASES = {
    "nothing": FIRST,
    "no-op": changed(FIRST, (AT, dataclasses.replace(FIRST, title="the same"))),
    "fan": changed(FIRST, (AT, FAN_MOVED)),
    "turned": changed(FIRST, (AT, TURNED)),
    "removed": changed(FIRST, (AT, WITHOUT_PILE)),
    "both": changed(FIRST, (1800.0, TURNED), (3600.0, WITHOUT_PILE)),
}


def same(one: Any, other: Any) -> bool:
    return all(
        np.array_equal(getattr(one, f.name), getattr(other, f.name), equal_nan=True)
        if isinstance(getattr(one, f.name), np.ndarray)
        else same(getattr(one, f.name), getattr(other, f.name))
        if f.name == "ledger"
        else getattr(one, f.name) == getattr(other, f.name)
        for f in dataclasses.fields(one)
    )


def test_a_change_that_changes_nothing_leaves_every_bit() -> None:
    assert same(run_of("nothing").history, run_of("no-op").history)


@pytest.mark.parametrize("name", ["fan", "turned", "removed", "both"])
def test_in_the_first_epoch_every_bit_is_that_of_the_run_without(name: str) -> None:
    with_change, without = run_of(name).history, run_of("nothing").history
    first = 120.0  # the first epoch is the same
    rows = with_change.time <= first
    assert rows.sum() > 2
    assert np.array_equal(
        with_change.refuge_temperature[rows], without.refuge_temperature[without.time <= first]
    )


@pytest.mark.parametrize("name", list(CASES))
def test_heat_is_balanced_over_every_kind_of_change(name: str) -> None:
    history = run_of(name).history
    assert np.abs(history.ledger.imbalance).max() < 1e-10


def test_a_moved_fan_carries_no_heat_and_changes_the_flow() -> None:
    history = run_of("fan").history
    assert np.all(history.ledger.carried == 0.0)
    begun = [epoch for epoch in history.epochs if epoch.start == AT]
    assert begun and begun[0].new_flow


def test_a_removed_pile_takes_its_heat_along() -> None:
    run = run_of("removed")
    history = run.history
    refuges = run.grid.refuges
    pile = np.array([refuges.groups[g].owner == "pile" for g in refuges.group])
    assert np.array_equal(np.isfinite(history.removed_at), pile)
    assert np.all(history.removed_at[pile] == AT)
    last = history.refuge_temperature[history.time <= AT][-1, pile]
    assert np.array_equal(history.refuge_temperature[-1, pile], last)
    capacity = 0.125 * 0.2 * CLOTH.volumetric_heat_capacity
    carried = history.ledger.carried[-1]
    mean = float(np.average(last, weights=refuges.volume[pile]))
    # refuges tell the coldest point of each cell; loose stuff has none colder than its mean
    assert carried == pytest.approx(-capacity * mean, rel=0.02)


def test_every_time_is_told_once_and_changes_begin_epochs() -> None:
    history = run_of("both").history
    assert np.all(np.diff(history.time) > 0.0)
    starts = [epoch.start for epoch in history.epochs]
    assert starts == [start for start, _ in epochs(HORIZON, [0.0, 1800.0, 3600.0])]
    assert {1800.0, 3600.0} <= set(starts)


def test_a_result_file_gives_back_what_was_taken_out(tmp_path: Path) -> None:
    """The case with its changes is rebuilt from the texts in the file, and so is its grid."""
    text = (GEOMETRIES / "empty_box.toml").read_text()
    text = text.replace('horizon = "2 h"', 'horizon = "30 min"') + PILE_ROWS
    case = load_texts({"box.toml": text}, "box.toml")
    run = simulate(case, 0.2)
    file = tmp_path / "box.vtkhdf"
    write_result(file, case, 0.2, run.grid, run.history, main="box.toml")
    back = read_result(file)
    assert back.case == case
    assert np.isfinite(run.history.removed_at).any()
    assert np.array_equal(back.history.removed_at, run.history.removed_at)
    assert np.array_equal(back.history.ledger.carried, run.history.ledger.carried)
    assert run.history.ledger.carried[-1] < 0.0


def test_a_mattress_heated_from_above_is_warm_below_after_turning() -> None:
    """It fills the floor of a sealed room, so that heat comes from above alone."""
    heated = solid((0.0, 0.0, 0.0), (1.0, 1.0, 0.75), owner="bed", name="mattress", material=FOAM)
    above = Box((0.5, 0.5, 1.1), (0.9, 0.9, 0.2))
    jet = HeatedJet(
        "heater", "outlet", (0.5, 0.5, 1.2), (1.0, 0.0, 0.0), 0.3, 0.05, 400.0, 70.0, above
    )
    treatment = dataclasses.replace(NO_TREATMENT, horizon=HORIZON)
    first = box_room((1.0, 1.0, 1.5), parts=(jet, heated), treatment=treatment)
    second = dataclasses.replace(first, parts=(jet, turned(heated)))
    run = simulate(changed(first, (AT, second)), CELL)
    history = run.history
    at = int(np.flatnonzero(history.time == AT)[0])
    frames = dict(zip(history.frame_time.tolist(), history.frame_temperature, strict=True))
    before, after = (frames[time][1, 1, :3] for time in (2400.0, 3000.0))
    assert before[2] > before[1] > before[0]  # from above, as it lies
    assert after[0] > after[1]  # what was on top is below now
    assert after[0] > before[0] + 2.0  # the middle of a deep cell; its skin is far warmer
    assert np.abs(history.ledger.imbalance).max() < 1e-10
    # what came with the turned thing is round-off: its heat is its own
    stored = abs(history.ledger.stored_solids[at])
    assert abs(history.ledger.carried[-1]) < 1e-9 * stored


class Memory:
    """A checkpoint in memory."""

    where = "memory"

    def __init__(self) -> None:
        self.kept: tuple[dict[str, NDArray[Any]], dict[str, Any]] | None = None

    def save(self, arrays: Mapping[str, NDArray[Any]], meta: Mapping[str, Any]) -> None:
        self.kept = ({name: np.array(a) for name, a in arrays.items()}, dict(meta))

    def load(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]] | None:
        return self.kept


@pytest.mark.parametrize("stop_at", [0.2, 0.34, 0.67])
def test_a_run_that_was_stopped_goes_on_to_the_same_bits(stop_at: float) -> None:
    memory = Memory()

    def stop(progress: Progress) -> None:
        if progress.simulated_time > stop_at * HORIZON:
            raise KeyboardInterrupt

    with pytest.raises(Interrupted):
        simulate(CASES["both"], CELL, progress=stop, checkpoint=memory)
    assert memory.kept is not None
    again = simulate(CASES["both"], CELL, checkpoint=memory, resume=True)
    assert same(again.history, run_of("both").history)


def test_a_door_that_opens_half_way_lets_the_heat_through() -> None:
    jet = dataclasses.replace(
        HEATER, centre=(0.5, 0.8, 0.4), intake=Box((0.4, 0.8, 0.9), (0.4, 0.4, 0.4))
    )
    treatment = dataclasses.replace(NO_TREATMENT, horizon=HORIZON)
    shut = two_rooms((2.0, 2.0, 2.0), parts=(jet, BLOCK), is_open=False, treatment=treatment)

    def with_door(*, is_open: bool) -> Case:
        doors = tuple(
            dataclasses.replace(door, is_open=is_open, is_ever_open=True)
            for door in shut.dwelling.doorways
        )
        return dataclasses.replace(
            shut, dwelling=dataclasses.replace(shut.dwelling, doorways=doors)
        )

    first = with_door(is_open=False)
    run = simulate(changed(first, (AT, with_door(is_open=True))), CELL)
    history, grid = run.history, run.grid
    rise = {}
    for name in ("west", "east"):
        here = grid.is_open & (grid.room == grid.room_names.index(name))
        means = [float(frame[here].mean()) - 20.0 for frame in history.frame_temperature]
        rise[name] = dict(zip(history.frame_time.tolist(), means, strict=True))
    # a thin partition lets little through; the doorway joins the air of both rooms
    assert rise["east"][2400.0] < 0.1 * rise["west"][2400.0]
    assert rise["east"][HORIZON] > 0.3 * rise["west"][HORIZON]
    assert np.abs(history.ledger.imbalance).max() < 1e-10
    assert history.ledger.carried[-1] < 0.0  # the patch of wall that was the door
