"""Mesh files as skins of triangles: every promised format, and files that are not what they say."""

from pathlib import Path

import meshio
import numpy as np
import pytest
import pyvista as pv

from simulator.case.mesh_import import FORMATS, TriangleMesh, read_mesh
from simulator.errors import CaseError
from tests.meshes import CUBE_POINTS, CUBE_QUADS, CUBE_TRIANGLES, box, file_of, sphere

#: STL and PLY keep single precision, OBJ as many digits as meshio writes.
SINGLE = 1e-6


def summary(mesh: TriangleMesh) -> tuple[int, int, float, float]:
    return len(mesh.points), len(mesh.triangles), mesh.signed_volume, mesh.area


@pytest.mark.parametrize("ending", FORMATS)
def test_a_round_trip_keeps_points_faces_and_volume(ending: str, tmp_path: Path) -> None:
    points, triangles = sphere(0.4, 24)
    mesh = read_mesh(file_of(ending, points, triangles, tmp_path), f"ball.{ending}")
    written = TriangleMesh(points, triangles, 0)
    assert summary(mesh) == pytest.approx(summary(written), rel=SINGLE)
    assert mesh.signed_volume > 0.0
    assert mesh.open_edges() == 0
    assert mesh.is_oriented()
    order, wanted = (np.lexsort(np.round(p, 4).T) for p in (mesh.points, points))
    np.testing.assert_allclose(mesh.points[order], points[wanted], atol=2e-4)


@pytest.mark.parametrize("ending", ("stl", "ply", "vtu"))
def test_files_written_by_vtk_are_read(ending: str, tmp_path: Path) -> None:
    """VTU of VTK keeps its arrays appended and compressed; PLY and STL are binary."""
    path = tmp_path / f"ball.{ending}"
    surface = pv.Sphere(radius=0.4)
    (surface.cast_to_unstructured_grid() if ending == "vtu" else surface).save(path)
    mesh = read_mesh(path.read_bytes(), path.name)
    assert mesh.signed_volume == pytest.approx(surface.volume, rel=SINGLE)


def test_text_stl_is_read(tmp_path: Path) -> None:
    path = tmp_path / "ball.stl"
    pv.Sphere(radius=0.4).save(path, binary=False)
    mesh = read_mesh(path.read_bytes(), path.name)
    assert mesh.signed_volume == pytest.approx(pv.Sphere(radius=0.4).volume, rel=1e-4)


def test_an_obj_that_meshio_cannot_read_goes_to_the_second_reader() -> None:
    """Faces counted back from the last point: allowed in OBJ, unknown to meshio."""
    lines = ["v " + " ".join(str(value) for value in point) for point in CUBE_POINTS]
    lines += ["f " + " ".join(str(corner - 8) for corner in quad) for quad in CUBE_QUADS]
    mesh = read_mesh("\n".join(lines).encode(), "cube.obj")
    assert mesh.signed_volume == pytest.approx(1.0, rel=SINGLE)
    assert len(mesh.triangles) == 12


def test_volume_cells_give_their_outside(tmp_path: Path) -> None:
    path = tmp_path / "solid.vtu"
    image = pv.ImageData(dimensions=(4, 3, 5), spacing=(0.1, 0.2, 0.05))
    image.cast_to_unstructured_grid().save(path)
    hexahedra = meshio.Mesh(
        np.array(CUBE_POINTS), [("hexahedron", np.array([[0, 4, 6, 2, 1, 5, 7, 3]]))]
    )
    meshio.write(tmp_path / "one.vtu", hexahedra)
    mesh = read_mesh((tmp_path / "one.vtu").read_bytes(), "one.vtu")
    assert len(mesh.triangles) == 12
    assert mesh.open_edges() == 0
    assert mesh.area == pytest.approx(6.0)
    solid = read_mesh(path.read_bytes(), path.name)
    assert solid.area == pytest.approx(2.0 * (0.3 * 0.4 + 0.3 * 0.2 + 0.4 * 0.2), rel=SINGLE)


def test_doubled_faces_are_dropped_whichever_way_they_look(tmp_path: Path) -> None:
    faces = np.concatenate([CUBE_TRIANGLES, CUBE_TRIANGLES[:, ::-1], CUBE_TRIANGLES[:3]])
    mesh = read_mesh(file_of("stl", CUBE_POINTS, faces, tmp_path), "cube.stl")
    assert mesh.doubled == 15
    assert len(mesh.triangles) == 12
    assert mesh.signed_volume == pytest.approx(1.0, rel=SINGLE)


def test_a_skin_tells_its_open_edges_and_its_sense(tmp_path: Path) -> None:
    opened = read_mesh(file_of("ply", CUBE_POINTS, CUBE_TRIANGLES[:-1], tmp_path), "cube.ply")
    assert opened.open_edges() == 3
    assert not opened.is_oriented()
    turned = CUBE_TRIANGLES.copy()
    turned[4] = turned[4, ::-1]
    mesh = read_mesh(file_of("ply", CUBE_POINTS, turned, tmp_path), "cube.ply")
    assert mesh.open_edges() == 0
    assert not mesh.is_oriented()
    inside_out = file_of("ply", CUBE_POINTS, CUBE_TRIANGLES[:, ::-1], tmp_path)
    assert read_mesh(inside_out, "cube.ply").signed_volume == pytest.approx(-1.0)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    (
        ("chair.stl", b"", "is an empty file"),
        ("chair.obj", b"  \n", "is an empty file"),
        ("chair.dae", b"<x/>", "no known format; formats: stl, obj, ply, vtu"),
        ("chair", b"solid", "no known format"),
        ("chair.stl", b"solid nothing\nendsolid nothing\n", "cannot be read as STL"),
        ("chair.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "cannot be read as OBJ"),
        ("chair.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 1\nf 1 2 9\n", "cannot be read as OBJ"),
        ("chair.ply", b"ply\nformat ascii 1.0\nelement vertex 9\n", "cannot be read as PLY"),
        ("chair.vtu", b"<VTKFile type='UnstructuredGrid'><Unstruct", "cannot be read as VTU"),
        ("chair.vtu", bytes(range(256)) * 8, "cannot be read as VTU"),
        ("chair.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1 1 0\nf 1 2 3\nf 2 3 4\n", "is flat"),
        ("chair.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 1\nf 1 2 3\n", "encloses nothing"),
        ("chair.obj", b"v nan 0 0\nv 1 0 0\nv 0 1 1\nv 1 1 1\nf 1 2 3\nf 2 3 4", "no numbers"),
    ),
)
def test_a_bad_file_is_refused_in_one_line(name: str, content: bytes, said: str) -> None:
    with pytest.raises(CaseError) as caught:
        read_mesh(content, name)
    assert said in str(caught.value)
    assert f"'{name}'" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("ending", FORMATS)
def test_a_file_cut_short_or_with_changed_bytes_ends_in_a_mesh_or_one_line(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first reader alone, for speed: nothing but a CaseError may come out of it."""
    monkeypatch.setattr("simulator.case.mesh_import._by_vtk", lambda path: None)
    content = file_of(ending, *box((0.0, 0.0, 0.0), (1.0, 2.0, 3.0)), tmp_path)
    rng = np.random.default_rng(5)
    damaged = [content[: int(share * len(content))] for share in rng.random(15)]
    for _ in range(40):
        changed = bytearray(content)
        for place in rng.integers(0, len(content), 4):
            changed[place] = int(rng.integers(256))
        damaged.append(bytes(changed))
    read = 0
    for bad in damaged:
        try:
            read += read_mesh(bad, f"box.{ending}").triangles.size > 0
        except CaseError as error:
            assert "\n" not in str(error)
    assert read < len(damaged)
