"""The result file: one HDF5 file that is CF-netCDF4 and VTKHDF at once and carries its own case.

* Root: CF variables (``temperature(time, z, y, x)``, ``speed``, ``velocity``, ``cell_kind``) on
  rectilinear coordinates with bounds, for netCDF readers.
* ``/VTKHDF``: the same numbers for VTK readers (see ``vtk_view``).
* ``/roomsoak``: the whole history, the case's texts, cell size, versions and a hash. Pictures,
  sheets and pages are made from this file alone.

Field temperatures are rounded to 1/128 K and those of refuges to 1/1024 K, which shortens the file
several times; an error of 1/2048 K changes a dose by 0.03 %.
"""

import dataclasses
import hashlib
import json
import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import h5py
import numpy as np
from numpy.typing import NDArray

from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.errors import CaseError, ResultError, reason_of
from simulator.grid.grid import Grid
from simulator.grid.voxelise import voxelise
from simulator.history import EnergyLedger, EpochRecord, History
from simulator.output.cf_variables import PACKED, write_cf_variables
from simulator.output.findings import findings_in
from simulator.output.overwriting import refuse_to_overwrite
from simulator.output.vtk_view import write_vtk_view
from simulator.output.whole_file import whole_file

_FORMAT = 1
_FIELD_STEP = 1.0 / 128.0  # [K]
_REFUGE_STEP = 1.0 / 1024.0  # [K]
_ON_GRID = ("frame_time", "frame_temperature", "speed", "velocity")
_ABOUT_US = ("roomsoak", "numpy", "scipy", "numba", "h5py")


@dataclass(frozen=True, slots=True)
class Result:
    """What ``read_result`` returns: a run with everything needed to judge and to draw it."""

    case: Case
    grid: Grid
    history: History
    cell_size: float  # nominal [m]
    main: str  # name of the case's main file within ``case.sources``
    hash: str
    versions: Mapping[str, str]
    findings: Mapping[str, Any] = field(default_factory=dict)  # of studies, by name

    @classmethod
    def of_run(cls, case: Case, cell_size: float, grid: Grid, history: History) -> Self:
        """Return a run that was just made as what it would be if read from its file."""
        main, versions = next(iter(case.sources), ""), current_versions()
        own = run_hash(case.sources, main, cell_size, versions["roomsoak"])
        return cls(case, grid, history, cell_size, main, own, versions)

    def to_xarray(self) -> Any:
        """Return fields and curves as an ``xarray.Dataset``; see ``notebook.result_dataset``."""
        from simulator.output.notebook import result_dataset

        return result_dataset(self)

    def _repr_html_(self) -> str:
        """Return a summary with a picture: what a notebook shows."""
        from simulator.output.notebook import result_html

        return result_html(self)


def current_versions() -> dict[str, str]:
    """Return the versions of the program, of what it computes with, and the kind of machine."""
    versions = {"python": platform.python_version(), "machine": platform.machine()}
    for name in _ABOUT_US:
        try:
            versions[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            versions[name] = "not installed"
    return versions


def run_hash(sources: Mapping[str, str], main: str, cell_size: float, version: str) -> str:
    """Return the sha256 of the case's texts, the cell size [m] and the program's version."""
    facts = {"sources": dict(sources), "main": main, "cell": cell_size, "version": version}
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


class ResultWriter:
    """A result file being written: frames are appended one by one, each forced out of the process.

    A run that is cut off leaves a file that netCDF readers can open up to the last frame;
    ``read_result`` refuses it, for it has no history. ``finish`` makes it a whole result.
    """

    def __init__(
        self,
        path: Path,
        case: Case,
        cell_size: float,
        grid: Grid,
        *,
        main: str,
        versions: Mapping[str, str],
        force: bool = False,
    ) -> None:
        refuse_to_overwrite([path], force=force)
        self._path = path
        self._grid = grid
        try:
            self._file = h5py.File(path, "w", libver=("earliest", "v110"))
        except OSError as error:
            raise ResultError(f"{path}: cannot be written ({reason_of(error)})") from error
        write_cf_variables(self._file, grid, case.title, versions)
        _write_identity(self._file, case.sources, main, cell_size, versions)

    def append(self, time: float, temperature: NDArray[np.float32]) -> None:
        """Append one frame: its time [s] and the field, shape (nx, ny, nz) [°C]."""
        frames = self._file["temperature"]
        count = frames.shape[0]
        frames.resize(count + 1, axis=0)
        frames[count] = _rounded(temperature, _FIELD_STEP).T
        self._file["time"].resize(count + 1, axis=0)
        self._file["time"][count] = time
        self._file.flush()

    def finish(self, history: History) -> None:
        """Write what is known only at the end, and the frames that are not yet there."""
        for index in range(self._file["time"].size, history.frame_time.size):
            self.append(float(history.frame_time[index]), history.frame_temperature[index])
        self._file["speed"][...] = history.speed.T
        self._file["velocity"][...] = history.velocity.T
        if self._file["time"].size:
            write_vtk_view(self._file, self._grid)
        _write_history(self._file["roomsoak"], history)
        self._file["roomsoak"].attrs["is_finished"] = True
        self._file.flush()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()


def write_result(
    path: Path,
    case: Case,
    cell_size: float,
    grid: Grid,
    history: History,
    *,
    main: str,
    versions: Mapping[str, str] | None = None,
    force: bool = False,
) -> None:
    """Write a whole result in one step: the file appears under its name only when it is complete.

    Parameters
    ----------
    path : the result file; not replaced unless ``force``.
    cell_size : nominal [m], the one that ``grid`` was made with.
    main : name of the case's main file within ``case.sources``.
    versions : of the program and its libraries; those of this process if None.
    """
    refuse_to_overwrite([path], force=force)
    used = current_versions() if versions is None else versions
    try:
        with (
            whole_file(path) as part,
            ResultWriter(part, case, cell_size, grid, main=main, versions=used) as writer,
        ):
            writer.finish(history)
    except OSError as error:
        raise ResultError(f"{path}: cannot be written ({reason_of(error)})") from error


def read_result(path: Path) -> Result:
    """Return the run in a result file, its case and grid rebuilt from the texts it carries.

    Raises
    ------
    ResultError
        One line, if the file is missing, damaged, unfinished or not a result.
    """
    if not path.is_file():
        raise ResultError(f"{path}: no such result file")
    if path.suffix == ".toml":
        raise ResultError(f"{path}: a case, not a result; run it first: roomsoak run {path}")
    try:
        with h5py.File(path, "r") as file:
            main, cell_size, sources, versions, found = _read_identity(path, file)
            history = _read_history(file)
            findings = findings_in(file)
    except (OSError, KeyError, ValueError, TypeError, RuntimeError) as error:
        raise ResultError(f"{path}: damaged or not a result file ({reason_of(error)})") from error
    if found != run_hash(sources, main, cell_size, versions.get("roomsoak", "")):
        raise ResultError(f"{path}: its case was changed after the run (the hash differs)")
    try:
        case = load_texts(sources, main)
        grid = voxelise(case, cell_size)
    except CaseError as error:
        raise ResultError(f"{path}: this version cannot read its case: {error}") from error
    cells, refuges = history.speed.shape, history.refuge_temperature.shape[1]
    if cells != grid.shape or refuges != grid.refuges.index.size:
        raise ResultError(f"{path}: this version divides its case into other cells; run it again")
    return Result(case, grid, history, cell_size, main, found, versions, findings)


def _read_identity(
    path: Path, file: h5py.File
) -> tuple[str, float, dict[str, str], dict[str, str], str]:
    """Return main file, cell size, texts, versions and hash; refuse what is not finished."""
    group = file.get("roomsoak")
    if group is None or "format" not in group.attrs:
        raise ResultError(f"{path}: an HDF5 file, but not a result of this program")
    facts = dict(group.attrs)
    if int(facts["format"]) != _FORMAT:
        raise ResultError(f"{path}: written in format {facts['format']}, not {_FORMAT}")
    if not facts["is_finished"]:
        raise ResultError(f"{path}: unfinished; the run was cut off before its history was written")
    names, texts = group["source_names"].asstr()[...], group["source_texts"].asstr()[...]
    sources = dict(zip(names, texts, strict=True))
    versions = json.loads(facts["versions"])
    return str(facts["main"]), float(facts["cell_size"]), sources, versions, str(facts["hash"])


def _write_identity(
    file: h5py.File,
    sources: Mapping[str, str],
    main: str,
    cell_size: float,
    versions: Mapping[str, str],
) -> None:
    group = file.create_group("roomsoak")
    group.attrs["format"] = _FORMAT
    group.attrs["is_finished"] = False
    group.attrs["main"] = main
    group.attrs["cell_size"] = cell_size
    group.attrs["versions"] = json.dumps(dict(versions))
    group.attrs["hash"] = run_hash(sources, main, cell_size, versions.get("roomsoak", ""))
    text = h5py.string_dtype()
    group.create_dataset("source_names", data=list(sources), dtype=text)
    group.create_dataset("source_texts", data=list(sources.values()), dtype=text)


def _write_history(group: h5py.Group, history: History) -> None:
    """Write the history field by field; what lies on the grid is in the CF variables already."""
    arrays = group.create_group("history")
    for entry in dataclasses.fields(History):
        value = getattr(history, entry.name)
        if entry.name in _ON_GRID or not isinstance(value, np.ndarray):
            continue
        if entry.name == "refuge_temperature":
            value = _rounded(value, _REFUGE_STEP)
        packed = PACKED if value.size else {}
        arrays.create_dataset(entry.name, data=value, **packed)
    arrays["air_mean"].attrs["standard_name"] = "air_temperature"
    arrays["air_mean"].attrs["units"] = "degree_Celsius"
    arrays.attrs["is_complete"] = history.is_complete
    ledger = group.create_group("ledger")
    for entry in dataclasses.fields(EnergyLedger):
        ledger[entry.name] = getattr(history.ledger, entry.name)
    epochs = group.create_group("epochs")
    for entry in dataclasses.fields(EpochRecord):
        epochs[entry.name] = np.array([getattr(epoch, entry.name) for epoch in history.epochs])


def _read_history(file: h5py.File) -> History:
    group = file["roomsoak"]
    arrays = {name: data[...] for name, data in group["history"].items()}
    ledger = EnergyLedger(**{name: data[...] for name, data in group["ledger"].items()})
    columns = {name: data[...].tolist() for name, data in group["epochs"].items()}
    rows = zip(*columns.values(), strict=True)
    epochs = tuple(EpochRecord(**dict(zip(columns, row, strict=True))) for row in rows)
    return History(
        **arrays,
        ledger=ledger,
        epochs=epochs,
        frame_time=file["time"][...],
        frame_temperature=_xyz(file["temperature"][...]),
        speed=file["speed"][...].T,
        velocity=file["velocity"][...].T,
        is_complete=bool(group["history"].attrs["is_complete"]),
    )


def _xyz(frames: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return frames with axes (time, x, y, z) from (time, z, y, x)."""
    return np.ascontiguousarray(frames.transpose(0, 3, 2, 1))


def _rounded(temperature: NDArray[np.float32], step: float) -> NDArray[np.float32]:
    """Return temperatures rounded to a power-of-two step [K]; void cells stay nan."""
    return (np.round(temperature / np.float32(step)) * np.float32(step)).astype(np.float32)
