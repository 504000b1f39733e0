"""Fans, heaters, sensors and their jets in a picture."""

from collections.abc import Callable
from typing import Any

import numpy as np

from simulator.case.parts import (
    AirMover,
    AirOutlet,
    Box,
    HeatedJet,
    Part,
    PorousPart,
    Probe,
    SolidPart,
    Vector,
)
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History
from simulator.output.furniture_drawing import CORNERS, box_edges, box_patches, place
from simulator.output.pen import FAN, HEATER, SENSOR

#: Mean velocity at a point.
Flow = Callable[[FloatArray], FloatArray]

BODY = "#6d6d6d"
JET = "#ffffff"
DUCT_LENGTH = 0.5  # drawn of a duct [m]

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
    """Add fans and heaters with tapered lines where their air goes, exhausts and sensors."""
    import pyvista

    blowing = machines(parts)
    floor = float(grid.z_edges[0])
    for part in parts:
        if isinstance(part, AirMover):
            _add_disc(plotter, part, FAN, depth=0.08)
            _add_foot(plotter, part.centre, floor, FAN)
            _add_jet(plotter, part, grid, history, FAN)
        elif isinstance(part, HeatedJet):
            _add_disc(plotter, part, HEATER, depth=0.08 if part.intake else DUCT_LENGTH)
            _add_jet(plotter, part, grid, history, HEATER)
            if part.intake is not None:
                _add_body(plotter, casing(part, part.intake), HEATER)
            else:
                _add_foot(plotter, part.centre, floor, HEATER)
        elif isinstance(part, AirOutlet):
            _add_body(plotter, part.box, FAN)
        elif isinstance(part, SolidPart | PorousPart) and part.owner in blowing:
            _add_body(plotter, part.box, BODY)
    for probe in probes:
        ball = pyvista.Sphere(radius=0.05, center=probe.position)
        plotter.add_mesh(ball, color=SENSOR, ambient=0.6, diffuse=0.5)
        _add_foot(plotter, probe.position, floor, SENSOR)


def casing(jet: HeatedJet, intake: Box) -> Box:
    """Return the box of a heater between the zone where it draws air and its outlet."""
    heading = np.degrees(np.arctan2(jet.direction[1], jet.direction[0]))
    upright = Box(jet.centre, (1.0, 1.0, 1.0), float(heading))
    corners = place(intake, 0.5 * np.asarray(intake.size) * CORNERS)
    along = (corners - np.asarray(jet.centre)) @ (place(upright, np.eye(3)) - jet.centre).T
    low, high = along.min(axis=0), along.max(axis=0)
    low[0], high[0] = min(high[0], -0.05), 0.0
    x, y, z = place(upright, 0.5 * (low + high)[None, :])[0]
    length, width, height = (float(value) for value in high - low)
    return Box((float(x), float(y), float(z)), (length, width, height), float(heading))


def _add_foot(plotter: Any, point: Vector, floor: float, colour: str) -> None:
    """Add a line from a thing straight down, so that one sees above which spot it is."""
    import pyvista

    x, y, z = point
    if z - floor < 0.05:
        return
    line = pyvista.Line((x, y, floor + 0.004), (x, y, z))
    plotter.add_mesh(line, color=colour, line_width=2.5, opacity=0.8, lighting=False)
    spot = pyvista.Disc(center=(x, y, floor + 0.006), inner=0.0, outer=0.04, c_res=16)
    plotter.add_mesh(spot, color=colour, lighting=False)


def _add_disc(plotter: Any, part: AirMover | HeatedJet, colour: str, depth: float) -> None:
    """Add a round outlet that ends at its centre and is ``depth`` [m] long."""
    import pyvista

    direction = _unit(part.direction)
    disc = pyvista.Cylinder(
        center=np.asarray(part.centre) - 0.5 * depth * direction,
        direction=direction,
        radius=0.5 * part.diameter,
        height=depth,
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
        pyvista.PolyData(points, faces), color=colour, opacity=0.75, ambient=0.6, diffuse=0.4
    )
    plotter.add_mesh(box_edges(box), color="#141414", line_width=2.0, lighting=False)


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


def jet_lines(
    part: AirMover | HeatedJet,
    grid: Grid,
    history: History,
    *,
    count: int = 4,
    farthest: float = FARTHEST,
    slowest: float = SLOWEST,
) -> list[FloatArray]:
    """Return paths (N, 3) [m] of air that leaves the outlet, along the mean flow.

    They begin on a ring within the outlet and are followed up to ``farthest`` [m] while the air is
    faster than ``slowest`` [m/s].
    """
    direction = _unit(part.direction)
    side = np.cross(direction, (0.0, 0.0, 1.0) if abs(direction[2]) < 0.9 else (1.0, 0.0, 0.0))
    side /= np.linalg.norm(side)
    up = np.cross(side, direction)
    flow = mean_flow(grid, history)
    lines = []
    for angle in np.linspace(0.0, 2.0 * np.pi, count, endpoint=False):
        offset = 0.33 * part.diameter * (np.cos(angle) * side + np.sin(angle) * up)
        start = np.asarray(part.centre) + offset + 0.06 * direction
        line = _follow(start, flow, 0.5 * grid.cell_size, farthest, slowest)
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


def _follow(
    start: FloatArray, flow: Flow, step: float, farthest: float, slowest: float
) -> FloatArray:
    """Return a path by midpoint steps [m], until the air is slow, a wall is met or it is long."""
    path = [start]
    while step * len(path) < farthest:
        here = path[-1]
        ahead = flow(here)
        speed = float(np.linalg.norm(ahead))
        if speed < slowest:
            break
        middle = flow(here + 0.5 * step * ahead / speed)
        speed = float(np.linalg.norm(middle))
        if speed < slowest:
            break
        path.append(here + step * middle / speed)
    return np.array(path)


def _unit(direction: Vector) -> FloatArray:
    vector = np.asarray(direction, dtype=float)
    unit: FloatArray = vector / np.linalg.norm(vector)
    return unit
