"""What is taken out during a run is judged up to then, and told."""

import dataclasses

import numpy as np
import pytest
from builders import OUTDOOR_WINDOW, box_room, solid
from runs import hand_history, open_grid

from simulator.assessment.assess import assess
from simulator.assessment.places import doses_of
from simulator.case.case import Case, Change
from simulator.case.dwelling import Side, Window
from simulator.case.parts import Refuge
from simulator.history import History

TIME = np.arange(0.0, 7201.0, 60.0)
AT = 3600.0
PILE = solid((1.0, 1.0, 0.0), (0.4, 0.4, 0.4), owner="pile", refuge=Refuge.THROUGHOUT)
SPOTS = (
    ((0.5, 0.5, 0.5), 0.01, "bed", "mattress, inside", "room"),
    ((1.2, 1.2, 0.2), 0.02, "pile", "body, inside", "room"),
)


def case() -> Case:
    first = box_room((3.0, 3.0, 2.4), parts=[PILE], furniture_words={"pile": "pile"})
    later = dataclasses.replace(first, parts=())
    return dataclasses.replace(first, changes=(Change(AT, "pile out", later),))


def history(pile: float, removed_at: float) -> History:
    room = case()
    grid = open_grid(room, SPOTS)
    bed = np.full(TIME.size, 55.0)
    column = np.full(TIME.size, pile)
    return hand_history(
        room,
        grid,
        TIME,
        np.stack([bed, column], axis=1),
        removed_at=np.array([np.inf, removed_at]),
    )


def test_the_dose_stops_when_the_thing_is_taken_out() -> None:
    whole, until = doses_of(history(46.0, np.inf)), doses_of(history(46.0, AT))
    assert until.egg[0] == whole.egg[0]
    assert until.egg[1] == pytest.approx(0.5 * whole.egg[1], rel=1e-12)


def test_what_is_gone_is_no_cold_spot_and_holds_nothing_up() -> None:
    room = case()
    run = history(40.0, AT)
    found = assess(room, open_grid(room, SPOTS), run)
    assert found.is_all_done
    assert np.isfinite(found.finishing_time)
    assert all("pile" not in spot.words for spot in found.cold_spots)
    assert found.coldest[-1] == 55.0 and found.coldest[0] == 40.0
    assert found.mean[-1] == pytest.approx(55.0)
    note = next(note for note in found.notes if note.startswith("Taken out"))
    assert "pile" in note and "1 h" in note and "20 litres of it were not done" in note
    stayed = assess(room, open_grid(room, SPOTS), history(40.0, np.inf))
    assert not stayed.is_all_done


def test_what_is_brought_in_is_told_as_not_judged() -> None:
    empty = dataclasses.replace(case(), parts=(), changes=())
    later = dataclasses.replace(empty, parts=(PILE,))
    room = dataclasses.replace(empty, changes=(Change(AT, "pile in", later),))
    run = history(55.0, np.inf)
    found = assess(room, open_grid(room, SPOTS), run)
    note = next(note for note in found.notes if note.startswith("Brought in"))
    assert "pile (body)" in note and "not judged" in note


def test_what_open_windows_leave_out_is_told_only_if_one_is_open() -> None:
    window = Window(
        "window", "room", Side.WEST, (0.0, 0.6, 0.8), (0.0, 1.4, 1.8), OUTDOOR_WINDOW, 0.5
    )
    room, run = case(), history(55.0, np.inf)
    told = [note for note in assess(room, open_grid(room, SPOTS), run).notes if "wind" in note]
    assert not told
    later = room.changes[0].case
    aired = dataclasses.replace(
        later, dwelling=dataclasses.replace(later.dwelling, windows=(window,))
    )
    room = dataclasses.replace(room, changes=(Change(AT, "air", aired),))
    notes = assess(room, open_grid(room, SPOTS), run).notes
    assert any(note.startswith("Open windows") and "wind" in note for note in notes)
