"""Verdicts on harm: limits with their sources, stops whatever the temperature, fire devices."""

import dataclasses
import re

import numpy as np
import pytest
from builders import WOOD, box_room, solid
from runs import hand_history, open_grid

from simulator.assessment.harm import (
    CEILING,
    NEVER,
    OPENS,
    RISES,
    HarmVerdict,
    fastest_rise,
    find_harm,
    foreseen_harm,
)
from simulator.assessment.harm_words import FIRE_ADVICE, harm_lines, stop_line
from simulator.case import hazards
from simulator.case.case import Case
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.hazards import THINGS, Hazard, Verdict
from simulator.case.parts import Probe
from simulator.case.standing import Standing

TIME = np.linspace(0.0, 3600.0, 61)
VINYL = dataclasses.replace(WOOD, name="test vinyl", harm_temperature=60.0)


def watched(hazard: Hazard, owner: str = "box") -> Probe:
    return Probe(owner, hazard.what, (1.0, 1.0, 1.0), hazard.limit, hazard.basis, hazard=hazard)


def room(*hazards_there: Hazard) -> Case:
    parts = (solid((0.1, 0.1, 0.0), (0.2, 0.2, 0.2), owner="desk", name="top", material=VINYL),)
    probes = [watched(hazard, f"thing {i}") for i, hazard in enumerate(hazards_there)]
    return box_room((2.0, 2.0, 2.4), parts=parts, probes=probes)


def verdicts(
    case: Case, temperature: float | np.ndarray, frames: float = 30.0, desk: float = 50.0
) -> dict[str, HarmVerdict]:
    """Return the verdicts by owner after a run with every probe at a temperature [°C]."""
    grid = open_grid(case, [])
    series = np.broadcast_to(temperature, TIME.shape)
    history = hand_history(case, grid, TIME, np.zeros((TIME.size, 0)), air_mean=np.full(61, 30.0))
    history = dataclasses.replace(
        history,
        probe_temperature=np.tile(series[:, None], (1, len(case.probes))),
        frame_temperature=np.full((2, *grid.shape), frames, dtype=np.float32),
    )
    return {one.owner: one for one in find_harm(case, history, grid, np.array([desk]))}


#: FACTS of the sources: thing, limit, body and standing.
LIMITS = [
    ("aerosol_cans", 50.0, "P412", Standing.READ),  # GHS precautionary statement
    ("gas_cartridges", 50.0, "P412", Standing.READ),
    ("medicines", 40.0, "USP 659", Standing.SECOND_HAND),
    ("chocolate", 34.0, "34 °C", Standing.SECOND_HAND),
    ("candles", 45.0, "45 to 68 °C", Standing.SECOND_HAND),
    ("soft_plastics", 40.0, "40 to 60 °C", Standing.SECOND_HAND),
    ("vinyl_records", 60.0, "60 °C", Standing.SECOND_HAND),
    ("lithium_batteries", 60.0, "60 °C", Standing.SECOND_HAND),
    ("fire_extinguisher", 49.0, "49 °C", Standing.MEMORY),
]


@pytest.mark.parametrize(("name", "limit", "phrase", "standing"), LIMITS)
def test_limits_name_their_source_and_its_standing(
    name: str, limit: float, phrase: str, standing: Standing
) -> None:
    thing = THINGS[name]
    assert thing.limit == limit and phrase in thing.basis and thing.standing is standing


@pytest.mark.parametrize(
    ("rating", "ceiling", "opens"),
    [("ordinary", 38.0, "57 to 77"), ("intermediate", 66.0, "79 to 107"),
     ("high", 107.0, "121 to 149")],
)  # fmt: skip
def test_sprinkler_classes(rating: str, ceiling: float, opens: str) -> None:
    """NFPA 13 classes, read on pages that repeat them."""
    head = hazards.sprinkler(rating)
    assert (head.limit, head.standing) == (ceiling, Standing.SECOND_HAND)
    assert opens in head.basis and "NFPA 13" in head.basis


def test_heat_detectors_and_smoke_alarms() -> None:
    """NFPA 72 classes: ordinary, ceiling 46 °C, opens at 57 to 79 °C; about 8 K/min; 4 to 38 °C."""
    detector = hazards.heat_detector("ordinary", by_rate=True)
    assert (detector.limit, detector.rise_limit) == (46.0, 8.0)
    assert "57 to 79" in detector.basis and "NFPA 72" in detector.basis
    assert hazards.smoke_alarm().limit == 38.0
    assert hazards.heat_detector("intermediate", by_rate=False).standing is Standing.MEMORY


NEVER_STAY = [
    "aerosol_cans", "gas_cartridges", "ammunition", "lighters", "oxygen", "solvents_and_fuel",
    "plants", "medicines",
]  # fmt: skip


@pytest.mark.parametrize("thing", [*(THINGS[name] for name in NEVER_STAY), hazards.FISH])
@pytest.mark.parametrize("temperature", [15.0, 60.0])
def test_some_things_are_a_stop_whatever_the_temperature(thing: Hazard, temperature: float) -> None:
    case = room(thing)
    found = verdicts(case, temperature)["thing 0"]
    assert (found.verdict, found.why) == ("stop", NEVER)
    assert foreseen_harm(case)[0].verdict == "stop"


@pytest.mark.parametrize("name", [name for name in THINGS if name not in NEVER_STAY])
def test_the_others_are_judged_by_their_own_limit(name: str) -> None:
    thing = THINGS[name]
    if thing.limit is None:
        assert verdicts(room(thing), 50.0)["thing 0"].humidity == pytest.approx(0.095, abs=0.005)
        return
    assert verdicts(room(thing), thing.limit)["thing 0"].verdict == "within"
    assert verdicts(room(thing), thing.limit + 0.1)["thing 0"].verdict == thing.verdict.value


def test_an_ordinary_sprinkler_is_asked_about_and_is_a_stop_from_where_it_may_open() -> None:
    case = room(hazards.sprinkler("ordinary"))
    assert verdicts(case, 37.0)["thing 0"].verdict == "within"
    warm = verdicts(case, 50.0)["thing 0"]
    assert warm.verdict == "ask" and "every time" in warm.basis
    assert "licensed fire-protection contractor" in warm.advice
    hot = verdicts(case, 57.0)["thing 0"]
    assert (hot.verdict, hot.why) == ("stop", OPENS)
    assert verdicts(room(hazards.sprinkler("high")), 65.0)["thing 0"].verdict == "within"


def test_even_a_mild_plan_passes_the_ceiling_class_of_ordinary_heads() -> None:
    """Any air that can bring all places to 50 °C passes 38 °C, so it is asked about beforehand."""
    case = room(hazards.sprinkler("ordinary"))
    mild = dataclasses.replace(case.treatment, air_limit=50.0)
    by_owner = {one.owner: one for one in foreseen_harm(dataclasses.replace(case, treatment=mild))}
    assert by_owner["thing 0"].verdict == by_owner[CEILING].verdict == "ask"


def test_a_detector_trips_by_a_fast_rise_alone() -> None:
    slow = 20.0 + 20.0 * TIME / 3600.0
    fast = np.where(TIME < 600.0, 20.0, 29.0)  # 9 K within a minute
    by_rate = hazards.heat_detector("ordinary", by_rate=True)
    assert verdicts(room(by_rate), slow)["thing 0"].verdict == "within"
    tripped = verdicts(room(by_rate), fast)["thing 0"]
    assert (tripped.verdict, tripped.why) == ("ask", RISES)
    assert tripped.rise == pytest.approx(9.0)
    fixed = hazards.heat_detector("ordinary", by_rate=False)
    assert verdicts(room(fixed), fast)["thing 0"].verdict == "within"


def test_a_rise_is_taken_over_a_minute_or_more() -> None:
    time = np.array([0.0, 30.0, 60.0, 180.0])
    assert fastest_rise(time, np.array([20.0, 26.0, 26.0, 34.0])) == pytest.approx(6.0)
    assert fastest_rise(time[:1], np.array([20.0])) == 0.0
    assert fastest_rise(time, np.array([40.0, 30.0, 20.0, 10.0])) == 0.0


def test_the_ceiling_layer_names_every_class_it_is_too_hot_for() -> None:
    hot = verdicts(room(), 30.0, frames=60.0)[CEILING]
    assert hot.verdict == "ask"
    for words in (
        "smoke alarms (38",
        "ordinary sprinkler heads (38",
        "ordinary heat detectors (46",
    ):
        assert words in hot.basis
    assert "intermediate sprinkler" not in hot.basis
    assert verdicts(room(), 30.0, frames=37.0)[CEILING].verdict == "within"
    assert hot.standing == Standing.SECOND_HAND.value
    assert verdicts(room(), 30.0, frames=72.0)[CEILING].standing == Standing.MEMORY.value


def test_nothing_is_said_of_a_ceiling_whose_air_was_not_recorded() -> None:
    assert CEILING not in verdicts(room(), 30.0, frames=float("nan"))


def test_materials_are_judged_at_their_hottest_part() -> None:
    assert verdicts(room(), 30.0, desk=60.0)["desk"].verdict == "within"
    assert verdicts(room(), 30.0, desk=60.5)["desk"].verdict == "warn"


def test_medicines_carry_their_record_and_stops_come_first() -> None:
    case = room(THINGS["chocolate"], hazards.smoke_alarm(), THINGS["medicines"])
    found = list(verdicts(case, 55.0, frames=60.0).values())
    assert found[0].thing == "medicines" and found[0].medicine is not None
    assert found[0].medicine.peak == 55.0
    order = [one.verdict for one in found]
    assert order == sorted(order, key=["stop", "ask", "warn", "within"].index)
    assert stop_line(found).startswith("STOP before any heat: thing 2 (medicines")
    assert stop_line(found[1:]) == ""


def test_nothing_advises_to_cover_or_disable_a_device() -> None:
    """The only sentence with such words forbids it; fire devices are sent to their owner."""
    things = [*THINGS.values(), hazards.FISH, hazards.television(60.0), hazards.smoke_alarm()]
    things += [hazards.sprinkler(rating) for rating in hazards.SPRINKLER_CLASSES]
    things += [
        hazards.heat_detector(rating, by_rate=rate)
        for rating in hazards.DETECTOR_CLASSES
        for rate in (True, False)
    ]
    case = room(*things)
    lines = harm_lines(list(verdicts(case, 64.0, frames=64.0).values()), "us", 100)
    assert lines[-1] == FIRE_ADVICE
    banned = (
        r"cover|disable|disconnect|bag |cap |unscrew|silence|take[n]? down|eradicat|\bsafe|guarant"
    )
    for line in lines[:-1]:
        assert not re.search(banned, line, re.IGNORECASE), line
    assert "licensed fire-protection contractor" in FIRE_ADVICE
    fire = [line for line in lines if "sprinkler" in line or "detector" in line]
    assert fire and all("contractor" in line for line in fire)


def test_every_hazard_of_the_furniture_says_what_to_do() -> None:
    """All things that boxes may hold carry advice and a basis; the fire devices are kinds."""
    assert {kind.words for kind in FURNITURE} >= {"sprinkler head", "smoke alarm", "heat detector"}
    for thing in THINGS.values():
        assert thing.advice and thing.basis
        assert thing.verdict in Verdict
