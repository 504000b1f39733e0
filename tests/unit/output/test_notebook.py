"""A result in a notebook: its answer in a table, its picture, its fields for xarray."""

import base64
import io
import sys

import numpy as np
import pytest
from PIL import Image

from simulator.errors import ResultError
from simulator.output import graphics_check
from simulator.output.field_file import Result
from tests.builders import box_room
from tests.runs import hand_history, open_grid

SPOTS = [((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room")]


@pytest.fixture(scope="module")
def result() -> Result:
    case = box_room((2.0, 1.6, 1.2))
    grid = open_grid(case, SPOTS)
    history = hand_history(case, grid, np.array([0.0, 3600.0]), np.array([[20.0], [35.0]]))
    return Result.of_run(case, 0.2, grid, history)


def test_a_notebook_shows_answer_cold_spot_and_picture(
    result: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)  # a plan: quickly drawn
    html = result._repr_html_()
    assert "Not done within 1 h" in html
    assert "cold spot 1" in html
    assert "35.0 °C" in html
    assert "<script" not in html
    png = base64.b64decode(html.split("base64,")[1].split('"')[0])
    with Image.open(io.BytesIO(png)) as picture:
        assert picture.size == (1040, 715)


def test_xarray_has_the_fields_cell_by_cell(result: Result) -> None:
    pytest.importorskip("xarray")
    data = result.to_xarray()
    history = result.history
    cell = data["temperature"].sel(x=0.9, y=0.7, z=0.5, method="nearest").isel(time=-1)
    assert float(cell) == history.frame_temperature[-1, 4, 3, 2]
    assert data["velocity"].sel(component="up").shape == result.grid.shape[::-1]
    assert data["speed"].attrs["units"] == "m s-1"
    np.testing.assert_array_equal(data["moment"], history.time)
    assert data.attrs["hash"] == result.hash


def test_without_xarray_one_line_says_what_to_install(
    result: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "xarray", None)
    with pytest.raises(ResultError, match=r"roomsoak\[analysis\]"):
        result.to_xarray()
