"""How long does a mesh of 50 000 triangles take, from its file's bytes to boxes of stuff?

Prints processor seconds of the parts at steps of 5 cm (demand: 1 s in all), the volume that the
rays count against the divergence theorem, and the ratio to laying the whole room into 5 cm cells.

    python benchmarks/mesh_import.py
"""

import platform
import tempfile
import time
from pathlib import Path

import numba
import pyvista as pv

from simulator.case.load import load
from simulator.case.mesh_boxes import draw_boxes
from simulator.case.mesh_import import read_mesh
from simulator.grid.voxelise import voxelise

STEP = 0.05  # [m]
GEOMETRIES = Path(__file__).parents[1] / "geometries"
CASE = GEOMETRIES / "bedroom_with_lounge_chair.toml"
CHAIR = GEOMETRIES / "bedroom" / "lounge_chair.obj"


def main() -> None:
    """Print the figures."""
    print(f"{platform.processor() or platform.machine()}, numba {numba.__version__}, one thread")
    chair = pv.read(CHAIR).triangulate()
    chair.points *= 0.01
    shapes = {
        "ball of 0.8 m": pv.Sphere(radius=0.4, theta_resolution=160, phi_resolution=158),
        "the demo's chair, each triangle cut in 64": chair.subdivide(3, "linear"),
    }
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mesh.stl"
        for name, surface in shapes.items():
            surface.triangulate().save(path)
            content = path.read_bytes()
            draw_boxes(content, "warm.stl", 1.0, "z", STEP)
            start = time.process_time()
            mesh = read_mesh(content, "mesh.stl")
            read = time.process_time() - start
            start = time.process_time()
            boxes = draw_boxes(content, "mesh.stl", 1.0, "z", STEP)
            whole = time.process_time() - start
            print(
                f"{name}: {len(mesh.triangles)} triangles, read {read:.2f} s, "
                f"read and drawn as {len(boxes.boxes)} boxes {whole:.2f} s of 1 s; "
                f"volume {1e3 * boxes.volume:.1f} litres, boxes scaled by {boxes.density_scale:.4f}"
            )
            for note in boxes.notes:
                print(f"    {note}")
    case = load(CASE)
    voxelise(case, STEP)
    start = time.process_time()
    voxelise(case, STEP)
    grid = time.process_time() - start
    print(f"the room with its chair in 5 cm cells: {grid:.2f} s, {grid / whole:.1f} times the mesh")


if __name__ == "__main__":
    main()
