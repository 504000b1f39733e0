"""The assessment as a whole: curves, coldest points, limits in words."""

import dataclasses

import numpy as np
import pytest
from builders import box_room, solid
from runs import Spot, hand_history, open_grid

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.lethal_dose import EGG_SLOW, dose
from simulator.assessment.summary import verdict_line
from simulator.case.treatment import Phase
from simulator.history import EnergyLedger, EpochRecord

TIME = np.linspace(0.0, 5 * 3600.0, 31)
SPOTS: list[Spot] = [
    ((0.5, 0.5, 0.1), 1e-3, "bed", "mattress, inside", "room"),
    ((0.7, 0.5, 0.1), 2e-3, "bed", "mattress, inside", "room"),
    ((1.5, 1.5, 0.1), 5e-3, "room", "floor", "room"),
]


def assessed(finals: tuple[float, ...] = (58.0, 54.0, 47.0), **changes: object) -> Assessment:
    part = solid((0.4, 0.4, 0.0), (0.5, 0.2, 0.2), owner="bed", name="mattress")
    case = box_room((2.0, 2.0, 2.4), parts=(part,), furniture_words={"bed": "bed"})
    grid = open_grid(case, SPOTS[: len(finals)])
    rise = 1.0 - np.exp(-TIME / 3600.0)
    temperature = 20.0 + rise[:, None] * (np.array(finals) - 20.0)
    return assess(case, grid, hand_history(case, grid, TIME, temperature, **changes))


def test_curves_follow_the_refuges() -> None:
    assessment = assessed()
    rise = 1.0 - np.exp(-TIME / 3600.0)
    # temperatures are kept in single precision, 4e-6 K at 60 °C
    assert assessment.coldest == pytest.approx(20.0 + 27.0 * rise, abs=1e-5)
    assert assessment.warmest == pytest.approx(20.0 + 38.0 * rise, abs=1e-5)
    mean = 20.0 + rise * (1 * 38.0 + 2 * 34.0 + 5 * 27.0) / 8.0
    assert assessment.mean == pytest.approx(mean, abs=1e-5)


def test_the_share_below_50_degrees_falls_by_the_volume_that_passes_it() -> None:
    below = assessed().fraction_below_50
    assert below[0] == 1.0
    assert below[-1] == pytest.approx(5.0 / 8.0)
    assert set(np.round(below * 8.0)) == {8.0, 7.0, 5.0}
    assert np.all(np.diff(below) <= 0.0)


def test_doses_are_those_of_the_lethal_dose() -> None:
    assessment = assessed()
    rise = 1.0 - np.exp(-TIME / 3600.0)
    held = (20.0 + rise[:, None] * np.array([38.0, 34.0, 27.0])).astype(np.float32)
    assert assessment.egg_dose == pytest.approx(dose(TIME, held, EGG_SLOW)[-1], rel=1e-12)


def test_the_coldest_point_of_furniture_is_its_own_and_rooms_are_left_out() -> None:
    ((owner, temperature, position),) = assessed().coldest_by_furniture
    assert owner == "bed"
    assert temperature == pytest.approx(20.0 + 34.0 * (1.0 - np.exp(-5.0)), abs=1e-5)
    assert position == (0.7, 0.5, 0.1)


def test_one_place_more_can_only_lengthen_the_treatment() -> None:
    shorter, longer = assessed((58.0, 56.0)), assessed((58.0, 56.0, 55.5))
    assert longer.is_all_done
    assert longer.finishing_time > shorter.finishing_time
    assert longer.finishing_time_colder > longer.finishing_time


def test_the_largest_heat_imbalance_of_the_run_is_kept() -> None:
    ones = np.ones(TIME.size)
    ledger = EnergyLedger(*(value * ones for value in (90.0, 10.0, 20.0, 10.0, 30.0, 20.0, 19.0)))
    ledger.stored_air[3] += 4.0
    assert assessed(ledger=ledger).heat_imbalance == pytest.approx(0.03)


def test_an_interrupted_run_says_so_first() -> None:
    assert assessed().notes[0] != assessed(is_complete=False).notes[0]
    assert "cut off at 5 h of 6 h" in assessed(is_complete=False).notes[0]
    assert not assessed(is_complete=False).is_complete


def test_the_scatter_of_the_flow_is_told() -> None:
    assert any("differ by 6 %" in note for note in assessed().notes)


def epoch(**changes: float) -> EpochRecord:
    return dataclasses.replace(EpochRecord(0.0, 0.4, 0.06, 1e-11, True), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-0.14, 0.0, "was 0 to 14 % low against"),
        (-0.03, 0.08, "was 3 % low to 8 % high against"),
        (0.02, 0.08, "was 2 to 8 % high against"),
    ],
)
def test_the_bias_of_the_cells_is_told(low: float, high: float, words: str) -> None:
    flows = (epoch(speed_bias_low=low, speed_bias_high=high),)
    assert any(words in note for note in assessed(epochs=flows).notes)
    assert not any("cells of this size" in note for note in assessed(epochs=(epoch(),)).notes)


def test_a_throttled_fan_is_told_of_and_a_free_one_is_not() -> None:
    flows = (epoch(least_thrust=0.97), epoch(least_thrust=0.55))
    assert any("55 % of its free thrust" in note for note in assessed(epochs=flows).notes)
    assert not any("free thrust" in note for note in assessed(epochs=flows[:1]).notes)


def test_a_case_without_refuges_is_not_judged() -> None:
    assessment = assessed(())
    assert assessment.places == ()
    assert assessment.cold_spots == ()
    assert np.isnan(assessment.finishing_time)
    assert any("nothing to judge" in note for note in assessment.notes)


def test_refuges_are_not_touched() -> None:
    part = solid((0.4, 0.4, 0.0), (0.5, 0.2, 0.2), owner="bed", name="mattress")
    case = box_room((2.0, 2.0, 2.4), parts=(part,), furniture_words={"bed": "bed"})
    grid = open_grid(case, SPOTS)
    history = hand_history(case, grid, TIME, np.full((TIME.size, 3), 48.0))
    before = {
        f.name: np.copy(getattr(grid.refuges, f.name))
        for f in dataclasses.fields(grid.refuges)
        if f.name != "groups"
    }
    assess(case, grid, history)
    assert all(np.array_equal(getattr(grid.refuges, name), old) for name, old in before.items())


def test_coldest_places_are_told_at_the_end_of_the_heat_and_doses_at_the_end_of_the_run() -> None:
    part = solid((0.4, 0.4, 0.0), (0.5, 0.2, 0.2), owner="bed", name="mattress")
    case = box_room((2.0, 2.0, 2.4), parts=(part,), furniture_words={"bed": "bed"})
    phases = (Phase("heat", 0.0, 60.0), Phase("cool-down", 4 * 3600.0, 60.0, heaters_on=False))
    treatment = dataclasses.replace(case.treatment, phases=phases, horizon=TIME[-1])
    case = dataclasses.replace(case, treatment=treatment)
    grid = open_grid(case, SPOTS)
    course = np.where(TIME <= 4 * 3600.0, 49.0, 30.0)
    temperature = course[:, None] * np.ones(3)
    assessment = assess(case, grid, hand_history(case, grid, TIME, temperature))
    assert assessment.coldest_by_furniture[0][1] == 49.0
    assert assessment.cold_spots[0].coldest == 49.0
    assert TIME[assessment.end.index] == 4 * 3600.0
    line = verdict_line(assessment, case)
    assert "100.0 % of the hiding volume is below 50 °C when the heat ends" in line
    assert assessment.egg_dose.min() > 3.5  # four hours at 49 °C, whatever comes after
