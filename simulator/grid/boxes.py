"""Boxes of stuff as the grid sees them: their frame, their bounds, the cell planes at their faces.

Three classes of box, by how exactly they meet the cells:
* *aligned*: every face parallel to cell planes (turn and tilt in quarters): all overlaps exact;
* *prism*: one axis along a grid axis (turned furniture, a mattress leaned straight against a wall):
  a convex polygon times an interval, overlaps exact;
* *oblique*: turned and tilted: overlaps by sampling, scaled to the exact volume.
"""

import math
from dataclasses import dataclass

import numpy as np

from simulator.case.parts import Box
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.planes import Lattice

#: A box face within this of a cell plane is taken to lie in it [m] (choice): no cell gets a sliver
#: of stuff, and the box keeps its exact size because the plane is moved for it, not the face.
SNAP = 1e-4

#: An angle within this of a quarter turn is a quarter turn [deg].
SAME_ANGLE = 1e-7


@dataclass(frozen=True, slots=True)
class PlacedBox:
    """A box in the grid's axes."""

    centre: FloatArray  # (3,) [m]
    half: FloatArray  # (3,) half sizes along the box's own axes [m]
    axes: FloatArray  # (3, 3) columns: the box's own axes as unit vectors
    low: FloatArray  # (3,) lowest corner of the bounds [m]
    high: FloatArray  # (3,)
    prism_axis: int  # grid axis along which the section is constant: 2 if aligned, -1 if oblique
    is_aligned: bool
    edges: tuple[FloatArray, FloatArray, FloatArray]  # cell planes, moved onto faces within SNAP

    @property
    def volume(self) -> float:
        """Exact volume [m³]."""
        return 8.0 * float(np.prod(self.half))

    @property
    def thin_axis(self) -> int:
        """The box's own axis along which it is thinnest."""
        return int(np.argmin(self.half))

    def is_board(self, cell_size: float) -> bool:
        """Return whether its larger sizes both span a cell: it parts the air on its two sides."""
        return bool(2.0 * np.sort(self.half)[1] > 0.999 * cell_size)

    def polygon(self) -> FloatArray:
        """Return the corners of the section across ``prism_axis``, (4, 2) on the other two axes."""
        along = int(np.argmax(np.abs(self.axes[self.prism_axis])))
        u, v = (axis for axis in range(3) if axis != along)
        across = [axis for axis in range(3) if axis != self.prism_axis]
        one = self.half[u] * self.axes[across, u]
        two = self.half[v] * self.axes[across, v]
        middle = self.centre[across]
        return np.array(
            [middle - one - two, middle + one - two, middle + one + two, middle - one + two]
        )

    def distance(self, start: FloatArray, direction: FloatArray) -> FloatArray:
        """Return how far along ``direction`` each ray (n, 3) enters it [m]; inf if it misses it.

        What it entered behind its start counts below zero.
        """
        at, step = (start - self.centre) @ self.axes, direction @ self.axes
        step = np.where(np.abs(step) < 1e-12, 1e-12, step)
        one, two = (-self.half - at) / step, (self.half - at) / step
        enter = np.minimum(one, two).max(axis=1)
        leave = np.maximum(one, two).min(axis=1)
        return np.where(leave > enter, enter, np.inf)

    def block(self) -> IntArray:
        """Return the cells that its bounds touch, (3, 2): first and one past last of each axis."""
        ranges = []
        for axis in range(3):
            edges = self.edges[axis]
            first = int(np.searchsorted(edges, self.low[axis], side="right")) - 1
            last = int(np.searchsorted(edges, self.high[axis], side="left"))
            first = min(max(first, 0), edges.size - 1)
            ranges.append((first, min(max(last, first), edges.size - 1)))
        return np.array(ranges, dtype=np.int64)

    def lengths(self, axis: int, first: int, last: int) -> FloatArray:
        """Return how long its bounds are within each of the cells [m], (last - first,)."""
        edges = self.edges[axis][first : last + 1]
        inside = np.minimum(edges[1:], self.high[axis]) - np.maximum(edges[:-1], self.low[axis])
        return np.asarray(np.maximum(inside, 0.0))


def place_box(box: Box, lattice: Lattice) -> PlacedBox:
    """Return ``box`` in the grid's axes; quarter turns become exact."""
    axes = _rotation(box.turn, 2) @ _rotation(box.tilt, 0)
    half = 0.5 * np.asarray(box.size, dtype=np.float64)
    centre = np.asarray(box.centre, dtype=np.float64)
    whole = np.abs(axes)
    is_aligned = bool(np.all((whole == 0.0) | (whole == 1.0)))
    if is_aligned:
        half = whole @ half
        axes = np.eye(3)
        whole = axes
    prism_axis = next((axis for axis in (2, 1, 0) if np.max(whole[axis]) == 1.0), -1)
    reach = whole @ half
    low, high = centre - reach, centre + reach
    snapped = [is_aligned or axis == prism_axis for axis in range(3)]
    x, y, z = (
        _edges_for(lattice.edges[axis], low[axis], high[axis]) if snapped[axis] else edges
        for axis, edges in enumerate(lattice.edges)
    )
    return PlacedBox(centre, half, axes, low, high, prism_axis, is_aligned, (x, y, z))


def body_axes(box: Box) -> tuple[FloatArray, FloatArray]:
    """Return the frame of the thing in a box: its axes as columns (3, 3), its half sizes (3,) [m].

    It turns with the thing: also where the box itself looks the same after a half turn.
    """
    axes, half = np.empty((3, 3)), np.empty(3)
    rotation = _rotation(box.turn, 2) @ _rotation(box.tilt, 0)
    for own, along in enumerate(box.lie):
        axes[:, own] = np.sign(along) * rotation[:, abs(along) - 1]
        half[own] = 0.5 * box.size[abs(along) - 1]
    return axes, half


def same_frame(one: PlacedBox, other: PlacedBox) -> bool:
    """Return whether every face of one box is parallel to a face of the other."""
    turned = np.abs(one.axes.T @ other.axes)
    return bool(np.all((turned < 1e-9) | (turned > 1.0 - 1e-9)))


def _rotation(angle: float, axis: int) -> FloatArray:
    quarters = round(angle / 90.0)
    if abs(angle - 90.0 * quarters) < SAME_ANGLE:
        cosine = (1.0, 0.0, -1.0, 0.0)[quarters % 4]
        sine = (0.0, 1.0, 0.0, -1.0)[quarters % 4]
    else:
        cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    one, two = (axis + 1) % 3, (axis + 2) % 3
    matrix = np.eye(3)
    matrix[one, one] = matrix[two, two] = cosine
    matrix[two, one] = sine
    matrix[one, two] = -sine
    return matrix


def _edges_for(edges: FloatArray, low: float, high: float) -> FloatArray:
    # A box thinner than twice SNAP keeps its planes: both faces would claim the same one.
    if high - low < 4.0 * SNAP:
        return edges
    moved = np.where(np.abs(edges - low) < SNAP, low, edges)
    return np.where(np.abs(edges - high) < SNAP, high, moved)
