"""The printed answer: ordered, honest, within its line length, and as JSON."""

import dataclasses
import json
import re
from typing import Any

import numpy as np
import pytest
from builders import WOOD, box_room, solid
from runs import Spot, hand_history, open_grid

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.harm_words import FIRE_ADVICE
from simulator.assessment.notes import ALWAYS
from simulator.assessment.summary import CAUTIONS, as_json, summary_lines, verdict_line
from simulator.case import hazards
from simulator.case.case import Case
from simulator.case.parts import Probe

TIME = np.linspace(0.0, 6 * 3600.0, 37)
VINYL = dataclasses.replace(WOOD, name="test vinyl", harm_temperature=57.0)
SPOTS: list[Spot] = [
    ((1.8, 3.6, 0.05), 4e-3, "bed", "under the bed", "room"),
    ((1.8, 2.7, 0.5), 20e-3, "bed", "mattress, inside", "room"),
    ((0.1, 0.1, 0.05), 0.4e-3, "room", "baseboard, south wall", "room"),
]
FORBIDDEN = re.compile(r"eradicat|\bsafe|guarant", re.IGNORECASE)


def judged(
    *finals: float, sprinkler: bool = False, with_cans: bool = False, **changes: Any
) -> tuple[Case, Assessment]:
    parts = (
        solid((1.0, 1.8, 0.2), (1.6, 2.0, 0.4), owner="bed", name="mattress"),
        solid((3.0, 0.5, 0.0), (0.5, 0.5, 0.5), owner="desk", name="top", material=VINYL),
    )
    head = Probe("sprinkler", "head", (2.0, 2.0, 2.3), 38.0, hazard=hazards.sprinkler("ordinary"))
    cans = Probe("box", "cans", (2.0, 2.0, 1.0), 50.0, hazard=hazards.THINGS["aerosol_cans"])
    words = {"bed": "bed", "desk": "desk"}
    probes = (*((head,) if sprinkler else ()), *((cans,) if with_cans else ()))
    case = box_room((4.0, 4.0, 2.4), parts=parts, probes=probes, furniture_words=words)
    grid = open_grid(case, SPOTS)
    rise = 1.0 - np.exp(-TIME / 2400.0)
    temperature = 20.0 + rise[:, None] * (np.array(finals) - 20.0)
    return case, assess(case, grid, hand_history(case, grid, TIME, temperature, **changes))


DONE = (58.0, 56.0, 57.0)
COLD = (47.0, 58.0, 44.0)


def test_a_finished_run_gives_its_time_with_the_colder_band() -> None:
    case, assessment = judged(*DONE)
    line = verdict_line(assessment, case)
    assert re.match(
        r"DONE after \d h \d+ min: the last of 3 hiding places \(if all were 2.0 K", line
    )


def test_a_colder_band_beyond_the_horizon_is_said() -> None:
    case, assessment = judged(58.0, 51.5, 57.0)
    assert assessment.is_all_done
    line = verdict_line(assessment, case)
    assert "colder: not within 6 h" in line
    assert "1 of them are marginal" in line


def test_a_cold_run_says_what_is_missing() -> None:
    case, assessment = judged(*COLD)
    line = verdict_line(assessment, case)
    assert line.startswith("NOT DONE within 6 h: 2 of 3 hiding places")
    assert "18.0 % of the hiding volume is below 50 °C" in line


def test_an_interrupted_run_is_not_called_not_done() -> None:
    case, assessment = judged(*COLD, is_complete=False)
    text = "\n".join(summary_lines(assessment, case))
    assert "CUT OFF" in text
    assert "NOT DONE" not in text


def test_cold_spots_come_before_places_harm_and_limits_worst_first() -> None:
    case, assessment = judged(*COLD)
    text = "\n".join(summary_lines(assessment, case))
    order = ["NOT DONE", "Cold spots", "baseboard", "under the bed", "Harm", "Limits", "Before"]
    places = [text.index(word) for word in order]
    assert places == sorted(places)
    for note in ALWAYS:
        assert note.split()[-1] in text


def test_us_units_leave_no_celsius_in_the_tables() -> None:
    case, assessment = judged(*COLD)
    tables = "\n".join(summary_lines(assessment, case, "us")).split("Limits of this answer")[0]
    rows = [line for line in tables.splitlines() if re.match(r"\s+\d", line)]
    assert rows
    assert all("°F" in row and "°C" not in row for row in rows)


@pytest.mark.parametrize("finals", [DONE, COLD])
@pytest.mark.parametrize("units", ["si", "us"])
def test_lines_fit_a_terminal(finals: tuple[float, ...], units: str) -> None:
    case, assessment = judged(*finals, sprinkler=True)
    assert max(len(line) for line in summary_lines(assessment, case, units)) <= 100  # type: ignore[arg-type]


def test_a_passed_limit_is_told_and_fire_systems_go_to_their_owner() -> None:
    air = np.full(TIME.size, 53.0)
    case, assessment = judged(*DONE, sprinkler=True, air_mean=air)
    text = " ".join("\n".join(summary_lines(assessment, case)).split())
    assert "ASK before any heat: sprinkler 53.0 °C: limit 38.0 °C, above its limit" in text
    assert FIRE_ADVICE in text
    case, assessment = judged(*DONE)
    text = " ".join("\n".join(summary_lines(assessment, case)).split())
    assert FIRE_ADVICE not in text
    assert "no known limit was reached; nearest: desk, top: 52.0 °C, limit 57.0 °C" in text


@pytest.mark.parametrize("finals", [DONE, COLD, (58.0, 51.5, 57.0)])
@pytest.mark.parametrize("complete", [True, False])
def test_no_output_promises_more_than_a_model_can(
    finals: tuple[float, ...], complete: bool
) -> None:
    case, assessment = judged(*finals, sprinkler=True, is_complete=complete)
    for units in ("si", "us"):
        text = "\n".join(summary_lines(assessment, case, units))  # type: ignore[arg-type]
        assert not FORBIDDEN.search(text)
    assert not FORBIDDEN.search(json.dumps(as_json(assessment, case, TIME)))
    assert not FORBIDDEN.search(CAUTIONS + FIRE_ADVICE + "".join(ALWAYS))


def test_the_scan_for_promises_would_find_them() -> None:
    assert FORBIDDEN.search("bugs are Eradicated")
    assert FORBIDDEN.search("it is safe now")
    assert FORBIDDEN.search("a guaranteed kill")


def test_json_has_no_nan_and_every_place() -> None:
    case, assessment = judged(*COLD)
    text = json.dumps(as_json(assessment, case, TIME), allow_nan=False)
    read = json.loads(text)
    assert read["finishing_time"] is None
    assert read["is_all_done"] is False
    assert len(read["places"]) == 3
    assert {"time_to_lt99", "time_to_done_colder", "state"} <= set(read["places"][0])
    assert read["cold_spots"][0]["rank"] == 1
    assert read["cold_spots"][0]["lag"] is None
    assert len(read["curves"]["time"]) == len(read["curves"]["coldest"]) == TIME.size
    assert read["curves"]["coldest"][-1] == pytest.approx(float(assessment.coldest[-1]))


def test_a_case_without_refuges_says_there_is_nothing_to_judge() -> None:
    case = box_room((2.0, 2.0, 2.0))
    grid = open_grid(case, [])
    assessment = assess(case, grid, hand_history(case, grid, TIME, np.zeros((TIME.size, 0))))
    assert "NOTHING TO JUDGE" in "\n".join(summary_lines(assessment, case))
    assert json.dumps(as_json(assessment, case, TIME), allow_nan=False)


def test_stops_are_told_before_anything_else_but_the_verdict() -> None:
    case, assessment = judged(*COLD, sprinkler=True, with_cans=True)
    lines = summary_lines(assessment, case)
    first = next(index for index, line in enumerate(lines) if line.startswith("STOP"))
    text = " ".join(lines[first:])
    assert lines.index("Cold spots, the worst first (done is egg dose 3.5 and 50 °C)") > first
    assert "box (aerosol cans: never left in a heated room)" in text
    assert "sprinkler (sprinkler head, ordinary class: may open)" in text  # 60 °C, opens from 57
    table = as_json(assessment, case, TIME)
    assert [row["verdict"] for row in table["harm"][:2]] == ["stop", "stop"]
    assert "power" in table
