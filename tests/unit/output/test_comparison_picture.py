"""The picture of a comparison: one scale for all, colours that mean what the legend says."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simulator.assessment.assess import assess
from simulator.output import graphics_check
from simulator.output.comparison_picture import LINES, Room, draw_comparison, room_size
from simulator.output.picture_foot import BOTTOM, LEFT, RIGHT, TOP
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.studies.comparison import Comparison, answer_of, compare
from tests.builders import box_room
from tests.runs import hand_history, open_grid

SPOTS = [((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room")]


def comparison(floors: tuple[float, ...]) -> tuple[Comparison, list[Room]]:
    """Runs whose whole fields end at these temperatures [°C]."""
    answers, rooms = [], []
    case = box_room((2.0, 1.6, 1.2))
    grid = open_grid(case, SPOTS)
    for number, floor in enumerate(floors):
        time = np.linspace(0.0, 7200.0, 5)
        course = np.linspace(20.0, floor, 5)[:, None]
        history = hand_history(case, grid, time, course)
        frames = np.full_like(history.frame_temperature, floor)
        history = dataclasses.replace(history, frame_temperature=frames)
        judged = assess(case, grid, history)
        answers.append(answer_of(f"run {number}", case, 0.2, grid, history, judged, {}))
        rooms.append(Room(grid, history))
    return compare(answers), rooms


def pixels(path: Path) -> np.ndarray:
    return np.asarray(Image.open(path).convert("RGB")).astype(int)


def share_of(image: np.ndarray, celsius: float) -> float:
    """Share of pixels in the colour of a temperature."""
    return float((np.abs(image - FIXED_SCALE.colours(celsius)).max(axis=-1) <= 3).mean())


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    """The pixels of a picture of two rooms, of 36 and of 58 °C."""
    found, rooms = comparison((36.0, 58.0))
    return pixels(draw_comparison(found, rooms, tmp_path_factory.mktemp("two") / "two.png"))


def test_each_room_has_the_colour_of_its_own_temperature_on_the_one_scale(two: np.ndarray) -> None:
    left, right = two[:600, :800], two[:600, 800:]
    assert share_of(left, 36.0) > 0.02
    assert share_of(right, 58.0) > 0.02
    assert share_of(left, 58.0) < 0.001
    assert share_of(right, 36.0) < 0.001


def test_the_legend_shows_a_temperature_in_the_colour_that_the_room_has(two: np.ndarray) -> None:
    low, high = FIXED_SCALE.low, FIXED_SCALE.high
    foot = 76 + 92 + 448
    for celsius in (36.0, 58.0):
        column = round(LEFT + (celsius - low) / (high - low) * (RIGHT - LEFT))
        bar = two[foot + round(0.5 * (TOP + BOTTOM)), column]
        assert np.abs(bar - FIXED_SCALE.colours(celsius)).max() <= 6


def test_curves_differ_in_grey_print_by_dash_or_by_lightness() -> None:
    grey = [
        0.299 * int(c[1:3], 16) + 0.587 * int(c[3:5], 16) + 0.114 * int(c[5:7], 16)
        for c, _ in LINES
    ]
    for one in range(len(LINES)):
        for other in range(one):
            assert LINES[one][1] != LINES[other][1] or abs(grey[one] - grey[other]) > 25


@pytest.mark.parametrize("count", [3, 5])
def test_more_than_two_runs_fill_rows_of_three(
    tmp_path: Path, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)
    found, rooms = comparison(tuple(np.linspace(30.0, 60.0, count)))
    image = pixels(draw_comparison(found, rooms, tmp_path / "more.png", units="us"))
    rows = -(-count // 3)
    assert image.shape == (76 + rows * (92 + room_size(3)[1]) + 122 + 430, 1600, 3)
