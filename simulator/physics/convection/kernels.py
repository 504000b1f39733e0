"""The compiled loop that finds the open cells near a cell of air, never through a solid."""

from simulator.compiled import cell_loop
from simulator.grid.grid import BoolArray, FloatArray, IntArray


@cell_loop
def gather_near_cells(
    start: IntArray,
    is_open: BoolArray,
    shut_x: BoolArray,
    shut_y: BoolArray,
    shut_z: BoolArray,
    x: FloatArray,
    y: FloatArray,
    z: FloatArray,
    reach: float,
    mark: IntArray,
    found: IntArray,
    count: IntArray,
) -> None:
    """Write to ``found`` the flat cells within ``reach`` of each ``start`` cell, flooding from it.

    ``shut_*[i, j, k]`` closes the low face of a cell, shape one more than the cells along its axis;
    ``mark`` is scratch over cells, holding -1; ``found`` has a row for each start.
    """
    ny, nz = is_open.shape[1], is_open.shape[2]
    for row in range(start.size):
        flat = start[row]
        i0, j0, k0 = flat // (ny * nz), flat // nz % ny, flat % nz
        found[row, 0] = flat
        mark[flat] = row
        filled, head = 1, 0
        while head < filled:
            flat = found[row, head]
            head += 1
            i, j, k = flat // (ny * nz), flat // nz % ny, flat % nz
            for face in range(6):
                axis, ahead = face // 2, face % 2
                a, b, c = i, j, k
                if axis == 0:
                    a += 2 * ahead - 1
                    if a < 0 or a >= is_open.shape[0] or shut_x[i + ahead, j, k]:
                        continue
                elif axis == 1:
                    b += 2 * ahead - 1
                    if b < 0 or b >= ny or shut_y[i, j + ahead, k]:
                        continue
                else:
                    c += 2 * ahead - 1
                    if c < 0 or c >= nz or shut_z[i, j, k + ahead]:
                        continue
                near = (a * ny + b) * nz + c
                distance = (x[a] - x[i0]) ** 2 + (y[b] - y[j0]) ** 2 + (z[c] - z[k0]) ** 2
                if mark[near] == row or not is_open[a, b, c] or distance > reach * reach:
                    continue
                mark[near] = row
                found[row, filled] = near
                filled += 1
        count[row] = filled
        for index in range(filled):
            mark[found[row, index]] = -1
