"""Meshes drawn as boxes: exact where they are flat, of exact mass where they are round."""

import math
from pathlib import Path

import numpy as np
import pytest
import pyvista as pv
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.mesh_boxes import MOST_BOXES, MeshBoxes, draw_boxes
from simulator.case.mesh_filling import fill_skin
from simulator.case.mesh_import import FloatArray, IntArray, TriangleMesh
from simulator.case.mesh_merge import merge_cells
from simulator.errors import CaseError
from tests.meshes import CUBE_POINTS, CUBE_TRIANGLES, box, file_of, joined, skin_of, sphere

SINGLE = 1e-6  # STL is of single precision


def drawn(
    mesh: tuple[FloatArray, IntArray], tmp_path: Path, detail: float = 0.05, unit: float = 1.0
) -> MeshBoxes:
    return draw_boxes(file_of("stl", *mesh, tmp_path), "it.stl", unit, "z", detail)


def volume(boxes: MeshBoxes) -> float:
    return sum(math.prod(np.subtract(high, low)) for low, high in boxes.boxes)


def test_a_table_becomes_its_five_boards_exactly(tmp_path: Path) -> None:
    """Thin boards stay whole at a step five times as thick; one unit of the file is 1 mm."""
    top = box((0, 0, 720), (1200, 800, 738))
    legs = [box((x, y, 0), (x + 40, y + 40, 720)) for x in (0, 1160) for y in (0, 760)]
    table = drawn(joined(top, *legs), tmp_path, detail=0.1, unit=1e-3)
    assert len(table.boxes) == 5
    assert table.density_scale == pytest.approx(1.0, rel=SINGLE)
    assert table.volume == pytest.approx(1.2 * 0.8 * 0.018 + 4 * 0.04**2 * 0.72, rel=SINGLE)
    assert table.size == pytest.approx((1.2, 0.8, 0.738))
    assert table.notes == ()
    low, high = max(table.boxes, key=lambda pair: pair[1][0] - pair[0][0])
    assert low == pytest.approx((-0.6, -0.4, 0.72), abs=1e-6)
    assert high == pytest.approx((0.6, 0.4, 0.738), abs=1e-6)


@pytest.mark.parametrize("detail", (0.02, 0.04, 0.08))
def test_the_mass_of_a_round_thing_is_its_own_at_any_detail(detail: float, tmp_path: Path) -> None:
    points, triangles = sphere(0.3, 30)
    ball = drawn((points, triangles), tmp_path, detail)
    exact = TriangleMesh(points, triangles, 0).signed_volume
    assert volume(ball) * ball.density_scale == pytest.approx(exact, rel=SINGLE)
    assert ball.density_scale == pytest.approx(1.0, abs=0.1)
    assert len(ball.boxes) <= MOST_BOXES
    assert any("times its surface" in note for note in ball.notes)


def test_turning_a_mesh_turns_its_boxes(tmp_path: Path) -> None:
    """The file's y or x axis up: sizes change places, nothing is mirrored."""
    content = file_of("stl", *box((0, 0, 0), (1, 2, 3)), tmp_path)
    sizes = {up: draw_boxes(content, "it.stl", 0.1, up, 0.05).size for up in ("x", "y", "z")}
    assert sizes["z"] == pytest.approx((0.1, 0.2, 0.3))
    assert sizes["y"] == pytest.approx((0.3, 0.1, 0.2))
    assert sizes["x"] == pytest.approx((0.2, 0.3, 0.1))


def test_inside_out_doubled_or_mixed_faces_change_nothing(tmp_path: Path) -> None:
    points, triangles = sphere(0.3, 16)
    sound = drawn((points, triangles), tmp_path)
    mixed = triangles.copy()
    mixed[::3] = mixed[::3, ::-1]
    for faces in (triangles[:, ::-1], np.concatenate([triangles, triangles])):
        other = drawn((points, faces), tmp_path)
        assert other.boxes == sound.boxes
        assert other.volume == pytest.approx(sound.volume, rel=SINGLE)
    # without a common sense of the faces the volume is counted along rays, good to a percent
    assert drawn((points, mixed), tmp_path).volume == pytest.approx(sound.volume, rel=0.01)
    doubled = drawn((points, np.concatenate([triangles, triangles])), tmp_path)
    assert f"{len(triangles)} doubled faces were dropped" in doubled.notes


def test_pieces_that_reach_into_one_another_count_once(tmp_path: Path) -> None:
    both = drawn(joined(box((0, 0, 0), (1, 1, 1)), box((0.5, 0, 0), (1.5, 1, 1))), tmp_path)
    assert both.volume == pytest.approx(1.5, rel=SINGLE)
    assert volume(both) == pytest.approx(1.5, rel=SINGLE)
    assert any("counted once" in note for note in both.notes)


def test_a_hollow_stays_hollow(tmp_path: Path) -> None:
    points, triangles = box((0.2, 0.2, 0.2), (0.8, 0.8, 0.8))
    shell = joined(box((0, 0, 0), (1, 1, 1)), (points, triangles[:, ::-1]))
    crate = drawn(shell, tmp_path)
    assert crate.volume == pytest.approx(1.0 - 0.6**3, rel=SINGLE)
    assert volume(crate) == pytest.approx(1.0 - 0.6**3, rel=SINGLE)


def test_cubes_that_meet_in_an_edge_are_sound(tmp_path: Path) -> None:
    """Four faces on one edge: not a manifold, but it encloses what it encloses."""
    pair = drawn(joined(box((0, 0, 0), (0.5, 0.5, 0.5)), box((0.5, 0.5, 0), (1, 1, 0.5))), tmp_path)
    assert pair.volume == pytest.approx(0.25, rel=SINGLE)
    assert volume(pair) == pytest.approx(0.25, rel=SINGLE)
    assert pair.notes == ()


def test_a_small_leak_is_told_with_its_doubtful_volume(tmp_path: Path) -> None:
    points, triangles = sphere(0.3, 40)
    leaking = drawn((points, np.delete(triangles, 700, axis=0)), tmp_path)
    sound = drawn((points, triangles), tmp_path)
    assert leaking.volume == pytest.approx(sound.volume, rel=0.02)
    notes = [note for note in leaking.notes if "open edges" in note]
    assert len(notes) == 1


def test_a_hole_as_wide_as_some_rays_is_in_doubt(tmp_path: Path) -> None:
    """A slot of 5 x 60 cm in the top of a box: what lies under it is 5 % of the volume."""
    points, triangles = box((0, 0, 0), (1, 0.6, 0.5))
    open_box = triangles[~np.all(points[triangles][:, :, 2] == 0.5, axis=1)]
    mesh = joined((points, open_box), lid(0.0, 0.45), lid(0.5, 1.0))
    leaking = drawn(mesh, tmp_path)
    (note,) = [note for note in leaking.notes if "leaks" in note]
    assert "15 of 300 litres are in doubt" in note


def lid(west: float, east: float) -> tuple[FloatArray, IntArray]:
    """Return a part of the top of a box that is 0.6 m deep and 0.5 m high."""
    corners = ((west, 0.0), (east, 0.0), (east, 0.6), (west, 0.6))
    return np.array([(x, y, 0.5) for x, y in corners]), np.array([[0, 1, 2], [0, 2, 3]])


def test_a_box_without_a_lid_is_refused_and_offered_its_bounds(tmp_path: Path) -> None:
    is_lid = np.all(CUBE_POINTS[CUBE_TRIANGLES][:, :, 2] == 1.0, axis=1)
    content = file_of("stl", CUBE_POINTS, CUBE_TRIANGLES[~is_lid], tmp_path)
    with pytest.raises(CaseError, match=r"leaks \(4 open edges\): .*in doubt.*shape = \"box\""):
        draw_boxes(content, "it.stl", 1.0, "z", 0.05)
    bounds = draw_boxes(content, "it.stl", 1.0, "z", 0.05, only_bounds=True)
    assert bounds.volume == pytest.approx(1.0)
    assert bounds.boxes == (((-0.5, -0.5, 0.0), (0.5, 0.5, 1.0)),)


@pytest.mark.parametrize("unit", (1e-6, 1e3))
def test_a_unit_that_gives_no_furniture_is_refused(unit: float, tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="give the unit that its file has"):
        drawn(box((0, 0, 0), (1, 1, 1)), tmp_path, unit=unit)


def test_stuff_thinner_than_the_steps_is_told(tmp_path: Path) -> None:
    """A thin rod that leans: no plane is laid along it, and it fills no step by half."""
    rod = skin_of(
        pv.Cylinder(center=(0.5, 0.5, 1.2), direction=(1, 1, 1), radius=0.012, height=1.2)
    )
    mesh = joined(box((0, 0, 0), (0.3, 0.3, 0.04)), rod)
    note = next(note for note in drawn(mesh, tmp_path, detail=0.06).notes if "too thin" in note)
    assert "give a smaller 'detail'" in note


def test_a_drawing_of_many_boxes_is_coarsened_and_says_so(tmp_path: Path) -> None:
    ball = drawn(sphere(0.6, 30), tmp_path, detail=0.02)
    assert len(ball.boxes) <= MOST_BOXES
    assert any("drawn in steps of" in note for note in ball.notes)


def test_the_vote_agrees_with_a_second_voxeliser() -> None:
    """VTK's stencil marks the voxels whose middle is inside; ours counts shares along rays."""
    surface = pv.ParametricTorus(ringradius=0.3, crosssectionradius=0.1).triangulate().clean()
    points, triangles = skin_of(surface)
    edges = [
        np.arange(-0.42, 0.43, 0.02),
        np.arange(-0.42, 0.43, 0.02),
        np.arange(-0.12, 0.13, 0.02),
    ]
    filling = fill_skin(TriangleMesh(points, triangles, 0), (edges[0], edges[1], edges[2]))
    shape = tuple(edge.size - 1 for edge in edges)
    centres = [0.5 * (edge[1:] + edge[:-1]) for edge in edges]
    image = pv.ImageData(
        dimensions=shape, spacing=(0.02,) * 3, origin=tuple(float(c[0]) for c in centres)
    )
    mask = surface.voxelize_binary_mask(reference_volume=image)
    theirs = np.asarray(mask.point_data["mask"]).reshape(shape[::-1]).T.astype(bool)
    ours = filling.share > 0.5
    # they may differ only in cells that the skin passes, and in few of those
    assert np.all((ours == theirs) | ((filling.share > 0.02) & (filling.share < 0.98)))
    assert np.count_nonzero(ours != theirs) < 0.03 * np.count_nonzero(ours)
    assert filling.doubtful == 0.0


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1), st.floats(0.1, 0.9))
def test_boxes_cover_every_cell_once(seed: int, share: float) -> None:
    is_stuff = np.random.default_rng(seed).random((4, 5, 3)) < share
    covered = np.zeros(is_stuff.shape, dtype=int)
    for (i, to_i), (j, to_j), (k, to_k) in merge_cells(
        is_stuff, (np.arange(5.0), np.arange(6.0), np.arange(4.0))
    ):
        covered[i:to_i, j:to_j, k:to_k] += 1
    np.testing.assert_array_equal(covered, is_stuff.astype(int))
