"""What anyone would expect of a heated room, with the flow solved anew for each variant.

The flow of strong fans never settles, so two averages of the same flow differ by the reported
scatter. A temperature can follow only by a share of what still drives it: the difference between
the air and the place. Each comparison is therefore allowed the largest scatter of the two runs
times that difference (``allowance``); nothing else is forgiven.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from builders import CLOTH, FOAM, OUTDOOR_WALL, box_room, porous, solid

from simulator.case.case import Case, Change
from simulator.case.parts import (
    AirMover,
    Box,
    HeatedJet,
    Part,
    PorousPart,
    Refuge,
    SolidPart,
    Vector,
)
from simulator.case.treatment import Treatment
from simulator.simulation import Run, simulate

pytestmark = pytest.mark.slow

SIZE = (3.6, 3.0, 2.4)
CELL = 0.20
HORIZON = 5400.0

TREATMENT = Treatment(
    target_temperature=55.0,
    air_limit=70.0,
    thermostat=60.0,
    proportional_band=5.0,
    horizon=HORIZON,
)

HEATER = HeatedJet(
    owner="heater",
    name="outlet",
    centre=(0.5, 0.6, 0.5),
    direction=(1.0, 0.0, 0.0),
    diameter=0.4,
    flow=0.25,
    power=4000.0,
    outlet_limit=90.0,
    intake=Box((0.3, 0.6, 0.9), (0.4, 0.4, 0.4)),
)
FANS = (
    AirMover("fan 1", "fan", (3.1, 0.6, 0.5), (-0.5, 0.866, 0.0), 0.45, 0.8, 200.0),
    AirMover("fan 2", "fan", (0.6, 2.4, 0.7), (0.94, -0.34, 0.0), 0.45, 0.8, 200.0),
)
#: As found: a mattress on the floor against the wall, packed clothes in the corner, a full chest.
AS_FOUND: tuple[Part, ...] = (
    solid((1.2, 1.9, 0.0), (1.4, 1.1, 0.3), owner="bed", name="mattress", material=FOAM,
          refuge=Refuge.THROUGHOUT),
    porous((3.0, 2.4, 0.0), (0.6, 0.6, 0.8), owner="pile", material=CLOTH, air_fraction=0.6),
    solid((3.1, 1.1, 0.0), (0.5, 0.8, 0.9), owner="chest", name="drawers", material=CLOTH,
          refuge=Refuge.THROUGHOUT),
)  # fmt: skip
#: Prepared: the mattress on edge in mid-room, the clothes loosened, the drawers open.
PREPARED: tuple[Part, ...] = (
    solid((1.2, 1.6, 0.0), (1.4, 0.3, 1.1), owner="bed", name="mattress", material=FOAM,
          refuge=Refuge.THROUGHOUT),
    porous((2.6, 2.0, 0.0), (0.8, 0.6, 1.4), owner="pile", material=CLOTH,
           air_fraction=1.0 - 0.4 * 0.288 / 0.672),
    porous((3.1, 1.1, 0.0), (0.5, 0.8, 0.9), owner="chest", name="drawers", material=CLOTH,
           air_fraction=0.5),
)  # fmt: skip


def room(*parts: Part) -> Case:
    return box_room(SIZE, parts=parts, air_changes=0.4, envelope=OUTDOOR_WALL, treatment=TREATMENT)


@cache
def run_of(case_of: Callable[[], Case]) -> Run:
    return simulate(case_of(), CELL)


def as_found() -> Case:
    return room(HEATER, *FANS, *AS_FOUND)


def more_heat() -> Case:
    return room(replace(HEATER, power=5000.0), *FANS, *AS_FOUND)


def prepared() -> Case:
    return room(HEATER, *FANS, *PREPARED)


def without_fans() -> Case:
    return room(HEATER, *AS_FOUND)


def fan_moved() -> Case:
    """From 20 min on, fan 1 stands before the pile in its corner and blows at it."""
    first = as_found()
    aimed = replace(FANS[0], centre=(2.4, 1.8, 0.5), direction=(0.707, 0.707, 0.0))
    parts = tuple(aimed if part is FANS[0] else part for part in first.parts)
    return replace(first, changes=(Change(1200.0, "aim", replace(first, parts=parts)),))


def mattress_stood_up() -> Case:
    """At half time the mattress is stood on edge in mid-room, with the heat that it has."""
    first = as_found()
    on_edge = replace(AS_FOUND[0], box=Box((1.9, 1.75, 0.55), (1.4, 0.3, 1.1), lie=(1, 3, -2)))
    parts = tuple(on_edge if part is AS_FOUND[0] else part for part in first.parts)
    return replace(first, changes=(Change(0.5 * HORIZON, "stand", replace(first, parts=parts)),))


def mirrored() -> Case:
    case = as_found()
    leaks = tuple(
        replace(leak, sides=tuple(side.__class__((side.axis, -side.sign)) for side in leak.sides))
        for leak in case.dwelling.leakage
    )
    return replace(
        case,
        parts=tuple(mirror(part) for part in case.parts),
        dwelling=replace(case.dwelling, leakage=leaks),
    )


def mirror(part: Part) -> Part:
    """Return the part in the room seen in a mirror on its west wall, shifted back into the room."""

    def point(at: Vector) -> Vector:
        return (SIZE[0] - at[0], at[1], at[2])

    def box(of: Box) -> Box:
        return Box(point(of.centre), of.size, -of.turn, of.tilt)

    def way(along: Vector) -> Vector:
        return (-along[0], along[1], along[2])

    match part:
        case SolidPart() | PorousPart():
            return replace(part, box=box(part.box))
        case AirMover():
            return replace(part, centre=point(part.centre), direction=way(part.direction))
        case HeatedJet():
            intake = box(part.intake) if part.intake else None
            return replace(
                part, centre=point(part.centre), direction=way(part.direction), intake=intake
            )
    raise TypeError(part)


def allowance(*runs: Run) -> float:
    """Return how far the mean temperature of the refuges may differ by the scatter alone [K]."""
    drives = [float(run.history.air_mean[-1] - mean_of_refuges(run)) for run in runs]
    return largest_scatter(runs) * max(drives)


def largest_scatter(runs: Sequence[Run]) -> float:
    """Return the largest difference between halves of any averaged flow of the runs [-]."""
    return max(epoch.scatter for run in runs for epoch in run.history.epochs)


def mean_of_refuges(run: Run, owner: str | None = None) -> float:
    refuges = run.grid.refuges
    chosen = np.array([owner in (None, refuges.groups[g].owner) for g in refuges.group])
    temperature = run.history.refuge_temperature[-1][chosen].astype(float)
    return float(np.average(temperature, weights=refuges.volume[chosen]))


def stratification(run: Run) -> float:
    """Return the mean air temperature under the ceiling less that over the floor [K]."""
    field = run.history.frame_temperature[-1]
    is_open = run.grid.is_open
    top = field[:, :, -1][is_open[:, :, -1]].mean()
    low = field[:, :, 0][is_open[:, :, 0]].mean()
    return float(top - low)


def test_heat_balance_closes_and_the_flow_keeps_its_air() -> None:
    for case_of in (as_found, more_heat, prepared, without_fans, mirrored):
        history = run_of(case_of).history
        assert np.abs(history.ledger.imbalance).max() < 1e-8
        assert max(epoch.divergence for epoch in history.epochs) < 1e-9


def test_more_heat_warms_the_hiding_places() -> None:
    base, more = run_of(as_found), run_of(more_heat)
    assert mean_of_refuges(more) > mean_of_refuges(base) - allowance(base, more)
    # The heater is 25 % stronger and neither reaches its set point: the difference is no scatter.
    assert mean_of_refuges(more) - mean_of_refuges(base) > 1.0


def test_a_prepared_room_warms_sooner_than_the_same_as_found() -> None:
    base, better = run_of(as_found), run_of(prepared)
    for owner in ("bed", "pile", "chest"):
        slack = allowance(base, better)
        assert mean_of_refuges(better, owner) > mean_of_refuges(base, owner) - slack, owner


def test_preparing_does_not_change_how_much_stuff_there_is() -> None:
    """Else the comparison above would only show that less stuff warms sooner."""
    base, better = run_of(as_found).grid.solids, run_of(prepared).grid.solids
    # The chest's own load is loosened: it loses the half that was counted as packed solid.
    chest = 0.5 * 0.5 * 0.8 * 0.9 * CLOTH.density
    assert better.mass.sum() + chest == pytest.approx(base.mass.sum(), rel=1e-9)


def test_a_mirrored_room_warms_alike() -> None:
    base, other = run_of(as_found), run_of(mirrored)
    assert mean_of_refuges(other) == pytest.approx(
        mean_of_refuges(base), abs=allowance(base, other)
    )
    for owner in ("bed", "pile", "chest"):
        slack = 2.0 * allowance(base, other)  # one piece of furniture sees more of the scatter
        assert mean_of_refuges(other, owner) == pytest.approx(
            mean_of_refuges(base, owner), abs=slack
        )


def test_without_fans_the_air_is_more_stratified() -> None:
    assert stratification(run_of(without_fans)) > stratification(run_of(as_found)) + 1.0


def test_a_fan_turned_on_a_cold_pile_warms_it() -> None:
    base, moved = run_of(as_found), run_of(fan_moved)
    slack = allowance(base, moved)
    assert mean_of_refuges(moved, "pile") > mean_of_refuges(base, "pile") - slack
    assert mean_of_refuges(moved, "pile") > mean_of_refuges(base, "pile")


def test_a_mattress_stood_on_edge_half_way_warms_more_than_one_left_lying() -> None:
    base, stood = run_of(as_found), run_of(mattress_stood_up)
    assert mean_of_refuges(stood, "bed") > mean_of_refuges(base, "bed")
    assert np.abs(stood.history.ledger.imbalance).max() < 1e-10
    assert abs(stood.history.ledger.carried[-1]) < 0.01 * stood.history.ledger.heaters[-1]
