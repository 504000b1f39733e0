"""Unknowns are found again from logs whose truth is known, and what logs cannot tell is told."""

import functools
from dataclasses import replace

import numpy as np
import pytest
from known_following import PLACES, SENSORS, TIME, known_basis, known_log, table

from simulator.assessment.lethal_dose import DESIGN_DOSE, EGG_SLOW, accumulate
from simulator.errors import CaseError
from simulator.studies.following.basis import Basis
from simulator.studies.following.calibrate import Calibration, calibrate
from simulator.studies.following.courses import Place
from simulator.studies.following.departures import PACE, slowest
from simulator.studies.following.fit import COORDINATES, GRID_AT
from simulator.studies.following.forecast import forecast
from simulator.studies.following.unknowns import UNKNOWNS, values_at

NAMES = [thing.name for thing in UNKNOWNS]
HOUR = 3600.0

#: A place without a sensor is believed slower than the model's by this, for its slowest spot [-].
SLOWER = float(np.exp(slowest((Place("bale", "floor", "room", 1.0),), (), PACE)[0]))


@functools.cache
def basis() -> Basis:
    return known_basis()


def point(**values: float) -> np.ndarray:
    return np.array([values.get(name, 0.0) for name in NAMES])


def learnt(found: Calibration, name: str) -> float:
    return found.centre[NAMES.index(name)]


def done_at(where: np.ndarray) -> np.ndarray:
    """Return when each place is truly done [s]."""
    temperature = table(where)[:, len(SENSORS) : -1]
    result = accumulate(TIME, temperature, EGG_SLOW, (DESIGN_DOSE,))
    return np.maximum(result.time_to[0], result.time_of_50)


def test_the_reduced_model_tells_its_own_error() -> None:
    """Runs that it has not seen are missed by about as much as it says."""
    lots = np.random.default_rng(5)
    misses = [basis().temperatures(p.tolist()) - table(p) for p in lots.uniform(-1.0, 1.0, (50, 6))]
    seen = float(np.sqrt(np.mean(np.square(misses))))
    told = float(np.sqrt(np.mean(basis().error ** 2)))
    assert 0.5 < seen / told < 2.0
    assert seen < 0.5


def test_a_basis_survives_being_kept() -> None:
    arrays, facts = basis().kept()
    again = Basis.restored(arrays, facts)
    np.testing.assert_array_equal(again.temperatures([0.1] * 6), basis().temperatures([0.1] * 6))
    assert again.places == basis().places


def test_a_weak_heater_and_a_cold_start_are_found() -> None:
    truth = point(heater=-0.8, start=-0.6)
    found = calibrate(basis(), known_log(truth, 4.0 * HOUR))
    assert learnt(found, "heater") == pytest.approx(-0.8, abs=0.3)
    assert learnt(found, "start") == pytest.approx(-0.6, abs=0.2)
    told = {row.name: row for row in found.learnt}
    assert told["start"].is_told
    true = values_at(truth.tolist())
    assert told["heater"].low <= true["heater"] <= told["heater"].high


def test_bands_of_what_is_told_hold_the_truth() -> None:
    """Over 40 truths drawn from what is believed, nine tenths of the bands, within chance."""
    lots, held = np.random.default_rng(3), []
    for seed in range(40):
        truth = np.clip(0.5 * lots.standard_normal(6), -1.0, 1.0)
        found = calibrate(basis(), known_log(truth, 3.0 * HOUR, seed))
        true = values_at(truth.tolist())
        held += [row.low <= true[row.name] <= row.high for row in found.learnt]
    # 240 bands, those of one truth not independent: a loose binomial margin below 0.9.
    assert np.mean(held) > 0.83


def test_two_sensors_name_what_they_cannot_tell() -> None:
    found = calibrate(
        basis(), known_log(point(leakage=0.5), 4.0 * HOUR, sensors=("air", "chair seat"))
    )
    assert found.null_directions
    told = " ".join(found.null_directions)
    assert "error of the cells" in told  # no finer run was made: nothing can tell it
    rows = {row.name: row for row in found.learnt}
    assert not rows["outdoors"].is_told
    assert not rows["leakage"].is_told  # a weak heater reads the same


def test_more_sensors_and_hours_tell_more() -> None:
    few = calibrate(basis(), known_log(point(), HOUR, sensors=("air",)))
    many = calibrate(basis(), known_log(point(), 5.0 * HOUR))
    count = len(NAMES)
    assert np.all(np.diag(many.covariance)[:count] <= np.diag(few.covariance)[:count] + 1e-9)


def test_a_thing_that_is_slower_than_known_is_told_and_its_neighbours_believed() -> None:
    log = known_log(point(), 4.0 * HOUR, pace={"bale": 2.2})
    found = calibrate(basis(), log)
    checks = {check.name: check for check in found.sensors}
    assert checks["in the bale"].pace > 1.35
    assert "warms slower" in checks["in the bale"].words
    assert checks["chair seat"].words == ""
    told = forecast(basis(), found, log)
    slow = next(row for row in told.places if row.words == "floor under the clutter")
    usual = done_at(point())[0]
    assert slow.done.middle > 1.15 * usual  # the sensor is in the pile, the floor goes with it
    assert told.places[0].owner == "bale"


def test_a_sensor_that_fell_off_is_found_and_left_out() -> None:
    truth = point(heater=-0.3)
    log = known_log(truth, 4.0 * HOUR)
    value = log.value.copy()
    column = list(SENSORS).index("in the bale")
    fell = log.time >= 1.5 * HOUR
    value[fell, column] = value[fell, 0] + 0.3
    found = calibrate(basis(), replace(log, value=value))
    check = next(one for one in found.sensors if one.name == "in the bale")
    assert not check.is_trusted
    assert "after 1.5 h: it may have fallen out of its place" in check.words
    assert learnt(found, "heater") == pytest.approx(-0.3, abs=0.35)
    told = forecast(basis(), found, replace(log, value=value))
    assert "in the bale" not in [row.name for row in told.measured]


def test_a_sound_log_has_no_fallen_sensor() -> None:
    for seed in range(10):
        found = calibrate(basis(), known_log(point(), 4.0 * HOUR, seed, noise=0.5))
        assert all(check.is_trusted for check in found.sensors)


def test_a_clock_that_is_off_is_seen_and_does_no_harm() -> None:
    """Against a belief of two minutes either way, which draws it back, and with paces to blame."""
    for clock in (-240.0, 240.0):
        log = known_log(point(), 3.0 * HOUR, clock=clock, noise=0.1)
        found = calibrate(basis(), log)
        assert 120.0 * found.centre[len(NAMES) + 1] / clock > 0.25
        told = forecast(basis(), found, log, draws=100)
        # Places are believed slower than the model, for their slowest spots; here there are none.
        believed = SLOWER * done_at(point()).max()
        assert told.finishing.middle == pytest.approx(believed, rel=0.05)


def test_a_sensor_in_wrong_units_is_told_as_disagreeing() -> None:
    """Readings in °F under a °C header that begin low enough to pass: nothing explains them."""
    log = known_log(point(start=-1.0), 3.0 * HOUR)
    value = log.value.copy()
    value[:, 2] = 0.55 * value[:, 2]
    found = calibrate(basis(), replace(log, value=value))
    check = next(one for one in found.sensors if one.name == "chair seat")
    assert "colder than all else explains" in check.words or "warms slower" in check.words
    assert next(one for one in found.sensors if one.name == "air").words == ""


def test_a_log_that_begins_after_the_models_time_is_refused() -> None:
    log = known_log(point(), HOUR)
    late = replace(log, time=log.time + 40.0 * HOUR)
    with pytest.raises(CaseError, match="no reading within the time of the model"):
        calibrate(basis(), late)


def test_the_forecast_holds_the_truth() -> None:
    """Over 30 truths with things that depart, at three hours: 80 to 97 % within chance."""
    lots, held, middle = np.random.default_rng(11), [], []
    for seed in range(30):
        truth = np.clip(0.5 * lots.standard_normal(6), -1.0, 1.0)
        log = known_log(truth, 3.0 * HOUR, seed)
        told = forecast(basis(), calibrate(basis(), log), log, draws=200)
        done = dict(zip([row[:2] for row in PLACES], done_at(truth).tolist(), strict=True))
        for row in told.places:
            true = done[(row.owner, row.words)]
            low, high, mid = row.done.low, row.done.high, row.done.middle
            late = [np.inf if np.isnan(x) else x for x in (low, true, high)]
            held.append(late[0] <= late[1] <= late[2])
            if np.isfinite(true) and np.isfinite(mid):
                # Believed slower for its slowest spots; here each place has one.
                middle.append(mid / (SLOWER * true) - 1.0)
    assert np.mean(held) > 0.8
    assert abs(np.median(middle)) < 0.05


def test_a_place_is_nowhere_warmer_than_the_spot_of_its_sensor() -> None:
    """One spot warms half as fast again as the model's: its place is done no earlier than it."""
    slow = {"bale": 1.5}
    log = known_log(point(), 4.0 * HOUR, pace=slow, noise=0.1)
    found = calibrate(basis(), log)
    told = forecast(basis(), found, log)
    packed = next(row for row in told.places if row.words == "packed pile")
    result = accumulate(TIME, table(point(), slow)[:, [1]], EGG_SLOW, (DESIGN_DOSE,))
    spot = max(result.time_to[0, 0], result.time_of_50[0])
    assert packed.sensors == ("in the bale",)
    assert 0.97 * spot < packed.done.middle < 1.15 * spot
    assert packed.done.low > 0.93 * spot


def test_one_sensor_with_an_odd_error_of_the_cells_is_believed_of_its_own_spot_alone() -> None:
    """Finer cells add 4 K to the chair in the end and to nothing else; the truth has none of it."""
    whole = table(point())
    finer = np.zeros_like(whole)
    seat, cushion = list(SENSORS).index("chair seat"), len(SENSORS) + SENSORS["chair seat"]
    rise = (whole[:, seat] - whole[0, seat]) / (whole[-1, seat] - whole[0, seat])
    finer[:, [seat, cushion]] = 4.0 * rise[:, None]
    odd = replace(basis(), finer=finer.ravel())
    log = known_log(point(), 4.0 * HOUR)
    found, plain = calibrate(odd, log), calibrate(basis(), log)
    common, own = found.centre[GRID_AT], found.centre[COORDINATES + 2 * len(found.spots) + 1]
    assert own < -0.15  # of the two sensors in things the second
    assert common > -0.5
    told, usual = forecast(odd, found, log), forecast(basis(), plain, log)
    for row in usual.places:
        if row.owner == "bale":
            here = next(one for one in told.places if one.words == row.words)
            assert here.done.middle == pytest.approx(row.done.middle, rel=0.04)


def test_a_forecast_is_the_same_again() -> None:
    log = known_log(point(), 2.0 * HOUR)
    found = calibrate(basis(), log)
    assert forecast(basis(), found, log, draws=50) == forecast(basis(), found, log, draws=50)


def test_doses_that_sensors_measured_are_their_own() -> None:
    log = known_log(point(heater=0.5), 6.0 * HOUR, noise=0.0)
    told = forecast(basis(), calibrate(basis(), log), log, draws=50)
    seat = next(row for row in told.measured if row.name == "chair seat")
    temperature = log.value[:, list(log.sensors).index("chair seat")][:, None]
    assert seat.dose == pytest.approx(float(accumulate(log.time, temperature, EGG_SLOW).final[0]))
    assert seat.is_done
    assert seat.place == "chair, cushion, inside"
