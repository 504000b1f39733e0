"""Fans, heaters, sensors and their jets in a picture."""

from collections.abc import Callable
from typing import Any

import numpy as np

from simulator.case.parts import (
    AirMover,
    HeatedJet,
    Part,
    PorousPart,
    Probe,
    SolidPart,
    Vector,
)
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.output.furniture_drawing import box_edges, box_patches
from simulator.output.pen import FAN, HEATER, SENSOR

#: Mean velocity at a point.
Flow = Callable[[FloatArray], FloatArray]

JET = "#ffffff"

#: A jet is followed while it is faster than this [m/s] (estimate: above still air by far) ...
SLOWEST = 0.25
#: ... and no farther than this [m].
FARTHEST = 2.4


def machines(parts: tuple[Part, ...]) -> frozenset[str]:
    """Return the names of everything that blows air."""
    return frozenset(part.owner for part in parts if isinstance(part, AirMover | HeatedJet))


def add_equipment(
    plotter: Any,
    parts: tuple[Part, ...],
    probes: tuple[Probe, ...],
    grid: Grid,
    history: History,
) -> None:
    """Add fans and heaters with a few tapered lines where their air goes, and the sensors."""
    import pyvista

    blowing = machines(parts)
    for part in parts:
        if isinstance(part, AirMover | HeatedJet):
            colour = HEATER if isinstance(part, HeatedJet) else FAN
            _add_disc(plotter, part, colour)
            _add_jet(plotter, part, grid, history, colour)
            if isinstance(part, HeatedJet) and part.intake is not None:
                _add_body(plotter, part.intake, HEATER)
        elif isinstance(part, SolidPart | PorousPart) and part.owner in blowing:
            _add_body(plotter, part.box, "#6d6d6d")
    for probe in probes:
        ball = pyvista.Sphere(radius=0.055, center=probe.position)
        plotter.add_mesh(ball, color=SENSOR, ambient=0.6, diffuse=0.5)


def _add_disc(plotter: Any, part: AirMover | HeatedJet, colour: str) -> None:
    import pyvista

    direction = _unit(part.direction)
    disc = pyvista.Cylinder(
        center=np.asarray(part.centre) - 0.04 * direction,
        direction=direction,
        radius=0.5 * part.diameter,
        height=0.08,
        resolution=40,
    )
    plotter.add_mesh(disc, color=colour, ambient=0.6, diffuse=0.5, specular=0.0)
    plotter.add_mesh(
        disc.extract_feature_edges(30), color="#141414", line_width=2.5, lighting=False
    )


def _add_body(plotter: Any, box: Any, colour: str) -> None:
    import pyvista

    points, quads = box_patches(box)
    faces = np.hstack([np.full((len(quads), 1), 4), quads]).ravel()
    plotter.add_mesh(
        pyvista.PolyData(points, faces), color=colour, opacity=0.35, ambient=0.7, diffuse=0.3
    )
    plotter.add_mesh(box_edges(box), color=colour, line_width=2.5, lighting=False)


def _add_jet(
    plotter: Any, part: AirMover | HeatedJet, grid: Grid, history: History, colour: str
) -> None:
    """Add an arrow at the outlet and tapered lines along the mean flow from its rim."""
    import pyvista

    direction = _unit(part.direction)
    arrow = pyvista.Arrow(
        start=part.centre,
        direction=direction,
        scale=1.1 * part.diameter,
        tip_length=0.4,
        tip_radius=0.16,
        shaft_radius=0.06,
    )
    plotter.add_mesh(arrow, color=colour, ambient=0.7, diffuse=0.4)
    for line in jet_lines(part, grid, history):
        curve = pyvista.lines_from_points(line)
        curve.point_data["radius"] = np.linspace(0.022, 0.003, len(line))
        tube = curve.tube(scalars="radius", absolute=True, n_sides=10)
        plotter.add_mesh(tube, color=JET, opacity=0.9, lighting=False)


def jet_lines(part: AirMover | HeatedJet, grid: Grid, history: History) -> list[FloatArray]:
    """Return paths (N, 3) [m] of air that leaves the outlet, along the mean flow."""
    direction = _unit(part.direction)
    side = np.cross(direction, (0.0, 0.0, 1.0) if abs(direction[2]) < 0.9 else (1.0, 0.0, 0.0))
    side /= np.linalg.norm(side)
    up = np.cross(side, direction)
    flow = mean_flow(grid, history)
    lines = []
    for angle in np.radians([0, 90, 180, 270]):
        offset = 0.33 * part.diameter * (np.cos(angle) * side + np.sin(angle) * up)
        start = np.asarray(part.centre) + offset + 0.06 * direction
        line = _follow(start, flow, step=0.5 * grid.cell_size)
        if len(line) > 5:
            lines.append(line)
    return lines


def mean_flow(grid: Grid, history: History) -> Flow:
    """Return the mean velocity (3,) [m/s] as a function of a point (3,) [m]; zero outside of air.

    Linear between cell centres, and as at the nearest centre beyond the last one.
    """
    from scipy.interpolate import RegularGridInterpolator

    centres = grid.centres
    low = np.array([centre[0] for centre in centres])
    high = np.array([centre[-1] for centre in centres])
    between = RegularGridInterpolator(centres, np.moveaxis(history.velocity, 0, -1))
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)

    def flow(point: FloatArray) -> FloatArray:
        cell = [int(np.searchsorted(edge, x)) - 1 for edge, x in zip(edges, point, strict=True)]
        is_inside = all(0 <= c < n for c, n in zip(cell, grid.shape, strict=True))
        if not is_inside or not grid.is_open[tuple(cell)]:
            return np.zeros(3)
        velocity: FloatArray = between(np.clip(point, low, high))[0]
        return velocity

    return flow


def _follow(start: FloatArray, flow: Flow, step: float) -> FloatArray:
    """Return a path by midpoint steps [m], until the air is slow, a wall is met or it is long."""
    path = [start]
    while step * len(path) < FARTHEST:
        here = path[-1]
        ahead = flow(here)
        speed = float(np.linalg.norm(ahead))
        if speed < SLOWEST:
            break
        middle = flow(here + 0.5 * step * ahead / speed)
        speed = float(np.linalg.norm(middle))
        if speed < SLOWEST:
            break
        path.append(here + step * middle / speed)
    return np.array(path)


def _unit(direction: Vector) -> FloatArray:
    vector = np.asarray(direction, dtype=float)
    unit: FloatArray = vector / np.linalg.norm(vector)
    return unit
