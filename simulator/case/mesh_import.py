"""Mesh files as closed skins of triangles: the one place that knows mesh formats and their readers.

``meshio`` reads; where it fails, VTK's own readers have a try in a process of their own, because a
damaged file can bring them down. Doubled faces are dropped here: laid over one another they would
make the inside of a thing its outside.
"""

import re
import struct
import subprocess
import sys
import tempfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import numpy as np
from numpy.typing import NDArray

from simulator.errors import CaseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: The formats that are promised, by the ending of the file's name.
FORMATS = ("stl", "obj", "ply", "vtu")

#: A skin of furniture needs no more; finer ones are thinned out before [-].
MOST_TRIANGLES = 500_000

#: Points nearer than this share of the mesh's size are one [-] (single precision of STL files).
SAME_POINT = 1e-6

#: A mesh thinner than this share of its length is flat [-].
FLAT = 1e-6

#: Faces of volume cells by corner, in the order of VTK's cells (their sense does not matter here).
_VOLUME_FACES = {
    "tetra": ((0, 1, 2), (0, 1, 3), (1, 2, 3), (0, 2, 3)),
    "pyramid": ((0, 1, 2, 3), (0, 1, 4), (1, 2, 4), (2, 3, 4), (0, 3, 4)),
    "wedge": ((0, 1, 2), (3, 4, 5), (0, 1, 4, 3), (1, 2, 5, 4), (0, 2, 5, 3)),
    "hexahedron": (
        (0, 1, 2, 3),
        (4, 5, 6, 7),
        (0, 1, 5, 4),
        (1, 2, 6, 5),
        (2, 3, 7, 6),
        (0, 3, 7, 4),
    ),
}

#: What readers raise on a file that is not what its name says.
_UNREADABLE = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    EOFError,
    LookupError,
    MemoryError,
    NotImplementedError,
    OSError,
    ParseError,
    RuntimeError,
    TypeError,
    ValueError,
    struct.error,
    zlib.error,
)

_VTK_READS = """
import sys, numpy, pyvista
skin = pyvista.read(sys.argv[1]).extract_surface(algorithm="dataset_surface").triangulate()
numpy.savez(sys.argv[2], points=skin.points, faces=skin.faces.reshape(-1, 4)[:, 1:])
"""
_VTK_PATIENCE = 60.0  # [s]


@dataclass(frozen=True, slots=True)
class TriangleMesh:
    """A skin of triangles, in the units of its file.

    Attributes
    ----------
    points : (n, 3), each once.
    triangles : (m, 3) into ``points``, none twice and none without an area.
    doubled : how many faces were dropped because they lay on another one.
    """

    points: FloatArray
    triangles: IntArray
    doubled: int

    @property
    def corners(self) -> FloatArray:
        """Corners of each triangle, (m, 3, 3)."""
        return self.points[self.triangles]

    @property
    def size(self) -> FloatArray:
        """Extent along x, y, z, (3,)."""
        return np.asarray(self.points.max(axis=0) - self.points.min(axis=0))

    @property
    def area(self) -> float:
        """Area of the skin, in the file's unit squared."""
        one, two, three = np.moveaxis(self.corners, 1, 0)
        return 0.5 * float(np.linalg.norm(np.cross(two - one, three - one), axis=1).sum())

    @property
    def signed_volume(self) -> float:
        """Volume within the skin by the divergence theorem; negative if it is inside out."""
        one, two, three = np.moveaxis(self.corners - self.points.mean(axis=0), 1, 0)
        return float(np.einsum("ij,ij->", one, np.cross(two, three))) / 6.0

    def open_edges(self) -> int:
        """Return how many edges border an odd number of triangles: none if the skin is closed."""
        edges = np.sort(_edges(self.triangles), axis=1)
        _, count = np.unique(_keys(edges, len(self.points)), return_counts=True)
        return int(np.count_nonzero(count % 2))

    def is_oriented(self) -> bool:
        """Return whether each edge runs as often one way as the other: all faces look one way."""
        edges = _edges(self.triangles)
        forth, back = (_keys(way, len(self.points)) for way in (edges, edges[:, ::-1]))
        return bool(np.array_equal(np.sort(forth), np.sort(back)))


def read_mesh(content: bytes, file_name: str) -> TriangleMesh:
    """Return the skin in a mesh file.

    Parameters
    ----------
    content : of the file.
    file_name : its ending tells the format.

    Raises
    ------
    CaseError
        One line: the file is of another format, damaged, empty, flat or too fine.
    """
    ending = file_name.rpartition(".")[2].lower()
    if ending not in FORMATS:
        raise CaseError(f"mesh '{file_name}' is of no known format; formats: {', '.join(FORMATS)}")
    if not content.strip():
        raise CaseError(f"mesh '{file_name}' is an empty file")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"mesh.{ending}"
        path.write_bytes(content)
        found = _by_meshio(path, ending) or _by_vtk(path)
    if found is None:
        raise CaseError(f"mesh '{file_name}' cannot be read as {ending.upper()}; is it damaged?")
    return _cleaned(*found, file_name)


def _by_meshio(path: Path, ending: str) -> tuple[FloatArray, IntArray] | None:
    """Return points and triangles, or None where there are none to be had this way."""
    import meshio

    # A PLY header without its last line keeps meshio 5.3 reading for ever.
    if ending == "ply" and not re.search(rb"(?m)^end_header\s*$", path.read_bytes()):
        return None
    # Not meshio.read: it ends the program when it cannot read a file.
    reader: Any = getattr(meshio, ending)
    try:
        with np.errstate(all="ignore"):
            mesh = reader.read(str(path))
            points = np.asarray(mesh.points, dtype=np.float64)
            blocks = [(block.type, block.data) for block in mesh.cells]
            triangles = _skin(blocks)
    except (meshio.ReadError, *_UNREADABLE):
        return None
    return _whole(points, triangles)


def _by_vtk(path: Path) -> tuple[FloatArray, IntArray] | None:
    out = path.with_name("skin.npz")
    command = [sys.executable, "-c", _VTK_READS, str(path), str(out)]
    try:
        subprocess.run(command, capture_output=True, timeout=_VTK_PATIENCE, check=True)
        with np.load(out) as arrays:
            points = np.asarray(arrays["points"], dtype=np.float64)
            triangles = np.asarray(arrays["faces"], dtype=np.int64)
    except (subprocess.SubprocessError, *_UNREADABLE):
        return None
    return _whole(points, triangles)


def _whole(points: FloatArray, triangles: IntArray) -> tuple[FloatArray, IntArray] | None:
    """Return points in space and triangles between them, or None if it is not that."""
    if points.ndim != 2 or points.shape[1] not in (2, 3) or not triangles.size:
        return None
    if triangles.min() < 0 or triangles.max() >= len(points):
        return None
    return np.pad(points, ((0, 0), (0, 3 - points.shape[1]))), triangles


def _skin(blocks: list[tuple[str, Any]]) -> IntArray:
    """Return the triangles of surface cells; of volume cells, if there are any, the outside."""
    faces: list[IntArray] = []
    for kind, data in blocks:
        shape = next((name for name in _VOLUME_FACES if kind.startswith(name)), None)
        if shape is not None:
            corners = np.asarray(data, dtype=np.int64)
            faces += [corners[:, list(face)] for face in _VOLUME_FACES[shape]]
    if faces:
        faces = _outer(faces)
    else:
        kinds = ("triangle", "quad", "polygon")
        for kind, data in blocks:
            if kind.startswith(kinds):
                count = {"triangle": 3, "quad": 4}.get(kind.rstrip("0123456789"))
                rows = [np.asarray(row, dtype=np.int64) for row in data] if count is None else []
                faces += [row[None, :] for row in rows if row.size >= 3]
                if count is not None:
                    faces.append(np.asarray(data, dtype=np.int64)[:, :count])
    fans = [
        face[:, [0, corner, corner + 1]] for face in faces for corner in range(1, face.shape[1] - 1)
    ]
    return np.concatenate(fans) if fans else np.zeros((0, 3), dtype=np.int64)


def _outer(faces: list[IntArray]) -> list[IntArray]:
    """Return the faces that no two volume cells share."""
    outer = []
    for corners in {face.shape[1] for face in faces}:
        every = np.concatenate([face for face in faces if face.shape[1] == corners])
        _, row, count = np.unique(
            np.sort(every, axis=1), axis=0, return_inverse=True, return_counts=True
        )
        outer.append(every[count[row.reshape(-1)] == 1])
    return outer


def _cleaned(points: FloatArray, triangles: IntArray, file_name: str) -> TriangleMesh:
    """Return the mesh with each point and each face once."""
    used, inverse = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], inverse.reshape(-1, 3)
    if not np.isfinite(points).all():
        raise CaseError(f"mesh '{file_name}' has points that are no numbers")
    low, length = points.min(axis=0), float(np.ptp(points, axis=0).max())
    if length == 0.0 or np.ptp(points, axis=0).min() <= FLAT * length:
        raise CaseError(f"mesh '{file_name}' is flat; it must enclose a volume")
    places = np.round((points - low) / (SAME_POINT * length)).astype(np.int64)
    _, first, row = np.unique(
        _keys(places, int(places.max()) + 1), return_index=True, return_inverse=True
    )
    points, triangles = points[first], row.reshape(-1)[triangles]
    ordered = np.sort(triangles, axis=1)
    has_area = (ordered[:, 0] != ordered[:, 1]) & (ordered[:, 1] != ordered[:, 2])
    triangles, ordered = triangles[has_area], ordered[has_area]
    _, kept = np.unique(_keys(ordered, len(points)), return_index=True)
    doubled = len(triangles) - kept.size
    triangles = triangles[np.sort(kept)]
    if len(triangles) > MOST_TRIANGLES:
        raise CaseError(
            f"mesh '{file_name}' has {len(triangles):,} triangles; at most {MOST_TRIANGLES:,} "
            "are read; thin it out"
        )
    if len(triangles) < 4:
        raise CaseError(f"mesh '{file_name}' has {len(triangles)} triangles and encloses nothing")
    return TriangleMesh(points, triangles, doubled)


def _edges(triangles: IntArray) -> IntArray:
    return np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])


def _keys(rows: IntArray, base: int) -> IntArray:
    """Return one number for each row of numbers below ``base``."""
    key = rows[:, 0].astype(np.int64)
    for column in range(1, rows.shape[1]):
        key = key * base + rows[:, column]
    return key
