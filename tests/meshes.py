"""Meshes made on the spot: shapes of known volume, the same damaged, and the demo's invented chair.

``python -m tests.meshes`` writes the chair into ``geometries/bedroom/lounge_chair.obj``.
"""

from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pyvista as pv

from simulator.case.mesh_import import FloatArray, IntArray

CHAIR_FILE = Path(__file__).parents[1] / "geometries" / "bedroom" / "lounge_chair.obj"

#: Corners of a unit cube at the origin, and its triangles, all looking outwards.
CUBE_POINTS = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
CUBE_QUADS = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
CUBE_TRIANGLES = np.array([(q[0], q[i], q[i + 1]) for q in CUBE_QUADS for i in (1, 2)])


def file_of(ending: str, points: FloatArray, triangles: IntArray, folder: Path) -> bytes:
    """Return the content of a mesh file of a format, written by meshio."""
    path = folder / f"mesh.{ending}"
    arguments: dict[str, Any] = {"binary": True} if ending in ("stl", "ply") else {}
    mesh = meshio.Mesh(points, [("triangle", triangles)])
    meshio.write(path, mesh, **arguments)
    return path.read_bytes()


def box(low: tuple[float, ...], high: tuple[float, ...]) -> tuple[FloatArray, IntArray]:
    """Return a box between two corners."""
    size = np.subtract(high, low)
    return CUBE_POINTS * size + np.asarray(low), CUBE_TRIANGLES


def joined(*meshes: tuple[FloatArray, IntArray]) -> tuple[FloatArray, IntArray]:
    """Return several meshes as one, each with its own points."""
    starts = np.cumsum([0, *(len(points) for points, _ in meshes)])
    triangles = [tri + start for (_, tri), start in zip(meshes, starts, strict=False)]
    return np.concatenate([points for points, _ in meshes]), np.concatenate(triangles)


def skin_of(surface: pv.PolyData) -> tuple[FloatArray, IntArray]:
    """Return points and triangles of a surface."""
    surface = surface.triangulate().clean()
    return np.asarray(surface.points, dtype=np.float64), surface.faces.reshape(-1, 4)[:, 1:]


def sphere(radius: float, rings: int) -> tuple[FloatArray, IntArray]:
    """Return a sphere of about 2 rings² triangles."""
    return skin_of(pv.Sphere(radius=radius, theta_resolution=rings, phi_resolution=rings))


def block(centre: tuple[float, ...], size: tuple[float, ...]) -> pv.PolyData:
    """Return a box by its centre and size."""
    x, y, z = size
    return pv.Cube(center=centre, x_length=x, y_length=y, z_length=z)


def rod(
    centre: tuple[float, ...], direction: tuple[float, ...], radius: float, height: float
) -> pv.PolyData:
    """Return a round rod of twelve sides."""
    return pv.Cylinder(
        center=centre, direction=direction, radius=radius, height=height, resolution=12
    )


def lounge_chair() -> tuple[FloatArray, IntArray]:
    """Return an invented lounge chair in centimetres, its back to +y: cushions, legs, arm rests."""
    seat = block((0, -3, 36), (60, 64, 14)).rotate_x(-6, point=(0, -3, 36))
    back = block((0, 30, 62), (60, 14, 52)).rotate_x(-20, point=(0, 30, 62))
    roll = rod((0, 40, 86), (1, 0, 0), 8, 60)
    arms = [block((side * 34, 2, 50), (8, 62, 4)) for side in (-1, 1)]
    posts = [rod((side * 34, y, 24), (0, 0, 1), 2.6, 48) for side in (-1, 1) for y in (-24, 26)]
    rails = [block((0, y, 27), (70, 4, 6)) for y in (-24, 26)]
    return joined(*(skin_of(piece) for piece in (seat, back, roll, *arms, *posts, *rails)))


def write_chair(path: Path) -> None:
    """Write the chair as text that says what it is."""
    points, triangles = lounge_chair()
    lines = ["# Invented content: a lounge chair in centimetres, z up, made by tests/meshes.py."]
    lines += ["v " + " ".join(f"{value:.3f}" for value in point) for point in points]
    lines += ["f " + " ".join(str(corner + 1) for corner in corners) for corners in triangles]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_chair(CHAIR_FILE)
