"""The CF-netCDF4 face of a result file: dimensions, coordinates with bounds, variables."""

from collections.abc import Mapping
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import Grid

#: Compression that netCDF4 readers know.
PACKED: Mapping[str, Any] = {"compression": "gzip", "compression_opts": 4, "shuffle": True}


def write_cf_variables(
    file: h5py.File, grid: Grid, title: str, versions: Mapping[str, str]
) -> None:
    """Write dimensions, coordinates and the variables over them, frames still empty."""
    file.attrs["Conventions"] = "CF-1.11"
    file.attrs["title"] = title
    file.attrs["source"] = f"Roomsoak {versions.get('roomsoak', '')}, a heat simulator".strip()
    _dimension(file, "time", np.zeros(0), "s", "time since the start of the treatment", grows=True)
    edges = {"z": grid.z_edges, "y": grid.y_edges, "x": grid.x_edges}
    along = {"x": "distance to the east", "y": "distance to the north", "z": "height"}
    _dimension(file, "edge", np.arange(2.0), "1", "low and high side of a cell")
    _dimension(file, "component", np.arange(3.0), "1", "axis of a vector: east, north, up")
    for name, planes in edges.items():
        _dimension(file, name, 0.5 * (planes[1:] + planes[:-1]), "m", along[name])
        file[name].attrs["axis"] = name.upper()
        file[name].attrs["bounds"] = f"{name}_bounds"
        bounds = np.stack([planes[:-1], planes[1:]], axis=1)
        _variable(file, f"{name}_bounds", bounds, (name, "edge"))
    file["z"].attrs["positive"] = "up"
    shape = grid.shape[::-1]
    kind = (grid.is_open.astype(np.int8) + 2 * grid.is_blocked.astype(np.int8)).T
    described = _variable(file, "cell_kind", kind, ("z", "y", "x"))
    described.attrs["long_name"] = "what a cell is"
    described.attrs["flag_values"] = np.array([0, 1, 2], dtype=np.int8)
    described.attrs["flag_meanings"] = "void open blocked"
    temperature = file.create_dataset(
        "temperature",
        shape=(0, *shape),
        maxshape=(None, *shape),
        chunks=(1, *shape),
        dtype="f4",
        fillvalue=np.nan,
        **PACKED,
    )
    _attach(file, temperature, ("time", "z", "y", "x"))
    _describe(temperature, "degree_Celsius", "temperature of the air, of the solid where blocked")
    speed = _variable(file, "speed", np.full(shape, np.nan, "f4"), ("z", "y", "x"))
    _describe(speed, "m s-1", "time mean of the air speed in the last flow")
    speed.attrs["standard_name"] = "wind_speed"
    velocity = np.full((*shape, 3), np.nan, "f4")
    vector = _variable(file, "velocity", velocity, ("z", "y", "x", "component"))
    _describe(vector, "m s-1", "time mean of the air velocity in the last flow")


def _dimension(
    file: h5py.File,
    name: str,
    values: NDArray[np.float64],
    units: str,
    words: str,
    *,
    grows: bool = False,
) -> None:
    """Write a coordinate variable and make it a dimension."""
    limits = {"maxshape": (None,), "chunks": (1024,)} if grows else {}
    data = file.create_dataset(name, data=values, **limits)
    data.make_scale(name)
    _describe(data, units, words, fill=False)


def _variable(
    file: h5py.File, name: str, values: NDArray[Any], dimensions: tuple[str, ...]
) -> h5py.Dataset:
    data = file.create_dataset(name, data=values, **PACKED)
    _attach(file, data, dimensions)
    return data


def _attach(file: h5py.File, data: h5py.Dataset, dimensions: tuple[str, ...]) -> None:
    for axis, name in enumerate(dimensions):
        data.dims[axis].attach_scale(file[name])


def _describe(data: h5py.Dataset, units: str, words: str, *, fill: bool = True) -> None:
    data.attrs["units"] = units
    data.attrs["long_name"] = words
    if fill:
        data.attrs["_FillValue"] = np.array([np.nan], dtype=data.dtype)
