"""Slices and surfaces lie where the temperatures are, in the colours of the one scale."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simulator.assessment.assess import assess
from simulator.errors import CaseError
from simulator.output.graphics_check import graphics_problem
from simulator.output.layers import (
    PLAIN,
    Layers,
    check_slice,
    in_words,
    slice_mesh,
    surface_mesh,
)
from simulator.output.picture_sheet import TITLE_HEIGHT, stage_size
from simulator.output.pictures import draw_room
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewpoint import choose_viewpoint
from tests.builders import box_room
from tests.runs import hand_history, open_grid

SIZE = (2.0, 1.6, 1.2)
SPOTS = [((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room")]
CASE = box_room(SIZE)
GRID = open_grid(CASE, SPOTS)
#: 30 °C at the floor's cells, 5 K more in every layer of 0.2 m.
FIELD = np.broadcast_to(30.0 + 5.0 * np.arange(6.0), GRID.shape).copy()


def test_a_slice_is_linear_between_the_layers() -> None:
    for height, celsius in ((0.10, 30.0), (0.30, 35.0), (0.25, 33.75), (0.02, 30.0), (1.19, 55.0)):
        mesh = slice_mesh(GRID, FIELD, height)
        assert mesh.n_cells == 80
        np.testing.assert_allclose(mesh.point_data["temperature"], celsius)
        np.testing.assert_allclose(mesh.points[:, 2], height, atol=1e-6)


def test_a_slice_leaves_out_what_is_no_room() -> None:
    field = FIELD.copy()
    field[:3] = np.nan
    mesh = slice_mesh(GRID, field, 0.5)
    assert mesh.n_cells == 80 - 3 * 8
    used = np.unique(mesh.faces.reshape(-1, 5)[:, 1:])
    assert np.isfinite(mesh.point_data["temperature"][used]).all()


def test_a_surface_lies_where_the_field_passes_its_temperature() -> None:
    surface = surface_mesh(GRID, FIELD, 42.0)
    # 42 °C is 0.4 of the way from the third centre, 0.5 m, to the fourth, 0.7 m.
    np.testing.assert_allclose(surface.points[:, 2], 0.58, atol=1e-6)
    assert surface_mesh(GRID, FIELD, 70.0).n_points == 0
    assert surface_mesh(GRID, np.full(GRID.shape, np.nan), 42.0).n_points == 0


def test_a_slice_outside_of_the_dwelling_is_refused() -> None:
    check_slice(GRID, None)
    check_slice(GRID, 1.2)
    with pytest.raises(CaseError, match=r"3 m is not within the dwelling; 0 m to 1\.20 m"):
        check_slice(GRID, 3.0)


def test_words_tell_what_is_drawn_besides() -> None:
    assert in_words(PLAIN, "si") == ""
    words = in_words(Layers(0.3, 50.0, has_furniture=False, has_streamlines=True), "us")
    assert "122" in words
    assert "hidden" in words
    assert "paths" in words


@pytest.mark.skipif(graphics_problem() is not None, reason=str(graphics_problem()))
def test_the_picture_has_the_slice_in_the_colour_of_its_temperature(tmp_path: Path) -> None:
    time = np.array([0.0, 3600.0])
    history = hand_history(CASE, GRID, time, np.array([[20.0], [35.0]]))
    history = replace(history, frame_temperature=np.stack([FIELD, FIELD]).astype(np.float32))
    size = (800, 550)
    path = draw_room(
        CASE,
        GRID,
        history,
        assess(CASE, GRID, history),
        tmp_path / "slice.png",
        size=size,
        layers=Layers(slice_at=0.7),
    )
    view = choose_viewpoint(CASE.dwelling, CASE.parts, stage_size(size))
    x, y = view.project(np.array([[0.9, 0.7, 0.7]]))[0]
    with Image.open(path) as image:
        read = image.convert("RGB").getpixel((round(x), round(y + TITLE_HEIGHT * 0.5)))
    assert np.abs(np.subtract(read, FIXED_SCALE.colours(45.0))).max() <= 3
