"""Pictures and plots: geometry of the view, labels that do not cover each other, true colours."""

import dataclasses
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from builders import box_room, porous, solid, two_rooms
from PIL import Image
from runs import hand_history

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.case.case import Case
from simulator.case.dwelling import Side
from simulator.case.parts import AirMover, Box, HeatedJet, Part, Probe, Refuge
from simulator.case.treatment import Phase
from simulator.errors import RenderError
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.history import History
from simulator.output import graphics_check
from simulator.output.equipment_drawing import FARTHEST, casing, jet_lines
from simulator.output.furniture_drawing import box_patches
from simulator.output.label_places import Label, place_labels
from simulator.output.pen import Pen
from simulator.output.picture_sheet import blank_figure, pixel_axes, stage_size
from simulator.output.pictures import draw_room
from simulator.output.plan_drawing import fitted_plan
from simulator.output.plots import SetPointPlan, plot_curves
from simulator.output.shell_drawing import free_spans
from simulator.output.side_panel import draw_side_panel, short_words, spread
from simulator.output.surface_tint import surface_tint
from simulator.output.temperature_scale import FIXED_SCALE, shown_temperature
from simulator.output.time_axis import time_axis
from simulator.output.viewpoint import Viewpoint, choose_viewpoint

needs_graphics = pytest.mark.skipif(
    graphics_check.working_window() is None, reason=str(graphics_check.graphics_problem())
)

FAN = AirMover("fan", "fan", (0.6, 0.6, 0.4), (1.0, 0.0, 0.0), 0.4, 0.6, 100.0)
HEATER = HeatedJet(
    "heater",
    "electric heater",
    (2.6, 0.5, 0.4),
    (0.0, 1.0, 0.0),
    0.3,
    0.3,
    3000.0,
    80.0,
    Box((2.6, 0.1, 0.3), (0.4, 0.2, 0.6)),
)
SIZE = (800, 550)


def furnished(*, extra: Sequence[Part] = ()) -> Case:
    parts = [
        solid((1.2, 2.0, 0.3), (1.0, 1.0, 0.4), owner="bed", refuge=Refuge.THROUGHOUT),
        solid((1.2, 2.0, 0.0), (0.1, 0.1, 0.3), owner="bed", name="leg"),
        porous((3.2, 2.2, 0.0), (0.6, 0.6, 0.8)),
        FAN,
        HEATER,
        *extra,
    ]
    probe = Probe("sensor", "sensor", (2.0, 1.0, 1.2))
    return box_room((4.0, 3.2, 2.4), parts=parts, probes=(probe,), furniture_words={"bed": "bed"})


def warm_run(
    case: Case, *, field: float = 60.0, refuges: float = 55.0, cold_owner: str | None = None
) -> tuple[Grid, History, Assessment]:
    """Return a run whose air and things end at ``field``, its refuges at ``refuges`` [°C]."""
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 6 * 3600.0, 61)
    end = np.full(grid.refuges.index.size, refuges)
    if cold_owner is not None:
        owner = np.array([grid.refuges.groups[group].owner for group in grid.refuges.group])
        end[owner == cold_owner] = 30.0
    course = 20.0 + (end - 20.0) * (1.0 - np.exp(-time / 2400.0))[:, None]
    history = hand_history(
        case,
        grid,
        time,
        course,
        air_mean=20.0 + (field - 20.0) * (1.0 - np.exp(-time / 1200.0)),
        frame_temperature=np.full((2, *grid.shape), field, dtype=np.float32),
    )
    return grid, history, assess(case, grid, history)


def flow_of(case: Case, grid: Grid, velocity: tuple[float, float, float]) -> History:
    """Return a history with the same velocity everywhere [m/s]."""
    time = np.array([0.0, 60.0])
    everywhere = np.ones((3, *grid.shape)) * np.reshape(velocity, (3, 1, 1, 1))
    refuges = np.full((2, grid.refuges.index.size), 20.0)
    return hand_history(case, grid, time, refuges, velocity=everywhere.astype(np.float32))


# --- the view


def corners(case: Case) -> np.ndarray:
    rows = [
        (x, y, z)
        for room in case.dwelling.rooms
        for x in (room.low[0], room.high[0])
        for y in (room.low[1], room.high[1])
        for z in (room.low[2], room.low[2] + 1.0)
    ]
    return np.array(rows)


@pytest.mark.parametrize(
    "case",
    [
        box_room((4.0, 3.0, 2.4)),
        box_room((2.0, 7.0, 2.4), low=(10.0, -3.0, 1.0)),
        two_rooms((3.0, 6.0, 2.4)),
    ],
    ids=["wide", "long and off the origin", "two rooms"],
)
@pytest.mark.parametrize("size", [(1170, 890), (500, 900)])
def test_the_whole_dwelling_is_in_the_picture_and_fills_it(
    case: Case, size: tuple[int, int]
) -> None:
    view = choose_viewpoint(case.dwelling, case.parts, size)
    pixels = view.project(corners(case))
    assert np.all(pixels >= 0.0) and np.all(pixels <= np.asarray(size))
    assert np.max(np.ptp(pixels, axis=0) / np.asarray(size)) > 0.6


def test_of_two_opposite_walls_the_camera_looks_at_the_inside_of_one() -> None:
    case = box_room((4.0, 3.0, 2.4))
    view = choose_viewpoint(case.dwelling, case.parts, SIZE)
    room = case.dwelling.rooms[0]
    assert view.sees_inside(room, Side.WEST) != view.sees_inside(room, Side.EAST)
    assert view.sees_inside(room, Side.SOUTH) != view.sees_inside(room, Side.NORTH)
    assert view.sees_inside(room, Side.FLOOR) and not view.sees_inside(room, Side.CEILING)


@pytest.mark.parametrize("x", [0.0, 3.4])
def test_tall_furniture_stands_at_the_back(x: float) -> None:
    wardrobe = solid((x, 1.0, 0.0), (0.6, 1.2, 2.0))
    case = box_room((4.0, 3.2, 2.4), parts=[wardrobe])
    view = choose_viewpoint(case.dwelling, case.parts, SIZE)
    middle = 2.0
    assert (view.position[0] - middle) * (wardrobe.box.centre[0] - middle) < 0.0


@needs_graphics
def test_our_projection_is_that_of_the_renderer() -> None:
    graphics_check.prepare_graphics()
    import pyvista

    from simulator.output.scene import set_camera

    view = Viewpoint((5.0, -4.0, 4.0), (1.0, 1.5, 1.0), (400, 300))
    points = np.array([(0.0, 0.0, 0.0), (1.0, 1.5, 1.0), (3.0, 2.0, 0.5), (-1.0, 2.0, 2.0)])
    plotter = pyvista.Plotter(off_screen=True, window_size=[400, 300])
    plotter.add_mesh(pyvista.Sphere())
    set_camera(plotter, view)
    plotter.render()
    for point, ours in zip(points, view.project(points), strict=True):
        plotter.renderer.SetWorldPoint(*point, 1.0)
        plotter.renderer.WorldToDisplay()
        x, y, _ = plotter.renderer.GetDisplayPoint()
        # Half a pixel: pixel middles against pixel edges.
        assert (x, 300.0 - y) == pytest.approx(tuple(ours), abs=0.51)
    plotter.close()


def test_the_plan_keeps_its_proportions() -> None:
    case = box_room((4.0, 3.0, 2.4), low=(2.0, 1.0, 0.0))
    view = fitted_plan(case.dwelling, (800, 600))
    west, east, north = view.project(np.array([(2.0, 1.0, 0.0), (6.0, 1.0, 0.0), (2.0, 4.0, 9.0)]))
    assert (east - west)[0] / 4.0 == pytest.approx((west - north)[1] / 3.0)
    assert 0.0 <= west[0] < east[0] <= 800.0 and 0.0 <= north[1] < west[1] <= 600.0


# --- labels


def overlap(one: tuple[float, float], other: tuple[float, float], label: Label) -> bool:
    return abs(one[0] - other[0]) < label.width and abs(one[1] - other[1]) < label.height


def test_labels_at_one_point_do_not_cover_each_other() -> None:
    labels = [Label((200.0, 150.0), 30.0, 30.0) for _ in range(9)]
    places = place_labels(labels, (400, 300))
    assert places[0] == (200.0, 150.0)
    for index, one in enumerate(places):
        for other in places[:index]:
            assert not overlap(one, other, labels[0])


def test_a_label_at_the_rim_stays_inside() -> None:
    (x, y), *_ = place_labels([Label((399.0, 1.0), 60.0, 20.0, reach=5.0)], (400, 300))
    assert 30.0 <= x <= 370.0 and 10.0 <= y <= 290.0


def test_only_shy_labels_leave_obstacles_in_sight() -> None:
    obstacle = (180.0, 130.0, 220.0, 170.0)
    bold, shy = (Label((200.0, 150.0), 20.0, 10.0, is_shy=shy) for shy in (False, True))
    assert place_labels([bold], (400, 300), (obstacle,)) == [(200.0, 150.0)]
    ((x, y),) = place_labels([shy], (400, 300), (obstacle,))
    assert not (170.0 < x < 230.0 and 125.0 < y < 175.0)


def test_names_at_the_ends_of_curves_are_moved_apart() -> None:
    assert spread([10.0, 12.0, 50.0, 11.0], 5.0) == [10.0, 20.0, 50.0, 15.0]


@pytest.mark.parametrize("time, is_marked", [(5400.0, True), (6 * 3600.0, False)])
def test_the_moment_that_is_shown_is_marked_in_the_curves(time: float, is_marked: bool) -> None:
    _, history, judged = warm_run(box_room((2.0, 2.0, 2.0)))
    axes = pixel_axes(blank_figure((430, 890)), (0, 0, 430, 890))
    draw_side_panel(Pen(axes, 1.0), history, judged, time=time, units="si", note="")
    told = [text.get_text() for text in axes.texts]
    assert told.count("Air, mean, coldest hiding place; dotted: 1 h 30 min") == is_marked
    assert told[-2:] == ["3 h", "6 h"]
    upright = [x[0] for x in (line.get_xdata() for line in axes.lines) if np.ptp(x) == 0.0]
    assert upright == ([pytest.approx(14.0 + 0.25 * (430.0 - 62.0 - 14.0))] if is_marked else [])


# --- time axes


@pytest.mark.parametrize("end", [600.0, 900.0, 4500.0, 7200.0, 7260.0, 6 * 3600.0, 30 * 3600.0])
@pytest.mark.parametrize("most", [4, 10])
def test_marks_of_a_time_axis_are_whole_few_and_within_it(end: float, most: int) -> None:
    axis = time_axis(end, most)
    steps = np.diff(axis.times)
    assert 2 <= len(axis.times) <= most + 1
    assert axis.times[0] == 0.0 and end - steps[0] < axis.times[-1] <= end
    size = {"minutes": 60.0, "hours": 3600.0}[axis.unit]
    assert [float(number) * size for number in axis.numbers] == list(axis.times)
    assert all("." not in words for words in axis.words)


# --- meshes


@pytest.mark.parametrize("turn, tilt", [(0.0, 0.0), (30.0, 0.0), (200.0, 25.0)])
def test_patches_of_a_box_have_its_surface_and_face_outwards(turn: float, tilt: float) -> None:
    box = Box((1.0, 2.0, 0.5), (1.4, 0.3, 0.05), turn, tilt)
    points, quads = box_patches(box)
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    normal = 0.5 * np.cross(c - a, d - b)
    x, y, z = box.size
    area = 2.0 * (x * y + y * z + z * x)
    assert np.linalg.norm(normal, axis=1).sum() == pytest.approx(area, rel=1e-12)
    middle = (a + b + c + d) / 4.0 - np.asarray(box.centre)
    assert np.all(np.sum(normal * middle, axis=1) > 0.0)


def test_a_heaters_casing_reaches_from_its_intake_to_its_outlet() -> None:
    assert HEATER.intake is not None
    box = casing(HEATER, HEATER.intake)
    # It blows north: its length lies along y, from 0.2 (end of the intake) to 0.5 (outlet).
    assert box.size == pytest.approx((0.3, 0.4, 0.6))
    assert box.centre == pytest.approx((2.6, 0.35, 0.3))
    assert box.turn == pytest.approx(90.0)


@needs_graphics
def test_the_hull_of_a_cold_spot_encloses_its_cells() -> None:
    graphics_check.prepare_graphics()
    from simulator.output.scene import spot_hull

    case = furnished()
    grid, _, assessment = warm_run(case, cold_owner="bed")
    hull = spot_hull(grid, assessment.cold_spots[0])
    cells = np.unique(grid.refuges.cell[assessment.cold_spots[0].refuges])
    i, j, k = np.unravel_index(cells, grid.shape)
    volume = np.sum(np.diff(grid.x_edges)[i] * np.diff(grid.y_edges)[j] * np.diff(grid.z_edges)[k])
    assert hull.triangulate().volume == pytest.approx(float(volume), rel=1e-6)


def test_a_doorway_leaves_its_width_free_in_both_walls() -> None:
    case = two_rooms((3.0, 3.0, 2.4), gap=0.1, doorway=(1.0, 0.8, 2.0))
    west, east = case.dwelling.rooms
    for room, side in ((west, Side.EAST), (east, Side.WEST)):
        spans = free_spans(case.dwelling, room, side, 0.1)
        walls = [(start, end) for start, end, bottom in spans if bottom == 0.0]
        lintels = [(start, end, bottom) for start, end, bottom in spans if bottom > 0.0]
        assert walls == [(0.0, 1.0), (1.8, 3.0)]
        assert lintels == [(1.0, 1.8, 2.0)]


def test_air_in_an_even_flow_is_drawn_straight_and_no_farther_than_allowed() -> None:
    case = box_room((6.0, 3.0, 2.4), parts=[FAN])
    grid = voxelise(case, 0.2)
    lines = jet_lines(FAN, grid, flow_of(case, grid, (1.0, 0.0, 0.0)))
    assert len(lines) == 4
    for line in lines:
        assert np.ptp(line[:, 1:], axis=0) == pytest.approx((0.0, 0.0), abs=1e-9)
        assert float(np.ptp(line[:, 0])) == pytest.approx(FARTHEST, abs=0.11)


def test_still_air_has_no_lines_and_walls_end_them() -> None:
    case = box_room((2.0, 3.0, 2.4), parts=[FAN])
    grid = voxelise(case, 0.2)
    assert jet_lines(FAN, grid, flow_of(case, grid, (0.1, 0.0, 0.0))) == []
    for line in jet_lines(FAN, grid, flow_of(case, grid, (1.0, 0.0, 0.0))):
        assert 1.8 < line[-1, 0] < 2.2


# --- colours


def test_the_scale_grows_lighter_evenly_and_keeps_its_ends() -> None:
    temperature = np.linspace(20.0, 65.0, 46)
    lightness = FIXED_SCALE.colours(temperature).astype(float) @ (0.2126, 0.7152, 0.0722)
    assert np.all(np.diff(lightness) > 0.0)
    ends = FIXED_SCALE.colours([-5.0, 20.0, 65.0, 90.0])
    assert ends[0].tolist() == ends[1].tolist() and ends[2].tolist() == ends[3].tolist()


def test_fahrenheit_ticks_stand_where_they_belong() -> None:
    for place, text in FIXED_SCALE.ticks("us"):
        assert float(text.split()[0]) == pytest.approx(place * 1.8 + 32.0)
    assert FIXED_SCALE.mark_words("us")[1].startswith("122 °F")
    assert shown_temperature(np.array([50.0]), "us") == pytest.approx([122.0])


def test_things_take_the_colour_of_their_nearest_hiding_place() -> None:
    case = furnished()
    grid, history, _ = warm_run(case, field=60.0, cold_owner="bed")
    tint = surface_tint(grid, history, 6 * 3600.0)
    on_the_bed = np.array([(1.7, 2.5, 0.7)])
    assert tint.of_thing("bed", on_the_bed) == pytest.approx([30.0], abs=0.1)
    assert tint.of_thing("no such thing", on_the_bed) == pytest.approx([60.0])
    assert tint.of_field(np.array([(0.3, 0.3, 0.1)])) == pytest.approx([60.0])


def test_the_tint_is_of_the_moment_asked_for() -> None:
    case = furnished()
    grid, history, _ = warm_run(case)
    tint = surface_tint(grid, history, 0.0)
    assert tint.of_thing("bed", np.array([(1.7, 2.5, 0.7)])) == pytest.approx([20.0])


# --- whole pictures


def pixels_of(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("RGB"))


def distinct_colours(picture: np.ndarray) -> int:
    return len(np.unique(picture.reshape(-1, 3), axis=0))


def floor_pixel(case: Case, size: tuple[int, int], point: tuple[float, float]) -> tuple[int, int]:
    """Return column and row in the sheet of a point on the floor in the 3D drawing."""
    extent = stage_size(size)
    view = choose_viewpoint(case.dwelling, case.parts, extent)
    x, y = view.project(np.array([(*point, 0.0)]))[0]
    top = size[1] - extent[1] - round(118 * size[0] / 1600)
    return int(x), int(y) + top


@needs_graphics
def test_the_floor_has_the_colour_of_its_temperature(tmp_path: Path) -> None:
    case = furnished()
    for field in (25.0, 60.0):
        grid, history, assessment = warm_run(case, field=field)
        path = draw_room(case, grid, history, assessment, tmp_path / f"{field}.png", size=SIZE)
        picture = pixels_of(path)
        assert picture.shape == (SIZE[1], SIZE[0], 3)
        assert distinct_colours(picture) > 500
        column, row = floor_pixel(case, SIZE, (2.3, 1.5))
        # Two steps of 255: the colour table has 256 rows.
        expected = FIXED_SCALE.colours(field).astype(int)
        assert np.abs(picture[row, column].astype(int) - expected).max() <= 2


@needs_graphics
def test_a_cold_spot_shows_through_what_it_is_in(tmp_path: Path) -> None:
    case = furnished()
    pictures = []
    for owner in (None, "bed"):
        grid, history, assessment = warm_run(case, refuges=30.0, cold_owner=owner)
        if owner is None:
            assessment = dataclasses.replace(assessment, cold_spots=())
        path = draw_room(case, grid, history, assessment, tmp_path / "room.png", size=SIZE)
        pictures.append(pixels_of(path)[:, : stage_size(SIZE)[0]].astype(int))
    changed = np.abs(pictures[1] - pictures[0]).max(axis=2) > 20
    assert 0.005 < changed.mean() < 0.3
    blue = (pictures[1] - pictures[0])[changed].mean(axis=0)
    assert blue[2] > blue[0]


@needs_graphics
def test_several_rooms_and_slow_places_are_drawn(tmp_path: Path) -> None:
    beds = [
        solid((low, 1.0, 0.2), (1.0, 1.6, 0.4), owner=name, refuge=Refuge.THROUGHOUT)
        for low, name in ((1.0, "bed 1"), (4.2, "bed 2"))
    ]
    for is_open in (True, False):
        case = two_rooms(parts=beds, is_open=is_open)
        grid, history, assessment = warm_run(case, refuges=60.0)
        assert assessment.is_all_done
        path = draw_room(case, grid, history, assessment, tmp_path / "flat.png", size=SIZE)
        assert distinct_colours(pixels_of(path)) > 500


def test_without_graphics_the_room_is_a_plan_that_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graphics_check, "working_window", lambda: None)
    case = furnished()
    grid, history, assessment = warm_run(case, field=60.0, cold_owner="bed")
    path = draw_room(case, grid, history, assessment, tmp_path / "plan.png", units="us", size=SIZE)
    picture = pixels_of(path)
    assert picture.shape == (SIZE[1], SIZE[0], 3)
    extent = stage_size(SIZE)
    x, y = fitted_plan(case.dwelling, extent).project(np.array([(2.6, 1.6, 0.0)]))[0]
    top = SIZE[1] - extent[1] - round(118 * SIZE[0] / 1600)
    expected = FIXED_SCALE.colours(60.0).astype(int)
    assert np.abs(picture[int(y) + top, int(x)].astype(int) - expected).max() <= 2
    with pytest.raises(RenderError, match="apt-get install libegl1 libgl1-mesa-dri"):
        graphics_check.prepare_graphics()


def test_a_crash_while_asking_for_graphics_is_survived(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        graphics_check, "_PROBE", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"
    )
    assert not graphics_check.draws_with("", {})


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("refuges", [40.0, 60.0])
def test_the_curves_are_drawn(tmp_path: Path, units: str, refuges: float) -> None:
    _, history, assessment = warm_run(furnished(), refuges=refuges)
    assert assessment.is_all_done == (refuges > 50.0)
    path = plot_curves(
        history, assessment, tmp_path / "curves.png", title="test", units=units, size=(700, 525)
    )
    picture = pixels_of(path)
    assert picture.shape == (525, 700, 3)
    assert distinct_colours(picture) > 200


def test_the_phases_of_the_day_are_drawn_with_their_set_point(tmp_path: Path) -> None:
    case = furnished()
    _, history, assessment = warm_run(case)
    phases = (Phase("warm-up", 0.0, 60.0, 20.0 / 3600.0), Phase("hold", 3 * 3600.0, 60.0))
    planned = dataclasses.replace(case.treatment, phases=phases)
    size = (700, 525)

    def drawn(name: str, plan: SetPointPlan | None) -> np.ndarray:
        return pixels_of(plot_curves(history, assessment, tmp_path / name, plan=plan, size=size))

    without = drawn("without.png", None)
    same = drawn("same.png", SetPointPlan(case.treatment, 20.0))
    assert np.array_equal(without, same)
    with_phases = drawn("with.png", SetPointPlan(planned, 20.0))
    changed = (without != with_phases).any(axis=2)
    assert changed[:260].sum() > 1000  # set point and names in and over the upper panel
    assert changed[260:480].sum() > 50  # a line through the other two where "hold" begins
    assert not changed[490:].any()  # the hours are as before


def test_short_words_leave_out_what_else_lies_in_a_spot() -> None:
    words = "floor under the sofa, west side (and base, inside; 6 more places), living room"
    spot = ColdSpot(
        rank=1,
        kind="cold",
        words=words,
        room="living room",
        litres=1.0,
        coldest=20.0,
        mean=21.0,
        egg_dose=0.0,
        lag=float("nan"),
        time_to_done=float("nan"),
        centre=(0.0, 0.0, 0.0),
        low=(0.0, 0.0, 0.0),
        high=(0.0, 0.0, 0.0),
        refuges=np.array([0]),
    )
    assert short_words(spot) == "floor under the sofa, west side, living room"
