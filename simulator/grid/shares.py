"""Shares: the exact volume of each part in each cell, and its sections across cell faces.

Shares are exact for aligned and prism boxes (box-cell overlap, polygon clip times overlap) and
sampled for oblique ones; all are scaled so that they sum to the box's exact volume.
"""

import math
from dataclasses import dataclass

import numpy as np

from simulator.case.parts import PorousPart, SolidPart
from simulator.errors import CaseError
from simulator.grid.boxes import PlacedBox, place_box
from simulator.grid.cells import Labels
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.kernels import clip_polygon_by_cells
from simulator.grid.planes import Lattice

#: A part may stick out of the rooms by this share of its volume [-] (choice: a box set against a
#: wall by a length in inches); what is out is put back by scaling, more is an error.
MOST_OUTSIDE = 0.01

#: Slivers of a turned box below this share of a cell's section go to the other cells [-] (choice).
LEAST_SECTION = 1e-5

#: Sample points of an oblique box in a cell's length [-] (choice: 1000 points a cell).
SAMPLES = 10


@dataclass(frozen=True, slots=True)
class PartBlock:
    """One part in the block of cells that its bounds touch (a, b, c cells along x, y, z)."""

    part: int  # index into the case's parts
    box: PlacedBox
    block: IntArray  # (3, 2)
    volume: FloatArray  # (a, b, c) [m³], zero in void cells
    centroid: FloatArray  # (3, a, b, c) of the part's share [m]
    sections: tuple[FloatArray, FloatArray, FloatArray]  # across inner faces [m²], e.g. (a-1, b, c)

    @property
    def index(self) -> tuple[slice, slice, slice]:
        """Index of the block in arrays over cells."""
        x, y, z = self.block
        return (slice(*x), slice(*y), slice(*z))


def share_parts(
    parts: tuple[SolidPart | PorousPart | None, ...], lattice: Lattice, labels: Labels
) -> tuple[PartBlock, ...]:
    """Return the shares of every solid or porous part; other parts are given as None."""
    return tuple(
        _share(index, part, lattice, labels) for index, part in enumerate(parts) if part is not None
    )


def _share(index: int, part: SolidPart | PorousPart, lattice: Lattice, labels: Labels) -> PartBlock:
    box = place_box(part.box, lattice)
    volume, centroid, sections = cut_box(box, lattice)
    x, y, z = block = box.block()
    volume = np.where(labels.room[slice(*x), slice(*y), slice(*z)] >= 0, volume, 0.0)
    inside = float(volume.sum())
    if inside < (1.0 - MOST_OUTSIDE) * box.volume:
        outside = 100.0 * (1.0 - inside / box.volume)
        raise CaseError(
            f"{part.owner}: its {part.name} lies {outside:.0f} % outside the rooms; move it inside"
        )
    return PartBlock(index, box, block, volume * (box.volume / inside), centroid, sections)


_Pieces = tuple[FloatArray, FloatArray, tuple[FloatArray, FloatArray, FloatArray]]


def cut_box(box: PlacedBox, lattice: Lattice) -> _Pieces:
    """Return volume and centroid of a box in each cell of its block, and its sections."""
    block = box.block()
    if box.is_aligned:
        return _aligned(box, block)
    if box.prism_axis >= 0:
        return _prism(box, block)
    return _oblique(box, block, lattice)


def _aligned(box: PlacedBox, block: IntArray) -> _Pieces:
    x, y, z = (box.lengths(axis, *block[axis]) for axis in range(3))
    volume = _outer(x, y, z)
    centroid = np.stack(
        np.meshgrid(*[_middles(box, axis, block[axis]) for axis in range(3)], indexing="ij")
    )
    one_x, one_y, one_z = (np.ones(max(0, length.size - 1)) for length in (x, y, z))
    return volume, centroid, (_outer(one_x, y, z), _outer(x, one_y, z), _outer(x, y, one_z))


def _prism(box: PlacedBox, block: IntArray) -> _Pieces:
    along = box.prism_axis
    one, two = (axis for axis in range(3) if axis != along)
    edges = [box.edges[axis][block[axis, 0] : block[axis, 1] + 1] for axis in (one, two)]
    polygon = box.polygon()
    moments = np.zeros((edges[0].size - 1, edges[1].size - 1, 3))
    clip_polygon_by_cells(polygon, edges[0], edges[1], moments)
    area = moments[..., 0]
    cell_area = np.outer(np.diff(edges[0]), np.diff(edges[1]))
    area = np.where(area > LEAST_SECTION * cell_area, area, 0.0)
    lengths = box.lengths(along, *block[along])
    volume = area[..., None] * lengths
    safe = np.where(area > 0.0, area, 1.0)
    centroid = np.empty((3, *volume.shape))
    centroid[one] = (moments[..., 1] / safe)[..., None]
    centroid[two] = (moments[..., 2] / safe)[..., None]
    centroid[along] = _middles(box, along, block[along])
    sections: list[FloatArray] = [np.empty(0)] * 3
    sections[one] = _chords(polygon, 0, edges[0], edges[1])[..., None] * lengths
    sections[two] = _chords(polygon, 1, edges[1], edges[0]).T[..., None] * lengths
    sections[along] = area[..., None] * np.ones(max(0, lengths.size - 1))
    # Axes so far: one, two, along. Back to x, y, z:
    centroid = np.moveaxis(centroid, 3, along + 1)
    x, y, z = (np.moveaxis(section, 2, along) for section in sections)
    return np.moveaxis(volume, 2, along), centroid, (x, y, z)


def _oblique(box: PlacedBox, block: IntArray, lattice: Lattice) -> _Pieces:
    counts = [max(4, math.ceil(2.0 * h / lattice.cell_size * SAMPLES)) for h in box.half]
    own = [
        h * ((np.arange(n) + 0.5) * 2.0 / n - 1.0) for h, n in zip(box.half, counts, strict=True)
    ]
    points = np.stack([p.ravel() for p in np.meshgrid(*own, indexing="ij")], axis=1)
    points = points @ box.axes.T + box.centre
    shape = tuple(int(last - first) for first, last in block)
    cells = [
        np.searchsorted(lattice.edges[axis], points[:, axis], side="right") - 1 - block[axis, 0]
        for axis in range(3)
    ]
    is_inside = np.all(
        [(cell >= 0) & (cell < n) for cell, n in zip(cells, shape, strict=True)], axis=0
    )
    flat = np.ravel_multi_index([cell[is_inside] for cell in cells], shape)
    size = int(np.prod(shape))
    count = np.bincount(flat, minlength=size)
    volume: FloatArray = np.asarray(count * (box.volume / len(points))).reshape(shape)
    centroid = np.stack(
        [
            (np.bincount(flat, points[is_inside, axis], size) / np.maximum(count, 1)).reshape(shape)
            for axis in range(3)
        ]
    )
    return volume, centroid, _rough_sections(volume, block, lattice)


def _rough_sections(
    volume: FloatArray, block: IntArray, lattice: Lattice
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return sections of an oblique box: the lesser of the mean sections on the two sides."""
    sections = []
    for axis in range(3):
        sizes = lattice.sizes[axis][block[axis, 0] : block[axis, 1]]
        mean = np.moveaxis(np.moveaxis(volume, axis, 2) / sizes, 2, axis)
        low = np.take(mean, np.arange(0, mean.shape[axis] - 1), axis=axis)
        high = np.take(mean, np.arange(1, mean.shape[axis]), axis=axis)
        sections.append(np.minimum(low, high))
    x, y, z = sections
    return (x, y, z)


def _chords(
    polygon: FloatArray, axis: int, planes: FloatArray, other_edges: FloatArray
) -> FloatArray:
    """Return the polygon's chord in each inner plane, split by the other axis's cells [m]."""
    inner = planes[1:-1]
    start, end = polygon, np.roll(polygon, -1, axis=0)
    step = end[:, axis] - start[:, axis]
    flat = np.abs(step) < 1e-12
    share = (inner[:, None] - start[:, axis]) / np.where(flat, 1.0, step)
    crosses = (share >= 0.0) & (share <= 1.0) & ~flat
    crossing = start[:, 1 - axis] + share * (end - start)[:, 1 - axis]
    low = np.min(np.where(crosses, crossing, np.inf), axis=1, initial=np.inf)
    high = np.max(np.where(crosses, crossing, -np.inf), axis=1, initial=-np.inf)
    overlap = np.minimum(other_edges[1:], high[:, None]) - np.maximum(
        other_edges[:-1], low[:, None]
    )
    return np.asarray(np.maximum(overlap, 0.0))


def _middles(box: PlacedBox, axis: int, span: IntArray) -> FloatArray:
    edges = box.edges[axis][span[0] : span[1] + 1]
    low, high = np.maximum(edges[:-1], box.low[axis]), np.minimum(edges[1:], box.high[axis])
    return np.asarray(0.5 * (low + high))


def _outer(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    return x[:, None, None] * y[None, :, None] * z[None, None, :]
