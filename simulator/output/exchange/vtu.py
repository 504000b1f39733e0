"""A moment of a run as VTU meshes: cells of the rooms, outsides of things, hiding places.

VTU has no place for units, so they stand in the names: ``air_temperature [degree_Celsius]``.
"""

from pathlib import Path
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.grid.grid import FloatArray, IntArray
from simulator.history import nearest_index
from simulator.output.exchange.bodies import floors, furniture
from simulator.output.field_file import Result
from simulator.output.surface_tint import surface_tint

AIR = "air_temperature [degree_Celsius]"
SURFACE = "surface_temperature [degree_Celsius]"


def write_volumes(result: Result, path: Path, time: float) -> None:
    """Write every cell of the rooms with what is in it at ``time`` [s], the flow being the last."""
    grid, history = result.grid, result.history
    frame = history.frame_temperature[nearest_index(history.frame_time, time)]
    held = grid.room >= 0
    points, cells = hexahedra((grid.x_edges, grid.y_edges, grid.z_edges), np.flatnonzero(held))
    is_open = grid.is_open[held]
    temperature = np.asarray(frame[held], dtype=np.float64)
    data = {
        AIR: np.where(is_open, temperature, np.nan),
        "solid_temperature [degree_Celsius]": np.where(is_open, np.nan, temperature),
        "wind_speed [m s-1]": np.asarray(history.speed[held], dtype=np.float64),
        "air_velocity [m s-1]": np.asarray(history.velocity[:, held].T, dtype=np.float64),
        "room [1]": np.asarray(grid.room[held], dtype=np.int64),
    }
    _write(path, points, "hexahedron", cells, cell_data=data)


def write_surfaces(result: Result, path: Path, time: float) -> None:
    """Write the outsides of all furniture and the floors with their temperatures at ``time`` [s].

    ``owner [1]`` numbers the pieces as in ``owners``; floors have -1.
    """
    tint = surface_tint(result.grid, result.history, time)
    bodies = [*floors(result.case.dwelling, tint), *furniture(result.case.parts, tint)]
    names = owners(result)
    points: list[FloatArray] = []
    quads: list[IntArray] = []
    owner: list[IntArray] = []
    count = 0
    for body in bodies:
        points.append(body.points)
        quads.append(body.quads + count)
        number = names.index(body.owner) if body.owner in names else -1
        owner.append(np.full(len(body.quads), number, dtype=np.int64))
        count += len(body.points)
    _write(
        path,
        np.concatenate(points),
        "quad",
        np.concatenate(quads),
        cell_data={"owner [1]": np.concatenate(owner)},
        point_data={SURFACE: np.concatenate([body.temperature for body in bodies])},
    )


def write_places(result: Result, assessment: Assessment, path: Path, time: float) -> None:
    """Write every hiding place as a point: its temperature at ``time`` [s], its dose in the run."""
    grid, history = result.grid, result.history
    moment = nearest_index(history.time, time)
    refuges = grid.refuges
    data = {
        "temperature [degree_Celsius]": history.refuge_temperature[moment].astype(np.float64),
        "highest_temperature [degree_Celsius]": history.refuge_temperature.max(axis=0).astype(
            np.float64
        ),
        "egg_dose [1]": np.asarray(assessment.egg_dose, dtype=np.float64),
        "volume [m3]": refuges.volume,
        "place [1]": refuges.group,
    }
    vertices = np.arange(refuges.index.size, dtype=np.int64)[:, None]
    _write(path, refuges.position, "vertex", vertices, cell_data=data)


def owners(result: Result) -> list[str]:
    """Return the names that ``owner`` numbers in the surfaces: all furniture."""
    return list(result.case.furniture_words)


def hexahedra(
    edges: tuple[FloatArray, FloatArray, FloatArray], cells: IntArray
) -> tuple[FloatArray, IntArray]:
    """Return the corners (P, 3) [m] of some cells, and their eight numbers each in VTK's order.

    Parameters
    ----------
    edges : planes along x, y, z [m].
    cells : flat indices of the cells, C order.
    """
    shape = tuple(edge.size - 1 for edge in edges)
    i, j, k = np.unravel_index(cells, shape)
    planes = tuple(edge.size for edge in edges)
    ring = ((0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0))
    corners = [(a, b, c + up) for up in (0, 1) for a, b, c in ring]
    number = np.stack(
        [np.ravel_multi_index((i + a, j + b, k + c), planes) for a, b, c in corners], axis=1
    )
    used, place = np.unique(number, return_inverse=True)
    at = np.unravel_index(used, planes)
    points = np.stack([edge[along] for edge, along in zip(edges, at, strict=True)], axis=1)
    return points, place.reshape(number.shape)


def _write(
    path: Path,
    points: FloatArray,
    kind: str,
    cells: IntArray,
    *,
    cell_data: dict[str, Any],
    point_data: dict[str, Any] | None = None,
) -> None:
    import meshio

    per_block = {name: [values] for name, values in cell_data.items()}
    mesh = meshio.Mesh(points, [(kind, cells)], point_data=point_data, cell_data=per_block)
    meshio.vtu.write(path, mesh, binary=True)
