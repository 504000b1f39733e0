"""What can be laid into the scene of a room beside it: a slice, a surface, paths of the air."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.case.case import Case
from simulator.case.parts import AirMover, HeatedJet
from simulator.errors import CaseError
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History, nearest_index
from simulator.output.corner_means import means_at_corners
from simulator.output.equipment_drawing import jet_lines
from simulator.output.pen import FAN, HEATER
from simulator.output.temperature_scale import TemperatureScale
from simulator.units import System, format_quantity

SURFACE = "#dbe9f4"
SURFACE_OPACITY = 0.55

#: Paths of air of each machine, how far they are followed [m] and down to which speed [m/s].
PATHS, FARTHEST, SLOWEST = 8, 5.0, 0.10
PATH_RADIUS = 0.008  # [m]


@dataclass(frozen=True, slots=True)
class Layers:
    """What is drawn beside the room itself.

    ``slice_at`` is a height above the lowest floor [m], ``surface_of`` a temperature [°C].
    """

    slice_at: float | None = None
    surface_of: float | None = None
    has_furniture: bool = True
    has_streamlines: bool = False

    @property
    def covers_spots(self) -> bool:
        """Whether the faces of cold spots would tint what is to be read: then edges do."""
        return self.slice_at is not None or self.surface_of is not None or self.has_streamlines


#: The room as it is.
PLAIN = Layers()


def in_words(layers: Layers, units: System) -> str:
    """Return what is drawn besides, for the foot of a picture."""
    told = []
    if layers.slice_at is not None:
        told.append(f"Slice at {format_quantity(layers.slice_at, 'length', units)}.")
    if layers.surface_of is not None:
        told.append(f"Pale surface: {format_quantity(layers.surface_of, 'temperature', units)}.")
    if not layers.has_furniture:
        told.append("Furniture is hidden.")
    if layers.has_streamlines:
        told.append("Lines: paths of the mean flow from fans and heaters.")
    return " ".join(told)


def check_slice(grid: Grid, height: float | None) -> None:
    """Refuse a height that is not within the dwelling."""
    if height is None:
        return
    top = float(grid.z_edges[-1] - grid.z_edges[0])
    if not 0.0 <= height <= top:
        raise CaseError(f"a slice at {height:g} m is not within the dwelling; 0 m to {top:.2f} m")


def add_layers(
    plotter: Any,
    case: Case,
    grid: Grid,
    history: History,
    layers: Layers,
    scale: TemperatureScale,
    time: float,
) -> None:
    """Add what ``layers`` asks for, at ``time`` [s]."""
    frame = nearest_index(history.frame_time, time)
    field = np.where(grid.room >= 0, history.frame_temperature[frame].astype(float), np.nan)
    if layers.slice_at is not None:
        mesh = slice_mesh(grid, field, layers.slice_at)
        plotter.add_mesh(
            mesh,
            scalars="temperature",
            cmap=scale.map(),
            clim=(scale.low, scale.high),
            show_scalar_bar=False,
            lighting=False,
        )
    if layers.surface_of is not None:
        surface = surface_mesh(grid, field, layers.surface_of)
        if surface.n_points:
            plotter.add_mesh(
                surface, color=SURFACE, opacity=SURFACE_OPACITY, ambient=0.5, diffuse=0.6
            )
    if layers.has_streamlines:
        _add_streamlines(plotter, case, grid, history)


def slice_mesh(grid: Grid, field: FloatArray, height: float) -> Any:
    """Return the level sheet at a height above the lowest floor [m], where there is room.

    Linear between the layers of cells above and below; a cell's corner has the mean of the known
    cells around it.
    """
    import pyvista

    z = float(grid.z_edges[0]) + height
    centre = grid.centres[2]
    low = int(np.clip(np.searchsorted(centre, z) - 1, 0, max(centre.size - 2, 0)))
    high = min(low + 1, centre.size - 1)
    span = centre[high] - centre[low]
    share = float(np.clip((z - centre[low]) / span, 0.0, 1.0)) if span > 0.0 else 0.0
    layer = (1.0 - share) * field[:, :, low] + share * field[:, :, high]
    own = int(np.clip(np.searchsorted(grid.z_edges, z) - 1, 0, centre.size - 1))
    layer = np.where(np.isfinite(layer), layer, field[:, :, own])
    corner = np.stack(np.meshgrid(grid.x_edges, grid.y_edges, [z], indexing="ij"), axis=-1).reshape(
        -1, 3
    )
    index = np.arange(grid.x_edges.size * grid.y_edges.size).reshape(grid.x_edges.size, -1)
    quads = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=-1)
    known = quads[np.isfinite(layer)]
    faces = np.hstack([np.full((len(known), 1), 4), known]).ravel()
    mesh = pyvista.PolyData(corner, faces)
    mesh.point_data["temperature"] = means_at_corners(layer).ravel()
    return mesh


def surface_mesh(grid: Grid, field: FloatArray, celsius: float) -> Any:
    """Return the surface on which the field passes a temperature [°C], between cell centres."""
    import pyvista

    centres = pyvista.RectilinearGrid(*grid.centres)
    centres.point_data["temperature"] = np.nan_to_num(field, nan=-1e3).ravel(order="F")
    known = centres.threshold((-500.0, 1e3), scalars="temperature", all_scalars=True)
    if not known.n_cells:
        return pyvista.PolyData()
    return known.contour([celsius], scalars="temperature")


def _add_streamlines(plotter: Any, case: Case, grid: Grid, history: History) -> None:
    import pyvista

    for part in case.parts:
        if isinstance(part, AirMover | HeatedJet):
            colour = FAN if isinstance(part, AirMover) else HEATER
            for line in jet_lines(
                part, grid, history, count=PATHS, farthest=FARTHEST, slowest=SLOWEST
            ):
                tube = pyvista.lines_from_points(line).tube(radius=PATH_RADIUS, n_sides=8)
                plotter.add_mesh(tube, color=colour, opacity=0.85, lighting=False)
