"""The VTK view of a result file: a group that shows the CF variables as a VTKHDF data set.

Nothing is stored twice. Evenly spaced cells are a VTKHDF ImageData whose temperature is a soft link
to the CF variable (a hard link would break netCDF readers). Unevenly spaced cells, the rule in a
dwelling of several rooms, are an UnstructuredGrid of hexahedra written once, whose arrays are
virtual data sets over the CF variables. VTKHDF 2.7 also knows rectilinear grids, but only from
VTK 9.7 on; the two kinds used here are read by every reader of VTKHDF 2.0.
"""

from typing import Any

import h5py
import numpy as np

from simulator.grid.grid import FloatArray, Grid

_VERSION = (2, 0)  # of VTKHDF: the first with time steps
_HEXAHEDRON = 12  # VTK's number of the cell type
_EVEN = 1e-6  # relative scatter of the spacing below which it counts as even [-]

#: CF variables that do not change with time.
STATIC = ("speed", "velocity", "cell_kind")


def is_even(edges: FloatArray) -> bool:
    """Return whether cell planes are evenly spaced to round-off of the case's lengths."""
    steps = np.diff(edges)
    return bool(np.ptp(steps) <= _EVEN * steps.mean())


def write_vtk_view(file: h5py.File, grid: Grid) -> None:
    """Add the group ``/VTKHDF`` to a file that holds the CF variables and at least one frame."""
    root = file.create_group("VTKHDF")
    root.attrs["Version"] = _VERSION
    root.create_group("CellData")
    frames = int(file["time"].size)
    steps = root.create_group("Steps")
    steps.attrs["NSteps"] = frames
    steps["Values"] = h5py.SoftLink("/time")
    steps.create_group("CellDataOffsets")
    if all(is_even(edges) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)):
        _write_image(root, grid, frames)
    else:
        _write_hexahedra(root, grid, frames)


def _write_image(root: h5py.Group, grid: Grid, frames: int) -> None:
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    root.attrs["Type"] = np.bytes_("ImageData")
    root.attrs["WholeExtent"] = np.array([[0, axis.size - 1] for axis in edges]).ravel()
    root.attrs["Origin"] = [float(axis[0]) for axis in edges]
    root.attrs["Spacing"] = [float(axis[-1] - axis[0]) / (axis.size - 1) for axis in edges]
    root.attrs["Direction"] = np.eye(3).ravel()
    root["CellData/temperature"] = h5py.SoftLink("/temperature")
    root["Steps/CellDataOffsets/temperature"] = np.arange(frames)
    for name in STATIC:
        source = root.file[name]
        _add_virtual(root, source, (1, *source.shape))
        root[f"Steps/CellDataOffsets/{name}"] = np.zeros(frames, dtype=np.int64)


def _write_hexahedra(root: h5py.Group, grid: Grid, frames: int) -> None:
    cells = grid.is_open.size
    root.attrs["Type"] = np.bytes_("UnstructuredGrid")
    z, y, x = np.meshgrid(grid.z_edges, grid.y_edges, grid.x_edges, indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), z.ravel()], axis=1)
    connectivity = _corners(grid)
    packed: dict[str, Any] = {"compression": "gzip", "compression_opts": 4, "shuffle": True}
    root.create_dataset("Points", data=points, **packed)
    root.create_dataset("Connectivity", data=connectivity.ravel(), **packed)
    root.create_dataset("Offsets", data=8 * np.arange(cells + 1), **packed)
    root.create_dataset("Types", data=np.full(cells, _HEXAHEDRON, dtype=np.uint8), **packed)
    root["NumberOfPoints"] = [points.shape[0]]
    root["NumberOfCells"] = [cells]
    root["NumberOfConnectivityIds"] = [connectivity.size]
    same = np.zeros(frames, dtype=np.int64)  # every step shows the one and only mesh
    root["Steps/PartOffsets"] = same
    root["Steps/NumberOfParts"] = same + 1
    root["Steps/PointOffsets"] = same
    root["Steps/CellOffsets"] = same[:, None]
    root["Steps/ConnectivityIdOffsets"] = same[:, None]
    _add_virtual(root, root.file["temperature"], (frames * cells,))
    root["Steps/CellDataOffsets/temperature"] = cells * np.arange(frames)
    for name in STATIC:
        source = root.file[name]
        _add_virtual(root, source, (cells, *source.shape[3:]))
        root[f"Steps/CellDataOffsets/{name}"] = same


def _corners(grid: Grid) -> np.ndarray[Any, np.dtype[np.int64]]:
    """Return the eight corner points of every cell in VTK's order, cells with x fastest."""
    nx, ny, nz = grid.shape
    number = np.arange((nx + 1) * (ny + 1) * (nz + 1)).reshape(nz + 1, ny + 1, nx + 1)
    first = number[:-1, :-1, :-1].ravel()
    east, north, up = 1, nx + 1, (nx + 1) * (ny + 1)
    ring = (0, east, east + north, north)
    return np.stack([first + step for step in (*ring, *(up + step for step in ring))], axis=1)


def _add_virtual(root: h5py.Group, source: h5py.Dataset, shape: tuple[int, ...]) -> None:
    """Add a view of another shape, same elements in the same order, of a variable of this file."""
    layout = h5py.VirtualLayout(shape=shape, dtype=source.dtype)
    layout[...] = h5py.VirtualSource(".", source.name, shape=source.shape, dtype=source.dtype)
    name = source.name.lstrip("/")
    root["CellData"].create_virtual_dataset(name, layout)
