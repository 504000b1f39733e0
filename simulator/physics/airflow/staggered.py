"""The staggered (MAC) mesh: velocities on faces, pressure in cells, as padded flat arrays.

Every field is one flat array over the cells with two ghost layers on every side, in C order. The
value of a face field at index ``i`` belongs to the *low* face of cell ``i`` along its axis. A
neighbour along axis ``a`` is ``strides[a]`` away, so one compiled loop serves all three axes: it is
handed views of the same arrays, shifted by whole strides.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.open_faces import open_faces

#: Ghost layers: the bounded QUICK value looks two cells upwind.
GHOSTS = 2

AXES = (0, 1, 2)

#: Parts of a split layout: the two halves along x, and the planes of cells between them.
LOW, HIGH, MIDDLE = PARTS = (0, 1, 2)
MIDDLE_PLANES = 2

#: Layouts with at least this many cells are split (choice, not measured) ...
SPLIT_CELLS = 30_000
#: ... if they have at least as many planes of cells as this (choice).
SPLIT_PLANES = 16

Scalar = TypeVar("Scalar", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the cells lie in the padded flat arrays, and in which parts loops may go over them.

    The parts of a large layout depend on its shape alone, never on the number of threads: the
    order of every loop that depends on its own results, and of every sum, is that of the parts. A
    small layout is all ``MIDDLE``.
    """

    shape: tuple[int, int, int]  # cells along x, y, z, without ghosts

    @property
    def padded(self) -> tuple[int, int, int]:
        """Shape with the ghost layers."""
        nx, ny, nz = self.shape
        return nx + 2 * GHOSTS, ny + 2 * GHOSTS, nz + 2 * GHOSTS

    @property
    def strides(self) -> tuple[int, int, int]:
        """Distance in the flat array to the next cell along x, y, z."""
        _, ny, nz = self.padded
        return ny * nz, nz, 1

    @property
    def size(self) -> int:
        """Length of a padded flat array."""
        nx, ny, nz = self.padded
        return nx * ny * nz

    @property
    def first(self) -> int:
        """Start of the region that loops run over, two strides from the start of the array.

        It ends one stride before the end, since the last side along x belongs to a ghost cell.
        """
        return GHOSTS * self.strides[0]

    def zeros(self) -> FloatArray:
        """A field of zeros."""
        return np.zeros(self.size)

    def zeros_of_each_axis(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """A field of zeros for each axis."""
        return self.zeros(), self.zeros(), self.zeros()

    @property
    def is_split(self) -> bool:
        """Whether the layout has halves that are worth a thread each."""
        return int(np.prod(self.shape)) >= SPLIT_CELLS and self.shape[0] >= SPLIT_PLANES

    @property
    def middle(self) -> int:
        """Index along x of the first plane of the middle: even, as coarse cells join two planes.

        Zero in a layout that is not split.
        """
        return 2 * round(0.25 * (self.shape[0] - 2)) if self.is_split else 0

    def span(self, part: int) -> slice:
        """Where the cells of a part lie in the loop region, and their low faces.

        The middle is two planes thick, so that no value of one half, with what lies within two
        cells of it, takes part in what is written in the other.
        """
        return _spans(self, MIDDLE_PLANES)[part]

    def side_span(self, part: int) -> slice:
        """Where the sides normal to x of the cells of a part lie: the middle has both of its own.

        So what is done for ``MIDDLE`` first and then for both halves at once never needs of one
        half what the other is about to write.
        """
        return _spans(self, MIDDLE_PLANES + 1)[part]

    def view(self, field: FloatArray, offset: int = 0, span: slice | None = None) -> FloatArray:
        """The loop region of a field, or a span of it, shifted by ``offset``."""
        if span is None:
            span = slice(self.first, self.size - self.strides[0])
        return field[span.start + offset : span.stop + offset]

    def pad_cells(self, cells: NDArray[Scalar]) -> NDArray[Scalar]:
        """A padded flat field from an array over cells [i, j, k]."""
        field = np.zeros(self.padded, dtype=cells.dtype)
        field[GHOSTS:-GHOSTS, GHOSTS:-GHOSTS, GHOSTS:-GHOSTS] = cells
        return field.ravel()

    def cells(self, field: FloatArray) -> FloatArray:
        """A copy of a padded field as an array over cells [i, j, k]."""
        box = field.reshape(self.padded)
        return box[GHOSTS:-GHOSTS, GHOSTS:-GHOSTS, GHOSTS:-GHOSTS].copy()

    def pad_faces(self, faces: FloatArray, axis: int) -> FloatArray:
        """A padded flat field from an array over the faces normal to ``axis``."""
        field = np.zeros(self.padded, dtype=faces.dtype)
        field[self._face_box(axis)] = faces
        return field.ravel()

    def faces(self, field: FloatArray, axis: int) -> FloatArray:
        """A copy of a padded field as an array over the faces normal to ``axis``."""
        return field.reshape(self.padded)[self._face_box(axis)].copy()

    def _face_box(self, axis: int) -> tuple[slice, slice, slice]:
        box = [slice(GHOSTS, GHOSTS + count) for count in self.shape]
        box[axis] = slice(GHOSTS, GHOSTS + self.shape[axis] + 1)
        return box[0], box[1], box[2]


@lru_cache(maxsize=64)
def _spans(layout: Layout, thickness: int) -> tuple[slice, slice, slice]:
    """Spans of the parts, the middle ``thickness`` planes thick; kept, as every loop asks."""
    end = layout.size - layout.strides[0]
    if not layout.is_split:
        nothing = slice(layout.first, layout.first)
        return nothing, nothing, slice(layout.first, end)
    start = layout.first + layout.middle * layout.strides[0]
    stop = start + thickness * layout.strides[0]
    return slice(layout.first, start), slice(stop, end), slice(start, stop)


@dataclass(frozen=True, slots=True)
class StaggeredMesh:
    """Geometry of the faces and of the momentum volumes around them.

    The momentum volume of a face reaches from cell centre to cell centre along the face's own axis.
    ``conductance[c][b]`` at index ``i`` is (area / distance) [m] of the side, normal to ``b``,
    between the momentum volumes of the faces ``i - strides[b]`` and ``i`` of component ``c``, times
    the share of that side that is open to air.
    """

    layout: Layout
    openness: tuple[FloatArray, FloatArray, FloatArray]  # of faces: 1 open, 0 closed
    volume: FloatArray  # cells, open or not [m³]
    area: tuple[FloatArray, FloatArray, FloatArray]  # of open faces [m²], zero where closed
    distance: tuple[FloatArray, FloatArray, FloatArray]  # between the cell centres of a face [m]
    conductance: tuple[tuple[FloatArray, ...], ...]
    widths: tuple[FloatArray, FloatArray, FloatArray]  # of cells along x, y, z, padded, 1-D [m]

    def momentum_volume(self, axis: int) -> FloatArray:
        """Volume of the momentum volumes of open faces [m³], zero where closed."""
        return self.area[axis] * self.distance[axis]


def stagger(grid: Grid) -> StaggeredMesh:
    """Return the staggered mesh of a grid."""
    layout = Layout(grid.shape)
    widths = [_padded_widths(edges) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)]
    gaps = [_centre_distances(width) for width in widths]
    openness = [
        layout.pad_faces(faces.astype(np.float64), axis)
        for axis, faces in enumerate(open_faces(grid))
    ]
    area = [openness[axis] * _separable(_with(widths, axis, 1.0)) for axis in AXES]
    distance = [_separable(_with([np.ones_like(w) for w in widths], c, gaps[c])) for c in AXES]
    conductance = tuple(
        tuple(_conductance(layout, widths, gaps, openness, c, b) for b in AXES) for c in AXES
    )
    return StaggeredMesh(
        layout=layout,
        openness=(openness[0], openness[1], openness[2]),
        volume=_separable(widths),
        area=(area[0], area[1], area[2]),
        distance=(distance[0], distance[1], distance[2]),
        conductance=conductance,
        widths=(widths[0], widths[1], widths[2]),
    )


def face_mean(cells: FloatArray, stride: int) -> FloatArray:
    """Return the mean of the two cells of each face along the axis of ``stride``; padded fields."""
    return 0.5 * (cells + np.roll(cells, stride))


def _conductance(
    layout: Layout,
    widths: list[FloatArray],
    gaps: list[FloatArray],
    openness: list[FloatArray],
    c: int,
    b: int,
) -> FloatArray:
    """Area over distance of the sides normal to ``b`` of the volumes of component ``c``."""
    if b == c:  # the side lies in the middle of the cell below the face
        return _separable(_with(widths, c, 1.0 / np.roll(widths[c], 1)))
    sides = _with(widths, c, gaps[c])
    geometry = _separable(_with(sides, b, 1.0 / gaps[b]))
    both = openness[c] * np.roll(openness[c], layout.strides[b])
    return np.asarray(geometry * both * face_mean(openness[b], layout.strides[c]))


def _padded_widths(edges: FloatArray) -> FloatArray:
    return np.pad(np.diff(edges), GHOSTS, mode="edge")


def _centre_distances(width: FloatArray) -> FloatArray:
    """Distance from the centre of the cell below to the centre of each cell [m]."""
    return np.asarray(0.5 * (width + np.concatenate([width[:1], width[:-1]])))


def _with(factors: list[FloatArray], axis: int, factor: FloatArray | float) -> list[FloatArray]:
    """The factors with the one of ``axis`` replaced."""
    replaced = list(factors)
    replaced[axis] = np.broadcast_to(factor, factors[axis].shape)
    return replaced


def _separable(factors: list[FloatArray]) -> FloatArray:
    """The flat field that is the product of one factor along each axis."""
    product = factors[0][:, None, None] * factors[1][None, :, None] * factors[2][None, None, :]
    return product.ravel()
