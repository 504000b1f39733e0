"""How much of each cell lies inside a skin of triangles, and how sure that is.

Rays run through the cells along x, y and z; between the places where a ray enters and leaves, it
is inside, exactly along the ray. The three views vote cell by cell. They agree on a closed skin;
where it leaks, a ray does not come out again or the views contradict one another, and the volume of
those cells is told.
"""

from dataclasses import dataclass

import numpy as np

from simulator.case.mesh_import import FloatArray, IntArray, TriangleMesh
from simulator.compiled import cell_loop

#: Rays across a cell, each way [-] (choice: the share of a curved cell is then good to a few %).
RAYS = 4

#: Rays stand off the middle of their strips by this share of one [-] (choice: an odd number keeps
#: them off the edges of triangles that meet in neat places).
OFF_THE_MIDDLE = 0.0137

#: Views that differ by more contradict one another [-] (choice: sampling explains less).
CONTRADICTION = 0.5

#: The divergence theorem's volume is trusted if it is within this of the views' [-] (choice).
SAME_VOLUME = 0.03


@dataclass(frozen=True, slots=True)
class Filling:
    """What of each cell lies inside a skin.

    Attributes
    ----------
    share : (a, b, c) by the vote of the three views [-].
    volume : within the skin: by the divergence theorem where that holds, else by the vote [m³].
    doubtful : volume of cells on which the views do not agree [m³].
    pieces_overlap : the skin consists of closed pieces that reach into one another.
    """

    share: FloatArray
    volume: float
    doubtful: float
    pieces_overlap: bool


def fill_skin(mesh: TriangleMesh, planes: tuple[FloatArray, FloatArray, FloatArray]) -> Filling:
    """Return how much of each cell between ``planes`` [m] lies inside a mesh in metres.

    Notes
    -----
    Where all faces look one way, a point is inside if the skin winds around it (so pieces that
    reach into one another are one); otherwise by parity, the Jordan curve theorem.
    """
    by_winding = mesh.is_oriented()
    views = np.stack([_view(mesh, planes, axis, by_winding) for axis in range(3)])
    is_seen = np.isfinite(views)
    lowest = np.min(np.where(is_seen, views, np.inf), axis=0)
    highest = np.max(np.where(is_seen, views, -np.inf), axis=0)
    share = np.where(is_seen.any(axis=0), _vote(views), 0.0)
    cells = np.multiply.outer(np.outer(*(np.diff(p) for p in planes[:2])), np.diff(planes[2]))
    differ = is_seen.any(axis=0) & (highest - lowest > CONTRADICTION)
    half_seen = ~is_seen.all(axis=0) & ((highest > CONTRADICTION) | ~is_seen.any(axis=0))
    counted = float((share * cells).sum())
    exact = abs(mesh.signed_volume)
    agrees = by_winding and abs(exact - counted) <= SAME_VOLUME * counted
    return Filling(
        share=share,
        volume=exact if agrees else counted,
        doubtful=float(cells[differ | half_seen].sum()),
        pieces_overlap=by_winding and exact > (1.0 + SAME_VOLUME) * counted > 0.0,
    )


def _vote(views: FloatArray) -> FloatArray:
    """Return the middle one of three views; the mean of two; nan where none sees anything."""
    ordered = np.sort(views, axis=0)  # nan comes last
    count = np.isfinite(views).sum(axis=0)
    mean = 0.5 * (ordered[0] + ordered[1])
    return np.asarray(np.where(count == 2, mean, np.where(count == 1, ordered[0], ordered[1])))


def _view(
    mesh: TriangleMesh,
    planes: tuple[FloatArray, FloatArray, FloatArray],
    along: int,
    by_winding: bool,
) -> FloatArray:
    """Return the share of each cell that is inside, seen along one axis; nan where rays leak."""
    one, two = (axis for axis in range(3) if axis != along)
    corners = np.ascontiguousarray(mesh.corners[:, :, [one, two, along]])
    u, v = _rays(planes[one]), _rays(planes[two])
    counts = np.zeros(u.size * v.size, dtype=np.int64)
    count_hits(corners, u, v, counts)
    first = np.concatenate([[0], np.cumsum(counts)])
    height, sense = np.zeros(first[-1]), np.zeros(first[-1], dtype=np.int64)
    gather_hits(corners, u, v, first, height, sense)
    edges = planes[along]
    shape = (planes[one].size - 1, planes[two].size - 1, edges.size - 1)
    inside, sound = np.zeros(shape), np.zeros(shape[:2], dtype=np.int64)
    add_lengths(first, height, sense, by_winding, RAYS, edges, inside, sound)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = inside / (sound[:, :, None] * np.diff(edges))
    return np.asarray(np.moveaxis(share, 2, along))


def _rays(edges: FloatArray) -> FloatArray:
    within = (np.arange(RAYS) + 0.5 + OFF_THE_MIDDLE) / RAYS
    return (edges[:-1, None] + np.diff(edges)[:, None] * within).ravel()


@cell_loop
def is_hit(corners: FloatArray, u: float, v: float) -> bool:
    """Return whether a ray along the third axis at (u, v) passes a triangle, corners (3, 3).

    An edge gives the same answer to the triangles on its two sides, so no ray slips between them.
    """
    hit = False
    for corner in range(3):
        low, high = corner, (corner + 1) % 3
        if corners[low, 1] > corners[high, 1]:
            low, high = high, low
        if (corners[low, 1] <= v) != (corners[high, 1] <= v):
            along = (v - corners[low, 1]) / (corners[high, 1] - corners[low, 1])
            if u < corners[low, 0] + along * (corners[high, 0] - corners[low, 0]):
                hit = not hit
    return hit


@cell_loop
def count_hits(corners: FloatArray, u: FloatArray, v: FloatArray, counts: IntArray) -> None:
    """Count the triangles (m, 3, 3) that each ray passes; rays in C order of (u, v)."""
    for t in range(corners.shape[0]):
        triangle = corners[t]
        first_u = np.searchsorted(u, triangle[:, 0].min())
        last_u = np.searchsorted(u, triangle[:, 0].max(), side="right")
        first_v = np.searchsorted(v, triangle[:, 1].min())
        last_v = np.searchsorted(v, triangle[:, 1].max(), side="right")
        for i in range(first_u, last_u):
            for j in range(first_v, last_v):
                if is_hit(triangle, u[i], v[j]):
                    counts[i * v.size + j] += 1


@cell_loop
def gather_hits(
    corners: FloatArray,
    u: FloatArray,
    v: FloatArray,
    first: IntArray,
    height: FloatArray,
    sense: IntArray,
) -> None:
    """Write where each ray passes the skin, in order, and which way the skin looks there (+-1)."""
    filled = np.zeros(u.size * v.size, dtype=np.int64)
    for t in range(corners.shape[0]):
        triangle = corners[t]
        first_u = np.searchsorted(u, triangle[:, 0].min())
        last_u = np.searchsorted(u, triangle[:, 0].max(), side="right")
        first_v = np.searchsorted(v, triangle[:, 1].min())
        last_v = np.searchsorted(v, triangle[:, 1].max(), side="right")
        if first_u == last_u or first_v == last_v:
            continue
        one, two = triangle[1] - triangle[0], triangle[2] - triangle[0]
        normal_u = one[1] * two[2] - one[2] * two[1]
        normal_v = one[2] * two[0] - one[0] * two[2]
        normal_w = one[0] * two[1] - one[1] * two[0]
        lowest, highest = triangle[:, 2].min(), triangle[:, 2].max()
        for i in range(first_u, last_u):
            for j in range(first_v, last_v):
                if not is_hit(triangle, u[i], v[j]):
                    continue
                w = lowest
                if normal_w != 0.0:
                    slope = normal_u * (u[i] - triangle[0, 0]) + normal_v * (v[j] - triangle[0, 1])
                    w = min(max(triangle[0, 2] - slope / normal_w, lowest), highest)
                ray = i * v.size + j
                place = first[ray] + filled[ray]
                while place > first[ray] and height[place - 1] > w:
                    height[place], sense[place] = height[place - 1], sense[place - 1]
                    place -= 1
                height[place], sense[place] = w, 1 if normal_w > 0.0 else -1
                filled[ray] += 1


@cell_loop
def add_lengths(
    first: IntArray,
    height: FloatArray,
    sense: IntArray,
    by_winding: bool,
    rays: int,
    edges: FloatArray,
    inside: FloatArray,
    sound: IntArray,
) -> None:
    """Add to ``inside`` (a, b, c) what of each ray is inside, and count the rays that come out."""
    columns = inside.shape[1] * rays
    for ray in range(first.size - 1):
        winding = 0
        for hit in range(first[ray], first[ray + 1]):
            winding += sense[hit] if by_winding else 1
        if (by_winding and winding != 0) or (not by_winding and winding % 2 != 0):
            continue
        a, b = ray // columns // rays, ray % columns // rays
        sound[a, b] += 1
        winding = 0
        for hit in range(first[ray], first[ray + 1] - 1):
            winding += sense[hit] if by_winding else 1
            if (by_winding and winding != 0) or (not by_winding and winding % 2 != 0):
                low, high = height[hit], height[hit + 1]
                start = max(np.searchsorted(edges, low, side="right") - 1, 0)
                for c in range(start, inside.shape[2]):
                    if edges[c] >= high:
                        break
                    reach = min(edges[c + 1], high) - max(edges[c], low)
                    if reach > 0.0:
                        inside[a, b, c] += reach
