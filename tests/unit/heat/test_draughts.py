"""What draughts carry: their speed, their limits, and a floor under a chair on coarse cells."""

import dataclasses

import numpy as np
import pytest
from builders import FOAM, box_room

from simulator.case.load import load_texts
from simulator.case.parts import Box, Refuge, SolidPart
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import Touched
from simulator.grid.voxelise import voxelise
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat import balance
from simulator.physics.heat.air_terms import Entries
from simulator.physics.heat.draughts import (
    DRIVEN,
    ENTRY_AND_EXIT,
    draught_conductance,
    draught_speed,
)
from simulator.run_settings import QUICK
from simulator.studies.evaluate import evaluate


def speed(stream: float, difference: float, width: float, length: float, rise: float) -> float:
    return float(draught_speed(*(np.array(x) for x in (stream, difference, width, length, rise))))


def test_a_wide_gap_is_limited_by_entry_and_exit_and_a_thin_one_by_friction() -> None:
    wide = speed(0.5, 0.0, 0.2, 0.2, 0.0)
    assert wide == pytest.approx(0.5 * np.sqrt(DRIVEN / ENTRY_AND_EXIT), rel=0.02)
    # Plane Poiseuille: halving a thin gap's width quarters its speed.
    assert speed(0.3, 0.0, 0.002, 1.0, 0.0) == pytest.approx(
        0.25 * speed(0.3, 0.0, 0.004, 1.0, 0.0), rel=0.02
    )
    assert speed(0.0, 0.0, 0.05, 1.0, 0.0) == 0.0
    assert speed(0.0, 10.0, 0.03, 1.0, 0.8) > speed(0.0, 10.0, 0.03, 1.0, 0.0) > 0.0


def seat(gap: float) -> SolidPart:
    centre, size = (1.5, 1.5, gap + 0.15), (0.8, 0.8, 0.3)
    return SolidPart("seat", "seat", Box(centre, size), FOAM, Refuge.SURFACE)


def moving(case_size: float = 0.2) -> tuple[object, Airflow]:
    """Return a grid with a gap of 8 cm and air of 0.3 m/s everywhere."""
    grid = voxelise(box_room((3.0, 3.0, 2.4), parts=(seat(0.08),)), case_size)
    nx, ny, nz = grid.shape
    still = {
        "x_velocity": np.zeros((nx + 1, ny, nz)),
        "y_velocity": np.zeros((nx, ny + 1, nz)),
        "z_velocity": np.zeros((nx, ny, nz + 1)),
        "speed": np.full(grid.shape, 0.3),
    }
    rest = {
        field.name: 0.0
        for field in dataclasses.fields(Airflow)
        if field.name not in still and field.default is dataclasses.MISSING
    }
    return grid, Airflow(**still, **rest)  # type: ignore[arg-type]


def test_no_face_takes_more_than_the_draught_brings() -> None:
    grid, flow = moving()
    gaps = grid.draughts
    difference = np.full(gaps.index.size, 10.0)
    conductance = draught_conductance(grid, flow, difference)
    assert (conductance[gaps.kind != Touched.AIR] > 0.0).all()
    assert (conductance[gaps.kind == Touched.AIR] == 0.0).all()  # the solved flow is faster
    found = draught_speed(
        np.full(gaps.index.size, 0.3), difference, gaps.width, 2.0 * gaps.length, gaps.rise
    )
    brought = AIR_VOLUMETRIC_HEAT_CAPACITY * found * gaps.width / (4.0 * gaps.length)
    plain = gaps.kind != Touched.COLUMN
    assert (conductance[plain] <= gaps.area[plain] * brought[plain] * (1.0 + 1e-9)).all()


#: An armchair on feet of 8 cm in a heated room, invented.
ARMCHAIR = """
title = "armchair in a heated room, invented"
[dwelling]
name = "room"
start = "20 degC"
outdoors = { temperature = "8 degC" }
shell.walls = { construction = "frame_wall", behind = "mirror" }
shell.floor = { construction = "wood_floor", behind = "neighbour" }
shell.ceiling = { construction = "attic_ceiling", behind = "mirror" }
[[dwelling.behind]]
name = "neighbour"
temperature = "20 degC"
[[dwelling.room]]
name = "room"
size = ["2.8 m", "2.4 m", "2.4 m"]
[[dwelling.furniture]]
kind = "armchair"
name = "armchair"
room = "room"
at = ["0.8 m", "1.6 m"]
turn = "45 deg"
[layout]
name = "a heater and a fan"
[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["1.75 m", "0.5 m"]
turn = "120 deg"
[[layout.equipment]]
kind = "fan"
name = "fan"
room = "room"
at = ["1.9 m", "1.9 m"]
turn = "-110 deg"
[treatment]
horizon = "3 h"
"""


def floor_under_armchair(cell_size: float) -> float:
    """Return the coldest of the floor under an armchair after three hours [°C]."""
    answer = evaluate(load_texts({"room.toml": ARMCHAIR}, "room.toml"), cell_size, QUICK)
    return next(p.coldest for p in answer.places if p.words == "floor under the armchair")


@pytest.mark.slow
def test_a_floor_under_a_chair_warms_alike_on_coarse_and_on_fine_cells(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The gap of 8 cm is resolved by cells of 0.14 m and not by those of 0.2 m."""
    coarse, fine = floor_under_armchair(0.2), floor_under_armchair(0.14)
    none = np.zeros(0, dtype=np.int64)
    monkeypatch.setattr(balance, "draughts", lambda *_: Entries(none, none, np.zeros(0)))
    still = floor_under_armchair(0.2)
    assert still < fine - 8.0
    assert abs(coarse - fine) < 0.5 * abs(still - fine)
