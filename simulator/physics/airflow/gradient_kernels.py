"""Compiled loops of the conjugate gradients that solve the pressure equation.

Face coefficients belong to the low face of their cell, as in ``multigrid_kernels``.
"""

from simulator.compiled import cell_loop
from simulator.grid.grid import FloatArray


@cell_loop
def apply_operator(
    x: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    out: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> float:
    """Write A x, and return x . A x."""
    mid, result = x[first:last], out[first:last]
    x_west, c_west = x[first - x_stride : last - x_stride], cx[first:last]
    x_east, c_east = x[first + x_stride : last + x_stride], cx[first + x_stride : last + x_stride]
    x_south, c_south = x[first - y_stride : last - y_stride], cy[first:last]
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    x_bottom, c_bottom = x[first - 1 : last - 1], cz[first:last]
    x_top, c_top = x[first + 1 : last + 1], cz[first + 1 : last + 1]
    total = 0.0
    for i in range(mid.size):
        p = mid[i]
        flow = c_west[i] * (p - x_west[i]) + c_east[i] * (p - x_east[i])
        flow += c_south[i] * (p - x_south[i]) + c_north[i] * (p - x_north[i])
        flow += c_bottom[i] * (p - x_bottom[i]) + c_top[i] * (p - x_top[i])
        result[i] = flow
        total += p * flow
    return total


@cell_loop
def advance(
    step: float, direction: FloatArray, image: FloatArray, x: FloatArray, residual: FloatArray
) -> float:
    """Add step * direction to x, take step * image from the residual; return its square norm."""
    total = 0.0
    for i in range(x.size):
        x[i] += step * direction[i]
        residual[i] -= step * image[i]
        total += residual[i] * residual[i]
    return total


@cell_loop
def dot(a: FloatArray, b: FloatArray) -> float:
    """Return the scalar product."""
    total = 0.0
    for i in range(a.size):
        total += a[i] * b[i]
    return total


@cell_loop
def turn(ratio: float, gradient: FloatArray, direction: FloatArray) -> None:
    """Write direction = gradient + ratio * direction."""
    for i in range(direction.size):
        direction[i] = gradient[i] + ratio * direction[i]
