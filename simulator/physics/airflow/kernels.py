"""Compiled loops of the airflow solver.

Elementwise loops run over equally long views of padded fields, shifted by whole strides (see
``staggered.Layout``): the caller's shift says which neighbour an argument is. They are kept to one
output and few inputs each, so that the compiler can turn them into vector instructions (it checks
at most eight pairs of arrays for overlap, else it gives up). The Gauss-Seidel sweeps depend on
their own results and run in order; they take whole fields and strides.
"""

from math import copysign, sqrt

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import FloatArray, IntArray


@per_face
def bounded_quick(upwind_step: float, step: float) -> float:
    """Return psi(r) * step, the limited correction of upwind to QUICK, r = upwind_step / step.

    psi(r) = max(0, min(2 r, 0.75 + 0.25 r, 2)), written without a division.
    """
    a = abs(upwind_step)
    b = abs(step)
    limited = copysign(min(min(2.0 * a, 0.75 * b + 0.25 * a), 2.0 * b), step)
    return limited if upwind_step * step > 0.0 else 0.0


# ---- momentum ----


@cell_loop
def volume_flow(velocity: FloatArray, area: FloatArray, out: FloatArray) -> None:
    """Write the volume flow through each face [m³/s]."""
    for i in range(out.size):
        out[i] = velocity[i] * area[i]


@cell_loop
def coupling(
    flow_low: FloatArray,
    flow: FloatArray,
    conductance: FloatArray,
    viscosity: FloatArray,
    below: FloatArray,
    above: FloatArray,
) -> None:
    """Write what couples the two momentum volumes at a side: upwind convection and diffusion.

    ``below`` is the weight of the lower volume's velocity in the equation of the upper, ``above``
    the reverse [m³/s]. Their difference is the flow through the side. Closed sides get zeros.
    """
    for i in range(below.size):
        F = 0.5 * (flow_low[i] + flow[i]) if conductance[i] > 0.0 else 0.0
        D = conductance[i] * viscosity[i]
        below[i] = D + max(F, 0.0)
        above[i] = D + max(-F, 0.0)


@cell_loop
def deferred_flux(
    below: FloatArray,
    above: FloatArray,
    far_low: FloatArray,
    low: FloatArray,
    high: FloatArray,
    far_high: FloatArray,
    out: FloatArray,
) -> None:
    """Write the momentum flow through a side by which bounded QUICK exceeds upwind [m⁴/s²]."""
    for i in range(out.size):
        F = below[i] - above[i]
        upwind_step = low[i] - far_low[i] if F > 0.0 else far_high[i] - high[i]
        out[i] = 0.5 * abs(F) * bounded_quick(upwind_step, high[i] - low[i])


@cell_loop
def edge_mean(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, out: FloatArray) -> None:
    """Write the mean of the four cells around an edge."""
    for i in range(out.size):
        out[i] = 0.25 * ((a[i] + b[i]) + (c[i] + d[i]))


@cell_loop
def driving(
    force: FloatArray,
    inertia: FloatArray,
    velocity: FloatArray,
    area: FloatArray,
    pressure_low: FloatArray,
    pressure: FloatArray,
    out: FloatArray,
) -> None:
    """Write force, inertia and pressure of each momentum volume [m⁴/s²]."""
    for i in range(out.size):
        push = area[i] * (pressure_low[i] - pressure[i])
        out[i] = force[i] + inertia[i] * velocity[i] + push


@cell_loop
def add_flux_balance(
    x_low: FloatArray,
    x_high: FloatArray,
    y_low: FloatArray,
    y_high: FloatArray,
    z_low: FloatArray,
    z_high: FloatArray,
    out: FloatArray,
) -> None:
    """Add what flows in through the low sides less what flows out through the high sides."""
    for i in range(out.size):
        out[i] += (x_low[i] - x_high[i]) + (y_low[i] - y_high[i]) + (z_low[i] - z_high[i])


@cell_loop
def resistance(
    faces: IntArray,
    laminar: FloatArray,
    turbulent: FloatArray,
    linear: FloatArray,
    quadratic: FloatArray,
    speed: FloatArray,
    stride: int,
    inertia: FloatArray,
    drag: FloatArray,
) -> None:
    """Write inertia plus wall friction and drag of the listed faces [m³/s]."""
    for n in range(faces.size):
        i = faces[n]
        V = 0.5 * (speed[i - stride] + speed[i])
        root = sqrt(V)
        wall = max(laminar[n], turbulent[n] * root * sqrt(root))
        drag[i] = inertia[i] + wall + linear[n] + quadratic[n] * V


@cell_loop
def inverse_sum(
    x_below: FloatArray,
    x_above: FloatArray,
    y_below: FloatArray,
    y_above: FloatArray,
    z_below: FloatArray,
    z_above: FloatArray,
    drag: FloatArray,
    out: FloatArray,
) -> None:
    """Write the inverse of the main diagonal, zero on closed faces (those without drag)."""
    for i in range(out.size):
        neighbours = (x_below[i] + x_above[i]) + (y_below[i] + y_above[i])
        total = neighbours + (z_below[i] + z_above[i]) + drag[i]
        out[i] = 1.0 / total if drag[i] > 0.0 else 0.0


@cell_loop
def relax_forward(
    velocity: FloatArray,
    inverse: FloatArray,
    driven: FloatArray,
    x_below: FloatArray,
    x_above: FloatArray,
    y_below: FloatArray,
    y_above: FloatArray,
    z_below: FloatArray,
    z_above: FloatArray,
    first: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One Gauss-Seidel sweep in rising order; ``above`` arrays are shifted to the high side."""
    last = first + inverse.size
    q = velocity[first:last]
    west = velocity[first - x_stride : last - x_stride]
    east = velocity[first + x_stride : last + x_stride]
    south = velocity[first - y_stride : last - y_stride]
    north = velocity[first + y_stride : last + y_stride]
    top = velocity[first + 1 : last + 1]
    bottom = velocity[first - 1]
    for i in range(q.size):
        rest = driven[i] + x_below[i] * west[i] + x_above[i] * east[i]
        rest += y_below[i] * south[i] + y_above[i] * north[i] + z_above[i] * top[i]
        bottom = inverse[i] * rest + (inverse[i] * z_below[i]) * bottom
        q[i] = bottom


@cell_loop
def relax_backward(
    velocity: FloatArray,
    inverse: FloatArray,
    driven: FloatArray,
    x_below: FloatArray,
    x_above: FloatArray,
    y_below: FloatArray,
    y_above: FloatArray,
    z_below: FloatArray,
    z_above: FloatArray,
    first: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One Gauss-Seidel sweep in falling order."""
    last = first + inverse.size
    q = velocity[first:last]
    west = velocity[first - x_stride : last - x_stride]
    east = velocity[first + x_stride : last + x_stride]
    south = velocity[first - y_stride : last - y_stride]
    north = velocity[first + y_stride : last + y_stride]
    bottom = velocity[first - 1 : last - 1]
    top = velocity[last]
    for i in range(q.size - 1, -1, -1):
        rest = driven[i] + x_below[i] * west[i] + x_above[i] * east[i]
        rest += y_below[i] * south[i] + y_above[i] * north[i] + z_below[i] * bottom[i]
        top = inverse[i] * rest + (inverse[i] * z_above[i]) * top
        q[i] = top


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
