"""The result file: what goes in comes out, netCDF and VTK readers agree, bad files are refused."""

import dataclasses
import os
from pathlib import Path

import h5py
import numpy as np
import pytest
from builders import box_room, two_rooms
from runs import Spot, hand_history, open_grid

from simulator.assessment.assess import assess
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.errors import CaseError, ResultError
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.history import History
from simulator.output import field_file
from simulator.output.checkpoint import load_checkpoint, save_checkpoint
from simulator.output.field_file import (
    Result,
    ResultWriter,
    current_versions,
    read_result,
    run_hash,
    write_result,
)
from simulator.output.vtk_view import is_even
from tests.small_cases import room_head

TIME = np.linspace(0.0, 3600.0, 7)
VERSIONS = {"roomsoak": "0.1.0", "numpy": "2"}
SPOTS: list[Spot] = [
    ((0.5, 0.5, 0.1), 1e-3, "bed", "mattress, inside", "room"),
    ((0.7, 0.9, 0.1), 2e-3, "room", "floor", "room"),
]
SOURCES = {"flat/case.toml": 'title = "ä test"\n', "dwelling.toml": "[room]\n"}


def small_run(case: Case | None = None) -> tuple[Case, Grid, History]:
    case = case or box_room((1.2, 1.0, 0.8))
    case = dataclasses.replace(case, sources=SOURCES)
    grid = open_grid(case, SPOTS)
    void = np.zeros(grid.shape, dtype=bool)
    void[0, 0, 0] = True
    grid = dataclasses.replace(grid, is_open=~void)
    temperature = 20.0 + np.random.default_rng(3).uniform(0.0, 40.0, (TIME.size, 2))
    history = hand_history(case, grid, TIME, temperature, frames=3)
    history.frame_temperature[:, 0, 0, 0] = np.nan
    return case, grid, history


def uneven_run() -> tuple[Case, Grid, History]:
    """Two rooms with a thin partition: cells of two widths."""
    case, grid, history = small_run(two_rooms((0.6, 1.0, 0.8), doorway=None))
    edges = np.array([0.0, 0.2, 0.4, 0.6, 0.7, 1.0, 1.3])
    assert edges.size == grid.x_edges.size
    return case, dataclasses.replace(grid, x_edges=edges), history


def write(path: Path, run: tuple[Case, Grid, History], **options: bool) -> None:
    case, grid, history = run
    main = "flat/case.toml"
    write_result(path, case, 0.2, grid, history, main=main, versions=VERSIONS, **options)


@pytest.fixture
def rebuilt(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, str]]:
    """Rebuild case and grid by hand, as the real loader needs a whole case file; note its texts."""
    seen: list[dict[str, str]] = []

    def load_texts(sources: dict[str, str], main: str) -> Case:
        assert main == "flat/case.toml"
        seen.append(dict(sources))
        return small_run()[0]

    monkeypatch.setattr(field_file, "load_texts", load_texts)
    monkeypatch.setattr(field_file, "voxelise", lambda case, cell_size: small_run()[1])
    return seen


def assert_same_history(read: History, written: History) -> None:
    for field in dataclasses.fields(History):
        new, old = getattr(read, field.name), getattr(written, field.name)
        if field.name == "ledger":
            for part in dataclasses.fields(old):
                assert np.array_equal(getattr(new, part.name), getattr(old, part.name))
        elif not isinstance(old, np.ndarray):
            assert new == old
        else:
            assert (new.dtype, new.shape) == (old.dtype, old.shape)
            step = {"frame_temperature": 1 / 128, "refuge_temperature": 1 / 1024}
            # half a rounding step, and 2e-6 K of single precision at 60 °C
            tolerance = 0.5 * step[field.name] + 4e-6 if field.name in step else 0.0
            assert np.allclose(new, old, rtol=0.0, atol=tolerance, equal_nan=True)


def test_a_run_comes_back_as_it_was_written(tmp_path: Path, rebuilt: list[dict[str, str]]) -> None:
    run = small_run()
    write(tmp_path / "run.h5", run)
    result = read_result(tmp_path / "run.h5")
    assert isinstance(result, Result)
    assert_same_history(result.history, run[2])
    assert rebuilt == [SOURCES]
    assert (result.cell_size, result.main, result.versions) == (0.2, "flat/case.toml", VERSIONS)
    assert result.hash == run_hash(SOURCES, "flat/case.toml", 0.2, "0.1.0")


WHOLE_CASE = (
    room_head(
        "Small bedroom, one fan",
        ("12 ft", "11 ft", "8 ft"),
        room="bedroom",
        start="68 degF",
        floor="carpeted_wood_floor",
    )
    + """[[dwelling.furniture]]
kind = "bed"
name = "bed"
room = "bedroom"
at = ["1.9 m", "2.0 m"]

[layout]
name = "one fan"
[[layout.equipment]]
kind = "fan"
name = "fan 1"
room = "bedroom"
at = ["0.5 m", "0.5 m"]
turn = "90 deg"

[treatment]
horizon = "6 h"
"""
)


def test_case_and_grid_are_rebuilt_from_the_texts_in_the_file(tmp_path: Path) -> None:
    """The real loader and the real grid: the answer drawn from the file is that of the run."""
    case = load_texts({"small.toml": WHOLE_CASE}, "small.toml")
    grid = voxelise(case, 0.2)
    rise = 1.0 - np.exp(-TIME[:, None] / 900.0)
    finals = np.random.default_rng(8).uniform(45.0, 65.0, grid.refuges.index.size)
    history = hand_history(case, grid, TIME, 20.0 + rise * (finals - 20.0))
    path = tmp_path / "run.h5"
    write_result(path, case, 0.2, grid, history, main="small.toml")
    result = read_result(path)
    assert result.case == case
    assert np.array_equal(result.grid.solids.heat_capacity, grid.solids.heat_capacity)
    before, after = assess(case, grid, history), assess(result.case, result.grid, result.history)
    assert [place.state for place in after.places] == [place.state for place in before.places]
    assert [spot.words for spot in after.cold_spots] == [spot.words for spot in before.cold_spots]
    # temperatures rounded to 1/1024 K: half a step of 4.9e-4 K is a factor of 1.0003 in dose;
    # near the floor of 45 °C, where doses are small, the moment when credit begins shifts too
    decisive = before.egg_dose > 0.5
    assert decisive.sum() > 100
    assert np.allclose(after.egg_dose[decisive], before.egg_dose[decisive], rtol=4e-4, atol=0.0)


def test_temperatures_are_whole_steps(tmp_path: Path) -> None:
    write(tmp_path / "run.h5", small_run())
    with h5py.File(tmp_path / "run.h5") as file:
        frames = file["temperature"][...] * 128.0
        refuges = file["roomsoak/history/refuge_temperature"][...] * 1024.0
    finite = frames[np.isfinite(frames)]
    assert np.array_equal(finite, np.round(finite))
    assert np.array_equal(refuges, np.round(refuges))


def test_the_hash_changes_with_text_cell_size_and_version() -> None:
    base = run_hash(SOURCES, "flat/case.toml", 0.1, "1")
    changed = {**SOURCES, "dwelling.toml": "[rooms]\n"}
    others = {
        run_hash(changed, "flat/case.toml", 0.1, "1"),
        run_hash(SOURCES, "dwelling.toml", 0.1, "1"),
        run_hash(SOURCES, "flat/case.toml", 0.2, "1"),
        run_hash(SOURCES, "flat/case.toml", 0.1, "2"),
    }
    assert len(others | {base}) == 5
    assert run_hash(dict(reversed(SOURCES.items())), "flat/case.toml", 0.1, "1") == base


def test_versions_name_the_program_and_what_it_computes_with() -> None:
    assert {"python", "roomsoak", "numpy", "numba"} <= set(current_versions())


# Readers ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("run", [small_run(), uneven_run()], ids=["even", "uneven"])
def test_netcdf_readers_see_named_dimensions_and_the_right_values(
    tmp_path: Path, run: tuple[Case, Grid, History]
) -> None:
    import xarray

    write(tmp_path / "run.nc", run)
    _, grid, history = run
    with xarray.open_dataset(tmp_path / "run.nc", engine="h5netcdf") as data:
        assert data.temperature.dims == ("time", "z", "y", "x")
        assert data.velocity.dims == ("z", "y", "x", "component")
        assert data.temperature.attrs["units"] == "degree_Celsius"
        assert data.attrs["Conventions"] == "CF-1.11"
        assert np.allclose(data.x, grid.centres[0])
        assert np.allclose(data.x_bounds, np.stack([grid.x_edges[:-1], grid.x_edges[1:]], axis=1))
        seconds = data.time.values
        if seconds.dtype.kind == "m":
            seconds = seconds / np.timedelta64(1, "s")
        assert np.allclose(seconds, history.frame_time)
        picked = data.temperature.isel(time=1, z=2, y=3, x=4).item()
        assert picked == pytest.approx(history.frame_temperature[1, 4, 3, 2], abs=1 / 256)
        assert np.isnan(data.temperature[0, 0, 0, 0])
        assert data.speed.sel(z=0.5, y=0.5, x=0.5, method="nearest").dims == ()
        assert data.cell_kind[0, 0, 0] == 0


def test_h5netcdf_sees_dimension_scales_on_every_variable(tmp_path: Path) -> None:
    import h5netcdf

    write(tmp_path / "run.nc", small_run())
    with h5netcdf.File(tmp_path / "run.nc") as file:
        assert set(file.dimensions) == {"time", "z", "y", "x", "edge", "component"}
        assert file.variables["temperature"].dimensions == ("time", "z", "y", "x")


@pytest.mark.parametrize(
    ("run", "kind"),
    [(small_run(), "vtkImageData"), (uneven_run(), "vtkUnstructuredGrid")],
    ids=["even", "uneven"],
)
def test_vtk_reads_every_step_in_its_place(
    tmp_path: Path, run: tuple[Case, Grid, History], kind: str
) -> None:
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOHDF import vtkHDFReader

    path = tmp_path / "run.vtkhdf"
    write(path, run)
    _, grid, history = run
    reader = vtkHDFReader()
    assert reader.CanReadFile(str(path))
    reader.SetFileName(str(path))
    reader.UpdateInformation()
    assert reader.GetNumberOfSteps() == 3
    for step in range(3):
        reader.SetStep(step)
        reader.Update()
        data = reader.GetOutputDataObject(0)
        assert data.GetClassName() == kind
        arrays = data.GetCellData()
        temperature = vtk_to_numpy(arrays.GetArray("temperature")).reshape(grid.shape[::-1])
        frame = history.frame_temperature[step].T
        assert np.allclose(temperature, frame, rtol=0, atol=1 / 256 + 4e-6, equal_nan=True)
        speed = vtk_to_numpy(arrays.GetArray("speed")).reshape(grid.shape[::-1])
        assert np.array_equal(speed, history.speed.T)
        velocity = vtk_to_numpy(arrays.GetArray("velocity")).reshape(*grid.shape[::-1], 3)
        assert np.array_equal(velocity, history.velocity.T)
    x, y, z = grid.x_edges, grid.y_edges, grid.z_edges
    bounds = (x[0], x[-1], y[0], y[-1], z[0], z[-1])
    assert np.allclose(data.GetBounds(), bounds)
    flat = int(np.ravel_multi_index((1, 2, 3), grid.shape[::-1]))
    cell = (x[3], x[4], y[2], y[3], z[1], z[2])
    assert np.allclose(data.GetCell(flat).GetBounds(), cell)


def test_uneven_planes_are_told_from_even_ones() -> None:
    assert is_even(np.linspace(0.0, 3.1, 32))
    assert not is_even(np.array([0.0, 0.1, 0.2, 0.31]))


def test_nothing_is_stored_twice(tmp_path: Path) -> None:
    """The VTK group holds views, so a longer series does not lengthen it."""
    write(tmp_path / "run.h5", uneven_run())
    with h5py.File(tmp_path / "run.h5") as file:
        cells = file["VTKHDF/CellData"]
        assert all(cells[name].is_virtual for name in cells)
        assert all(cells[name].id.get_storage_size() == 0 for name in cells)


# Refusals -----------------------------------------------------------------------------------------


def refused(path: Path) -> str:
    """Return the one line with which a file is refused."""
    with pytest.raises(ResultError) as caught:
        read_result(path)
    message = str(caught.value)
    assert "\n" not in message
    assert str(path) in message
    return message


def test_a_result_is_not_replaced_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "run.h5"
    write(path, small_run())
    before = path.read_bytes()
    with pytest.raises(ResultError, match="exists already"):
        write(path, small_run())
    assert path.read_bytes() == before
    write(path, small_run(), force=True)
    assert [entry.name for entry in tmp_path.iterdir()] == ["run.h5"]


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ResultError, match="cannot be written"):
        write(tmp_path / "no" / "run.h5", small_run())


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert "no such result" in refused(tmp_path / "run.h5")


@pytest.mark.parametrize("content", [b"", b"not a result", b"\x89HDF\r\n\x1a\n" + bytes(200)])
def test_a_foreign_file_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "run.h5"
    path.write_bytes(content)
    assert "damaged or not a result" in refused(path)


def test_a_foreign_hdf5_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "run.h5"
    with h5py.File(path, "w") as file:
        file["temperature"] = np.zeros(3)
    assert "not a result of this program" in refused(path)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 0.99])
def test_a_truncated_file_is_refused(tmp_path: Path, share: float) -> None:
    path = tmp_path / "run.h5"
    write(path, small_run())
    whole = path.read_bytes()
    path.write_bytes(whole[: int(share * len(whole))])
    assert "damaged or not a result" in refused(path)


@pytest.mark.parametrize("name", ["temperature", "roomsoak/history/refuge_temperature"])
def test_a_flipped_bit_in_packed_numbers_is_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / "run.h5"
    write(path, small_run())
    with h5py.File(path) as file:
        chunk = file[name].id.get_chunk_info(0)
    content = bytearray(path.read_bytes())
    content[chunk.byte_offset + chunk.size // 2] ^= 0x10
    path.write_bytes(content)
    assert "damaged" in refused(path)


def test_a_file_without_one_of_its_arrays_is_refused(tmp_path: Path) -> None:
    for name in ("roomsoak/history/air_mean", "roomsoak/ledger/leaks", "speed", "time"):
        path = tmp_path / "run.h5"
        write(path, small_run(), force=True)
        with h5py.File(path, "r+") as file:
            del file[name]
        assert "damaged" in refused(path)


def test_a_file_whose_case_was_edited_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "run.h5"
    write(path, small_run())
    with h5py.File(path, "r+") as file:
        file["roomsoak/source_texts"][0] = 'title = "another"\n'
    assert "changed after the run" in refused(path)


def test_a_case_that_no_longer_loads_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def load_texts(sources: dict[str, str], main: str) -> Case:
        raise CaseError("case.toml:3: bed.width: unknown key")

    path = tmp_path / "run.h5"
    write(path, small_run())
    monkeypatch.setattr(field_file, "load_texts", load_texts)
    assert "bed.width" in refused(path)


def test_another_division_into_cells_is_refused(
    tmp_path: Path, rebuilt: list[dict[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run.h5"
    write(path, small_run())
    coarser = open_grid(box_room((1.2, 1.0, 0.8)), SPOTS, 0.4)
    monkeypatch.setattr(field_file, "voxelise", lambda case, cell_size: coarser)
    assert "run it again" in refused(path)


def test_a_run_that_was_cut_off_is_readable_as_netcdf_and_refused_as_a_result(
    tmp_path: Path,
) -> None:
    import xarray

    path = tmp_path / "run.h5"
    case, grid, history = small_run()
    with ResultWriter(path, case, 0.2, grid, main="flat/case.toml", versions=VERSIONS) as writer:
        for index in range(2):
            writer.append(float(history.frame_time[index]), history.frame_temperature[index])
    assert "unfinished" in refused(path)
    with xarray.open_dataset(path, engine="h5netcdf") as data:
        assert data.temperature.shape[0] == 2


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a process that dies at once")
def test_frames_survive_a_process_that_dies_without_closing(tmp_path: Path) -> None:
    import subprocess
    import sys

    path = tmp_path / "run.h5"
    here = Path(__file__).resolve()
    code = (
        "import os, sys; from pathlib import Path\n"
        f"sys.path[:0] = [{str(here.parents[2])!r}, {str(here.parent)!r}]\n"
        "from test_field_file import *\n"
        "case, grid, history = small_run()\n"
        f"writer = ResultWriter(Path({str(path)!r}), case, 0.2, grid, main='m', versions={{}})\n"
        "for index in range(3):\n"
        "    writer.append(float(history.frame_time[index]), history.frame_temperature[index])\n"
        "os._exit(9)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 9, done.stderr
    with h5py.File(path) as file:
        assert file["temperature"].shape[0] == 3
        assert np.isfinite(file["temperature"][2, 3, 3, 3])


def test_streamed_frames_are_not_written_twice(
    tmp_path: Path, rebuilt: list[dict[str, str]]
) -> None:
    path = tmp_path / "run.h5"
    case, grid, history = small_run()
    with ResultWriter(path, case, 0.2, grid, main="flat/case.toml", versions=VERSIONS) as writer:
        writer.append(float(history.frame_time[0]), history.frame_temperature[0])
        writer.finish(history)
    assert_same_history(read_result(path).history, history)


# Checkpoints --------------------------------------------------------------------------------------

STATE = {
    "air": np.linspace(20.0, 30.0, 5),
    "open": np.array([True, False]),
    "step": np.array(7),
    "name": np.array("epoch 2"),
}


def test_a_checkpoint_comes_back_bit_by_bit(tmp_path: Path) -> None:
    path = tmp_path / "run.npz"
    save_checkpoint(path, STATE, {"hash": "abc", "time": 60.0})
    arrays, meta = load_checkpoint(path, "abc")
    assert set(arrays) == set(STATE)
    assert all(np.array_equal(arrays[name], STATE[name]) for name in STATE)
    assert all(arrays[name].dtype == STATE[name].dtype for name in STATE)
    assert meta == {"hash": "abc", "time": 60.0}
    assert [entry.name for entry in tmp_path.iterdir()] == ["run.npz"]


def test_a_checkpoint_of_another_case_is_refused(tmp_path: Path) -> None:
    save_checkpoint(tmp_path / "run.npz", STATE, {"hash": "abc"})
    with pytest.raises(ResultError, match="another case"):
        load_checkpoint(tmp_path / "run.npz", "abd")


def test_a_checkpoint_that_fails_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run.npz"
    save_checkpoint(path, STATE, {"hash": "abc", "time": 1.0})

    def full_disk(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(ResultError, match="No space left"):
        save_checkpoint(path, STATE, {"hash": "abc", "time": 2.0})
    monkeypatch.undo()
    assert load_checkpoint(path, "abc")[1]["time"] == 1.0
    assert [entry.name for entry in tmp_path.iterdir()] == ["run.npz"]


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.98])
def test_a_damaged_checkpoint_is_refused(tmp_path: Path, share: float) -> None:
    path = tmp_path / "run.npz"
    save_checkpoint(path, STATE, {"hash": "abc"})
    whole = path.read_bytes()
    path.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(ResultError, match="not a whole checkpoint") as caught:
        load_checkpoint(path, "abc")
    assert "\n" not in str(caught.value)


def test_a_missing_or_foreign_checkpoint_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ResultError, match="no such checkpoint"):
        load_checkpoint(tmp_path / "run.npz", "abc")
    np.savez(tmp_path / "other.npz", a=np.zeros(2))
    with pytest.raises(ResultError, match="not a whole checkpoint"):
        load_checkpoint(tmp_path / "other.npz", "abc")


def test_objects_are_not_saved(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no objects"):
        save_checkpoint(tmp_path / "run.npz", {"a": np.array([None])}, {"hash": "abc"})
