"""The packed room keeps temperatures and bodies; the viewer in the browser shows the same."""

import base64
import re
from pathlib import Path

import numpy as np
import pytest

from simulator.assessment.assess import assess
from simulator.case.case import Case
from simulator.case.parts import AirMover, Box, Refuge, SolidPart
from simulator.grid.grid import Grid
from simulator.history import History
from simulator.output.cell_hull import hull_of_cells
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewer.blob import from_bytes
from simulator.output.viewer.pack import Fineness, pack
from simulator.output.viewer.script import FILES, viewer_files, viewer_script
from tests.browser import watched_page
from tests.builders import FOAM, box_room, two_rooms
from tests.runs import hand_history, open_grid

SIZE = (2.0, 1.6, 1.2)
BED = SolidPart("bed", "mattress", Box((0.6, 0.8, 0.3), (0.8, 0.8, 0.2)), FOAM, Refuge.THROUGHOUT)
FAN = AirMover("fan 1", "fan", (1.6, 0.8, 0.5), (-1.0, 0.0, 0.0), 0.4, 0.3, 80.0)
SPOTS = [
    ((0.3, 0.7, 0.3), 0.004, "bed", "mattress, inside", "room"),
    ((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room"),
]


@pytest.fixture(scope="module")
def run() -> tuple[Case, Grid, History]:
    """A run in which a corner stays cold and each cell has a temperature of its own."""
    case = box_room(SIZE, parts=(BED, FAN), furniture_words={"bed": "bed"})
    grid = open_grid(case, SPOTS)
    time = np.array([0.0, 1800.0, 3600.0])
    refuges = np.array([[20.0, 20.0], [40.0, 25.0], [58.0, 31.0]])
    cells = np.arange(grid.is_open.size).reshape(grid.shape) / grid.is_open.size
    frames = np.stack([20.0 + 0.0 * cells, 25.0 + 20.0 * cells, 25.0 + 40.0 * cells])
    history = hand_history(case, grid, time, refuges, frames=3)
    for name in ("frame_temperature",):
        object.__setattr__(history, name, frames.astype(np.float32))
    return case, grid, history


def packed(run: tuple[Case, Grid, History], fineness: Fineness = Fineness()) -> bytes:  # noqa: B008
    case, grid, history = run
    return pack(case, grid, history, assess(case, grid, history), fineness=fineness)


def test_temperatures_come_back_to_half_a_step(run: tuple[Case, Grid, History]) -> None:
    table, arrays = from_bytes(packed(run))
    found = table["low"] + (arrays["field"].astype(float) - 1.0) * table["step"]
    history = run[2]
    assert np.abs(found.transpose(0, 3, 2, 1) - history.frame_temperature).max() <= 0.0626
    assert table["times"] == history.frame_time.tolist()


def test_fewer_frames_keep_the_first_and_the_last(run: tuple[Case, Grid, History]) -> None:
    table, _ = from_bytes(packed(run, Fineness(most_frames=2)))
    assert table["times"] == [0.0, 3600.0]


def test_a_cell_outside_of_every_room_is_unknown() -> None:
    case = two_rooms((1.0, 1.0, 1.0), gap=0.2, doorway=None)
    grid = open_grid(case, SPOTS[:1])
    grid.room[4] = -1
    history = hand_history(case, grid, np.array([0.0, 60.0]), np.full((2, 1), 30.0))
    _, arrays = from_bytes(pack(case, grid, history, assess(case, grid, history)))
    unknown = arrays["field"] == 0
    assert unknown.any()
    assert not unknown.all()


def test_cold_spots_have_ids_words_and_a_body_around_their_places(
    run: tuple[Case, Grid, History],
) -> None:
    table, arrays = from_bytes(packed(run))
    spot = next(s for s in table["spots"] if "baseboard" in s["words"])
    first, last = spot["quads"]
    places = arrays["body_places"][np.unique(arrays["body_quads"][first:last])] / 1000.0
    assert spot["id"] == str(int(spot["id"]))
    assert np.all(places.min(axis=0) <= SPOTS[1][0]) and np.all(places.max(axis=0) >= SPOTS[1][0])


def test_the_hull_of_two_cells_has_ten_faces_that_look_outwards() -> None:
    grid = open_grid(box_room((1.0, 1.0, 1.0)), SPOTS[:1])
    pair = np.ravel_multi_index(([1, 2], [2, 2], [3, 3]), grid.shape)
    points, quads = hull_of_cells(grid, pair)
    corner = points[quads]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 1])
    outward = corner.mean(axis=1) - points.mean(axis=0)
    assert len(quads) == 10
    assert np.all(np.sum(normal * outward, axis=1) > 0.0)


def test_no_name_stands_in_two_files_of_the_script() -> None:
    defined = re.compile(
        r"^(?:export )?(?:async )?(?:const|let|class|function) (\w+)", re.MULTILINE
    )
    names = [name for text in viewer_files().values() for name in defined.findall(text.decode())]
    assert len(names) == len(set(names))


def test_every_file_of_the_viewer_is_listed_after_what_it_imports() -> None:
    texts = {name: data.decode() for name, data in viewer_files().items()}
    folder = Path(__file__).parents[3] / "simulator" / "output" / "viewer"
    assert set(FILES) == {path.name for path in folder.glob("*.js")}
    for number, name in enumerate(FILES):
        assert set(re.findall(r'from "\./(\w+\.js)";\nimport', texts[name])) <= set(FILES[:number])


def test_the_script_has_no_way_to_ask_for_anything() -> None:
    text = viewer_script()
    for word in (
        "fetch(",
        "XMLHttpRequest",
        "import(",
        "eval(",
        "new Function",
        "http",
        "innerHTML",
    ):
        assert word not in text
    assert "import " not in re.sub(r"//.*", "", text)


@pytest.mark.slow
def test_the_browser_shows_a_cell_in_the_colour_of_its_temperature(
    run: tuple[Case, Grid, History], tmp_path: Path
) -> None:
    """A slice through the middle of a layer, seen from above: what is read is the fixed scale's."""
    _, grid, history = run
    text = base64.b64encode(packed(run)).decode()
    page_path = tmp_path / "page.html"
    page_path.write_text(PAGE.format(script=viewer_script(), room=text), encoding="utf-8")
    with watched_page() as watched:
        page = watched.page
        page.goto(page_path.as_uri())
        page.wait_for_function("window.viewer")
        page.evaluate("viewer.set({ slice: 0.5, furniture: false, spots: false })")
        for i, j in ((1, 1), (5, 3), (8, 6)):
            place = [grid.centres[0][i], grid.centres[1][j], 0.5]
            read, told = page.evaluate(
                "(place) => [colourAt(place), viewer.temperatureAt(place)]", place
            )
            celsius = float(history.frame_temperature[-1, i, j, 2])
            assert told == pytest.approx(celsius, abs=0.07)
            # One step of colour is 0.18 K, and the pack is exact to 0.06 K.
            assert np.abs(np.subtract(read, FIXED_SCALE.colours(celsius))).max() <= 4
        page.evaluate("viewer.set({ level: 50, spots: true })")
        page.locator("button[data-id='1']").click()
        assert page.evaluate("viewer.highlighted") == "1"
        page.locator("canvas").first.focus()
        page.keyboard.press("<")
        assert page.evaluate("viewer.time") == 1800.0
    assert watched.requests == [page_path.as_uri()]
    assert watched.complaints == []


PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>test</title>
<div style="width: 600px; height: 400px"><canvas style="width: 100%; height: 100%"></canvas></div>
<div id="panel"></div>
<script>{script}</script>
<script>
const {{ RoomViewer, ViewerControls, unpackText }} = roomsoakViewer;
unpackText("{room}").then((field) => {{
  const viewer = new RoomViewer(document.querySelector("canvas"), field);
  new ViewerControls(document.getElementById("panel"), viewer);
  viewer.camera.turn(0, 2);
  window.viewer = viewer;
}});
function colourAt(place) {{
  viewer.drawNow();
  const gl = viewer.painter.gl;
  const share = viewer.camera.project(place, viewer.canvas.width / viewer.canvas.height);
  const pixel = new Uint8Array(4);
  const [x, y] = [share[0] * viewer.canvas.width, (1 - share[1]) * viewer.canvas.height];
  gl.readPixels(Math.floor(x), Math.floor(y), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
  return [...pixel.subarray(0, 3)];
}}
</script></html>"""
