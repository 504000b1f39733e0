"""Results for other programs: each file read back by a reader that is not ours."""

import csv
import json
import struct
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest
from click.testing import CliRunner, Result
from runs import hand_history

from simulator.case.load import load_texts
from simulator.cli.program import roomsoak
from simulator.grid.voxelise import voxelise
from simulator.output.exchange.gltf import linear
from simulator.output.field_file import read_result, write_result
from tests.small_cases import room_head

CASE = (
    room_head(
        "Small bedroom for other programs",
        ("3.0 m", "2.7 m", "2.4 m"),
        room="bedroom",
        floor="carpeted_wood_floor",
    )
    + """[[dwelling.furniture]]
kind = "nightstand"
name = "nightstand"
room = "bedroom"
at = ["1.0 m", "1.0 m"]
turn = "20 deg"
[layout]
name = "one heater, one fan"
[[layout.equipment]]
kind = "fan"
name = "fan"
room = "bedroom"
at = ["2.4 m", "0.6 m"]
turn = "90 deg"
[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "bedroom"
at = ["2.2 m", "2.0 m"]
turn = "180 deg"
[[layout.equipment]]
kind = "sensor"
name = "under the window"
room = "bedroom"
at = ["0.3 m", "1.3 m", "0.5 m"]
[treatment]
horizon = "1 h"
"""
)
TIME = np.linspace(0.0, 3600.0, 7)
CELSIUS = "[degree_Celsius]"
FILES = (
    "run_volumes.vtu",
    "run_surfaces.vtu",
    "run_places.vtu",
    "run_series.xdmf",
    "run.glb",
    "run_probes.csv",
)


@pytest.fixture(scope="module")
def result_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a result with fields that differ from cell to cell and frame to frame."""
    case = load_texts({"small.toml": CASE}, "small.toml")
    grid = voxelise(case, 0.2)
    rng = np.random.default_rng(4)
    finals = rng.uniform(40.0, 60.0, grid.refuges.index.size)
    temperature = 20.0 + (TIME[:, None] / TIME[-1]) * (finals - 20.0)
    history = hand_history(case, grid, TIME, temperature, frames=4)
    history.frame_temperature[...] = rng.uniform(20.0, 60.0, history.frame_temperature.shape)
    history.speed[...] = rng.uniform(0.0, 1.0, history.speed.shape)
    history.velocity[...] = rng.uniform(-1.0, 1.0, history.velocity.shape)
    path = tmp_path_factory.mktemp("exchange") / "run.vtkhdf"
    write_result(path, case, 0.2, grid, history, main="small.toml")
    return path


@pytest.fixture(scope="module")
def written(result_path: Path) -> Path:
    """Return the folder into which everything was exported."""
    done = called(str(result_path), "--at", "20 min")
    assert done.exit_code == 0, done.output
    assert [Path(line).name for line in done.output.split()] == list(FILES)
    return result_path.parent


def called(*arguments: str) -> Result:
    return CliRunner().invoke(roomsoak, ["export", *arguments])


def test_cells_of_the_rooms_keep_their_volume_and_their_values(
    written: Path, result_path: Path
) -> None:
    mesh = meshio.read(written / "run_volumes.vtu")
    result = read_result(result_path)
    grid, history = result.grid, result.history
    (cells,) = mesh.cells
    assert cells.type == "hexahedron"
    low, high = mesh.points[cells.data[:, 0]], mesh.points[cells.data[:, 6]]
    assert np.all(high > low)
    assert np.prod(high - low, axis=1).sum() == pytest.approx(3.0 * 2.7 * 2.4)
    held = grid.room >= 0
    frame = history.frame_temperature[np.argmin(np.abs(history.frame_time - 1200.0))]
    air = mesh.cell_data[f"air_temperature {CELSIUS}"][0]
    solid = mesh.cell_data[f"solid_temperature {CELSIUS}"][0]
    assert np.all(np.isfinite(air) ^ np.isfinite(solid))
    np.testing.assert_array_equal(np.where(np.isfinite(air), air, solid), frame[held])
    np.testing.assert_array_equal(np.isfinite(air), grid.is_open[held])
    np.testing.assert_array_equal(
        mesh.cell_data["air_velocity [m s-1]"][0], history.velocity[:, held].T
    )


def test_vtk_reads_the_meshes(written: Path) -> None:
    import pyvista as pv

    surfaces = pv.read(written / "run_surfaces.vtu")
    assert surfaces.n_cells > 100
    assert set(surfaces.point_data) == {f"surface_temperature {CELSIUS}"}
    assert set(np.unique(surfaces.cell_data["owner [1]"])) == {-1, 0}
    floor = surfaces.extract_cells(surfaces.cell_data["owner [1]"] == -1)
    assert floor.area == pytest.approx(3.0 * 2.7)
    places = pv.read(written / "run_places.vtu")
    assert places.n_cells == places.n_points > 50
    assert places.cell_data["volume [m3]"].min() > 0.0


def test_vtk_reads_every_step_of_the_series(written: Path, result_path: Path) -> None:
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkCommonExecutionModel import vtkStreamingDemandDrivenPipeline
    from vtkmodules.vtkIOXdmf2 import vtkXdmfReader

    history = read_result(result_path).history
    reader = vtkXdmfReader()
    reader.SetFileName(str(written / "run_series.xdmf"))
    reader.UpdateInformation()
    steps = reader.GetOutputInformation(0).Get(vtkStreamingDemandDrivenPipeline.TIME_STEPS())
    assert steps == pytest.approx(history.frame_time)
    for number, time in enumerate(steps):
        reader.UpdateTimeStep(time)
        data = reader.GetOutputDataObject(0)
        assert data.GetBounds() == pytest.approx((0.0, 3.0, 0.0, 2.7, 0.0, 2.4))
        arrays = data.GetCellData()
        temperature = vtk_to_numpy(arrays.GetArray(f"temperature {CELSIUS}"))
        wanted = history.frame_temperature[number].T.ravel()
        np.testing.assert_array_equal(temperature, wanted)
        velocity = vtk_to_numpy(arrays.GetArray("air_velocity [m s-1]"))
        np.testing.assert_array_equal(velocity, history.velocity.T.reshape(-1, 3))


def test_the_series_may_lie_in_another_folder(result_path: Path, tmp_path: Path) -> None:
    done = called(str(result_path), "--to", "xdmf", "--out", str(tmp_path / "new"))
    assert done.exit_code == 0
    text = (tmp_path / "new" / "run_series.xdmf").read_text()
    place = text.split(":/temperature")[0].rsplit(">", 1)[1].strip()
    assert (tmp_path / "new" / place).resolve() == result_path.resolve()


def glb(path: Path) -> tuple[dict[str, Any], bytes]:
    """Return the table and the binary part of a binary glTF file, after checking its frame."""
    content = path.read_bytes()
    magic, version, length = struct.unpack_from("<4sII", content)
    assert (magic, version, length) == (b"glTF", 2, len(content))
    size, kind = struct.unpack_from("<I4s", content, 12)
    assert kind == b"JSON"
    more, kind = struct.unpack_from("<I4s", content, 20 + size)
    assert kind == b"BIN\0"
    assert 28 + size + more == length
    return json.loads(content[20 : 20 + size]), content[28 + size :]


def test_the_picture_holds_named_bodies_in_metres_with_y_up(written: Path) -> None:
    import pyvista as pv

    table, binary = glb(written / "run.glb")
    names = {mesh["name"] for mesh in table["meshes"]}
    assert {"bedroom", "nightstand", "fan", "heater", "walls and openings"} <= names
    assert any(name.startswith("cold spot: ") for name in names)
    assert table["asset"]["extras"]["units of colours"] == "degree_Celsius"
    assert table["asset"]["extras"]["time [s]"] == 1200.0
    for view in table["bufferViews"]:
        assert view["byteOffset"] % 4 == 0
        assert view["byteOffset"] + view["byteLength"] <= len(binary)
    for accessor in table["accessors"]:
        if accessor["type"] == "SCALAR":
            view = table["bufferViews"][accessor["bufferView"]]
            number = np.frombuffer(binary, "<u4", accessor["count"], view["byteOffset"])
            assert number.size % 3 == 0
    bounds = pv.read(written / "run.glb").bounds
    assert bounds[:2] == pytest.approx((0.0, 3.0), abs=1e-5)
    assert bounds[4:] == pytest.approx((-2.7, 0.0), abs=1e-5)
    assert bounds[3] == pytest.approx(2.4, abs=1e-5)


def test_colours_become_linear_light() -> None:
    """The middle grey 188 of sRGB is half the light of white (IEC 61966-2-1)."""
    half, black, white = linear(np.array([188, 0, 255], dtype=np.uint8))
    assert half == pytest.approx(0.503, abs=1e-3)
    assert (black, white) == (0.0, 1.0)


def test_the_table_of_probes_has_a_unit_in_every_name(written: Path, result_path: Path) -> None:
    with (written / "run_probes.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    history = read_result(result_path).history
    head, body = rows[0], np.array(rows[1:], dtype=float)
    assert all(name.endswith("]") for name in head)
    assert head[0] == "time [s]"
    np.testing.assert_allclose(body[:, 0], history.time)
    column = head.index(f"temperature, under the window, sensor {CELSIUS}")
    np.testing.assert_allclose(body[:, column], history.probe_temperature[:, 0], rtol=1e-5)
    assert "power, heater [W]" in head
    assert f"air_temperature, outlet of heater {CELSIUS}" in head
    assert len(set(head)) == len(head)


def test_nothing_is_replaced_unless_forced(written: Path, result_path: Path) -> None:
    before = {name: (written / name).read_bytes() for name in FILES}
    refused = called(str(result_path))
    assert refused.exit_code == 2
    assert "exists already; give --force to replace it" in refused.output
    assert {name: (written / name).read_bytes() for name in FILES} == before
    forced = called(str(result_path), "--to", "csv", "--force")
    assert forced.exit_code == 0
    assert sorted(path.name for path in written.iterdir()) == sorted([*FILES, "run.vtkhdf"])


def test_json_tells_what_the_numbers_in_the_meshes_mean(result_path: Path, tmp_path: Path) -> None:
    done = called(str(result_path), "--json", "--to", "vtu", "--out", str(tmp_path))
    table = json.loads(done.stdout)
    assert [Path(name).name for name in table["files"]] == list(FILES[:3])
    assert table["owners"] == ["nightstand"]
    assert table["rooms"] == ["bedroom"]
    numbers = meshio.read(tmp_path / "run_places.vtu").cell_data["place [1]"][0]
    assert numbers.max() == len(table["places"]) - 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    (
        (("no.vtkhdf",), "no such result file"),
        (("RESULT", "--at", "9 h"), "it has no moment after 1 h"),
        (("RESULT", "--at", "9 m"), "unit of length"),
        (("RESULT", "--to", "step"), "'step' is not one of"),
    ),
)
def test_what_cannot_be_exported_is_said(
    arguments: tuple[str, ...], said: str, result_path: Path
) -> None:
    done = called(*(str(result_path) if word == "RESULT" else word for word in arguments))
    assert done.exit_code == 2
    assert said in done.output
    assert "Traceback" not in done.output


def test_the_result_itself_opens_in_the_netcdf_library(result_path: Path) -> None:
    """VTK's CF reader reads through netCDF-C, which VTK carries along."""
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIONetCDF import vtkNetCDFCFReader

    reader = vtkNetCDFCFReader()
    reader.SetFileName(str(result_path))
    reader.UpdateMetaData()
    names = {reader.GetVariableArrayName(i) for i in range(reader.GetNumberOfVariableArrays())}
    assert {"temperature", "speed", "velocity", "cell_kind"} <= names
    reader.SetSphericalCoordinates(False)
    reader.SetDimensions("(z, y, x)")
    reader.Update()
    data = reader.GetOutputDataObject(0)
    speed = vtk_to_numpy(data.GetPointData().GetArray("speed"))
    np.testing.assert_array_equal(speed, read_result(result_path).history.speed.T.ravel())
    ends = [end for axis in read_result(result_path).grid.centres for end in (axis[0], axis[-1])]
    assert data.GetBounds() == pytest.approx(ends)
