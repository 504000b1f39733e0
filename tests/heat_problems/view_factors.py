"""Closed forms of radiation between rectangles, and radiosity with one level a surface.

Parallel and perpendicular rectangles: Howell, Catalog of Radiation Heat Transfer Configuration
Factors, C-11 and C-14; rectangles anywhere: Ehlert & Smith 1993, J. Thermophysics 7:587 (both from
memory; closure, reciprocity and agreement with each other are tested).
"""

from math import atan, log, pi, sqrt

import numpy as np

from simulator.constants import STEFAN_BOLTZMANN
from simulator.grid.grid import FloatArray


def parallel_rectangles(a: float, b: float, c: float) -> float:
    """Return F between two a x b rectangles at the distance c."""
    x, y = a / c, b / c
    root_x, root_y = sqrt(1.0 + x * x), sqrt(1.0 + y * y)
    logarithm = log(root_x * root_y / sqrt(1.0 + x * x + y * y))
    total = logarithm + x * root_y * atan(x / root_y) + y * root_x * atan(y / root_x)
    return 2.0 / (pi * x * y) * (total - x * atan(x) - y * atan(y))


def perpendicular_rectangles(width: float, height: float, edge: float) -> float:
    """Return F from a rectangle of ``width`` to one of ``height`` that share an edge."""
    h, w = height / edge, width / edge
    h2, w2 = h * h, w * w
    both = h2 + w2
    logarithm = (
        log((1.0 + w2) * (1.0 + h2) / (1.0 + both))
        + w2 * log(w2 * (1.0 + both) / ((1.0 + w2) * both))
        + h2 * log(h2 * (1.0 + both) / ((1.0 + h2) * both))
    )
    angles = w * atan(1.0 / w) + h * atan(1.0 / h) - sqrt(both) * atan(1.0 / sqrt(both))
    return (angles + 0.25 * logarithm) / (pi * w)


def box_factors(x: float, y: float, z: float) -> FloatArray:
    """Return F between floor, ceiling, south, north, west, east of a box (6, 6)."""
    size = (x, y, z)
    axis = (2, 2, 1, 1, 0, 0)
    factor = np.zeros((6, 6))
    for one in range(6):
        for other in range(6):
            a, b = axis[one], axis[other]
            if a == b:
                across = [size[n] for n in range(3) if n != a]
                factor[one, other] = one != other and parallel_rectangles(*across, size[a])
            else:
                edge = 3 - a - b
                factor[one, other] = perpendicular_rectangles(size[b], size[a], size[edge])
    return factor


def box_patches(x: float, y: float, z: float, width: float) -> tuple[FloatArray, FloatArray]:
    """Return side (P,) and bounds (P, 3, 2) of patches of about ``width`` on a box's six sides."""
    cuts = [np.linspace(0.0, size, max(1, round(size / width)) + 1) for size in (x, y, z)]
    sides, bounds = [], []
    for number, (axis, at) in enumerate(((2, 0.0), (2, z), (1, 0.0), (1, y), (0, 0.0), (0, x))):
        one, other = (n for n in range(3) if n != axis)
        for i in range(cuts[one].size - 1):
            for j in range(cuts[other].size - 1):
                patch = np.empty((3, 2))
                patch[axis] = at
                patch[one], patch[other] = cuts[one][i : i + 2], cuts[other][j : j + 2]
                sides.append(number)
                bounds.append(patch)
    return np.array(sides), np.array(bounds)


def patch_exchange(bounds: FloatArray) -> FloatArray:
    """Return F A between patches on the sides of a box (P, P) [m²]."""
    axis = (bounds[:, :, 0] == bounds[:, :, 1]).argmax(axis=1)
    exchange = np.zeros((axis.size, axis.size))
    for a in range(3):
        for b in range(3):
            one, other = np.flatnonzero(axis == a), np.flatnonzero(axis == b)
            p, q = bounds[one][:, None], bounds[other][None]
            exchange[np.ix_(one, other)] = _facing(p, q, a) if a == b else _meeting(p, q, a, b)
    return exchange


def _facing(p: FloatArray, q: FloatArray, axis: int) -> FloatArray:
    """F A of rectangles in parallel planes."""
    first, second = (n for n in range(3) if n != axis)
    z = q[..., axis, 0] - p[..., axis, 0]
    apart = np.where(z == 0.0, 1.0, z)
    total = np.zeros(z.shape)
    for i, j, k, l in np.ndindex(2, 2, 2, 2):
        u = p[..., first, i] - q[..., first, k]
        v = p[..., second, j] - q[..., second, l]
        root_u, root_v = np.sqrt(u**2 + apart**2), np.sqrt(v**2 + apart**2)
        term = v * root_u * np.arctan(v / root_u) + u * root_v * np.arctan(u / root_v)
        term -= 0.5 * apart**2 * np.log(u**2 + v**2 + apart**2)
        total += (-1.0) ** (i + j + k + l) * term
    return np.where(z == 0.0, 0.0, total / (2.0 * pi))


def _meeting(p: FloatArray, q: FloatArray, a: int, b: int) -> FloatArray:
    """F A of rectangles in planes normal to axis a and to axis b."""
    along = 3 - a - b
    total = np.zeros(np.broadcast_shapes(p.shape[:2], q.shape[:2]))
    for i, j, k, l in np.ndindex(2, 2, 2, 2):
        x = p[..., b, i] - q[..., b, 0]  # distances from the line where the planes meet
        xi = q[..., a, k] - p[..., a, 0]
        v = p[..., along, j] - q[..., along, l]
        square = x**2 + xi**2
        root = np.sqrt(square)
        angle = np.arctan(v / np.where(root == 0.0, 1.0, root))
        logarithm = np.log(np.where(square + v**2 == 0.0, 1.0, square + v**2))
        term = v * root * angle - 0.25 * (square - v**2) * logarithm
        total += (-1.0) ** (i + j + k + l) * term
    return np.abs(total) / (2.0 * pi)


def radiosity_heat(
    factor: FloatArray, area: FloatArray, emissivity: FloatArray, kelvin: FloatArray
) -> FloatArray:
    """Return the net heat that leaves each grey surface of an enclosure [W]."""
    emitted = STEFAN_BOLTZMANN * kelvin**4
    reflected = (1.0 - emissivity)[:, None] * factor
    leaving = np.linalg.solve(np.eye(area.size) - reflected, emissivity * emitted)
    heat: FloatArray = area * (leaving - factor @ leaving)
    return heat
