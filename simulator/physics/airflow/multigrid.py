"""The symmetric multigrid cycle that preconditions the pressure equation.

Cells are joined two by two along every axis. On levels that are large enough both halves are swept
towards the middle at once and the middle last, and on the way back in the exact reverse order, so
that the cycle stays symmetric; the order is the same on one thread. Smaller levels are swept in
lexicographic order, in one compiled call for all of them.
"""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, IntArray
from simulator.physics.airflow import multigrid_kernels as kernels
from simulator.physics.airflow.halves import Halves, Work
from simulator.physics.airflow.staggered import AXES, GHOSTS, HIGH, LOW, MIDDLE, PARTS, Layout

#: A level this small is the coarsest.
COARSEST_CELLS = 40
COARSEST_SWEEPS = 4
#: Halves of coarse levels are done at once if they have at least this many cells (choice).
SPLIT_LEVEL_CELLS = 15_000


@dataclass(frozen=True, slots=True)
class LevelFields:
    """Fields of one level, or of all levels one after another; names as in the kernels."""

    x: FloatArray
    rhs: FloatArray
    inverse: FloatArray
    cx: FloatArray
    cy: FloatArray
    cz: FloatArray
    scratch: FloatArray

    def of(self, row: IntArray) -> "LevelFields":
        """Return views of the level that the row describes."""
        span = slice(int(row[0]), int(row[0]) + _padded_size(row))
        return LevelFields(
            self.x[span],
            self.rhs[span],
            self.inverse[span],
            self.cx[span],
            self.cy[span],
            self.cz[span],
            self.scratch[span],
        )

    @property
    def coefficients(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Coefficients of the faces normal to x, y, z."""
        return self.cx, self.cy, self.cz


class Multigrid:
    """The cycle over all levels of a layout.

    Attributes
    ----------
    finest : fields of the finest level: write ``rhs`` before ``cycle``, which writes ``x``.
    """

    def __init__(self, layout: Layout, halves: Halves) -> None:
        self._halves = halves
        self._levels = _levels(layout)
        total = int(self._levels[-1, 0]) + _padded_size(self._levels[-1])
        self._all = LevelFields(*(np.zeros(total) for _ in range(7)))
        self.finest = self._all.of(self._levels[0])
        self._split: list[SplitLevel] = []
        for l, middle in enumerate(_middles(layout, self._levels)):
            finer = self._split[-1] if l else None
            self._split.append(SplitLevel(self._all, self._levels[l : l + 2], middle, finer))

    def prepare(self, write: Work) -> None:
        """Make all levels; ``write`` writes the finest coefficients of a part."""

        def write_and_prepare(part: int) -> None:
            write(part)
            for level in self._split:
                level.prepare(part)

        write(MIDDLE)
        if self._split:
            # both halves need the sides of the middle; coarse middles need cells of both
            self._split[0].prepare(MIDDLE)
            self._halves.run(write_and_prepare)
            for level in self._split[1:]:
                level.prepare(MIDDLE)
        fields = self._all
        kernels.prepare(
            self._levels, fields.cx, fields.cy, fields.cz, fields.inverse, len(self._split)
        )

    def cycle(self, finish: Work) -> None:
        """Write into x one cycle for rhs, and call ``finish`` with each part when it is done."""
        for level in self._split:
            self._halves.inward(level.smooth_inward)
            self._halves.inward(level.restrict)
        self._cycle_below()
        if not self._split:
            finish(MIDDLE)
            return
        for part in PARTS:
            self._split[-1].correct(part)
        for level, finer in zip(self._split[:0:-1], self._split[-2::-1], strict=True):
            self._rise(level, finer.correct)
        self._rise(self._split[0], finish)

    def _rise(self, level: "SplitLevel", follow: Work) -> None:
        def smooth_and_follow(part: int) -> None:
            level.smooth_outward(part)
            follow(part)

        self._halves.outward(smooth_and_follow)

    def _cycle_below(self) -> None:
        """The cycle of all levels that are not split."""
        fields = self._all
        kernels.v_cycle(
            self._levels[len(self._split) :],
            fields.x,
            fields.rhs,
            fields.inverse,
            fields.cx,
            fields.cy,
            fields.cz,
            fields.scratch,
            COARSEST_SWEEPS,
        )


class SplitLevel:
    """A level whose halves are done at once.

    Parameters
    ----------
    rows : of this level and of the next coarser.
    middle : index along x of the plane of cells between the halves; even.
    finer : the next finer level, which is split too; None on the finest.
    """

    def __init__(
        self, fields: LevelFields, rows: IntArray, middle: int, finer: "SplitLevel | None"
    ) -> None:
        self._row, self._coarse_row = rows
        self._fields, self._coarse = fields.of(rows[0]), fields.of(rows[1])
        self._finer = finer
        _, nx, ny, nz, g = (int(value) for value in self._row)
        plane, y_stride = (ny + 2 * g) * (nz + 2 * g), nz + 2 * g
        start, end = (middle + g) * plane, _padded_size(self._row) - plane
        spans = (plane, start), (start + plane, end), (start, start + plane)
        #: Arguments of the loops over one level, by part.
        self._ranges = [(*span, plane, y_stride) for span in spans]
        #: Planes of faces normal to x, and of cells, that are coarsened to by part.
        self._face_planes = (0, middle + 1), (middle + 1, nx), (middle, middle)
        self._planes = (0, middle), (middle + 1, nx), (middle, middle + 1)
        #: Planes that are corrected with, and the coarse ones restricted to, by part.
        self._pairs = (0, middle), (middle + 2, nx), (middle, middle + 2)
        half = middle // 2
        self._coarse_planes = (0, half), (half + 1, int(self._coarse_row[1])), (half, half + 1)

    def prepare(self, part: int) -> None:
        """Write coefficients, if there is a finer level, and inverse diagonals of a part."""
        own = self._fields
        if self._finer is not None:
            fine, rows = self._finer._fields.coefficients, (self._finer._row, self._row)
            for axis in AXES:
                planes = self._face_planes[part] if axis == 0 else self._planes[part]
                kernels.coarsen_faces(fine[axis], own.coefficients[axis], *rows, axis, *planes)
        kernels.diagonal_inverse(*own.coefficients, own.inverse, *self._ranges[part])

    def smooth_inward(self, part: int) -> None:
        """Sweep from zero; the middle last."""
        own, where = self._fields, self._ranges[part]
        fields = own.x, own.rhs, own.inverse, *own.coefficients
        if part == LOW:
            kernels.smooth_from_zero(*fields, *where)
        elif part == HIGH:
            kernels.smooth_from_zero_backward(*fields, *where)
        else:
            own.x[where[0] : where[1]] = 0.0
            kernels.smooth_forward(*fields, *where)

    def restrict(self, part: int) -> None:
        """Write the coarse right-hand side; the middle last."""
        own, where = self._fields, self._ranges[part]
        if part == LOW:
            kernels.sum_above(own.x, *own.coefficients, own.scratch, *where)
        elif part == HIGH:
            kernels.sum_below(own.x, *own.coefficients, own.scratch, *where)
        else:
            first, last, _, y_stride = where
            kernels.sum_within(own.x, own.cy, own.cz, own.scratch, first, last, y_stride)
        planes = self._coarse_planes[part]
        kernels.restrict(own.scratch, self._coarse.rhs, self._row, self._coarse_row, *planes)

    def correct(self, part: int) -> None:
        """Add the coarse solution."""
        own = self._fields
        kernels.prolong(self._coarse.x, own.x, self._row, self._coarse_row, *self._pairs[part])

    def smooth_outward(self, part: int) -> None:
        """Sweep in the reverse order of ``smooth_inward``; the middle first."""
        own = self._fields
        smooth = kernels.smooth_forward if part == HIGH else kernels.smooth_backward
        smooth(own.x, own.rhs, own.inverse, *own.coefficients, *self._ranges[part])


def _levels(layout: Layout) -> IntArray:
    """Rows (start, nx, ny, nz, ghosts), from the finest to the coarsest level."""
    rows = [(0, *layout.shape, GHOSTS)]
    while np.prod(rows[-1][1:4]) > COARSEST_CELLS:
        start = rows[-1][0] + _padded_size(np.array(rows[-1]))
        nx, ny, nz = (-(-count // 2) for count in rows[-1][1:4])
        rows.append((start, nx, ny, nz, 1))
    return np.array(rows, dtype=np.int64)


def _middles(layout: Layout, levels: IntArray) -> list[int]:
    """Middle planes of the levels that are split: the finest, and the next if it is large."""
    if not layout.is_split:
        return []
    is_next_split = np.prod(levels[1, 1:4]) >= SPLIT_LEVEL_CELLS
    return [layout.middle, layout.middle // 2] if is_next_split else [layout.middle]


def _padded_size(row: IntArray) -> int:
    return int(np.prod(row[1:4] + 2 * row[4]))
