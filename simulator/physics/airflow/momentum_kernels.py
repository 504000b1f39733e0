"""Compiled loops of the momentum equation.

Elementwise loops run over equally long views of padded fields, shifted by whole strides (see
``staggered.Layout``): the caller's shift says which neighbour an argument is. They are kept to one
output and few inputs each, so that the compiler can turn them into vector instructions (it checks
at most eight pairs of arrays for overlap, else it gives up). The Gauss-Seidel sweeps depend on
their own results and run in order; they take whole fields and strides.

A part of the layout is swept in slabs of a few planes: what the sweep needs is written into short
buffers that stay in the processor's cache, not into fields of the whole room. A slab is prepared
before the one ahead of it is relaxed: the limited correction looks two cells far and takes
velocities of the step before.
"""

from math import copysign, sqrt
from typing import NamedTuple

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import FloatArray, IntArray

Sides = tuple[FloatArray, FloatArray, FloatArray]


class Component(NamedTuple):
    """The padded fields of one velocity component, and how far neighbours are away.

    Tuples hold what belongs to the sides of the momentum volumes normal to x, y, z.
    """

    velocity: FloatArray  # of faces [m/s]
    flow: FloatArray  # through faces [m³/s]
    area: FloatArray  # of faces [m²]
    force: FloatArray  # on momentum volumes [m⁴/s²]
    inertia: FloatArray  # momentum volume over time step [m³/s]
    drag: FloatArray  # inertia plus resistance [m³/s]
    pressure: FloatArray  # of cells, over density [m²/s²]
    speed: FloatArray  # of cells [m/s]
    flows: Sides  # through the faces that make up the sides [m³/s]
    conductances: Sides  # area over distance of the sides [m]
    viscosities: Sides  # of cells or edges [m²/s]
    x_shift: int  # from a side to where its viscosity lies, for each of the sides
    y_shift: int
    z_shift: int
    along: int  # stride along the component
    x_stride: int
    y_stride: int


class Friction(NamedTuple):
    """What resists on the listed faces; ``starts`` tells where the faces of each plane begin."""

    starts: IntArray
    faces: IntArray
    laminar: FloatArray
    turbulent: FloatArray
    linear: FloatArray
    quadratic: FloatArray


@per_face
def bounded_quick(upwind_step: float, step: float) -> float:
    """Return psi(r) * step, the limited correction of upwind to QUICK, r = upwind_step / step.

    psi(r) = max(0, min(2 r, 0.75 + 0.25 r, 2)), written without a division.
    """
    a = abs(upwind_step)
    b = abs(step)
    limited = copysign(min(min(2.0 * a, 0.75 * b + 0.25 * a), 2.0 * b), step)
    return limited if upwind_step * step > 0.0 else 0.0


# ---- loops over views ----


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


# ---- slabs ----

#: Buffers of a slab: below, above and deferred of the sides normal to x, y, z; driven; inverse.
BUFFERS = 11


@cell_loop
def couple(
    c: Component,
    flow: FloatArray,
    conductance: FloatArray,
    viscosity: FloatArray,
    shift: int,
    across: int,
    start: int,
    stop: int,
    below: FloatArray,
    above: FloatArray,
    deferred: FloatArray,
) -> None:
    """Write into buffers what the sides from ``start`` to ``stop``, ``across`` apart, do."""
    q, n = c.velocity, stop - start
    low, high = below[:n], above[:n]
    coupling(
        flow[start - c.along : stop - c.along],
        flow[start:stop],
        conductance[start:stop],
        viscosity[start + shift : stop + shift],
        low,
        high,
    )
    deferred_flux(
        low,
        high,
        q[start - 2 * across : stop - 2 * across],
        q[start - across : stop - across],
        q[start:stop],
        q[start + across : stop + across],
        deferred[:n],
    )


@cell_loop
def prepare(c: Component, f: Friction, buffers: FloatArray, start: int, stop: int) -> None:
    """Write into buffers all that the relaxation of the faces from ``start`` to ``stop`` needs."""
    n, x, y = stop - start, c.x_stride, c.y_stride
    xb, xa, xd, yb, ya, yd = buffers[0], buffers[1], buffers[2], buffers[3], buffers[4], buffers[5]
    zb, za, zd, driven, inverse = buffers[6], buffers[7], buffers[8], buffers[9], buffers[10]
    flow_x, flow_y, flow_z = c.flows
    open_x, open_y, open_z = c.conductances
    nu_x, nu_y, nu_z = c.viscosities
    couple(c, flow_x, open_x, nu_x, c.x_shift, x, start, stop + x, xb, xa, xd)
    couple(c, flow_y, open_y, nu_y, c.y_shift, y, start, stop + y, yb, ya, yd)
    couple(c, flow_z, open_z, nu_z, c.z_shift, 1, start, stop + 1, zb, za, zd)
    driving(
        c.force[start:stop],
        c.inertia[start:stop],
        c.velocity[start:stop],
        c.area[start:stop],
        c.pressure[start - c.along : stop - c.along],
        c.pressure[start:stop],
        driven[:n],
    )
    add_flux_balance(
        xd[:n], xd[x : n + x], yd[:n], yd[y : n + y], zd[:n], zd[1 : n + 1], driven[:n]
    )
    a, b = f.starts[start // x], f.starts[stop // x]
    resistance(
        f.faces[a:b],
        f.laminar[a:b],
        f.turbulent[a:b],
        f.linear[a:b],
        f.quadratic[a:b],
        c.speed,
        c.along,
        c.inertia,
        c.drag,
    )
    inverse_sum(
        xb[:n],
        xa[x : n + x],
        yb[:n],
        ya[y : n + y],
        zb[:n],
        za[1 : n + 1],
        c.drag[start:stop],
        inverse[:n],
    )


@cell_loop
def relax(c: Component, buffers: FloatArray, start: int, stop: int, is_rising: bool) -> None:
    """Relax the faces from ``start`` to ``stop`` and write the flow through them."""
    n, x, y = stop - start, c.x_stride, c.y_stride
    xb, xa, yb, ya, zb, za = buffers[0], buffers[1], buffers[3], buffers[4], buffers[6], buffers[7]
    inverse, driven = buffers[10][:n], buffers[9][:n]
    if is_rising:
        relax_forward(
            c.velocity,
            inverse,
            driven,
            xb[:n],
            xa[x : n + x],
            yb[:n],
            ya[y : n + y],
            zb[:n],
            za[1 : n + 1],
            start,
            x,
            y,
        )
    else:
        relax_backward(
            c.velocity,
            inverse,
            driven,
            xb[:n],
            xa[x : n + x],
            yb[:n],
            ya[y : n + y],
            zb[:n],
            za[1 : n + 1],
            start,
            x,
            y,
        )
    volume_flow(c.velocity[start:stop], c.area[start:stop], c.flow[start:stop])


@cell_loop
def slab_range(start: int, stop: int, size: int, k: int, is_rising: bool) -> tuple[int, int]:
    """Return start and stop of the k-th slab, counted in the order of the sweep."""
    if is_rising:
        return min(start + k * size, stop), min(start + (k + 1) * size, stop)
    return max(stop - (k + 1) * size, start), max(stop - k * size, start)


@cell_loop
def begin_sweep(
    c: Component,
    f: Friction,
    buffers: FloatArray,
    start: int,
    stop: int,
    size: int,
    is_rising: bool,
) -> None:
    """Prepare the first slab of the part from ``start`` to ``stop``."""
    low, high = slab_range(start, stop, size, 0, is_rising)
    prepare(c, f, buffers[0], low, high)


@cell_loop
def finish_sweep(
    c: Component,
    f: Friction,
    buffers: FloatArray,
    start: int,
    stop: int,
    size: int,
    is_rising: bool,
) -> None:
    """Relax all slabs in order, each after the next has been prepared."""
    for k in range((stop - start + size - 1) // size):
        low, high = slab_range(start, stop, size, k + 1, is_rising)
        if high > low:
            prepare(c, f, buffers[(k + 1) % 2], low, high)
        low, high = slab_range(start, stop, size, k, is_rising)
        relax(c, buffers[k % 2], low, high, is_rising)
