"""Compiled loops of the airflow solver, but for those of momentum and of the pressure equation.

Elementwise loops run over equally long views of padded fields, shifted by whole strides (see
``staggered.Layout``): the caller's shift says which neighbour an argument is.
"""

from math import sqrt

from simulator.compiled import cell_loop
from simulator.grid.grid import FloatArray, IntArray

# ---- fans ----


@cell_loop
def share_of(faces: IntArray, shares: FloatArray, field: FloatArray) -> float:
    """Return the sum of a field over the listed faces, weighted with their shares."""
    total = 0.0
    for n in range(faces.size):
        total += shares[n] * field[faces[n]]
    return total


@cell_loop
def add_shares(faces: IntArray, shares: FloatArray, factor: float, out: FloatArray) -> None:
    """Add factor times its share to each of the listed faces."""
    for n in range(faces.size):
        out[faces[n]] += factor * shares[n]


# ---- speed and eddy viscosity ----


@cell_loop
def cell_speed(
    x_low: FloatArray,
    x_high: FloatArray,
    y_low: FloatArray,
    y_high: FloatArray,
    z_low: FloatArray,
    z_high: FloatArray,
    out: FloatArray,
) -> None:
    """Write |V| of each cell from the means of its faces [m/s]."""
    for i in range(out.size):
        u = x_low[i] + x_high[i]
        v = y_low[i] + y_high[i]
        w = z_low[i] + z_high[i]
        out[i] = 0.5 * sqrt(u * u + v * v + w * w)


@cell_loop
def eddy_viscosity(
    speed: FloatArray,
    length: FloatArray,
    cap: FloatArray,
    molecular: float,
    eddies: FloatArray,
    viscosity: FloatArray,
) -> None:
    """Write the capped zero-equation viscosity, alone and with the molecular one [m²/s].

    ``length`` is the wall distance times the model's coefficient.
    """
    for i in range(eddies.size):
        eddies[i] = min(speed[i] * length[i], cap[i])
        viscosity[i] = molecular + eddies[i]


@cell_loop
def edge_mean(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, out: FloatArray) -> None:
    """Write the mean of the four cells around an edge."""
    for i in range(out.size):
        out[i] = 0.25 * ((a[i] + b[i]) + (c[i] + d[i]))


# ---- projection ----


@cell_loop
def face_coefficient(area: FloatArray, drag: FloatArray, out: FloatArray) -> None:
    """Write area² / drag: the volume flow that a unit pressure step drives through a face."""
    for i in range(out.size):
        out[i] = area[i] * area[i] / drag[i] if drag[i] > 0.0 else 0.0


@cell_loop
def flow_surplus(
    x_low: FloatArray,
    x_high: FloatArray,
    y_low: FloatArray,
    y_high: FloatArray,
    z_low: FloatArray,
    z_high: FloatArray,
    source: FloatArray,
    out: FloatArray,
) -> None:
    """Write what enters each cell and does not leave it [m³/s]."""
    for i in range(out.size):
        inflow = (x_low[i] - x_high[i]) + (y_low[i] - y_high[i]) + (z_low[i] - z_high[i])
        out[i] = source[i] + inflow


@cell_loop
def push_faces(
    potential_low: FloatArray,
    potential: FloatArray,
    area: FloatArray,
    drag: FloatArray,
    velocity: FloatArray,
) -> None:
    """Add to each face velocity what the step of the potential drives."""
    for i in range(velocity.size):
        step = potential_low[i] - potential[i]
        velocity[i] += area[i] / drag[i] * step if drag[i] > 0.0 else 0.0


@cell_loop
def add(increment: FloatArray, total: FloatArray) -> None:
    """Add one field to another."""
    for i in range(total.size):
        total[i] += increment[i]


# ---- distance ----


@cell_loop
def nearest_along(
    squared: FloatArray,
    points: FloatArray,
    targets: FloatArray,
    halves: FloatArray,
    out: FloatArray,
) -> None:
    """Write for each point of each line the least squared gap to a target plus the target's own."""
    for line in range(out.shape[0]):
        for t in range(targets.size):
            known = squared[line, t]
            if known < 1e300:
                for n in range(points.size):
                    gap = max(abs(points[n] - targets[t]) - halves[t], 0.0)
                    out[line, n] = min(out[line, n], gap * gap + known)
