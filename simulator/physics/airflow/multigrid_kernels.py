"""Compiled loops of the multigrid-preconditioned pressure solver.

The equation of a cell is sum over its faces of c (x - x_neighbour) = rhs. All levels lie one after
another in the same arrays; row ``l`` of ``levels`` holds (start, nx, ny, nz, ghosts) of level
``l``. Face coefficients belong to the low face of their cell; cells without any have ``inverse``
zero and keep x = 0, so solids, sealed rooms and the free constant of the pressure need no special
treatment. Loops over one level take the range of the level's planes that they go over, so that
halves of large levels may be done at once.
"""

from simulator.compiled import cell_loop
from simulator.grid.grid import FloatArray, IntArray

# ---- one level ----


@cell_loop
def diagonal_inverse(
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    inverse: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """Write the inverse of the sum of each cell's face coefficients."""
    west, east = cx[first:last], cx[first + x_stride : last + x_stride]
    south, north = cy[first:last], cy[first + y_stride : last + y_stride]
    bottom, top = cz[first:last], cz[first + 1 : last + 1]
    out = inverse[first:last]
    for i in range(out.size):
        total = (west[i] + east[i]) + (south[i] + north[i]) + (bottom[i] + top[i])
        out[i] = 1.0 / total if total > 0.0 else 0.0


@cell_loop
def smooth_from_zero(
    x: FloatArray,
    rhs: FloatArray,
    inverse: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One rising Gauss-Seidel sweep that starts from x = 0: only lower neighbours count."""
    out, b, inv = x[first:last], rhs[first:last], inverse[first:last]
    x_west, c_west = x[first - x_stride : last - x_stride], cx[first:last]
    x_south, c_south = x[first - y_stride : last - y_stride], cy[first:last]
    c_bottom = cz[first:last]
    bottom = 0.0
    for i in range(out.size):
        rest = b[i] + c_west[i] * x_west[i] + c_south[i] * x_south[i]
        bottom = inv[i] * rest + (inv[i] * c_bottom[i]) * bottom
        out[i] = bottom


@cell_loop
def smooth_from_zero_backward(
    x: FloatArray,
    rhs: FloatArray,
    inverse: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One falling Gauss-Seidel sweep that starts from x = 0: only higher neighbours count."""
    out, b, inv = x[first:last], rhs[first:last], inverse[first:last]
    x_east, c_east = x[first + x_stride : last + x_stride], cx[first + x_stride : last + x_stride]
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    c_top = cz[first + 1 : last + 1]
    top = 0.0
    for i in range(out.size - 1, -1, -1):
        rest = b[i] + c_east[i] * x_east[i] + c_north[i] * x_north[i]
        top = inv[i] * rest + (inv[i] * c_top[i]) * top
        out[i] = top


@cell_loop
def smooth_forward(
    x: FloatArray,
    rhs: FloatArray,
    inverse: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One Gauss-Seidel sweep in rising order."""
    out, b, inv = x[first:last], rhs[first:last], inverse[first:last]
    x_west, c_west = x[first - x_stride : last - x_stride], cx[first:last]
    x_east, c_east = x[first + x_stride : last + x_stride], cx[first + x_stride : last + x_stride]
    x_south, c_south = x[first - y_stride : last - y_stride], cy[first:last]
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    x_top, c_top, c_bottom = x[first + 1 : last + 1], cz[first + 1 : last + 1], cz[first:last]
    bottom = 0.0
    for i in range(out.size):
        rest = b[i] + c_west[i] * x_west[i] + c_east[i] * x_east[i]
        rest += c_south[i] * x_south[i] + c_north[i] * x_north[i] + c_top[i] * x_top[i]
        bottom = inv[i] * rest + (inv[i] * c_bottom[i]) * bottom
        out[i] = bottom


@cell_loop
def smooth_backward(
    x: FloatArray,
    rhs: FloatArray,
    inverse: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """One Gauss-Seidel sweep in falling order."""
    out, b, inv = x[first:last], rhs[first:last], inverse[first:last]
    x_west, c_west = x[first - x_stride : last - x_stride], cx[first:last]
    x_east, c_east = x[first + x_stride : last + x_stride], cx[first + x_stride : last + x_stride]
    x_south, c_south = x[first - y_stride : last - y_stride], cy[first:last]
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    x_bottom, c_bottom, c_top = x[first - 1 : last - 1], cz[first:last], cz[first + 1 : last + 1]
    top = 0.0
    for i in range(out.size - 1, -1, -1):
        rest = b[i] + c_west[i] * x_west[i] + c_east[i] * x_east[i]
        rest += c_south[i] * x_south[i] + c_north[i] * x_north[i] + c_bottom[i] * x_bottom[i]
        top = inv[i] * rest + (inv[i] * c_top[i]) * top
        out[i] = top


@cell_loop
def sum_above(
    x: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    out: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """Write c x summed over the higher neighbours: the residual after ``smooth_from_zero``."""
    x_east, c_east = x[first + x_stride : last + x_stride], cx[first + x_stride : last + x_stride]
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    x_top, c_top = x[first + 1 : last + 1], cz[first + 1 : last + 1]
    total = out[first:last]
    for i in range(total.size):
        total[i] = c_east[i] * x_east[i] + c_north[i] * x_north[i] + c_top[i] * x_top[i]


@cell_loop
def sum_below(
    x: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    out: FloatArray,
    first: int,
    last: int,
    x_stride: int,
    y_stride: int,
) -> None:
    """Write c x over the lower neighbours: the residual after ``smooth_from_zero_backward``."""
    x_west, c_west = x[first - x_stride : last - x_stride], cx[first:last]
    x_south, c_south = x[first - y_stride : last - y_stride], cy[first:last]
    x_bottom, c_bottom = x[first - 1 : last - 1], cz[first:last]
    total = out[first:last]
    for i in range(total.size):
        total[i] = c_west[i] * x_west[i] + c_south[i] * x_south[i] + c_bottom[i] * x_bottom[i]


@cell_loop
def sum_within(
    x: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    out: FloatArray,
    first: int,
    last: int,
    y_stride: int,
) -> None:
    """Write c x over the higher neighbours in the plane: the residual of the last plane swept."""
    x_north, c_north = x[first + y_stride : last + y_stride], cy[first + y_stride : last + y_stride]
    x_top, c_top = x[first + 1 : last + 1], cz[first + 1 : last + 1]
    total = out[first:last]
    for i in range(total.size):
        total[i] = c_north[i] * x_north[i] + c_top[i] * x_top[i]


# ---- between levels ----


@cell_loop
def restrict(
    fine: FloatArray,
    coarse: FloatArray,
    fine_shape: IntArray,
    shape: IntArray,
    begin: int,
    end: int,
) -> None:
    """Write into the cells of some coarse planes the sum of their eight fine cells (ghosts: 0)."""
    g, h = fine_shape[4], shape[4]
    ny, nz = fine_shape[2] + 2 * g, fine_shape[3] + 2 * g
    my, mz = shape[2] + 2 * h, shape[3] + 2 * h
    for i in range(begin, end):
        for j in range(shape[2]):
            a = ((2 * i + g) * ny + 2 * j + g) * nz + g
            low, north = fine[a:], fine[a + nz :]
            east, far = fine[a + ny * nz :], fine[a + ny * nz + nz :]
            b = ((i + h) * my + j + h) * mz + h
            out = coarse[b : b + shape[3]]
            for k in range(out.size):
                m = 2 * k
                total = (low[m] + low[m + 1]) + (north[m] + north[m + 1])
                out[k] = total + (east[m] + east[m + 1]) + (far[m] + far[m + 1])


@cell_loop
def prolong(
    coarse: FloatArray,
    fine: FloatArray,
    fine_shape: IntArray,
    shape: IntArray,
    begin: int,
    end: int,
) -> None:
    """Add to the cells of some fine planes the value of their coarse cell."""
    g, h = fine_shape[4], shape[4]
    ny, nz = fine_shape[2] + 2 * g, fine_shape[3] + 2 * g
    my, mz = shape[2] + 2 * h, shape[3] + 2 * h
    for i in range(begin, end):
        for j in range(fine_shape[2]):
            a = ((i + g) * ny + j + g) * nz + g
            b = ((i // 2 + h) * my + j // 2 + h) * mz + h
            out, given = fine[a : a + fine_shape[3]], coarse[b : b + shape[3]]
            for k in range(out.size):
                out[k] += given[k // 2]


@cell_loop
def coarsen_faces(
    fine: FloatArray,
    coarse: FloatArray,
    fine_shape: IntArray,
    shape: IntArray,
    axis: int,
    begin: int,
    end: int,
) -> None:
    """Write half the sum of the four fine coefficients on each coarse face of some planes.

    Half, because the cell centres are twice as far apart (rediscretisation).
    """
    g, h = fine_shape[4], shape[4]
    ny, nz = fine_shape[2] + 2 * g, fine_shape[3] + 2 * g
    my, mz = shape[2] + 2 * h, shape[3] + 2 * h
    one = nz if axis == 0 else ny * nz
    two = nz if axis == 2 else 1
    for i in range(begin, end):
        for j in range(shape[2]):
            a = ((2 * i + g) * ny + 2 * j + g) * nz + g
            low, side = fine[a:], fine[a + one :]
            beyond, corner = fine[a + two :], fine[a + one + two :]
            b = ((i + h) * my + j + h) * mz + h
            out = coarse[b : b + shape[3]]
            for k in range(out.size):
                m = 2 * k
                out[k] = 0.5 * ((low[m] + side[m]) + (beyond[m] + corner[m]))


# ---- all levels ----


@cell_loop
def prepare(
    levels: IntArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    inverse: FloatArray,
    begin: int,
) -> None:
    """Write coefficients and inverse diagonals of the levels from ``begin`` on.

    Those of the levels above must have been written, as must the finest coefficients.
    """
    for l in range(begin, levels.shape[0]):
        a, size, first, x_stride, y_stride = extent(levels, l)
        if l > 0:
            b, fine_size, _, _, _ = extent(levels, l - 1)
            planes = levels[l, 1]
            coarsen_faces(
                cx[b : b + fine_size], cx[a : a + size], levels[l - 1], levels[l], 0, 0, planes
            )
            coarsen_faces(
                cy[b : b + fine_size], cy[a : a + size], levels[l - 1], levels[l], 1, 0, planes
            )
            coarsen_faces(
                cz[b : b + fine_size], cz[a : a + size], levels[l - 1], levels[l], 2, 0, planes
            )
        faces = cx[a : a + size], cy[a : a + size], cz[a : a + size]
        diagonal_inverse(
            faces[0],
            faces[1],
            faces[2],
            inverse[a : a + size],
            first,
            size - first,
            x_stride,
            y_stride,
        )


@cell_loop
def v_cycle(
    levels: IntArray,
    x: FloatArray,
    rhs: FloatArray,
    inverse: FloatArray,
    cx: FloatArray,
    cy: FloatArray,
    cz: FloatArray,
    scratch: FloatArray,
    coarsest_sweeps: int,
) -> None:
    """Write into x of the first of the levels one symmetric V-cycle for its rhs."""
    coarsest = levels.shape[0] - 1
    for l in range(coarsest + 1):
        a, size, first, x_stride, y_stride = extent(levels, l)
        z = a + size
        last = size - first
        smooth_from_zero(
            x[a:z],
            rhs[a:z],
            inverse[a:z],
            cx[a:z],
            cy[a:z],
            cz[a:z],
            first,
            last,
            x_stride,
            y_stride,
        )
        if l < coarsest:
            sum_above(
                x[a:z], cx[a:z], cy[a:z], cz[a:z], scratch[a:z], first, last, x_stride, y_stride
            )
            b, coarse_size, _, _, _ = extent(levels, l + 1)
            coarse_rhs = rhs[b : b + coarse_size]
            restrict(scratch[a:z], coarse_rhs, levels[l], levels[l + 1], 0, levels[l + 1, 1])
    for n in range(coarsest + 1):
        l = coarsest - n
        a, size, first, x_stride, y_stride = extent(levels, l)
        z = a + size
        if l < coarsest:
            b, coarse_size, _, _, _ = extent(levels, l + 1)
            coarse_x = x[b : b + coarse_size]
            prolong(coarse_x, x[a:z], levels[l], levels[l + 1], 0, levels[l, 1])
        sweeps = coarsest_sweeps if l == coarsest else 1
        for sweep in range(sweeps):
            if sweep > 0:
                smooth_forward(
                    x[a:z],
                    rhs[a:z],
                    inverse[a:z],
                    cx[a:z],
                    cy[a:z],
                    cz[a:z],
                    first,
                    size - first,
                    x_stride,
                    y_stride,
                )
            smooth_backward(
                x[a:z],
                rhs[a:z],
                inverse[a:z],
                cx[a:z],
                cy[a:z],
                cz[a:z],
                first,
                size - first,
                x_stride,
                y_stride,
            )


@cell_loop
def extent(levels: IntArray, l: int) -> tuple[int, int, int, int, int]:
    """Return start, size, first loop index and the strides along x and y of a level."""
    g = levels[l, 4]
    nx, ny, nz = levels[l, 1] + 2 * g, levels[l, 2] + 2 * g, levels[l, 3] + 2 * g
    return levels[l, 0], nx * ny * nz, ny * nz, ny * nz, nz
