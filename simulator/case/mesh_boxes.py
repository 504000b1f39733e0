"""A skin of triangles as boxes of stuff: the shape in which furniture reaches the grid.

The boxes follow the mesh's own flat faces where it has any, so a thing made of boxes keeps them
exactly, however thin; round things become steps of the detail asked for. What the steps gain or
lose of the volume is put back by scaling the stuff's density, so mass and heat capacity are those
of the mesh.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from simulator.case.mesh_filling import fill_skin
from simulator.case.mesh_import import FloatArray, TriangleMesh, read_mesh
from simulator.case.mesh_merge import BoolArray, merge_cells
from simulator.case.parts import Vector
from simulator.errors import CaseError

#: More boxes make the grid slow for no gain at cells of 5 cm and more (choice).
MOST_BOXES = 160

#: Steps within the bounds of a mesh [-] (choice: drawn in a second).
MOST_STEPS = 60_000

#: Where a drawing takes more, its detail is coarsened by this factor and drawn again (choice).
COARSEN = 1.25

#: A flat face counts as one if it is this share of the section of the bounds [-] (choice).
FLAT_FACE = 0.005

#: Planes are at least this far apart [m] (choice: a thin board).
LEAST_GAP = 0.003

#: A face is taken to lie along a plane if its normal is within this of the axis [-].
ALONG = 1e-4

#: Shares from which a cell counts as stuff lie in here [-] (choice); within, the volume decides.
LEAST_SHARE, MOST_SHARE = 0.35, 0.65

#: Stuff thinner than the detail is told of from this share of the volume on [-] (choice).
LOST = 0.02

#: Steps are told of when they have this much more surface than the mesh [-] (choice).
STEPPED = 1.15

#: A mesh that leaks is told of from this doubtful share of its volume on, refused from the other on
#: [-] (choice: the first is below what else is not known of a piece's mass).
TOLD_LEAK, REFUSED_LEAK = 0.01, 0.10

#: Sizes of furniture [m]; outside of these the unit is not the one of the file (choice).
SMALLEST, LARGEST = 0.02, 20.0


@dataclass(frozen=True, slots=True)
class MeshBoxes:
    """A mesh drawn as boxes, its footprint centred on the origin, its lowest point at height 0.

    Attributes
    ----------
    boxes : low and high corner of each [m].
    density_scale : by which the stuff's density is multiplied so that the mass is the mesh's [-].
    volume : of the mesh [m³].
    size : of the mesh's bounds [m].
    notes : what a user should know, each a line.
    """

    boxes: tuple[tuple[Vector, Vector], ...]
    density_scale: float
    volume: float
    size: Vector
    notes: tuple[str, ...]


@lru_cache(maxsize=16)
def draw_boxes(
    content: bytes, file_name: str, unit: float, up: str, detail: float, only_bounds: bool = False
) -> MeshBoxes:
    """Return the boxes of a mesh file.

    Parameters
    ----------
    content, file_name : of the file.
    unit : length of one unit of the file [m].
    up : the file's axis that points up: "x", "y" or "z".
    detail : size of the steps in which what is not flat is drawn [m].
    only_bounds : draw the box around the mesh instead, for a mesh that leaks.

    Raises
    ------
    CaseError
        One line: unreadable, flat, of no sensible size, or leaking by more than can be told.
    """
    mesh = _upright(read_mesh(content, file_name), unit, up)
    size_x, size_y, size_z = (float(length) for length in mesh.size)
    if not SMALLEST <= max(size_x, size_y, size_z) <= LARGEST:
        raise CaseError(
            f"mesh '{file_name}' is {size_x:.4g} x {size_y:.4g} x {size_z:.4g} m with one unit of "
            f"{unit:g} m; give the unit that its file has, such as '1 mm', '1 cm', '1 in', '1 m'"
        )
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    if only_bounds:
        bounds = (size_x, size_y, size_z)
        return MeshBoxes((_corners(low, high),), 1.0, size_x * size_y * size_z, bounds, ())
    used = detail
    while True:
        x, y, z = (_planes(mesh, axis, used) for axis in range(3))
        if x.size * y.size * z.size <= MOST_STEPS:
            drawn = _draw(mesh, (x, y, z), used, file_name)
            if len(drawn.boxes) <= MOST_BOXES:
                break
        used *= COARSEN
    notes = drawn.notes
    if used > detail:
        notes += (
            f"drawn in steps of {1e3 * used:.0f} mm, not {1e3 * detail:.0f} mm, "
            f"to keep it below {MOST_BOXES} boxes",
        )
    if mesh.doubled:
        notes += (f"{mesh.doubled} doubled faces were dropped",)
    return MeshBoxes(drawn.boxes, drawn.density_scale, drawn.volume, drawn.size, notes)


def _draw(
    mesh: TriangleMesh,
    planes: tuple[FloatArray, FloatArray, FloatArray],
    detail: float,
    file_name: str,
) -> MeshBoxes:
    x, y, z = planes
    filling = fill_skin(mesh, planes)
    notes = _leak_notes(mesh, filling.doubtful, filling.volume, file_name)
    if filling.pieces_overlap:
        notes += ("its pieces reach into one another; what they share is counted once",)
    cells = np.multiply.outer(np.outer(np.diff(x), np.diff(y)), np.diff(z))
    is_stuff = _chosen(filling.share, cells, filling.volume)
    if not is_stuff.any():
        raise CaseError(
            f"mesh '{file_name}' is thinner than its detail of {1e3 * detail:.0f} mm everywhere; "
            "give a smaller 'detail'"
        )
    lost = float((filling.share * cells)[~is_stuff & ~_near(is_stuff)].sum())
    if lost > LOST * filling.volume:
        notes += (
            f"{100.0 * lost / filling.volume:.0f} % of it is too thin for steps of "
            f"{1e3 * detail:.0f} mm and was put into the rest; give a smaller 'detail'",
        )
    steps = _surface(is_stuff, planes) / mesh.area
    if steps > STEPPED:
        notes += (f"its steps have {steps:.2g} times its surface, so it takes up heat faster",)
    size_x, size_y, size_z = (float(length) for length in mesh.size)
    return MeshBoxes(
        boxes=tuple(
            _corners(
                np.array([planes[axis][box[axis][0]] for axis in range(3)]),
                np.array([planes[axis][box[axis][1]] for axis in range(3)]),
            )
            for box in merge_cells(is_stuff, planes, MOST_BOXES + 1)
        ),
        density_scale=filling.volume / float(cells[is_stuff].sum()),
        volume=filling.volume,
        size=(size_x, size_y, size_z),
        notes=notes,
    )


def _leak_notes(
    mesh: TriangleMesh, doubtful: float, volume: float, file_name: str
) -> tuple[str, ...]:
    """Return what is to be told of a leak; refuse a mesh that leaks too much."""
    edges = mesh.open_edges()
    if doubtful <= TOLD_LEAK * volume and volume > 0.0:
        return (f"its skin has {edges} open edges that let nothing out",) if edges else ()
    told = (
        f"{1e3 * doubtful:.3g} of {1e3 * volume:.3g} litres are in doubt"
        if volume > 0.0
        else "nothing is surely inside"
    )
    if doubtful > REFUSED_LEAK * volume or volume <= 0.0:
        raise CaseError(
            f"mesh '{file_name}' leaks ({edges} open edges): {told}, at most "
            f"{100.0 * REFUSED_LEAK:.0f} % may be; close it, or take its bounding box with "
            'shape = "box"'
        )
    return (f"its skin leaks ({edges} open edges): {told}",)


def _upright(mesh: TriangleMesh, unit: float, up: str) -> TriangleMesh:
    """Return the mesh in metres, z up, its footprint centred, its lowest point at height 0."""
    order = {"z": [0, 1, 2], "y": [2, 0, 1], "x": [1, 2, 0]}[up]  # the sense of turning is kept
    points = mesh.points[:, order] * unit
    low, high = points.min(axis=0), points.max(axis=0)
    origin = np.array([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2]])
    return TriangleMesh(points - origin, mesh.triangles, mesh.doubled)


def _planes(mesh: TriangleMesh, axis: int, detail: float) -> FloatArray:
    """Return planes across an axis [m]: at flat faces, and between them no further than a step."""
    corners = mesh.corners
    one, two, three = np.moveaxis(corners, 1, 0)
    normal = np.cross(two - one, three - one)
    length = np.linalg.norm(normal, axis=1)
    is_flat = np.abs(normal[:, axis]) > (1.0 - ALONG) * length
    heights = np.round(corners[is_flat, :, axis].mean(axis=1), 6)
    height, row = np.unique(heights, return_inverse=True)
    area: FloatArray = np.asarray(
        np.bincount(row.reshape(-1), 0.5 * length[is_flat], height.size), dtype=np.float64
    )
    low, high = float(mesh.points[:, axis].min()), float(mesh.points[:, axis].max())
    section = float(np.prod(np.delete(mesh.size, axis)))
    kept = [low, high]
    for place in np.argsort(-area, kind="stable"):
        if area[place] < FLAT_FACE * section:
            break
        if min(abs(height[place] - other) for other in kept) >= LEAST_GAP:
            kept.append(float(height[place]))
    edges = np.sort(np.array(kept))
    pieces = [
        np.linspace(start, end, int(np.ceil((end - start) / detail - 1e-6)) + 1)[:-1]
        for start, end in pairwise(edges)
    ]
    return np.concatenate([*pieces, edges[-1:]])


def _chosen(share: FloatArray, cells: FloatArray, volume: float) -> BoolArray:
    """Return the cells that count as stuff: the fullest, until they hold the volume."""
    order = np.argsort(-share, axis=None, kind="stable")
    held = np.cumsum(cells.ravel()[order])
    last = min(int(np.searchsorted(held, volume)), order.size - 1)
    limit = float(np.clip(share.ravel()[order[last]], LEAST_SHARE, MOST_SHARE))
    return np.asarray(share >= limit - 1e-9)  # cells alike are in or out together


def _near(is_stuff: BoolArray) -> BoolArray:
    """Return the cells beside stuff, also across edges and corners."""
    padded = np.pad(is_stuff, 1)
    near = np.zeros_like(is_stuff)
    a, b, c = is_stuff.shape
    for i in range(3):
        for j in range(3):
            for k in range(3):
                near |= padded[i : i + a, j : j + b, k : k + c]
    return near


def _surface(is_stuff: BoolArray, planes: tuple[FloatArray, FloatArray, FloatArray]) -> float:
    """Return the area of the faces between stuff and nothing [m²]."""
    total = 0.0
    padded = np.pad(is_stuff, 1)
    for axis in range(3):
        one, two = (np.diff(planes[other]) for other in range(3) if other != axis)
        faces = np.abs(np.diff(padded.astype(np.int8), axis=axis)).sum(axis=axis)[1:-1, 1:-1]
        total += float((faces * np.outer(one, two)).sum())
    return total


def _corners(low: FloatArray, high: FloatArray) -> tuple[Vector, Vector]:
    x, y, z = (float(value) for value in low)
    to_x, to_y, to_z = (float(value) for value in high)
    return (x, y, z), (to_x, to_y, to_z)
