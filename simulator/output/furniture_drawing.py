"""Furniture in a picture: its real boxes, turned and tilted, coloured by their temperature."""

from itertools import product
from typing import Any

import numpy as np

from simulator.case.parts import Box, Part, PorousPart, SolidPart
from simulator.grid.grid import FloatArray, IntArray
from simulator.output.surface_tint import SurfaceTint
from simulator.output.temperature_scale import TemperatureScale

EDGE = "#2b2b2b"

#: Size of the coloured patches on furniture [m].
PATCH = 0.06

#: The corners of a box whose half sizes are one.
CORNERS = np.array(list(product((-1.0, 1.0), repeat=3)))


def add_furniture(
    plotter: Any,
    parts: tuple[Part, ...],
    machines: frozenset[str],
    tint: SurfaceTint,
    scale: TemperatureScale,
) -> None:
    """Add every solid and porous part that does not belong to one of the ``machines``."""
    for part in parts:
        if isinstance(part, SolidPart | PorousPart) and part.owner not in machines:
            _add_part(plotter, part, tint, scale)


def _add_part(
    plotter: Any, part: SolidPart | PorousPart, tint: SurfaceTint, scale: TemperatureScale
) -> None:
    import pyvista

    points, quads = box_patches(part.box)
    middle = np.asarray(part.box.centre)
    # A hair inside, so that a point on a face reads the part's own cell and not the next one.
    inside = middle + (points - middle) * (1.0 - 0.02 / max(part.box.size))
    faces = np.hstack([np.full((len(quads), 1), 4), quads]).ravel()
    mesh = pyvista.PolyData(points, faces)
    mesh.point_data["temperature"] = tint.of_thing(part.owner, inside)
    plotter.add_mesh(
        mesh,
        scalars="temperature",
        cmap=scale.map(),
        clim=(scale.low, scale.high),
        nan_color=scale.unknown,
        show_scalar_bar=False,
        ambient=0.72,
        diffuse=0.34,
        specular=0.0,
    )
    plotter.add_mesh(box_edges(part.box), color=EDGE, line_width=2.0, opacity=0.65, lighting=False)


def box_patches(box: Box, patch: float = PATCH) -> tuple[FloatArray, IntArray]:
    """Return points (N, 3) [m] and quadrangles (M, 4) that cover the six faces of a box.

    The quadrangles are about ``patch`` [m] wide and anticlockwise from outside.
    """
    points, quads = [], []
    count = 0
    for axis in range(3):
        across, up = (axis + 1) % 3, (axis + 2) % 3
        n = [max(1, min(40, round(box.size[side] / patch))) for side in (across, up)]
        u, v = np.meshgrid(
            np.linspace(-0.5, 0.5, n[0] + 1), np.linspace(-0.5, 0.5, n[1] + 1), indexing="ij"
        )
        corner = np.arange(u.size).reshape(u.shape)
        quad = np.stack([corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]], -1)
        for sign in (-0.5, 0.5):
            local = np.empty((u.size, 3))
            local[:, axis] = sign * box.size[axis]
            local[:, across] = u.ravel() * box.size[across]
            local[:, up] = v.ravel() * box.size[up]
            points.append(place(box, local))
            quads.append((quad if sign > 0 else quad[..., ::-1]).reshape(-1, 4) + count)
            count += u.size
    return np.concatenate(points), np.concatenate(quads)


def place(box: Box, local: FloatArray) -> FloatArray:
    """Return dwelling coordinates (N, 3) [m] of points in the box's own axes from its centre."""
    turn, tilt = np.radians(box.turn), np.radians(box.tilt)
    about_x = np.array(
        [[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]]
    )
    about_z = np.array(
        [[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]]
    )
    placed: FloatArray = local @ (about_z @ about_x).T + np.asarray(box.centre)
    return placed


def box_edges(box: Box) -> Any:
    """Return the twelve edges of a box as lines."""
    import pyvista

    corners = place(box, 0.5 * CORNERS * np.asarray(box.size))
    pairs = [
        (a, b) for a in range(8) for b in range(a + 1, 8) if np.sum(CORNERS[a] != CORNERS[b]) == 1
    ]
    lines = np.hstack([np.full((12, 1), 2), np.array(pairs)]).ravel()
    return pyvista.PolyData(corners, lines=lines)
